"""Every record of a kind by the page, for checking, exporting and archiving the whole store.

A row is turned into its domain value and back: a column that then says something else was changed by another hand
than this program's (a day that is not that of its time, a name whose search key is another's).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Row

from inspect_core.domain.errors import BartackError
from inspect_core.domain.record import StoredRecord
from storage import inspection_mapping, mapping
from storage.inspections import SqlInspections
from storage.kits import SqlKits
from storage.people_tables import kit_events, kits
from storage.reading_tables import second_readings
from storage.second_readings import SqlSecondReadings
from storage.setups import SqlSetups
from storage.tables import custody, inspections, items, marks, people, photos, settings, setups
from storage.work import Work

_BATCH = 500


@dataclass(frozen=True)
class _Kind:
    """`load` turns rows into records in the same order; `values` gives the columns of a record's own row, where some
    of them follow from others; `wrong` names what is wrong with each row beside that."""

    table: sa.Table
    key: str
    load: Callable[[Sequence[Row[Any]]], Sequence[Any]]
    values: Callable[[Any], Mapping[str, Any]]
    wrong: Callable[[Sequence[Row[Any]]], Sequence[tuple[str, ...]]] = lambda rows: [()] * len(rows)


class SqlRecords:
    """Fulfils RecordReader."""

    def __init__(self, work: Work, inspected: SqlInspections) -> None:
        self._work = work
        self._kinds = {
            "item": _Kind(items, "number", _each(mapping.item_row_of), _item_values, self._wrong_photo),
            "inspection": _Kind(inspections, "number", inspected.whole, inspection_mapping.inspection_values),
            "custody": _Kind(custody, "number", _each(mapping.custody_of), mapping.custody_values),
            "person": _Kind(people, "number", _each(mapping.person_of), mapping.person_values),
            "photo": _Kind(photos, "id", _each(mapping.photo_of), mapping.photo_values),
            "set-up check": _Kind(setups, "number", _found_by(SqlSetups(work).find), _nothing),
            "kit": _Kind(kits, "number", _found_by(SqlKits(work).get), _nothing),
            "kit event": _Kind(kit_events, "number", _found_by(SqlKits(work).find_event), _nothing),
            "second reading": _Kind(second_readings, "number", _found_by(SqlSecondReadings(work).find), _nothing),
            "setting": _Kind(settings, "name", _each(_setting_of), _nothing),
        }

    def page(self, kind: str, *, after: int | str | None = None, limit: int = _BATCH) -> tuple[StoredRecord, ...]:
        known = self._kinds[kind]
        column = known.table.c[known.key]
        statement = sa.select(known.table).order_by(column).limit(limit)
        return self._stored(known, self._work.rows(statement if after is None else statement.where(column > after)))

    def by_id(self, kind: str, ids: Sequence[str]) -> Mapping[str, StoredRecord]:
        known = self._kinds[kind]
        found: dict[str, StoredRecord] = {}
        for batch in _batches(ids):
            for one in self._stored(known, self._work.rows(sa.select(known.table).where(_id_of(known).in_(batch)))):
                found[one.id] = one
        return found

    def known(self, kind: str, ids: Sequence[str]) -> frozenset[str]:
        kept = self._kinds[kind]
        column = _id_of(kept).label("id")
        return frozenset(
            row.id for batch in _batches(ids) for row in self._work.rows(sa.select(column).where(column.in_(batch)))
        )

    def count(self, kind: str) -> int:
        row = self._work.first(sa.select(sa.func.count().label("many")).select_from(self._kinds[kind].table))
        return int(row.many) if row is not None else 0

    def _wrong_photo(self, rows: Sequence[Row[Any]]) -> Sequence[tuple[str, ...]]:
        """Lists show an item with the photo of its newest inspection that marked one."""
        covers = self._covers([row.id for row in rows])
        return [
            () if (row.photo_id, row.photo_at) == covers.get(row.id, (None, None)) else ("photo shown in lists",)
            for row in rows
        ]

    def _covers(self, item_ids: Sequence[str]) -> Mapping[str, tuple[str, datetime]]:
        marked = sa.exists().where(marks.c.inspection == inspections.c.number)
        shown: dict[str, tuple[str, datetime]] = {}
        for batch in _batches(item_ids):
            statement = sa.select(inspections.c.item_id, inspections.c.photo_id, inspections.c.at).where(
                inspections.c.item_id.in_(batch), marked
            )
            for row in self._work.rows(statement.order_by(inspections.c.at, inspections.c.number)):
                shown[row.item_id] = row.photo_id, row.at
        return shown

    def _stored(self, kind: _Kind, rows: Sequence[Row[Any]]) -> tuple[StoredRecord, ...]:
        try:
            loaded = list(kind.load(rows))
        except _UNREADABLE:
            loaded = [_one(kind, row) for row in rows]
        return tuple(
            StoredRecord(
                key=row._mapping[kind.key],
                id=row._mapping[_id_of(kind)],
                record=record,
                odd=(
                    *(("a value that cannot be read",) if record is None else _odd(row, kind.values(record))),
                    *wrong,
                ),
            )
            for row, record, wrong in zip(rows, loaded, kind.wrong(rows), strict=True)
        )


#: What a row raises that another hand has changed into something that is no record.
_UNREADABLE = (ValueError, TypeError, LookupError, AttributeError, BartackError)


def _one(kind: _Kind, row: Row[Any]) -> Any:
    try:
        return kind.load([row])[0]
    except _UNREADABLE:
        return None


def _id_of(kind: _Kind) -> sa.Column[Any]:
    return kind.table.c.name if kind.key == "name" else kind.table.c.id


def _each(one: Callable[[Row[Any]], Any]) -> Callable[[Sequence[Row[Any]]], Sequence[Any]]:
    return lambda rows: [one(row) for row in rows]


def _found_by(find: Callable[[str], Any]) -> Callable[[Sequence[Row[Any]]], Sequence[Any]]:
    """For kinds of which there are few: one at a time, as their own repository reads them."""
    return lambda rows: [find(row.id) for row in rows]


def _item_values(row: Any) -> Mapping[str, Any]:
    return {**mapping.item_values(row.item), **mapping.standing_values(row.standing)}


def _setting_of(row: Row[Any]) -> tuple[str, Any]:
    return row.name, row.value


def _nothing(_record: Any) -> Mapping[str, Any]:
    return {}


def _odd(row: Row[Any], values: Mapping[str, Any]) -> tuple[str, ...]:
    stored = row._mapping
    return tuple(name for name, value in values.items() if name in stored and stored[name] != value)


def _batches(ids: Sequence[str]) -> Iterator[list[str]]:
    for start in range(0, len(ids), _BATCH):
        yield list(ids[start : start + _BATCH])
