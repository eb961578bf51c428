"""`python -m tests.bench [WORD…]` times every bench whose name holds one of the words and prints one table."""

from __future__ import annotations

import importlib
import pkgutil
import re
import sys

import tests.bench
from tests.bench.registry import BENCHES, Timing, measure

_SIZED = re.compile(r"(?P<what>.+) of (?P<size>[\d,]+): (?P<job>.+)")


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
    return f"{timing.name:<64}{timing.ours_ms:>10.2f}{floor:>10}{ratio:>8}  {' '.join(aims):<14}{verdict:<8}{job.note}"


def main(words: list[str]) -> int:
    """Import every bench module beside this one, run the wanted benches and print the table."""
    for module in pkgutil.iter_modules(tests.bench.__path__):
        if module.name not in ("__main__", "registry"):
            importlib.import_module(f"tests.bench.{module.name}")
    wanted = [name for name in BENCHES if not words or any(word in name for word in words)]
    if not wanted:
        print(f"No bench is called like {' or '.join(words)}. Known: {', '.join(BENCHES)}.")
        return 1
    print(f"{'job':<64}{'ours ms':>10}{'floor ms':>10}{'ratio':>8}  {'aim':<14}{'':<8}note")
    timings = []
    for name in wanted:
        timings.append(measure(name))
        print(_row(timings[-1]), flush=True)
    _grow(timings)
    return 0


def _grow(timings: list[Timing]) -> None:
    """How the same job's time grows from one size of the store to the next."""
    by_job: dict[str, list[tuple[int, float]]] = {}
    for timing in timings:
        sized = _SIZED.fullmatch(timing.name)
        if sized:
            size = int(sized["size"].replace(",", ""))
            by_job.setdefault(f"{sized['what']}: {sized['job']}", []).append((size, timing.ours_ms))
    grown = {job: sorted(times) for job, times in by_job.items() if len(times) > 1}
    if grown:
        sizes = sorted({size for times in grown.values() for size, _ in times})
        print("\n" + f"{'growth, times the size before':<64}" + "".join(f"{size:>14,}" for size in sizes))
    for job, times in grown.items():
        found, cells = dict(times), []
        for before, size in zip([None, *sizes], sizes, strict=False):
            now = found.get(size)
            then = found.get(before) if before is not None else None
            cells.append("–" if now is None else f"{now:.2f} ms" if then is None else f"× {now / then:.2f}")
        print(f"{job:<64}" + "".join(f"{cell:>14}" for cell in cells))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
