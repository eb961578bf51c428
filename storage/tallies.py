"""Counts that trends read instead of every inspection, kept in the transaction that adds it.

What one inspection counts is worked out from the inspection itself, by one function: it is counted in when it is
added, counted out when a later one corrects it, and moved when its item's kind, maker or model is mended.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from functools import cache
from typing import Any

import sqlalchemy as sa

from inspect_core.domain.dates import add_months
from inspect_core.domain.decision import Answer
from inspect_core.domain.gear import Item, model_label
from inspect_core.domain.inspection import Inspection
from storage.tables import (
    category_tallies,
    inspection_tallies,
    mark_items,
    mark_tallies,
    part_tallies,
    person_tallies,
)
from storage.work import Work

TABLES = (inspection_tallies, person_tallies, part_tallies, category_tallies, mark_tallies, mark_items)
_SEEN = (Answer.SOUND, Answer.DEFECT)

#: A period as what is tallied and what is not: the first and last of the months that lie in it whole (None: no
#: bound), or None where no month does; and the days before and after them, each from one day to another.
Split = tuple[tuple[str | None, str | None] | None, list[tuple[date, date]]]


def whole_months(since: date | None, until: date | None) -> Split:
    """The months that a period holds whole, and its days outside them; both bounds belong to the period."""
    edges: list[tuple[date, date]] = []
    first, last = since, until
    if since is not None and since.day > 1:
        end = _end_of_month(since)
        edges.append((since, end if until is None else min(end, until)))
        first = end + timedelta(days=1)
    if until is not None and until < _end_of_month(until):
        start = until.replace(day=1)
        if since is None or start >= since:
            edges.append((start, until))
        last = start - timedelta(days=1)
    if first is not None and last is not None and first > last:
        return None, edges
    return (f"{first:%Y-%m}" if first else None, f"{last:%Y-%m}" if last else None), edges


def within_months(statement: sa.Select[Any], table: sa.Table, months: tuple[str | None, str | None]) -> sa.Select[Any]:
    """The statement over a tally, from the first to the last of those months."""
    first, last = months
    if first is not None:
        statement = statement.where(table.c.month >= first)
    return statement if last is None else statement.where(table.c.month <= last)


def _end_of_month(day: date) -> date:
    return add_months(day.replace(day=1), 1) - timedelta(days=1)


#: Counts by table and key, both in the order of the table's columns.
Counts = dict[sa.Table, dict[tuple[str, ...], tuple[int, ...]]]


def counts_of(inspection: Inspection, item: Item) -> Counts:
    """What one inspection of an item adds to each tally."""
    month, site = f"{inspection.at:%Y-%m}", inspection.site
    kind, model, outcome = item.kind.value, model_label(item.maker, item.model), inspection.outcome.value
    marked = {mark.component for mark in inspection.marks}
    looked = {part for part, answer in inspection.answers.items() if answer in _SEEN} | marked
    shown = Counter((mark.component, mark.category) for mark in inspection.marks)
    on_item = Counter(mark.component for mark in inspection.marks)
    return {
        inspection_tallies: {(month, kind, model, site, outcome): (1,)},
        person_tallies: {(month, inspection.by, kind, model, site, inspection.type.value, outcome): (1,)},
        part_tallies: {(kind, month, part.value, model, site): (1, int(part in marked)) for part in looked},
        category_tallies: {
            (month, kind, model, site, category.value): (1,)
            for category in {mark.category for mark in inspection.marks}
        },
        mark_tallies: {
            (kind, month, part.value, category.value, model, site): (many,) for (part, category), many in shown.items()
        },
        mark_items: {(kind, part.value, month, model, site, item.id): (many,) for part, many in on_item.items()},
    }


def summed(every: Iterable[Counts]) -> Counts:
    """Counts of many inspections in one."""
    total: Counts = {table: {} for table in TABLES}
    for counts in every:
        for table, added in counts.items():
            own = total[table]
            for key, many in added.items():
                before = own.get(key)
                own[key] = many if before is None else tuple(a + b for a, b in zip(before, many, strict=True))
    return total


class SqlTallies:
    """The tallies of an open transaction."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def count(self, counts: Counts, sign: int = 1) -> None:
        """Adds counts, or with `sign` -1 takes them out."""
        for table, added in counts.items():
            if added:
                names = [column.name for column in table.columns]
                rows = [
                    dict(zip(names, (*key, *(sign * one for one in many)), strict=True)) for key, many in added.items()
                ]
                self._work.change_many(_adding(table), rows)

    def all(self) -> Mapping[sa.Table, Mapping[tuple[str, ...], tuple[int, ...]]]:
        """Everything kept; rows that count nothing say the same as no row and are left out."""
        kept: Counts = {}
        for table in TABLES:
            width = len(table.primary_key)
            rows = (tuple(row) for row in self._work.rows(sa.select(table)))
            kept[table] = {row[:width]: row[width:] for row in rows if any(row[width:])}
        return kept

    def clear(self) -> None:
        for table in TABLES:
            self._work.change(sa.delete(table))


@cache
def _adding(table: sa.Table) -> sa.TextClause:
    """An insert that adds to a row that is there; SQLite and PostgreSQL read it alike."""
    names = [column.name for column in table.columns]
    key = [column.name for column in table.primary_key]
    quoted = ", ".join(f'"{name}"' for name in names)
    added = ", ".join(f"{n} = {table.name}.{n} + excluded.{n}" for n in names if n not in key)
    values = ", ".join(f":{name}" for name in names)
    on = ", ".join(f'"{name}"' for name in key)
    sql = f"INSERT INTO {table.name} ({quoted}) VALUES ({values}) ON CONFLICT ({on}) DO UPDATE SET {added}"  # noqa: S608
    return sa.text(sql)
