"""How a bench is declared and timed.

A bench module calls `bench("job")` on a function that returns a `Job`: our way and the floor, both as plain
calls. The floor is the least that any program doing this job must spend, timed in the same run, turn by turn
with ours so that a busy machine slows both.
"""

from __future__ import annotations

import gc
import os
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass


def sizes() -> tuple[int, ...]:
    """Inspections in the stores that are measured; BENCH_SIZES names others."""
    return tuple(int(size) for size in os.environ.get("BENCH_SIZES", "1000,100000,1000000").split(","))


@dataclass(frozen=True, slots=True)
class Job:
    """One thing to time. `floor` None where there is no honest floor; `target_ms` states an absolute aim,
    `target_own_ms` one for what ours takes beyond the floor, `target_growth` one for a store ten times as large."""

    ours: Callable[[], object]
    floor: Callable[[], object] | None = None
    rounds: int = 9
    target_ms: float | None = None
    target_own_ms: float | None = None
    target_ratio: float | None = None
    target_growth: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Timing:
    """Medians in milliseconds; None where there is no floor."""

    name: str
    ours_ms: float
    floor_ms: float | None
    job: Job

    @property
    def ratio(self) -> float | None:
        """Ours over floor."""
        return self.ours_ms / self.floor_ms if self.floor_ms else None

    @property
    def own_ms(self) -> float:
        """What ours takes beyond the floor."""
        return self.ours_ms - (self.floor_ms or 0.0)


#: Every declared bench by its name, in the order of declaration.
BENCHES: dict[str, Callable[[], Job]] = {}


def bench(name: str) -> Callable[[Callable[[], Job]], Callable[[], Job]]:
    """Declare a bench. The decorated function prepares inputs (untimed) and returns the Job."""

    def declare(prepare: Callable[[], Job]) -> Callable[[], Job]:
        if name in BENCHES:
            raise ValueError(f"two benches are called {name!r}")
        BENCHES[name] = prepare
        return prepare

    return declare


def _once(call: Callable[[], object]) -> float:
    start = time.perf_counter()
    call()
    return (time.perf_counter() - start) * 1000


def measure(name: str) -> Timing:
    """Run one bench: one untimed warm-up of each, then `rounds`, at most BENCH_ROUNDS, of ours and floor in turn."""
    job = BENCHES[name]()
    job.ours()
    if job.floor:
        job.floor()
    ours: list[float] = []
    floor: list[float] = []
    gc.collect()
    for _ in range(min(job.rounds, int(os.environ.get("BENCH_ROUNDS", job.rounds)))):
        ours.append(_once(job.ours))
        if job.floor:
            floor.append(_once(job.floor))
    return Timing(name, statistics.median(ours), statistics.median(floor) if floor else None, job)
