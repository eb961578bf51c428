"""Every table as plain JSON data: what an archive holds, and the way back."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.types import TypeDecorator

from inspect_core.domain.errors import BadInput, Conflict
from storage.derived import refresh
from storage.inspections import SqlInspections
from storage.mapping import item_of
from storage.migrations import HEAD
from storage.old_tags import keep_old_tags
from storage.search import SqlSearch
from storage.tables import inspections, items, metadata, search_docs
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
    }
)
#: Rows of tables that are kept, but say only what the program has worked out, or what holds on this machine alone.
_LEFT_OUT_ROWS = {"settings": ("name", ("derived", "calendar file rests"))}
_PAGE = 1000


class SqlRows:
    """Fulfils Rows."""

    def __init__(self, work: Work, search: SqlSearch, inspected: SqlInspections) -> None:
        self._work, self._search, self._inspected = work, search, inspected

    def schema(self) -> str:
        return HEAD

    def tables(self) -> tuple[str, ...]:
        return tuple(table.name for table in metadata.sorted_tables if table.name not in _LEFT_OUT)

    def read(self, table: str) -> Iterator[dict[str, Any]]:
        rows = metadata.tables[table]
        key = sa.tuple_(*rows.primary_key.columns)
        statement = sa.select(rows).order_by(*rows.primary_key.columns).limit(_PAGE)
        if table in _LEFT_OUT_ROWS:
            column, values = _LEFT_OUT_ROWS[table]
            statement = statement.where(rows.c[column].not_in(values))
        page = self._work.rows(statement)
        while page:
            for row in page:
                yield {column.name: _plain(row._mapping[column]) for column in rows.columns}
            last = [page[-1]._mapping[column] for column in rows.primary_key.columns]
            page = self._work.rows(statement.where(key > sa.tuple_(*last)))

    def write(self, table: str, rows: Iterator[Mapping[str, Any]]) -> int:
        target = metadata.tables[table]
        readers = {column.name: _reader(column) for column in target.columns}
        many, batch = 0, list[dict[str, Any]]()
        for row in rows:
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

    def work_out(self) -> None:
        last = 0
        about = {}
        every = sa.select(items).order_by(items.c.number).limit(_PAGE)
        while page := self._work.rows(every.where(items.c.number > last)):
            last = page[-1].number
            for row in page:
                about[row.id] = item_of(row)
                self._search.add_item(row.number, about[row.id])
                keep_old_tags(self._work, about[row.id], _torn(about[row.id].tag))
        last = 0
        statement = sa.select(inspections).order_by(inspections.c.number).limit(_PAGE // 2)
        while page := self._work.rows(statement.where(inspections.c.number > last)):
            last = page[-1].number
            for inspection in self._inspected.whole(page):
                self._search.add_inspection(inspection, about[inspection.item_id])
        self._work.derive(refresh)


def _torn(tag: str) -> Conflict:
    return Conflict(f"An old tag of {tag} belongs to another item too.", "Take another archive.")


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
