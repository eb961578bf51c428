"""`python -m tests.bench [WORD…]` times every bench whose name holds one of the words and prints one table."""

from __future__ import annotations

import importlib
import pkgutil
import sys

import tests.bench
from tests.bench.registry import BENCHES, Timing, measure


def _row(timing: Timing) -> str:
    job = timing.job
    floor = "–" if timing.floor_ms is None else f"{timing.floor_ms:.2f}"
    ratio = "–" if timing.ratio is None else f"{timing.ratio:.2f}"
    aims = [f"≤ {job.target_ms:g} ms"] if job.target_ms is not None else []
    aims += [f"≤ {job.target_ratio:g} ×"] if job.target_ratio is not None else []
    missed = (job.target_ms is not None and timing.ours_ms > job.target_ms) or (
        job.target_ratio is not None and timing.ratio is not None and timing.ratio > job.target_ratio
    )
    verdict = "" if not aims else "missed" if missed else "met"
    return f"{timing.name:<58}{timing.ours_ms:>10.2f}{floor:>10}{ratio:>8}  {' '.join(aims):<14}{verdict:<8}{job.note}"


def main(words: list[str]) -> int:
    """Import every bench module beside this one, run the wanted benches and print the table."""
    for module in pkgutil.iter_modules(tests.bench.__path__):
        if module.name not in ("__main__", "registry"):
            importlib.import_module(f"tests.bench.{module.name}")
    wanted = [name for name in BENCHES if not words or any(word in name for word in words)]
    if not wanted:
        print(f"No bench is called like {' or '.join(words)}. Known: {', '.join(BENCHES)}.")
        return 1
    print(f"{'job':<58}{'ours ms':>10}{'floor ms':>10}{'ratio':>8}  {'aim':<14}{'':<8}note")
    for name in wanted:
        print(_row(measure(name)), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
