"""Jobs on a server: a queue in the database and workers of their own, of which any may be killed."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import timedelta
from importlib.resources import files
from pathlib import Path
from urllib.parse import quote

import pytest
import sqlalchemy as sa

from inspect_core.bootstrap import SystemClock
from inspect_core.domain.errors import Conflict
from inspect_core.domain.jobs import Job, JobKind, JobState
from inspect_core.usecases import jobs
from inspect_core.usecases.export import Export
from inspect_core.usecases.health import health
from inspect_core.usecases.job_asking import ask_archive, ask_export, read_roll
from inspect_core.usecases.job_kinds import TAKEN
from inspect_core.usecases.job_work import do_job
from inspect_core.usecases.roll import begin_roll, sort_roll
from storage.engine import WRITES, open_engine
from storage.job_queue import SEEN, JobQueue
from storage.tables import settings
from tests.engines import pg_server
from tests.usecases.roll_photos import roll
from tests.usecases.site import Site

pytestmark = pytest.mark.engine
ROOT = Path(__file__).parents[2]


class LaterClock(SystemClock):
    """The clock of somebody who looks a minute later."""

    def now(self):  # type: ignore[no-untyped-def]
        return super().now() + timedelta(minutes=1)


@pytest.fixture(scope="module")
def server() -> Iterator[pg_server.PgServer]:
    if pg_server.program("initdb") is None:
        pytest.skip("PostgreSQL not installed")
    with pg_server.serving() as server:
        yield server


@pytest.fixture
def address(server: pg_server.PgServer, tmp_path: Path) -> str:
    name = f"jobs{abs(hash(str(tmp_path))) % 10**9}"
    return f"{server.make_database(name)}?folder={quote(str(tmp_path), safe='')}"


@pytest.fixture
def site(address: str) -> Iterator[Site]:
    site = Site(address)  # type: ignore[arg-type]
    site.services = replace(site.services, clock=SystemClock())
    yield site
    site.services.close()


@contextmanager
def worker(address: str, *more: str, **environment: str) -> Iterator[subprocess.Popen[str]]:
    command = [sys.executable, "-m", "inspect_core.terminal", "--store", address, "work", *more]
    process = subprocess.Popen(
        command, cwd=ROOT, env={**os.environ, **environment}, text=True, stderr=subprocess.PIPE, stdout=subprocess.PIPE
    )
    try:
        yield process
    finally:
        process.kill()
        process.communicate()


def until(site: Site, job: Job, *states: JobState, seconds: float = 60) -> Job:
    end = time.monotonic() + seconds
    while (found := jobs.look(job.id, site.services)).state not in states:
        assert time.monotonic() < end, found
        time.sleep(0.1)
    return found


def entries(server: pg_server.PgServer, site: Site) -> int:
    """How many entries stand in the queue's own table."""
    many: list[int] = []
    with site.services.unit_of_work() as uow:
        work = uow.jobs._work  # type: ignore[attr-defined]
        work.derive(lambda c: many.append(c.exec_driver_sql("SELECT count(*) FROM procrastinate_jobs").scalar_one()))
    return many[0]


def test_a_job_is_asked_for_here_and_done_by_a_worker(site: Site, address: str, server: pg_server.PgServer) -> None:
    site.lanyard()
    with worker(address) as process:
        first = ask_export(Export(), site.manager, site.services)
        done = until(site, first, JobState.DONE)
        assert done.result is not None and done.attempt == 1
        assert len(jobs.fetch(done.id, TAKEN, site.manager, site.services)) == done.result["bytes"]
        assert jobs.figures(site.services).workers == 1
        process.send_signal(signal.SIGTERM)
        assert process.wait(20) == 0
    assert entries(server, site) == 0


def test_a_job_and_its_entry_are_there_both_or_neither(site: Site, server: pg_server.PgServer) -> None:
    with site.services.unit_of_work(write=True) as uow:
        uow.jobs.add(Job("a" * 32, JobKind.EXPORT, site.manager, site.services.clock.now()))
        uow.rollback()
    assert entries(server, site) == 0
    asked = ask_export(Export(), site.manager, site.services)
    assert entries(server, site) == 1
    with site.services.unit_of_work(write=True) as uow:
        uow.jobs.hand_over(asked.id)  # stands there already
        uow.commit()
    assert entries(server, site) == 1
    with pytest.raises(Conflict):
        ask_export(Export(), site.manager, site.services)


def test_jobs_that_wait_while_nobody_works_are_told_to_whoever_watches(site: Site) -> None:
    assert health(site.services)["ok"]
    ask_archive(site.manager, site.services)
    assert health(site.services)["ok"]  # asked for just now
    told = health(replace(site.services, clock=LaterClock()))
    assert not told["ok"] and "no worker" in told["jobs"]


def test_a_killed_worker_s_job_is_done_by_the_next_and_nothing_twice(
    site: Site, address: str, server: pg_server.PgServer
) -> None:
    site.lanyard("WL-0001")
    taken, _ = roll(("WL-0001",), 40)
    one = begin_roll(site.worker, site.services)
    asked = read_roll(one.id, taken, site.worker, site.services)
    with worker(address) as process:
        end = time.monotonic() + 60
        while not (3 <= len(photos_of(one.id, site)) < 30):
            assert time.monotonic() < end
            time.sleep(0.01)
        process.send_signal(signal.SIGKILL)
        process.wait()
    read = len(photos_of(one.id, site))
    assert 3 <= read < 40
    assert jobs.look(asked.id, site.services).state is JobState.RUNNING
    # The next worker finds it silent, a while later, and takes it up.
    with worker(address):
        job = until(site, asked, JobState.DONE, JobState.FAILED)
    assert job.result == {"fresh": 40, "twice": 0, "refused": []} and job.attempt == 2
    assert len(sort_roll(one.id, site.services).photos) == 40
    assert len(set(photos_of(one.id, site))) == 40
    do_job(asked.id, site.services)  # whoever comes late does nothing
    assert jobs.look(asked.id, site.services) == job


def photos_of(roll_id: str, site: Site) -> list[str]:
    with site.services.unit_of_work() as uow:
        return [photo.photo_id for photo in uow.rolls.photos(roll_id)]


def test_the_queue_s_tables_are_made_once_and_brought_up_to_date_by_the_library_s_steps(
    site: Site, address: str
) -> None:
    # As a store looks whose program came with the library's last step but one.
    database = address.split("?")[0]
    engine = open_engine(database)
    steps = sorted(p.name for p in (files("procrastinate.sql") / "migrations").iterdir() if p.name.endswith(".sql"))
    there = sa.text("SELECT count(*) FROM pg_trigger WHERE tgname = 'procrastinate_trigger_status_events_update_v1'")
    seen = sa.select(settings.c.value).where(settings.c.name == SEEN)
    with engine.connect().execution_options(**{WRITES: True}) as connection, connection.begin():
        assert connection.scalar(seen) == steps[-1] and connection.scalar(there) == 1
        connection.execute(sa.update(settings).where(settings.c.name == SEEN).values(value=steps[-2]))
        connection.execute(sa.text("DROP TRIGGER procrastinate_trigger_status_events_update_v1 ON procrastinate_jobs"))
    for _ in range(2):
        JobQueue(database).prepare(engine)
    with engine.connect() as connection:
        assert connection.scalar(seen) == steps[-1] and connection.scalar(there) == 1
    engine.dispose()
