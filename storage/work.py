"""The open transaction as the repositories see it: reads, writes, and clear refusals."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from typing import Any, NamedTuple

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Dialect, Row
from sqlalchemy.exc import DBAPIError
from sqlalchemy.sql.base import Executable

from inspect_core.domain.errors import BartackError
from storage.faults import database_faults


class UnitOfWorkMisuse(RuntimeError):
    """A unit of work was used in a way that is a mistake in the program, not something a person can mend."""


class Prepared:
    """A statement that is worked out once and then sent straight to the driver.

    For the few that screens wait for: what SQLAlchemy does on every call costs more than SQLite takes to answer them.
    Values are bound by name, and rows come as plain tuples in the order of the columns, converted as their types say.
    """

    def __init__(self, statement: sa.Select[Any]) -> None:
        self._statement = statement
        self._made: dict[str, _Made] = {}

    def made_for(self, dialect: Dialect) -> _Made:
        made = self._made.get(dialect.name)
        if made is None:
            compiled = self._statement.compile(dialect=dialect)
            names = compiled.positiontup
            positional = names is not None
            binds: dict[str, Any] = dict(compiled._bind_processors)
            columns = [column.type.dialect_impl(dialect) for column in self._statement.selected_columns]
            made = self._made[dialect.name] = _Made(
                str(compiled),
                positional,
                tuple((name, binds.get(name)) for name in (compiled.params if names is None else names)),
                {name: value for name, value in compiled.params.items() if value is not None},
                tuple(
                    (place, process)
                    for place, kind in enumerate(columns)
                    if (process := kind.result_processor(dialect, None)) is not None
                ),
            )
        return made


class _Made(NamedTuple):
    """SQL, whether its values go by their place, their names in order with what converts each, values that are always
    the same, and which columns of a row are converted."""

    sql: str
    positional: bool
    names: tuple[tuple[str, Callable[[Any], Any] | None], ...]
    fixed: dict[str, Any]
    columns: tuple[tuple[int, Callable[[Any], Any]], ...]


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

    def tuples(self, prepared: Prepared, values: dict[str, Any] | None = None) -> list[tuple[Any, ...]]:
        """Rows of a prepared statement."""
        made = prepared.made_for(self._connection.dialect)
        given = made.fixed | (values or {})
        if made.positional:
            rows = self.driven(
                made.sql, tuple([process(given[name]) if process else given[name] for name, process in made.names])
            )
        else:
            rows = self.driven(
                made.sql, {name: process(given[name]) if process else given[name] for name, process in made.names}
            )
        if made.columns and rows:
            converted = [list(row) for row in rows]
            for place, process in made.columns:
                for row in converted:
                    row[place] = process(row[place])
            return [tuple(row) for row in converted]
        return rows

    def driven(self, sql: str, bound: tuple[Any, ...] | dict[str, Any] = ()) -> list[tuple[Any, ...]]:
        """Rows of a statement in the driver's own words, as the driver gives them."""
        self._check()
        connection = self._connection
        with database_faults():
            try:
                cursor = connection.connection.cursor()
                try:
                    # Whoever listens to what is sent hears of these too.
                    for heard in connection.dispatch.before_cursor_execute:
                        heard(connection, cursor, sql, bound, None, False)
                    cursor.execute(sql, bound)
                    return list(cursor.fetchall()) if cursor.description else []
                finally:
                    cursor.close()
            except connection.dialect.loaded_dbapi.Error as error:
                raise DBAPIError.instance(sql, bound, error, connection.dialect.loaded_dbapi.Error) from error

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

    def change_many(self, statement: Executable, rows: Sequence[dict[str, Any]]) -> None:
        """Runs a statement that writes once for each row of values."""
        if rows:
            self._execute(statement, rows)

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
