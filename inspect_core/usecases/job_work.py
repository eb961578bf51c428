"""Doing a job: begun once, told how far it is, ended once, whatever happens to the program meanwhile.

Whoever does a job holds its attempt's number. When the program is killed the job falls silent, is begun again under the
next number, and the old number counts for nothing: if whoever held it is still there after all, it ends nothing. Each
kind of work sees to it that a step done before is not done twice.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Mapping
from dataclasses import replace
from types import TracebackType
from typing import Any, Self

from inspect_core.domain.errors import BartackError, StoreFault
from inspect_core.domain.jobs import ASKING, BEAT, Granted, Job, JobState
from inspect_core.usecases.job_kinds import DOING, USED_UP
from inspect_core.usecases.services import Services

_log = logging.getLogger("bartack")


class _Stopped(Exception):
    """Somebody asked for it to be stopped."""


class _Lost(Exception):
    """Somebody else has begun the job anew."""


class _Closing(Exception):
    """The program is about to end."""


def do_job(job_id: str, services: Services, *, closing: Callable[[], bool] = lambda: False) -> None:
    """Do it and keep how it ended; nothing where it is over or somebody else is at it. `closing`: whether the program
    is about to end, so that the job is to be left as it is, for another to go on with.

    Raises StoreFault where the store fails so that nothing can be kept; the job is then taken up again later.
    """
    job = _claim(job_id, services)
    if job is None:
        return
    # Not whoever happens to be signed in here, but what was granted when it was asked for.
    granted = replace(services, actor=None, granted=Granted(job.asked_by, ASKING[job.kind]))
    state, problem, remedy = JobState.FAILED, "", ""
    result: Mapping[str, Any] | None = None
    try:
        with _Beat(job, services, closing) as beat:
            result = DOING[job.kind](job, granted, beat.progress)
        state = JobState.DONE
    except _Lost:
        return
    except _Closing:
        _leave(job, services)
        return
    except _Stopped:
        state = JobState.STOPPED
    except BartackError as refusal:
        problem, remedy = refusal.problem, refusal.remedy
    except Exception:
        _log.exception("a job failed")
        problem = "This did not work, and it is not your fault."
        remedy = "Try it again; if it happens again, tell whoever runs Bartack here: the server's log says more."
    kept = _end(job, state, problem, remedy, result, services)
    if kept and state is JobState.DONE and job.kind in USED_UP and services.job_files is not None:
        # Not earlier: a job whose end is not kept is begun again, with what was handed in for it.
        services.job_files.forget(job.id)


def _claim(job_id: str, services: Services) -> Job | None:
    now = services.clock.now()
    with services.unit_of_work(write=True) as uow:
        found = uow.jobs.find(job_id)
        job = found.claimed(now) if found is not None else None
        if job is None:
            return None
        uow.jobs.put(job)
        uow.commit()
    return job if job.active else None


def _leave(job: Job, services: Services) -> None:
    """Puts it back for another to go on with at once."""
    with services.unit_of_work(write=True) as uow:
        now = uow.jobs.find(job.id)
        if now is not None and now.attempt == job.attempt and now.active:
            uow.jobs.put(replace(now, state=JobState.WAITING, beat_at=None))
            uow.jobs.hand_over(job.id)
            uow.commit()


def _end(
    job: Job, state: JobState, problem: str, remedy: str, result: Mapping[str, Any] | None, services: Services
) -> bool:
    """Whether it is kept: not where somebody else has begun the job anew."""
    with services.unit_of_work(write=True) as uow:
        now = uow.jobs.find(job.id)
        if now is None or now.attempt != job.attempt or not now.active:
            return False
        uow.jobs.put(now.ended(services.clock.now(), state, problem=problem, remedy=remedy, result=result))
        uow.commit()
    _log.info("job", extra={"told": {"kind": job.kind.value, "ended": state.value, "attempt": job.attempt}})
    return True


class _Beat:
    """Says every few seconds that the job is being done and how far it is, and hears whether it is to be stopped."""

    def __init__(self, job: Job, services: Services, closing: Callable[[], bool]) -> None:
        self._job, self._services, self._closing = job, services, closing
        self._over = threading.Event()
        self._told = (0, 0, "")
        self._stop: type[Exception] | None = None
        self._thread = threading.Thread(target=self._run, name="job beat", daemon=True)

    def progress(self, done: int, total: int, words: str = "") -> None:
        """Called by whoever does the work, between two steps; raises where it is to go no further."""
        self._told = (done, total, words)
        if self._closing():
            raise _Closing
        if self._stop is not None:
            raise self._stop

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._over.set()
        self._thread.join()

    def _run(self) -> None:
        while not self._over.wait(BEAT.total_seconds()):
            try:
                self._say()
            except StoreFault:
                continue  # said again in a moment; who is silent for too long is taken for gone
            except Exception:
                _log.exception("a job cannot say how far it is")

    def _say(self) -> None:
        done, total, words = self._told
        with self._services.unit_of_work(write=True) as uow:
            now = uow.jobs.find(self._job.id)
            if now is None or now.attempt != self._job.attempt or not now.active:
                self._stop = _Lost
                return
            if now.stop_asked:
                self._stop = _Stopped
            uow.jobs.put(replace(now, beat_at=self._services.clock.now(), done=done, total=total, words=words))
            uow.commit()
