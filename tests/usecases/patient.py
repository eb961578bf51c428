"""Stands for whoever does jobs: does them when told, so that a test can look at one that waits."""

from __future__ import annotations

from collections.abc import Callable


class Patient:
    """Fulfils JobRunner."""

    def __init__(self) -> None:
        self.waiting: dict[str, Callable[[], object]] = {}

    def wake(self, job_id: str, do: Callable[[], object]) -> None:
        self.waiting[job_id] = do

    def closing(self) -> bool:
        return False

    def close(self) -> None:
        return

    def work(self) -> None:
        while self.waiting:
            self.waiting.popitem()[1]()
