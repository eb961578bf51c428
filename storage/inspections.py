"""Recorded inspections: added whole, read whole, never edited."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Row

from inspect_core.domain.errors import Conflict, NotFound
from inspect_core.domain.gear import Item
from inspect_core.domain.inspection import Inspection
from storage import inspection_mapping as mapping
from storage.mapping import item_of
from storage.prepared import Change, Prepared
from storage.search import SqlSearch
from storage.tables import findings, inspection_photos, inspections, items, marks
from storage.tallies import SqlTallies, counts_of, summed
from storage.work import Work

#: So many numbers go into one list of a query; SQLite takes 32,766 and slows down long before.
_BATCH = 500

# Statements of the hot paths are built once; building one costs more than SQLite takes to answer it.
_ITEM = Prepared(sa.select(items).where(items.c.id == sa.bindparam("item_id")))
_ONE = Prepared(sa.select(inspections).where(inspections.c.id == sa.bindparam("id")))
_SHOW = Change(
    sa.update(items)
    .where(
        items.c.id == sa.bindparam("item"),
        sa.or_(items.c.photo_at.is_(None), items.c.photo_at <= sa.bindparam("taken")),
    )
    .values(photo_id=sa.bindparam("cover"), photo_at=sa.bindparam("taken"))
)
_SHARED = sa.text(
    "INSERT INTO shared_photos (photo_id) SELECT CAST(:photo AS TEXT) WHERE EXISTS ("
    "SELECT 1 FROM inspection_photos WHERE photo_id = :photo AND inspection <> :number)"
    " ON CONFLICT (photo_id) DO NOTHING"
)
_CORRECTING = Prepared(sa.select(inspections.c.id).where(inspections.c.corrects == sa.bindparam("corrects")).limit(2))
_OF_ITEM = (
    sa.select(inspections)
    .where(inspections.c.item_id == sa.bindparam("item_id"))
    .order_by(inspections.c.at.desc(), inspections.c.number.desc())
)
_PARTS = {
    table: sa.select(table)
    .where(table.c.inspection.in_(sa.bindparam("numbers", expanding=True)))
    .order_by(table.c.inspection, table.c.position)
    for table in (inspection_photos, marks, findings)
}


class SqlInspections:
    """Fulfils InspectionRepository."""

    def __init__(self, work: Work, search: SqlSearch) -> None:
        self._work = work
        self._search = search

    def add(self, inspection: Inspection) -> None:
        """Raises Conflict where an inspection with that id is recorded already, NotFound for an unknown item."""
        about = self._work.first(_ITEM, {"item_id": inspection.item_id})
        if about is None:
            raise NotFound(f"No item is registered as {inspection.item_id}.", "Register it, then inspect it.")
        clash = Conflict(
            f"The inspection {inspection.id} is recorded already.",
            "Look at the item's history; to change what it says, record a new inspection that corrects it.",
        )
        number = self._work.insert(inspections, mapping.inspection_values(inspection), clash=clash)
        self._work.insert_many(inspection_photos, mapping.photo_rows(number, inspection))
        self._work.change_many(_SHARED, [{"photo": one, "number": number} for one in inspection.photo_ids])
        self._work.insert_many(marks, mapping.mark_rows(number, inspection))
        self._work.insert_many(findings, mapping.finding_rows(number, inspection))
        self._show_photo(inspection)
        item = item_of(about)
        self._search.add_inspection(inspection, item)
        self._count(inspection, item)

    def _count(self, inspection: Inspection, item: Item) -> None:
        """Counts it in; the first correction of an inspection counts that one out."""
        tallies = SqlTallies(self._work)
        tallies.count(counts_of(inspection, item))
        if inspection.corrects is None:
            return
        if len(self._work.rows(_CORRECTING, {"corrects": inspection.corrects})) == 1:
            tallies.count(counts_of(self.get(inspection.corrects), item), -1)

    def recount(self, before: Item, after: Item) -> None:
        """Moves what an item's inspections count where its kind, maker or model is mended."""
        if (before.kind, before.maker, before.model) == (after.kind, after.maker, after.model):
            return
        every = self.of_item(after.id)
        corrected = {one.corrects for one in every}
        standing = [one for one in every if one.id not in corrected]
        tallies = SqlTallies(self._work)
        tallies.count(summed(counts_of(one, before) for one in standing), -1)
        tallies.count(summed(counts_of(one, after) for one in standing))

    def _show_photo(self, inspection: Inspection) -> None:
        """The item's lists show the photo of its newest inspection that marked one."""
        cover = mapping.cover_of(inspection)
        if cover is None:
            return
        self._work.change(_SHOW, {"item": inspection.item_id, "cover": cover, "taken": inspection.at})

    def get(self, inspection_id: str) -> Inspection:
        inspection = self.find(inspection_id)
        if inspection is None:
            raise NotFound(f"No inspection is recorded as {inspection_id}.", "Look for it in the item's history.")
        return inspection

    def find(self, inspection_id: str) -> Inspection | None:
        return next(iter(self.whole(self._work.rows(_ONE, {"id": inspection_id}))), None)

    def of_item(self, item_id: str, *, limit: int | None = None) -> tuple[Inspection, ...]:
        statement = _OF_ITEM if limit is None else _OF_ITEM.limit(limit)
        return self.whole(self._work.rows(statement, {"item_id": item_id}))

    def by_prefix(self, prefix: str) -> tuple[str, ...]:
        """An empty prefix names nothing."""
        if not prefix:
            return ()
        column = inspections.c.id
        within = sa.and_(column >= prefix, column < prefix + "\U0010ffff")
        return tuple(row.id for row in self._work.rows(sa.select(column).where(within).order_by(column).limit(10)))

    def whole(self, rows: Sequence[Row[Any]]) -> tuple[Inspection, ...]:
        """The inspections of rows of their table, each with its child rows."""
        numbers = [row.number for row in rows]
        if not numbers:
            return ()
        photos, marked, found = (self._parts(table, numbers) for table in (inspection_photos, marks, findings))
        none: list[Row[Any]] = []
        return tuple(
            mapping.inspection_of(
                row, photos.get(row.number, none), marked.get(row.number, none), found.get(row.number, none)
            )
            for row in rows
        )

    def _parts(self, table: sa.Table, numbers: Sequence[int]) -> dict[int, list[Row[Any]]]:
        """Child rows in their order, by the number of their inspection."""
        grouped: dict[int, list[Row[Any]]] = {}
        for start in range(0, len(numbers), _BATCH):
            for row in self._work.rows(_PARTS[table], {"numbers": numbers[start : start + _BATCH]}):
                grouped.setdefault(row.inspection, []).append(row)
        return grouped
