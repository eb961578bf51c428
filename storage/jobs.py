"""Jobs as rows."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Protocol

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Row

from inspect_core.domain.jobs import Job, JobFigures, JobKind, JobState
from storage.job_tables import jobs
from storage.work import Work

_ACTIVE = (JobState.WAITING.value, JobState.RUNNING.value)


class Queue(Protocol):
    """Where processes of their own take jobs."""

    def add(self, connection: Connection, job_id: str) -> None: ...

    def workers(self, connection: Connection) -> int: ...


class SqlJobs:
    """Fulfils JobRepository. `queue`: where processes of their own take jobs, None where this program does them."""

    def __init__(self, work: Work, queue: Queue | None = None) -> None:
        self._work, self._queue = work, queue

    def add(self, job: Job) -> None:
        self._work.insert(jobs, _row(job))
        self.hand_over(job.id)

    def find(self, job_id: str) -> Job | None:
        row = self._work.first(sa.select(jobs).where(jobs.c.id == job_id))
        return _job(row) if row else None

    def put(self, job: Job) -> None:
        values = _row(job)
        del values["id"]
        self._work.change(sa.update(jobs).where(jobs.c.id == job.id).values(values))

    def hand_over(self, job_id: str) -> None:
        queue = self._queue
        if queue is not None:
            self._work.derive(lambda connection: queue.add(connection, job_id))

    def newest(self, kind: JobKind, *, asked_by: str = "", subject: str = "") -> Job | None:
        statement = sa.select(jobs).where(jobs.c.kind == kind.value).order_by(jobs.c.number.desc()).limit(1)
        if asked_by:
            statement = statement.where(jobs.c.asked_by == asked_by)
        if subject:
            statement = statement.where(jobs.c.subject == subject)
        row = self._work.first(statement)
        return _job(row) if row else None

    def active(self) -> tuple[Job, ...]:
        statement = sa.select(jobs).where(jobs.c.state.in_(_ACTIVE)).order_by(jobs.c.number)
        return tuple(map(_job, self._work.rows(statement)))

    def forget(self, ended_before: datetime) -> tuple[str, ...]:
        old = jobs.c.ended_at < ended_before
        found = tuple(row.id for row in self._work.rows(sa.select(jobs.c.id).where(old)))
        if found:
            self._work.change(sa.delete(jobs).where(old))
        return found

    def figures(self, now: datetime) -> JobFigures:
        counted = sa.select(jobs.c.state, sa.func.count().label("many"), sa.func.min(jobs.c.asked_at).label("oldest"))
        found = {row.state: row for row in self._work.rows(counted.group_by(jobs.c.state))}
        many = {state: int(row.many) for state, row in found.items()}
        waiting = found.get(JobState.WAITING.value)
        workers: list[int] = []
        queue = self._queue
        if queue is not None:
            self._work.derive(lambda connection: workers.append(queue.workers(connection)))
        return JobFigures(
            waiting=many.get(JobState.WAITING.value, 0),
            running=many.get(JobState.RUNNING.value, 0),
            failed=many.get(JobState.FAILED.value, 0),
            oldest=max(0.0, (now - waiting.oldest).total_seconds()) if waiting else 0.0,
            workers=workers[0] if workers else None,
        )


def _row(job: Job) -> dict[str, Any]:
    return {
        "id": job.id,
        "kind": job.kind.value,
        "asked_by": job.asked_by,
        "asked_at": job.asked_at,
        "subject": job.subject,
        "wanted": dict(job.wanted),
        "state": job.state.value,
        "attempt": job.attempt,
        "beat_at": job.beat_at,
        "done": job.done,
        "total": job.total,
        "words": job.words,
        "stop_asked": job.stop_asked,
        "ended_at": job.ended_at,
        "problem": job.problem,
        "remedy": job.remedy,
        "result": dict(job.result) if job.result is not None else {},
    }


def _job(row: Row[Any]) -> Job:
    return Job(
        id=row.id,
        kind=JobKind(row.kind),
        asked_by=row.asked_by,
        asked_at=row.asked_at,
        subject=row.subject,
        wanted=row.wanted,
        state=JobState(row.state),
        attempt=row.attempt,
        beat_at=row.beat_at,
        done=row.done,
        total=row.total,
        words=row.words,
        stop_asked=bool(row.stop_asked),
        ended_at=row.ended_at,
        problem=row.problem,
        remedy=row.remedy,
        result=row.result if row.state == JobState.DONE.value else None,
    )
