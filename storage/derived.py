"""What the store works out from its records and keeps: the tallies of trends and the words of the search index.

The repositories keep both up to date. They are made anew only when a program that makes them otherwise opens the
store; `tally_faults` tells whether the tallies still say what the records say.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from inspect_core.domain.errors import Conflict
from inspect_core.domain.gear import Item
from inspect_core.domain.inspection import Inspection
from storage.inspections import SqlInspections
from storage.mapping import item_of
from storage.old_tags import keep_old_tags
from storage.rolls import SqlSettings
from storage.search import SqlSearch
from storage.tables import inspection_photos, inspections, items, settings, shared_photos
from storage.tallies import TABLES, SqlTallies, counts_of, summed
from storage.work import Work

#: Raised by one whenever what is worked out changes, so that stores are brought up to date when they are opened.
VERSION = 2
_NAME = "derived"
_BATCH = 500


def is_fresh(connection: Connection) -> bool:
    """Whether tallies and words are as this program makes them."""
    return connection.scalar(sa.select(settings.c.value).where(settings.c.name == _NAME)) == VERSION


def build(connection: Connection, tell: Callable[[], object] = lambda: None) -> None:
    """Counts every record and writes every word of a store that has neither yet, in the open transaction. `tell` is
    called with each batch. Raises Conflict where two items carried one tag."""
    work = Work(connection, writes=True)
    tallies, search = SqlTallies(work), SqlSearch(work)
    _find_shared_photos(work)
    with search.filling():
        every: dict[str, Item] = {}
        last = 0
        some = sa.select(items).order_by(items.c.number).limit(_BATCH)
        while rows := work.rows(some.where(items.c.number > last)):
            last = rows[-1].number
            for row in rows:
                every[row.id] = item = item_of(row)
                torn = Conflict(f"An old tag of {item.tag} belongs to another item too.", "Take another archive.")
                keep_old_tags(work, item, torn)
            search.add_items([(row.number, every[row.id]) for row in rows])
            tell()
        corrected = _corrected(work)
        for batch in _batches(work, search):
            whole = [(one, every[one.item_id]) for one in batch]
            tallies.count(summed(counts_of(one, item) for one, item in whole if one.id not in corrected))
            search.add_inspections(whole)
            tell()
    SqlSettings(work).put(_NAME, VERSION)


def refresh(connection: Connection) -> None:
    """Counts every record anew and writes every word anew, in the open transaction. Takes minutes in a store of a
    million inspections."""
    work = Work(connection, writes=True)
    tallies, search = SqlTallies(work), SqlSearch(work)
    tallies.clear()
    work.change(sa.delete(shared_photos))
    _find_shared_photos(work)
    with search.rewriting():
        every = {row.id: (row.number, item_of(row)) for row in work.rows(sa.select(items))}
        for number, item in every.values():
            search.rewrite_item(number, item)
        corrected = _corrected(work)
        for batch in _batches(work, search):
            whole = [(one, every[one.item_id][1]) for one in batch]
            tallies.count(summed(counts_of(one, item) for one, item in whole if one.id not in corrected))
            search.rewrite_inspections(whole)
    SqlSettings(work).put(_NAME, VERSION)


def tally_faults(connection: Connection) -> tuple[str, ...]:
    """Where a tally says something else than the records do; empty when all is well."""
    work = Work(connection, writes=False)
    items_: dict[str, Item] = {row.id: item_of(row) for row in work.rows(sa.select(items))}
    corrected = _corrected(work)
    counted = summed(
        counts_of(one, items_[one.item_id])
        for batch in _batches(work, SqlSearch(work))
        for one in batch
        if one.id not in corrected
    )
    kept = SqlTallies(work).all()
    return tuple(
        f"{table.name} {key}: {kept[table].get(key, 0)} kept, {counted[table].get(key, 0)} counted."
        for table in TABLES
        for key in sorted(kept[table].keys() | counted[table].keys())
        if kept[table].get(key, (0,)) != tuple(counted[table].get(key, (0,)))
    )


def _find_shared_photos(work: Work) -> None:
    used = inspection_photos.c
    twice = sa.select(used.photo_id).group_by(used.photo_id).having(sa.func.count(used.inspection.distinct()) > 1)
    work.change(sa.insert(shared_photos).from_select(["photo_id"], twice))


def _corrected(work: Work) -> set[str]:
    return {row.corrects for row in work.rows(sa.select(inspections.c.corrects).where(inspections.c.corrects != ""))}


def _batches(work: Work, search: SqlSearch) -> Iterator[tuple[Inspection, ...]]:
    """Every inspection, some at a time so that a large store never stands in memory whole."""
    repository, last = SqlInspections(work, search), 0
    statement = sa.select(inspections).order_by(inspections.c.number).limit(_BATCH)
    while rows := work.rows(statement.where(inspections.c.number > last)):
        last = rows[-1].number
        yield repository.whole(rows)
