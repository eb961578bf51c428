"""Every table as plain JSON data: what an archive holds, and the way back."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.types import TypeDecorator

from inspect_core.domain.errors import BadInput
from storage.derived import build
from storage.migrations import HEAD
from storage.tables import metadata, search_docs
from storage.tallies import TABLES as TALLIES
from storage.work import Work

#: Worked out from records and made anew (words, tallies, the tree, old tags), or secret and passing (PINs, sign-ins).
_LEFT_OUT = frozenset(
    {
        search_docs.name,
        "former_tags",
        *(table.name for table in TALLIES),
        "shared_photos",
        "tree_nodes",
        "credentials",
        "sign_ins",
        "guesses",
        "jobs",
    }
)
#: Rows of tables that are kept, but say only what the program has worked out, or what holds on this machine alone.
_LEFT_OUT_ROWS = {"settings": ("name", ("derived", "calendar file rests", "closed", "job queue"))}
#: Left out of archives, but taken along when a store moves.
_SECRETS = ("credentials",)
_PAGE = 1000


class SqlRows:
    """Fulfils Rows."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def schema(self) -> str:
        return HEAD

    def tables(self, *, secrets: bool = False) -> tuple[str, ...]:
        left_out = _LEFT_OUT - set(_SECRETS) if secrets else _LEFT_OUT
        return tuple(table.name for table in metadata.sorted_tables if table.name not in left_out)

    def hold(self) -> None:
        if self._work.dialect != "sqlite":
            for limit in ("idle_in_transaction_session_timeout", "statement_timeout"):
                self._work.driven(f"SET LOCAL {limit} = 0")

    def empty(self) -> bool:
        tables = (metadata.tables[name] for name in self.tables(secrets=True))
        return all(self._work.first(_kept_rows(table).limit(1)) is None for table in tables)

    def clear(self) -> None:
        for table in reversed(metadata.sorted_tables):
            deletion = sa.delete(table)
            self._work.change(deletion if table.name not in _LEFT_OUT_ROWS else deletion.where(_told(table)))

    def read(self, table: str) -> Iterator[dict[str, Any]]:
        rows = metadata.tables[table]
        key = sa.tuple_(*rows.primary_key.columns)
        statement = _kept_rows(rows).order_by(*rows.primary_key.columns).limit(_PAGE)
        page = self._work.rows(statement)
        while page:
            for row in page:
                yield {column.name: _plain(row._mapping[column]) for column in rows.columns}
            last = [page[-1]._mapping[column] for column in rows.primary_key.columns]
            page = self._work.rows(statement.where(key > sa.tuple_(*last)))

    def write(self, table: str, rows: Iterator[Mapping[str, Any]]) -> int:
        target = metadata.tables[table]
        readers = {column.name: _reader(column) for column in target.columns}
        column, never = _LEFT_OUT_ROWS.get(table, ("", ()))
        many, batch = 0, list[dict[str, Any]]()
        for row in rows:
            if never and row.get(column) in never:
                continue  # no archive of ours holds it; one that was made by hand must not close or steer this store
            many += 1
            try:
                batch.append({name: readers[name](value) for name, value in row.items()})
            except (KeyError, ValueError, TypeError) as fault:
                raise BadInput(
                    f"Row {many} of “{table}” in this archive does not fit: {str(fault)[:80]}.",
                    "Restore it with the version of the program that wrote it, or a later one.",
                ) from None
            if len(batch) == _PAGE:
                self._work.insert_many(target, batch)
                batch = []
        self._work.insert_many(target, batch)
        return many

    def work_out(self, tell: Callable[[], object] = lambda: None) -> None:
        self._work.derive(lambda connection: build(connection, tell))


def _told(table: sa.Table) -> sa.ColumnElement[bool]:
    column, values = _LEFT_OUT_ROWS[table.name]
    return table.c[column].not_in(values)


def _kept_rows(table: sa.Table) -> sa.Select[Any]:
    statement = sa.select(table)
    return statement.where(_told(table)) if table.name in _LEFT_OUT_ROWS else statement


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, date):
        return value.isoformat()
    return value.hex() if isinstance(value, bytes) else value


def _reader(column: sa.Column[Any]) -> Callable[[Any], Any]:
    kind = column.type.impl if isinstance(column.type, TypeDecorator) else column.type
    if isinstance(kind, sa.DateTime):
        return lambda value: None if value is None else datetime.fromisoformat(value)
    if isinstance(kind, sa.Date):
        return lambda value: None if value is None else date.fromisoformat(value)
    if isinstance(kind, sa.LargeBinary):
        return lambda value: None if value is None else bytes.fromhex(value)
    return lambda value: value
