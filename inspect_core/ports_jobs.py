"""Jobs that are done aside, as protocols: how they are kept, who does them, and the files that go with them.

There are two ways behind it. In a store of one person's own a thread of this program does them. On a server they stand
in a queue in the database, and processes of their own (`bartack work`) take them.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Protocol

from inspect_core.domain.jobs import Job, JobFigures, JobKind


class JobRepository(Protocol):
    """Jobs and how far they are, in the same transaction as everything else."""

    def add(self, job: Job) -> None:
        """Keeps it and, on a server, puts it in the queue: both with the commit or neither."""
        ...

    def find(self, job_id: str) -> Job | None: ...

    def put(self, job: Job) -> None:
        """Replaces what is kept of it."""
        ...

    def hand_over(self, job_id: str) -> None:
        """Puts a job into the queue once more that nobody seems to do; nothing where it stands there."""
        ...

    def newest(self, kind: JobKind, *, asked_by: str = "", subject: str = "") -> Job | None:
        """The last one that was asked for, of that person and about that subject where they are named."""
        ...

    def active(self) -> tuple[Job, ...]:
        """Those that wait or run, in the order of asking."""
        ...

    def forget(self, ended_before: datetime) -> tuple[str, ...]:
        """Drops jobs that ended earlier, and tells which."""
        ...

    def figures(self, now: datetime) -> JobFigures: ...


class JobRunner(Protocol):
    """Does jobs that were added and committed."""

    def wake(self, job_id: str, do: Callable[[], object]) -> None:
        """Sees to it that the job is done. `do` does it, for a runner that works in this very program; waking twice
        does it once."""
        ...

    def closing(self) -> bool:
        """Whether the program is about to end and what is begun here is to be left for another."""
        ...

    def close(self) -> None:
        """Takes nothing more."""
        ...


class JobFiles(Protocol):
    """Files that were handed in for a job and those that came out of it, readable by every process of the site."""

    def put(self, job_id: str, name: str, content: bytes) -> None:
        """Durable when this returns. Raises StoreFault."""
        ...

    def names(self, job_id: str) -> tuple[str, ...]: ...

    def read(self, job_id: str, name: str) -> bytes:
        """Raises NotFound."""
        ...

    def place(self, job_id: str, name: str) -> Path:
        """Where a file or folder of the job lies or will lie; its folder is made."""
        ...

    def forget(self, job_id: str) -> None:
        """Removes everything of the job; nothing where there is nothing."""
        ...

    def forget_old(self, before: datetime) -> None:
        """Removes the files of every job that were last added to earlier."""
        ...
