"""Work that takes longer than a person should wait for: asked for once, done aside, looked at when it is ready."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from enum import StrEnum
from types import MappingProxyType
from typing import Any

from inspect_core.domain.access import Action

#: Whoever does a job says so this often, and counts as gone after this long without a word.
BEAT = timedelta(seconds=2)
LEASE = timedelta(seconds=20)
#: A job that ended the program so often is not begun again: it might end it for ever.
MOST_ATTEMPTS = 5
#: How long what came out of a job can be fetched, and how long it is known that there was one.
FILES_KEPT = timedelta(days=3)
KEPT = timedelta(days=30)


class JobKind(StrEnum):
    """What can be asked for."""

    ROLL = "photo roll"
    WHAT_IF = "what if"
    EXPORT = "export"
    ARCHIVE = "archive"


#: What somebody must be allowed to do to ask for it.
ASKING: Mapping[JobKind, Action] = MappingProxyType(
    {
        JobKind.ROLL: Action.ADD_PHOTOS,
        JobKind.WHAT_IF: Action.WEIGH_PAST,
        JobKind.EXPORT: Action.EXPORT,
        JobKind.ARCHIVE: Action.ARCHIVE,
    }
)


class JobState(StrEnum):
    WAITING = "waiting"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    STOPPED = "stopped"


@dataclass(frozen=True, slots=True)
class Granted:
    """What somebody was allowed to do when they asked for a job, which holds until it is done."""

    person_id: str
    action: Action


@dataclass(frozen=True, slots=True)
class Job:
    """One piece of work and how far it is.

    Parameters
    ----------
    asked_by: a person's id.
    subject: id of what it is about, "" where it is about everything.
    wanted: choices and ids as plain JSON data, never a name or a text that somebody typed.
    attempt: how often it was begun; who holds another number does it no longer.
    beat_at: when whoever does it last said so.
    done, total: steps, 0 of 0 while nobody knows; `words` says of what.
    problem, remedy: why it failed, for a person.
    result: what came out, as plain JSON data.
    """

    id: str
    kind: JobKind
    asked_by: str
    asked_at: datetime
    subject: str = ""
    wanted: Mapping[str, Any] = field(default_factory=dict)
    state: JobState = JobState.WAITING
    attempt: int = 0
    beat_at: datetime | None = None
    done: int = 0
    total: int = 0
    words: str = ""
    stop_asked: bool = False
    ended_at: datetime | None = None
    problem: str = ""
    remedy: str = ""
    result: Mapping[str, Any] | None = None

    @property
    def active(self) -> bool:
        """Whether something may still come of it."""
        return self.state in (JobState.WAITING, JobState.RUNNING)

    def quiet_at(self, now: datetime) -> bool:
        """Whether nobody seems to do it: begun and not heard of since, or waiting for longer than that."""
        return self.active and now - (self.beat_at or self.asked_at) >= LEASE

    def claimed(self, now: datetime) -> Job | None:
        """The job as whoever does it from now on holds it; None where it is over or somebody else is at it."""
        if not self.active or (self.state is JobState.RUNNING and not self.quiet_at(now)):
            return None
        if self.attempt >= MOST_ATTEMPTS:
            return self.ended(
                now,
                JobState.FAILED,
                problem=f"This was begun {self.attempt} times, and each time the program ended in the middle of it.",
                remedy="Tell whoever runs Bartack here: the server's log says more.",
            )
        return replace(self, state=JobState.RUNNING, attempt=self.attempt + 1, beat_at=now)

    def ended(
        self,
        now: datetime,
        state: JobState,
        *,
        problem: str = "",
        remedy: str = "",
        result: Mapping[str, Any] | None = None,
    ) -> Job:
        return replace(self, state=state, ended_at=now, problem=problem, remedy=remedy, result=result)


@dataclass(frozen=True, slots=True)
class JobFigures:
    """How the queue fares. `workers`: processes that take jobs, None where this program does them itself.
    `oldest`: how long the oldest job that waits has waited, in seconds; 0 where none does."""

    waiting: int
    running: int
    failed: int
    oldest: float
    workers: int | None

    @property
    def stuck(self) -> bool:
        """Jobs wait, and nobody is there to take them."""
        return self.workers == 0 and self.waiting > 0 and self.oldest >= LEASE.total_seconds()
