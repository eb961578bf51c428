"""The unit of work on a database: one transaction, written whole by `commit()` or not at all."""

from __future__ import annotations

import threading
from collections.abc import Callable
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self

from sqlalchemy.engine import Connection, Engine
from sqlalchemy.exc import DBAPIError

from inspect_core import ports, ports_account, ports_jobs, ports_looking, ports_outside, ports_people, ports_trends
from storage.engine import WRITES
from storage.faults import database_faults
from storage.inspections import SqlInspections
from storage.jobs import Queue, SqlJobs
from storage.kits import SqlKits
from storage.lives import SqlLives
from storage.queries import SqlReviews
from storage.records import SqlRecords
from storage.repositories import SqlCustody, SqlDrafts, SqlItems, SqlLedger, SqlPeople, SqlPhotos
from storage.rolls import SqlRolls, SqlSettings
from storage.rows import SqlRows
from storage.saved_searches import SqlSavedSearches
from storage.search import SqlSearch
from storage.second_readings import SqlSecondReadings
from storage.setups import SqlSetups
from storage.sign_ins import SqlSignIns
from storage.tree import SqlTree
from storage.work import UnitOfWorkMisuse, Work

#: Which engines this thread is writing to: a second unit of work there would wait for the first for ever.
_writing = threading.local()


class SqlUnitOfWork:
    """Fulfils UnitOfWork. Used once, as a context manager.

    `commit()` and `rollback()` end the transaction; whatever comes after them needs a new unit of work. Raises
    StoreFault where the database fails and Conflict where the record contradicts it; UnitOfWorkMisuse for nesting,
    use outside the block, and writing without `write=True`, which are mistakes of the program.
    """

    items: ports.ItemRepository
    inspections: ports.InspectionRepository
    custody: ports.CustodyRepository
    photos: ports.PhotoRepository
    people: ports.PersonRepository
    sign_ins: ports_people.SignInRepository
    kits: ports_people.KitRepository
    drafts: ports.DraftRepository
    setups: ports_outside.SetupRepository
    rolls: ports_outside.RollRepository
    jobs: ports_jobs.JobRepository
    settings: ports_outside.SettingsRepository
    second_readings: ports_trends.SecondReadingRepository
    ledger: ports.LedgerRepository
    tree: ports_account.TreeRepository
    records: ports_account.RecordReader
    rows: ports_account.Rows
    search: ports.SearchIndex
    saved_searches: ports_looking.SavedSearchRepository
    life: ports_looking.LifeReader
    reviews: ports.Reviews

    def __init__(
        self,
        engine: Engine,
        *,
        write: bool = False,
        before_commit: Callable[[ports.UnitOfWork], object] | None = None,
        queue: Queue | None = None,
    ) -> None:
        self._engine = engine
        self._write = write
        self._before_commit = before_commit
        self._queue = queue
        self._connection: Connection | None = None
        self._work: Work | None = None

    def __enter__(self) -> Self:
        if self._work is not None:
            raise UnitOfWorkMisuse("A unit of work is entered once. Open a new one.")
        if self._engine in _held():
            raise UnitOfWorkMisuse("A unit of work that writes is open here already. Pass that one on instead.")
        with database_faults():
            connection = self._engine.connect()
            try:
                (connection.execution_options(**{WRITES: True}) if self._write else connection).begin()
            except BaseException:
                connection.close()
                raise
        if self._write:
            _held().add(self._engine)
        self._connection = connection
        self._work = Work(connection, writes=self._write)
        return self

    if not TYPE_CHECKING:  # the annotations above say it better

        def __getattr__(self, name: str) -> Any:
            """Makes a repository when it is first asked for: making all of them takes as long as a short read."""
            make = _REPOSITORIES.get(name)
            if make is None:
                raise AttributeError(name)
            if self._work is None:
                raise UnitOfWorkMisuse("This unit of work was not entered. Use it as a context manager.")
            made = make(self, self._work)
            setattr(self, name, made)
            return made

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._work is not None and self._work.open:
            self._end(commit=False)

    def commit(self) -> None:
        """Writes everything, durable when this returns. Where it fails nothing is written."""
        if self._before_commit is not None and self._write and self._work is not None and self._work.open:
            self._before_commit(self)
        self._end(commit=True)

    def rollback(self) -> None:
        self._end(commit=False)

    def _end(self, *, commit: bool) -> None:
        if self._work is None or self._connection is None:
            raise UnitOfWorkMisuse("This unit of work was not entered. Use it as a context manager.")
        if not self._work.open:
            raise UnitOfWorkMisuse("This unit of work is over. Open a new one.")
        self._work.open = False
        _held().discard(self._engine)
        with database_faults(), self._connection as connection:
            try:
                if commit:
                    connection.commit()
                else:
                    connection.rollback()
            except DBAPIError:
                # What was refused is still open on this connection: closed for good, the database drops it.
                connection.invalidate()
                raise


_REPOSITORIES: dict[str, Callable[[Any, Work], Any]] = {
    "items": lambda unit, work: SqlItems(work, unit.search),
    "inspections": lambda unit, work: SqlInspections(work, unit.search),
    "custody": lambda _, work: SqlCustody(work),
    "photos": lambda _, work: SqlPhotos(work),
    "people": lambda _, work: SqlPeople(work),
    "sign_ins": lambda _, work: SqlSignIns(work),
    "kits": lambda _, work: SqlKits(work),
    "drafts": lambda _, work: SqlDrafts(work),
    "setups": lambda _, work: SqlSetups(work),
    "second_readings": lambda _, work: SqlSecondReadings(work),
    "rolls": lambda _, work: SqlRolls(work),
    "jobs": lambda unit, work: SqlJobs(work, unit._queue),
    "settings": lambda _, work: SqlSettings(work),
    "ledger": lambda _, work: SqlLedger(work),
    "tree": lambda _, work: SqlTree(work),
    "records": lambda unit, work: SqlRecords(work, unit.inspections),
    "rows": lambda _, work: SqlRows(work),
    "search": lambda _, work: SqlSearch(work),
    "saved_searches": lambda _, work: SqlSavedSearches(work),
    "life": lambda _, work: SqlLives(work),
    "reviews": lambda _, work: SqlReviews(work),
}


def _held() -> set[Engine]:
    held: set[Engine] | None = getattr(_writing, "engines", None)
    if held is None:
        held = _writing.engines = set()
    return held


def unit_of_work_factory(
    engine: Engine, before_commit: Callable[[ports.UnitOfWork], object] | None = None, queue: Queue | None = None
) -> ports.UnitOfWorkFactory:
    """Opens units of work on the engine. `before_commit` is the last to write into each one that is committed; `queue`:
    where jobs are put for other processes to take."""

    def open_unit(*, write: bool = False) -> ports.UnitOfWork:
        return SqlUnitOfWork(engine, write=write, before_commit=before_commit, queue=queue)

    return open_unit
