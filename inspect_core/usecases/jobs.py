"""Work that is done aside: asking for it, seeing how far it is, stopping it, fetching what came out.

Whether somebody may have it done is decided when they ask, in the same transaction that keeps the job; what they may do
at that moment holds until it is done, even if their sign-in ends meanwhile. Fetching what came out is asked anew.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from inspect_core.domain.errors import Conflict, NotAllowed, NotFound
from inspect_core.domain.jobs import ASKING, FILES_KEPT, KEPT, Job, JobFigures, JobKind, JobState
from inspect_core.ports import UnitOfWork
from inspect_core.ports_jobs import JobFiles
from inspect_core.usecases.acting import acting, somebody
from inspect_core.usecases.job_kinds import USED_UP
from inspect_core.usecases.job_work import do_job
from inspect_core.usecases.services import Services


def files_of(services: Services) -> JobFiles:
    """Where files of jobs lie. Raises NotAllowed where this program was opened without."""
    if services.job_files is None:
        raise NotAllowed("This program was opened without a place for such work.", "Open it over a store.")
    return services.job_files


def ask(
    kind: JobKind,
    by: str,
    services: Services,
    *,
    job_id: str | None = None,
    subject: str = "",
    wanted: Mapping[str, Any] | None = None,
    files: Mapping[str, bytes] | None = None,
) -> Job:
    """Have something done aside. The same `job_id` a second time gives back the first. `files` are handed in with it.

    Raises NotAllowed, and Conflict while the same person's last one of that kind and subject is still being done.
    """
    job = Job(job_id or services.new_id(), kind, by, services.clock.now(), subject, dict(wanted or {}))
    handed_in = files_of(services)
    with services.unit_of_work() as uow:  # before anything is written to disk for somebody who may not
        known = uow.jobs.find(job.id)
        if known is None:
            _check(uow, services, job)
    if known is not None:
        return _own(known, by)
    for name, content in (files or {}).items():
        handed_in.put(job.id, name, content)
    with services.unit_of_work(write=True) as uow:
        known = uow.jobs.find(job.id)
        if known is None:
            _check(uow, services, job)
            uow.jobs.add(job)
            uow.jobs.forget(job.asked_at - KEPT)
            uow.commit()
    if known is None:
        _wake(job.id, services)
        handed_in.forget_old(job.asked_at - FILES_KEPT)
    return _own(known or job, by)


def _own(job: Job, by: str) -> Job:
    if job.asked_by != by:
        raise NotAllowed("Somebody else asked for this.", "Ask for one of your own.")
    return job


def again(job_id: str, by: str, services: Services) -> Job:
    """Have one that failed done once more, with what was handed in for it.

    Raises NotAllowed, NotFound where that is no longer kept, Conflict while another of that kind and subject is done.
    """
    with services.unit_of_work(write=True) as uow:
        job = uow.jobs.find(job_id)
        if job is None or not can_again(job, services):
            raise NotFound("This file is no longer kept.", "Ask for it again.")
        _check(uow, services, _own(job, by))
        job = replace(Job(job.id, job.kind, by, services.clock.now(), job.subject), wanted=job.wanted)
        uow.jobs.put(job)
        uow.jobs.hand_over(job.id)
        uow.commit()
    _wake(job.id, services)
    return job


def can_again(job: Job, services: Services) -> bool:
    """Whether it failed and what was handed in for it still lies there."""
    return job.state is JobState.FAILED and job.kind in USED_UP and bool(files_of(services).names(job.id))


def _check(uow: UnitOfWork, services: Services, job: Job) -> None:
    acting(uow, services, job.asked_by, ASKING[job.kind], to_sign=False)
    last = uow.jobs.newest(job.kind, asked_by=job.asked_by, subject=job.subject)
    if last is not None and last.active:
        raise Conflict("This is being done already.", "Wait until it is ready, or stop it.")


def look(job_id: str, services: Services) -> Job:
    """How far it is. Raises NotFound.

    What nobody seems to do any more, because the program was ended in the middle of it, is taken up again.
    """
    with services.unit_of_work() as uow:
        job = uow.jobs.find(job_id)
    if job is None:
        raise NotFound("No such job is known.", "Ask for it again.")
    if job.quiet_at(services.clock.now()):
        _wake(job.id, services)
    return job


def newest(kind: JobKind, services: Services, *, by: str = "", subject: str = "") -> Job | None:
    """The last one of that kind that was asked for, by that person and about that subject where they are given."""
    with services.unit_of_work() as uow:
        return uow.jobs.newest(kind, asked_by=by, subject=subject)


def stop(job_id: str, services: Services) -> None:
    """Have it stopped: at once where it waits, else before its next step. What was written stays. Nothing where it is
    over. In a locked site it takes whoever asked for it."""
    with services.unit_of_work(write=True) as uow:
        job = uow.jobs.find(job_id)
        if job is None or not job.active:
            return
        somebody(uow, services)
        if services.actor is not None and services.actor.person_id != job.asked_by:
            raise NotAllowed("Somebody else asked for this.", "Whoever asked for it can stop it.")
        if job.state is JobState.WAITING or job.quiet_at(services.clock.now()):
            uow.jobs.put(job.ended(services.clock.now(), JobState.STOPPED))
        else:
            uow.jobs.put(replace(job, stop_asked=True))
        uow.commit()


def fetch(job_id: str, name: str, by: str, services: Services) -> bytes:
    """A file that came out of a job, for whoever asked for it while they may still have it. Raises NotAllowed, NotFound
    where it is no longer kept."""
    with services.unit_of_work() as uow:
        job = uow.jobs.find(job_id)
        if job is None or job.state is not JobState.DONE:
            raise NotFound("Nothing is ready to be fetched.", "Ask for it again.")
        _own(job, by)
        acting(uow, services, by, ASKING[job.kind], to_sign=False)
    return files_of(services).read(job_id, name)


def is_kept(job: Job, services: Services) -> bool:
    """Whether files that came out of it can still be fetched."""
    return (
        job.state is JobState.DONE
        and job.ended_at is not None
        and services.clock.now() - job.ended_at < FILES_KEPT
        and bool(files_of(services).names(job.id))
    )


def figures(services: Services) -> JobFigures:
    """How the queue fares, for whoever watches the server."""
    with services.unit_of_work() as uow:
        return uow.jobs.figures(services.clock.now())


def take_up(services: Services) -> tuple[str, ...]:
    """Put jobs that nobody seems to do into the queue again, and tell which."""
    now = services.clock.now()
    with services.unit_of_work() as uow:
        if not any(job.quiet_at(now) for job in uow.jobs.active()):
            return ()
    with services.unit_of_work(write=True) as uow:
        lost = [job.id for job in uow.jobs.active() if job.quiet_at(now)]
        for job_id in lost:
            uow.jobs.hand_over(job_id)
        uow.commit()
    return tuple(lost)


def _wake(job_id: str, services: Services) -> None:
    if services.jobs is not None:
        runner = services.jobs
        runner.wake(job_id, lambda: do_job(job_id, services, closing=runner.closing))
