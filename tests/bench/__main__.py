"""`python -m tests.bench [PART…] [--sizes 1000,100000]` prints one table: each job's median, its floor timed in the
same run, the ratio, and how it grows from one size of the store to the next.

Parts: intake, reading, decision, save, history, search, trends, certificate, archive, page, start; without any, all of
them. Any other word runs every bench whose name holds it. BENCH_FOLDER keeps the stores, which take minutes to make.
"""

from __future__ import annotations

import argparse
import importlib
import os
import pkgutil
import re
import sys
from collections.abc import Sequence

import tests.bench
from tests.bench.registry import BENCHES, Timing, measure, sizes

#: What the table holds, by part; {} stands for the size of the store.
PARTS: dict[str, tuple[str, ...]] = {
    "intake": ("intake of a 12-megapixel JPEG, turned", "intake of a 48-megapixel JPEG, turned"),
    "reading": (
        "reading: length of a line, with its scale",
        "reading: rope diameter by its edges",
        "reading: stitch rhythm of a row of 20, known length",
        "scale card in a 12-megapixel photo, decoded before",
        "two 12-megapixel photos laid over each other",
    ),
    "decision": ("deciding: one lanyard with a measured cut", "deciding: 500 different cases, each once"),
    "save": ("store of {}: save, the same with a signed tree head",),
    "history": (
        "store of {}: history page, newest 20",
        "store of {}: history page, another item each time",
        "store of {}: history page, the fourth",
        "store of {}: history page, one component",
        "store of {}: timeline, newest 24 photos",
    ),
    "search": (
        "store of {}: search, rare word",
        "store of {}: search, common word",
        "store of {}: search, half a common word",
        "store of {}: search, three words and a tag",
        "store of {}: search, word with filters",
        "store of {}: search, two letters",
        "store of {}: search, one letter",
    ),
    "trends": (
        "trends of {}: inspections by kind, site, model, month",
        "trends of {}: looks by component, one kind",
        "trends of {}: marks by component, one kind",
        "trends of {}: inspections by person",
        "trends of {}: newest 200 that ended out of service",
        "trends of {}: how often, kept",
        "trends of {}: how often, cold",
    ),
    "certificate": (
        "certificate of 10 pages, 12 marked photos: with the pictures' own work",
        "store of {}: what a certificate prints",
    ),
    "archive": ("account: archive of 1,000 inspections with photos",),
    "page": (
        "page of {}: an item's history, drawn anew",
        "page of {}: today, drawn anew",
        "page of {}: check before use, drawn anew",
        "page of {}: search, drawn anew",
    ),
    "start": ("start: until the server answers", "start: until the first page stands", "start: bartack --help"),
}
_SIZED = re.compile(r"(?P<what>[a-z]+) of (?P<size>[\d,]+): (?P<job>.+)")
_HEAD = f"{'job':<56}{'store':>11}{'ours ms':>11}{'floor ms':>10}{'ratio':>8}{'grows':>7}  {'aim':<19}{'':<8}note"


def wanted(words: Sequence[str]) -> list[str]:
    """Names of the benches that were asked for, each job at one size after the other."""
    chosen: dict[str, None] = {}
    for word in words or PARTS:
        if word in PARTS:
            for pattern in PARTS[word]:
                chosen |= dict.fromkeys(pattern.format(f"{size:,}") for size in (sizes() if "{}" in pattern else (0,)))
        else:
            chosen |= dict.fromkeys(name for name in BENCHES if word in name)
    return list(chosen)


def _row(timing: Timing, before: Timing | None) -> str:
    job, sized = timing.job, _SIZED.fullmatch(timing.name)
    label, size = (f"{sized['what']}: {sized['job']}", sized["size"]) if sized else (timing.name, "")
    label = label.removeprefix("store: ")
    floor = "–" if timing.floor_ms is None else f"{timing.floor_ms:.2f}"
    ratio = "–" if timing.ratio is None else f"{timing.ratio:.2f}"
    grows = timing.ours_ms / before.ours_ms if before else None
    aims: list[tuple[str, bool]] = []
    if job.target_ms is not None:
        aims.append((f"≤ {job.target_ms:g} ms", timing.ours_ms <= job.target_ms))
    if job.target_own_ms is not None:
        aims.append((f"own ≤ {job.target_own_ms:g} ms", timing.own_ms <= job.target_own_ms))
    if job.target_ratio is not None and timing.ratio is not None:
        aims.append((f"≤ {job.target_ratio:g} ×", timing.ratio <= job.target_ratio))
    if job.target_growth is not None and grows is not None and sizes_apart(before, timing) == 10:
        aims.append((f"grows ≤ {job.target_growth:g}", grows <= job.target_growth))
    verdict = "" if not aims else "met" if all(met for _, met in aims) else "missed"
    told = f"own {timing.own_ms:.1f} ms; {job.note}" if job.target_own_ms is not None else job.note
    return (
        f"{label[:55]:<56}{size:>11}{timing.ours_ms:>11.2f}{floor:>10}{ratio:>8}"
        f"{'' if grows is None else f'{grows:.2f}':>7}  {', '.join(aim for aim, _ in aims):<19}{verdict:<8}{told}"
    ).rstrip()


def sizes_apart(before: Timing | None, now: Timing) -> float:
    """How many times as large the store is as that of the timing before; 0 where there was none."""
    found = [_SIZED.fullmatch(one.name) for one in (before, now) if one is not None]
    held = [int(one["size"].replace(",", "")) for one in found if one]
    return held[1] / held[0] if len(held) == 2 else 0.0


def main(arguments: Sequence[str]) -> int:
    """Import every bench module beside this one, run the wanted benches and print the table."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("part", nargs="*")
    parser.add_argument("--sizes", help="inspections in the stores, as 1000,100000,1000000")
    asked = parser.parse_args(arguments)
    if asked.sizes:
        os.environ["BENCH_SIZES"] = asked.sizes
    for module in pkgutil.iter_modules(tests.bench.__path__):
        if module.name not in ("__main__", "registry"):
            importlib.import_module(f"tests.bench.{module.name}")
    names = wanted(asked.part)
    if not names:
        known = f"Parts: {', '.join(PARTS)}. Known: {', '.join(BENCHES)}."
        print(f"No bench is called like {' or '.join(asked.part)}. {known}")
        return 1
    print(_HEAD, flush=True)
    last: Timing | None = None
    for name in names:
        timing = measure(name)
        same = last is not None and _job(last.name) == _job(name)
        print(_row(timing, last if same else None), flush=True)
        last = timing
    return 0


def _job(name: str) -> str:
    sized = _SIZED.fullmatch(name)
    return f"{sized['what']}: {sized['job']}" if sized else name


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
