"""Jobs as rows, in both engines: what is put in comes out, and goes after its time. Their files lie by themselves."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from inspect_core.domain.errors import NotFound
from inspect_core.domain.jobs import Job, JobKind, JobState
from inspect_core.ports import UnitOfWorkFactory
from storage.job_files import JobFilesOnDisk

AT = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
WAITING = Job("a" * 32, JobKind.ROLL, "p1", AT, subject="r1", wanted={"held": 3})
RUNNING = Job(
    *("b" * 32, JobKind.EXPORT, "p2", AT + timedelta(seconds=1), "", {"format": "csv", "since": None}),
    state=JobState.RUNNING,
    attempt=2,
    beat_at=AT + timedelta(minutes=1),
    done=4,
    total=9,
    words="photos",
    stop_asked=True,
)
DONE = replace(RUNNING, id="c" * 32).ended(AT + timedelta(minutes=2), JobState.DONE, result={"bytes": 12, "é": ["ü"]})
FAILED = replace(WAITING, id="d" * 32, kind=JobKind.ARCHIVE).ended(
    AT + timedelta(days=2), JobState.FAILED, problem="It failed.", remedy="Try again."
)


@pytest.fixture
def filled(units: UnitOfWorkFactory) -> UnitOfWorkFactory:
    with units(write=True) as uow:
        for job in (WAITING, RUNNING, DONE, FAILED):
            uow.jobs.add(job)
        uow.commit()
    return units


def test_a_job_comes_back_as_it_was_put_in(filled: UnitOfWorkFactory) -> None:
    with filled() as uow:
        assert [uow.jobs.find(job.id) for job in (WAITING, RUNNING, DONE, FAILED)] == [WAITING, RUNNING, DONE, FAILED]
        assert uow.jobs.find("e" * 32) is None
    changed = replace(RUNNING, done=9, stop_asked=False, beat_at=AT + timedelta(hours=1))
    with filled(write=True) as uow:
        uow.jobs.put(changed)
        uow.commit()
    with filled() as uow:
        assert uow.jobs.find(RUNNING.id) == changed and uow.jobs.find(DONE.id) == DONE


def test_jobs_are_found_by_who_asked_and_what_they_are_about(filled: UnitOfWorkFactory) -> None:
    with filled() as uow:
        assert uow.jobs.newest(JobKind.EXPORT) == DONE
        assert uow.jobs.newest(JobKind.EXPORT, asked_by="p1") is None
        assert uow.jobs.newest(JobKind.ROLL, subject="r1") == WAITING
        assert uow.jobs.newest(JobKind.ROLL, subject="r2") is None
        assert uow.jobs.active() == (WAITING, RUNNING)
        told = uow.jobs.figures(AT + timedelta(minutes=5))
    assert (told.waiting, told.running, told.failed, told.oldest, told.workers) == (1, 1, 1, 300.0, None)


def test_only_jobs_that_ended_long_ago_are_forgotten(filled: UnitOfWorkFactory) -> None:
    with filled(write=True) as uow:
        assert uow.jobs.forget(AT + timedelta(days=1)) == (DONE.id,)
        uow.commit()
    with filled() as uow:
        assert uow.jobs.find(DONE.id) is None
        assert uow.jobs.find(FAILED.id) == FAILED and uow.jobs.find(WAITING.id) == WAITING


def test_files_of_a_job_lie_in_its_folder_and_go_with_it(tmp_path: Path) -> None:
    files = JobFilesOnDisk(tmp_path / "jobs")
    assert files.names(WAITING.id) == ()
    files.put(WAITING.id, "photo-0001", b"one")
    files.put(WAITING.id, "photo-0001", b"two")
    assert files.names(WAITING.id) == ("photo-0001",) and files.read(WAITING.id, "photo-0001") == b"two"
    assert (tmp_path / "jobs").stat().st_mode & 0o077 == 0
    files.put(DONE.id, "taken.zip", b"three")
    files.forget(WAITING.id)
    files.forget(WAITING.id)
    assert files.names(WAITING.id) == () and files.read(DONE.id, "taken.zip") == b"three"
    files.forget_old(datetime.now(UTC) - timedelta(days=1))
    assert files.names(DONE.id) == ("taken.zip",)
    files.forget_old(datetime.now(UTC) + timedelta(days=1))
    assert files.names(DONE.id) == ()


@pytest.mark.parametrize("job_id", ["", "..", "../etc", "A" * 32, "a" * 31, "a" * 32 + "/x"])
def test_no_job_s_name_leads_out_of_the_folder(tmp_path: Path, job_id: str) -> None:
    files = JobFilesOnDisk(tmp_path / "jobs")
    for use in (lambda: files.put(job_id, "x", b""), lambda: files.read(job_id, "x"), lambda: files.forget(job_id)):
        with pytest.raises(NotFound):
            use()


@pytest.mark.parametrize("name", ["", ".", "..", "../x", "a/b", "/etc/passwd", ".hidden", "a\0b", "x" * 101])
def test_no_file_s_name_leads_out_of_the_job_s_folder(tmp_path: Path, name: str) -> None:
    files = JobFilesOnDisk(tmp_path / "jobs")
    with pytest.raises(NotFound):
        files.put(WAITING.id, name, b"")
    with pytest.raises(NotFound):
        files.read(WAITING.id, name)
    assert not (tmp_path / "jobs").exists()
