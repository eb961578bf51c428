"""Statements that are worked out once and then sent straight to the driver.

For what people wait for: what SQLAlchemy does on every call costs more than SQLite takes to answer. It still writes
the SQL and knows how each value is kept; only the walk through it on every call is left out.
"""

from __future__ import annotations

import json
from collections import namedtuple
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from functools import cache, lru_cache
from typing import Any, Generic, NamedTuple, TypeVar

import sqlalchemy as sa
from sqlalchemy.engine import Dialect
from sqlalchemy.sql.elements import ClauseElement

from storage.tables import UtcTime

T = TypeVar("T")
Bound = tuple[Any, ...] | dict[str, Any]
Process = Callable[[Any], Any]


class Made(NamedTuple):
    """A statement in one engine's words. `names`: its values in order, with what converts each; `columns`: which
    columns of a row are converted; `documents`: which of the others hold JSON as text; `row`: makes a row that is read
    by name."""

    sql: str
    positional: bool
    names: tuple[tuple[str, Process | None], ...]
    fixed: dict[str, Any]
    columns: tuple[tuple[int, Process], ...]
    documents: tuple[int, ...]
    row: Callable[[Any], Any]

    def bound(self, values: dict[str, Any]) -> Bound:
        """The values as the driver takes them."""
        given = self.fixed | values if self.fixed else values
        if self.positional:
            return tuple([process(given[name]) if process else given[name] for name, process in self.names])
        return {name: process(given[name]) if process else given[name] for name, process in self.names}

    def listed(self, values: tuple[Any, ...]) -> Bound:
        """The values of a statement that has no others, in its own order, which need no conversion."""
        return values if self.positional else dict(zip([name for name, _ in self.names], values, strict=True))

    def converted(self, rows: list[tuple[Any, ...]]) -> list[Any]:
        """Rows as their columns' types give them back."""
        if not (self.columns or self.documents) or not rows:
            return rows
        changed: list[Any] = [list(row) for row in rows]
        for place in self.documents:
            # All of a column in one go: starting the reader takes longer than reading so little.
            texts = [row[place] or "null" for row in rows]
            for row, value in zip(changed, json.loads(f"[{','.join(texts)}]"), strict=True):
                row[place] = value
        for place, process in self.columns:
            for row in changed:
                row[place] = process(row[place])
        return changed


class Prepared:
    """A query. Values are bound by name; rows come as plain tuples (`Work.tuples`) or are read by the columns' names
    (`Work.rows`, `Work.first`)."""

    def __init__(self, statement: sa.Select[Any]) -> None:
        self._statement = statement
        self._made: dict[str, Made] = {}

    def made_for(self, dialect: Dialect) -> Made:
        made = self._made.get(dialect.name)
        if made is None:
            columns = list(self._statement.selected_columns)
            made = self._made[dialect.name] = _made(self._statement, dialect, columns)
        return made


class Kept(Prepared, Generic[T]):
    """A query of which each row is made into one value. What a row makes depends on the row alone, so the values made
    last are kept and cannot be stale."""

    def __init__(self, statement: sa.Select[Any], make: Callable[[Any], T], most: int = 2048) -> None:
        super().__init__(statement)
        self._make, self._most = make, most
        self._makers: dict[str, Any] = {}

    def values_of(self, rows: list[tuple[Any, ...]], dialect: Dialect) -> list[T]:
        """The values of rows as the driver gave them."""
        maker = self._makers.get(dialect.name)
        if maker is None:
            made, make = self.made_for(dialect), self._make
            maker = lru_cache(self._most)(lambda row: make(made.row(made.converted([row])[0])))
            self._makers[dialect.name] = maker
        try:
            return [maker(row) for row in rows]
        except TypeError:  # a driver that reads JSON by itself gives lists, by which nothing can be known again
            return [maker.__wrapped__(row) for row in rows]


class Change:
    """An update or a delete that is worked out once. Values are bound by name."""

    def __init__(self, statement: sa.Update | sa.Delete) -> None:
        self._statement = statement
        self._made: dict[str, Made] = {}

    def made_for(self, dialect: Dialect) -> Made:
        made = self._made.get(dialect.name)
        if made is None:
            made = self._made[dialect.name] = _made(self._statement, dialect, [])
        return made


@cache
def insertion(dialect: Dialect, table: sa.Table, names: tuple[str, ...]) -> Made:
    """An insert of those columns."""
    return _made(sa.insert(table).values({name: sa.bindparam(name) for name in names}), dialect, [])


@cache
def spoken(dialect: Dialect, text: sa.TextClause) -> Made:
    """A statement written by hand."""
    return _made(text, dialect, [])


def _utc_time(text: str | None) -> datetime | None:
    """A time as SQLite keeps it; what SQLAlchemy does for the same takes six times as long."""
    return None if text is None else datetime.fromisoformat(text).replace(tzinfo=UTC)


def _made(statement: ClauseElement, dialect: Dialect, columns: Sequence[sa.ColumnElement[Any]]) -> Made:
    compiled: Any = statement.compile(dialect=dialect)
    names: list[str] | None = compiled.positiontup
    binds: dict[str, Any] = dict(compiled._bind_processors)
    # Floats come as floats from both drivers; PostgreSQL's type asks for the server's word for them, unknown here.
    texts = {
        place for place, column in enumerate(columns) if dialect.name == "sqlite" and isinstance(column.type, sa.JSON)
    }
    processes = [
        None
        if isinstance(column.type, sa.Float) or place in texts
        else _utc_time
        if dialect.name == "sqlite" and isinstance(column.type, UtcTime)
        else column.type.dialect_impl(dialect).result_processor(dialect, None)
        for place, column in enumerate(columns)
    ]
    named: Any = namedtuple("Row", [str(column.key) for column in columns], rename=True) if columns else None
    return Made(
        sql=str(compiled),
        positional=names is not None,
        names=tuple((name, binds.get(name)) for name in (compiled.params if names is None else names)),
        fixed={name: value for name, value in compiled.params.items() if value is not None},
        columns=tuple((place, process) for place, process in enumerate(processes) if process is not None),
        documents=tuple(sorted(texts)),
        row=named._make if named else tuple,
    )
