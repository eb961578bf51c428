"""The open transaction as the repositories see it: reads, writes, and clear refusals."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import nullcontext
from functools import cache
from typing import Any, TypeVar

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Row
from sqlalchemy.exc import DBAPIError
from sqlalchemy.sql.base import Executable

from inspect_core.domain.errors import BartackError
from storage.faults import database_faults
from storage.prepared import Bound, Change, Kept, Made, Prepared, insertion, spoken


class UnitOfWorkMisuse(RuntimeError):
    """A unit of work was used in a way that is a mistake in the program, not something a person can mend."""


T = TypeVar("T")


@cache
def _numbered(table: sa.Table) -> bool:
    """Whether the database numbers the table's rows itself."""
    (key, *more) = table.primary_key
    return not more and isinstance(key.type, sa.Integer)


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

    def rows(self, statement: Executable | Prepared, values: dict[str, Any] | None = None) -> Sequence[Row[Any]]:
        if isinstance(statement, Prepared):
            return self._named(statement, values)
        self._check()
        with database_faults():
            return self._connection.execute(statement, values or {}).all()

    def first(self, statement: Executable | Prepared, values: dict[str, Any] | None = None) -> Row[Any] | None:
        if isinstance(statement, Prepared):
            return next(iter(self._named(statement, values)), None)
        self._check()
        with database_faults():
            return self._connection.execute(statement, values or {}).first()

    def tuples(self, prepared: Prepared, values: dict[str, Any] | None = None) -> list[tuple[Any, ...]]:
        """Rows of a prepared statement in the order of its columns."""
        made = prepared.made_for(self._connection.dialect)
        return made.converted(self.driven(made.sql, made.bound(values or {})))

    def raw(self, prepared: Prepared, values: dict[str, Any]) -> list[tuple[Any, ...]]:
        """As `tuples`, each value as the driver gives it."""
        made = prepared.made_for(self._connection.dialect)
        return self.driven(made.sql, made.bound(values))

    def raw_of(self, prepared: Prepared, values: tuple[Any, ...]) -> list[tuple[Any, ...]]:
        """As `raw`, for plain values in the order in which the statement names them."""
        made = prepared.made_for(self._connection.dialect)
        return self.driven(made.sql, made.listed(values))

    def made_of(self, kept: Kept[T], values: tuple[Any, ...]) -> list[T]:
        """What the rows of a statement make, for plain values in the order in which it names them."""
        return kept.values_of(self.raw_of(kept, values), self._connection.dialect)

    def _named(self, prepared: Prepared, values: dict[str, Any] | None) -> list[Any]:
        made = prepared.made_for(self._connection.dialect)
        return [made.row(row) for row in made.converted(self.driven(made.sql, made.bound(values or {})))]

    def driven(self, sql: str, bound: Bound = ()) -> list[tuple[Any, ...]]:
        """Rows of a statement in the driver's own words, as the driver gives them."""
        rows: list[tuple[Any, ...]] = self._send(
            sql, bound, lambda cursor: cursor.fetchall() if cursor.description else []
        )
        return rows

    def _send(self, sql: str, bound: Any, taken: Callable[[Any], Any], *, clash: BartackError | None = None) -> Any:
        """Sends a statement to the driver, a list of values once for each, and returns what is taken of its cursor."""
        self._check()
        connection, many = self._connection, isinstance(bound, list)
        error_class = connection.dialect.loaded_dbapi.Error
        with database_faults(clash):
            cursor: Any = connection.connection.cursor()
            try:
                # Whoever listens to what is sent hears of these too.
                for heard in connection.engine.dispatch.before_cursor_execute:
                    heard(connection, cursor, sql, bound, None, many)
                (cursor.executemany if many else cursor.execute)(sql, bound)
                return taken(cursor)
            except error_class as error:
                raise DBAPIError.instance(sql, bound, error, error_class) from error
            finally:
                cursor.close()

    def insert(self, table: sa.Table, values: dict[str, Any], *, clash: BartackError | None = None) -> int:
        """Adds one row and returns the number the database gave it, 0 where it gives none. Raises `clash` where
        its key is there already."""
        if self.dialect != "sqlite":
            result = self._execute(_insert(table), values, clash)
            key = result.inserted_primary_key
            return key[0] if key is not None and isinstance(key[0], int) else 0
        self._check_writes()
        made = insertion(self._connection.dialect, table, tuple(values))
        number: int = self._send(made.sql, made.bound(values), lambda cursor: cursor.lastrowid, clash=clash)
        return number if _numbered(table) else 0

    def insert_many(self, table: sa.Table, rows: Sequence[dict[str, Any]]) -> None:
        """Adds rows, all with the same columns. Where they bring their numbers along, the database counts on from the
        last one."""
        if rows:
            self._many(insertion(self._connection.dialect, table, tuple(rows[0])), rows)
            if self.dialect != "sqlite" and _numbered(table) and "number" in rows[0]:
                # Nothing where the table's numbers come from no sequence: the function answers NULL to NULL.
                sequence = f"pg_get_serial_sequence('{table.name}', 'number')"
                self.driven(f"SELECT setval({sequence}, (SELECT max(number) FROM {table.name}))")  # noqa: S608 - our own names

    def derive(self, make: Callable[[Connection], None]) -> None:
        """Lets something that works on whole tables write on this transaction's own connection."""
        self._check()
        with database_faults():
            make(self._connection)

    def change_many(self, statement: sa.TextClause, rows: Sequence[dict[str, Any]]) -> None:
        """Runs a statement that writes once for each row of values."""
        if rows:
            self._many(spoken(self._connection.dialect, statement), rows)

    def _many(self, made: Made, rows: Sequence[dict[str, Any]]) -> None:
        self._check_writes()
        bound = [made.bound(row) for row in rows]
        self._send(made.sql, bound[0] if len(bound) == 1 else bound, lambda _cursor: None)

    def change(
        self, statement: Executable | Change, values: dict[str, Any] | None = None, *, clash: BartackError | None = None
    ) -> int:
        """Runs an update or a delete and returns how many rows it met."""
        if isinstance(statement, Change):
            self._check_writes()
            made = statement.made_for(self._connection.dialect)
            met: int = self._send(made.sql, made.bound(values or {}), lambda cursor: cursor.rowcount, clash=clash)
            return met
        return self._execute(statement, values or {}, clash).rowcount

    def _execute(self, statement: Executable, values: Any, clash: BartackError | None = None) -> sa.CursorResult[Any]:
        self._check_writes()
        # PostgreSQL gives up the whole transaction at a refused statement; where a clash is foreseen, the unit of work
        # may go on after it as it does in SQLite.
        foreseen = self._connection.begin_nested() if clash and self.dialect != "sqlite" else nullcontext()
        with database_faults(clash), foreseen:
            result = self._connection.execute(statement, values)
            assert isinstance(result, sa.CursorResult)  # noqa: S101 - tells the type checker what Core gives back
            return result

    def _check(self) -> None:
        if not self.open:
            raise UnitOfWorkMisuse("This unit of work is over. Open a new one.")

    def _check_writes(self) -> None:
        self._check()
        if not self._writes:
            raise UnitOfWorkMisuse("This unit of work was opened for reading. Open it with write=True to write.")
