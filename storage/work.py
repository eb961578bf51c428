"""The open transaction as the repositories see it: reads, writes, and clear refusals."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Row
from sqlalchemy.sql.base import Executable

from inspect_core.domain.errors import BartackError
from storage.faults import database_faults


class UnitOfWorkMisuse(RuntimeError):
    """A unit of work was used in a way that is a mistake in the program, not something a person can mend."""


@cache
def _insert(table: sa.Table) -> sa.Insert:
    return sa.insert(table)


class Work:
    """One transaction of one connection.

    Once closed, every use is refused. Writing is refused where the transaction did not take the write lock at its
    start, because what it read might have changed since.
    """

    def __init__(self, connection: Connection, *, writes: bool) -> None:
        self._connection = connection
        self._writes = writes
        self.open = True

    @property
    def dialect(self) -> str:
        return self._connection.dialect.name

    def rows(self, statement: Executable, values: dict[str, Any] | None = None) -> Sequence[Row[Any]]:
        self._check()
        with database_faults():
            return self._connection.execute(statement, values or {}).all()

    def first(self, statement: Executable, values: dict[str, Any] | None = None) -> Row[Any] | None:
        self._check()
        with database_faults():
            return self._connection.execute(statement, values or {}).first()

    def insert(self, table: sa.Table, values: dict[str, Any], *, clash: BartackError | None = None) -> int:
        """Adds one row and returns the number the database gave it, 0 where it gives none. Raises `clash` where
        its key is there already."""
        result = self._execute(_insert(table), values, clash)
        key = result.inserted_primary_key
        return key[0] if key is not None and isinstance(key[0], int) else 0

    def insert_many(self, table: sa.Table, rows: Sequence[dict[str, Any]]) -> None:
        if rows:
            self._execute(_insert(table), rows)

    def change(
        self, statement: Executable, values: dict[str, Any] | None = None, *, clash: BartackError | None = None
    ) -> int:
        """Runs an update or a delete and returns how many rows it met."""
        return self._execute(statement, values or {}, clash).rowcount

    def _execute(self, statement: Executable, values: Any, clash: BartackError | None = None) -> sa.CursorResult[Any]:
        self._check()
        if not self._writes:
            raise UnitOfWorkMisuse("This unit of work was opened for reading. Open it with write=True to write.")
        with database_faults(clash):
            result = self._connection.execute(statement, values)
            assert isinstance(result, sa.CursorResult)  # noqa: S101 - tells the type checker what Core gives back
            return result

    def _check(self) -> None:
        if not self.open:
            raise UnitOfWorkMisuse("This unit of work is over. Open a new one.")
