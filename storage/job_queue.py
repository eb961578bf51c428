"""The queue of jobs on PostgreSQL, and the worker that takes from it. Everything peculiar to procrastinate stands here.

The queue holds ids only; what a job is and how far it is stands in our own table. An entry is added on the very
connection that adds the job, so that there are both or neither, and is deleted when the job was done. Its tables are
the library's own, made from the files that it comes with.
"""

from __future__ import annotations

import asyncio
import logging
import time
from collections.abc import Callable, Iterable
from contextlib import suppress
from importlib.resources import files
from typing import Any

import psycopg
import sqlalchemy as sa
from procrastinate import App, JobContext, PsycopgConnector
from procrastinate.exceptions import AlreadyEnqueued, ConnectorException
from procrastinate.jobs import Status
from sqlalchemy.engine import Connection, Engine, make_url

from storage.engine import WRITES
from storage.faults import database_faults, gone
from storage.tables import settings

_log = logging.getLogger("bartack")
_TASK = "job"
#: Name in the settings of the last of the library's own steps that the queue's tables have seen.
SEEN = "job queue"
#: A worker says so often that it lives, and counts as dead after so long without a word, in seconds.
HEARTBEAT = 5.0
DEAD_AFTER = 20.0
#: How often a worker looks for jobs that somebody else left lying, in seconds.
_SWEEP = 5.0
#: How long a worker that is asked to end lets its job finish before it leaves it to another, in seconds.
_LEAVE_AFTER = 10.0

Do = Callable[[str, Callable[[], bool]], object]


class JobQueue:
    """The queue of the database at `address`, as `storage.address` gives it."""

    def __init__(self, address: str) -> None:
        self._address = make_url(address).set(drivername="postgresql").render_as_string(hide_password=False)
        # Gives up soon where the server is gone; `work` waits for it and begins anew.
        pool = PsycopgConnector(conninfo=self._address, min_size=1, max_size=4, timeout=10.0, reconnect_timeout=5.0)
        self._app = App(connector=pool)
        self._do: Do = lambda job_id, closing: None
        self._app.task(name=_TASK, queue=_TASK, pass_context=True)(self._run)

    def _run(self, context: JobContext, job_id: str) -> None:
        self._do(job_id, context.should_abort)

    def prepare(self, engine: Engine) -> None:
        """Makes the queue's tables, or brings them up to date with the library's own steps; quick where they are."""
        steps = sorted(
            step.name for step in (files("procrastinate.sql") / "migrations").iterdir() if _is_sql(step.name)
        )
        known = sa.select(settings.c.value).where(settings.c.name == SEEN)
        with database_faults(), engine.connect() as connection:
            if connection.scalar(known) == steps[-1]:
                return
        with database_faults(), engine.connect().execution_options(**{WRITES: True}) as connection, connection.begin():
            seen = connection.scalar(known)
            if seen is None:
                _send(connection, [files("procrastinate.sql") / "schema.sql"])
                connection.execute(sa.insert(settings).values(name=SEEN, value=steps[-1]))
            elif seen < steps[-1]:
                _send(connection, [files("procrastinate.sql") / "migrations" / step for step in steps if step > seen])
                connection.execute(sa.update(settings).where(settings.c.name == SEEN).values(value=steps[-1]))

    def add(self, connection: Connection, job_id: str) -> None:
        """An entry, on this connection and with its commit; nothing where the job waits in the queue already."""
        entry = self._app.configure_task(
            _TASK, queueing_lock=job_id, connection=connection.connection.driver_connection
        )
        try:
            with suppress(AlreadyEnqueued), connection.begin_nested():
                entry.defer(job_id=job_id)
        except ConnectorException as error:
            raise gone() from error

    def workers(self, connection: Connection) -> int:
        """How many workers live."""
        alive = "SELECT count(*) FROM procrastinate_workers WHERE last_heartbeat > now() - make_interval(secs => :dead)"
        return int(connection.scalar(sa.text(alive), {"dead": DEAD_AFTER}) or 0)

    def work(
        self,
        do: Do,
        left: Callable[[], Iterable[str]],
        *,
        wait: bool = True,
        heartbeat: float = HEARTBEAT,
        dead_after: float = DEAD_AFTER,
    ) -> None:
        """Takes one job after another and does it (by its id, and asking now and then whether the worker is closing),
        until a signal ends the program; with `wait` False until none is left.

        `left` looks for jobs that nobody seems to do, puts them into the queue again and tells which: that is how what
        a killed worker held is taken up again.
        """
        self._do = do

        async def sweep() -> None:
            while True:
                try:
                    for entry in await self._app.job_manager.get_stalled_jobs(seconds_since_heartbeat=dead_after):
                        with suppress(ConnectorException):  # another worker was quicker
                            await self._app.job_manager.finish_job(entry, Status.FAILED, delete_job=True)
                            _log.warning("a worker ended in the middle of a job")
                    await asyncio.to_thread(lambda: tuple(left()))
                except Exception as error:
                    _log.error("fault", extra={"told": {"where": "job sweep", "fault": type(error).__name__}})
                await asyncio.sleep(min(_SWEEP, dead_after))

        async def run() -> None:
            async with self._app.open_async():
                sweeping = asyncio.create_task(sweep())
                try:
                    await self._app.run_worker_async(
                        queues=[_TASK],
                        wait=wait,
                        delete_jobs="always",
                        update_heartbeat_interval=heartbeat,
                        stalled_worker_timeout=dead_after,
                        shutdown_graceful_timeout=_LEAVE_AFTER,
                    )
                finally:
                    sweeping.cancel()
                    with suppress(asyncio.CancelledError):
                        await sweeping

        while True:
            try:
                asyncio.run(run())
                return
            except (ConnectorException, psycopg.OperationalError) as error:
                if not wait:
                    raise gone() from error
                _log.error("fault", extra={"told": {"where": "job queue", "fault": type(error).__name__}})
                self._await_server()

    def _await_server(self) -> None:
        """Returns when the server answers; asked for in a plain way, since a pool gives up for good or for too long."""
        while True:
            time.sleep(_SWEEP)
            with suppress(psycopg.OperationalError), psycopg.connect(self._address, connect_timeout=5):
                return


class QueueRunner:
    """Fulfils JobRunner where workers of their own take the jobs: the database tells them by itself."""

    def wake(self, job_id: str, do: Callable[[], object]) -> None:
        """Nothing: the commit that added the job has told the workers."""

    def closing(self) -> bool:
        return False

    def close(self) -> None:
        """Nothing is held here."""


def _is_sql(name: str) -> bool:
    return name.endswith(".sql")


def _send(connection: Connection, scripts: Iterable[Any]) -> None:
    """Runs whole scripts; without values the driver sends each as it is, several statements at once."""
    driver: Any = connection.connection.driver_connection
    for script in scripts:
        with driver.cursor() as cursor:
            cursor.execute(script.read_text(encoding="utf-8"))
