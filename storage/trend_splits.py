"""Counts that the trends page asks for beside its tallies: by person, by category, and photos used twice."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import sqlalchemy as sa

from inspect_core.domain.counted import MarkRow
from inspect_core.domain.decision import Outcome
from inspect_core.domain.gear import Component, Kind, model_label
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category
from inspect_core.domain.second_reading import InspectorCount, SharedPhoto
from storage.tables import category_tallies, inspection_photos, inspections, items, marks, person_tallies, shared_photos
from storage.trend_marks import CORRECTED, SqlMarkCounts, of_gear, of_model, within

_BATCH = 500


class SqlTrendSplits(SqlMarkCounts):
    """The part of Reviews that the questions about people and categories ask for."""

    def inspector_counts(
        self,
        *,
        kind: Kind | None = None,
        site: str | None = None,
        model: str | None = None,
        since: date | None = None,
        until: date | None = None,
    ) -> tuple[InspectorCount, ...]:
        """Per person, kind, and whether in detail; corrected inspections are counted off."""
        column, own = inspections.c, person_tallies.c
        kept = sa.select(
            own.by,
            own.kind,
            own.type,
            sa.func.sum(own.many).label("many"),
            sa.func.sum(sa.case((own.outcome != Outcome.IN_SERVICE.value, own.many), else_=0)).label("bad"),
        ).group_by(own.by, own.kind, own.type)
        bad = sa.func.sum(sa.case((column.outcome != Outcome.IN_SERVICE.value, 1), else_=0)).label("bad")
        counted = sa.select(column.by, items.c.kind, column.type, sa.func.count().label("many"), bad)
        counted = counted.join_from(inspections, items, items.c.id == column.item_id)
        counted = _scoped(counted, kind, site, model).group_by(column.by, items.c.kind, column.type)
        many, defects = Counter[tuple[str, str, bool]](), Counter[tuple[str, str, bool]]()
        for sign, row in self.counted(
            of_gear(kept, person_tallies, kind, site, model), counted, person_tallies, since, until
        ):
            key = (row.by, row.kind, row.type != InspectionType.BEFORE_USE.value)
            many[key] += sign * row.many
            defects[key] += sign * int(row.bad)
        return tuple(
            InspectorCount(by, Kind(kind_), detail_, count, defects[by, kind_, detail_])
            for (by, kind_, detail_), count in sorted(many.items())
            if count
        )

    def category_counts(
        self,
        *,
        kind: Kind | None = None,
        site: str | None = None,
        model: str | None = None,
        since: date | None = None,
        until: date | None = None,
    ) -> Mapping[Category, int]:
        """In how many inspections each category was marked."""
        own = category_tallies.c
        kept = sa.select(own.category, sa.func.sum(own.marked).label("many")).group_by(own.category)
        counted = (
            sa.select(marks.c.category, sa.func.count(marks.c.inspection.distinct()).label("many"))
            .join_from(marks, inspections, inspections.c.number == marks.c.inspection)
            .join(items, items.c.id == inspections.c.item_id)
            .group_by(marks.c.category)
        )
        found = Counter[Category]()
        for sign, row in self.counted(
            of_gear(kept, category_tallies, kind, site, model),
            _scoped(counted, kind, site, model),
            category_tallies,
            since,
            until,
        ):
            found[Category(row.category)] += sign * row.many
        return {category: many for category, many in found.items() if many}

    def marked_as(
        self,
        category: Category,
        *,
        kind: Kind | None = None,
        site: str | None = None,
        model: str | None = None,
        since: date | None = None,
        until: date | None = None,
        limit: int = 200,
    ) -> tuple[MarkRow, ...]:
        """Marks of one category, newest inspection first."""
        column = inspections.c
        statement = (
            sa.select(column.id, column.item_id, items.c.tag, column.day, marks.c.component)
            .join_from(marks, inspections, column.number == marks.c.inspection)
            .join(items, items.c.id == column.item_id)
            .where(marks.c.category == category.value, column.id.not_in(CORRECTED))
            .order_by(column.day.desc(), column.number.desc(), marks.c.position)
            .limit(limit)
        )
        return tuple(
            MarkRow(row.id, row.item_id, row.tag, row.day, Component(row.component), category)
            for row in self._work.rows(within(_scoped(statement, kind, site, model), since, until))
        )

    def shared_photos(
        self,
        *,
        kind: Kind | None = None,
        site: str | None = None,
        model: str | None = None,
        since: date | None = None,
        until: date | None = None,
    ) -> tuple[SharedPhoto, ...]:
        """Uses of photos that stand in more than one inspection; corrections, which repeat their photos, left out."""
        column, used = inspections.c, inspection_photos.c
        twice = sa.select(shared_photos.c.photo_id)
        statement = (
            sa.select(used.photo_id, column.id, column.item_id, items.c.tag, column.day, column.by)
            .join_from(inspection_photos, inspections, column.number == used.inspection)
            .join(items, items.c.id == column.item_id)
            .where(used.photo_id.in_(twice), column.id.not_in(CORRECTED))
            .order_by(used.photo_id, column.number)
        )
        return tuple(
            SharedPhoto(row.photo_id, row.id, row.item_id, row.tag, row.day, row.by)
            for row in self._work.rows(within(_scoped(statement, kind, site, model), since, until))
        )

    def models(self) -> tuple[str, ...]:
        """Maker and model in one label, every pair on record once, by name; items without either in none."""
        rows = self._work.rows(sa.select(items.c.maker, items.c.model).distinct())
        return tuple(sorted({model_label(row.maker, row.model) for row in rows} - {""}))

    def item_photos(self, item_ids: Sequence[str]) -> Mapping[str, str]:
        """The photo that lists show for each of these items; items without one are missing."""
        found: dict[str, str] = {}
        for start in range(0, len(item_ids), _BATCH):
            wanted = items.c.id.in_(item_ids[start : start + _BATCH])
            statement = sa.select(items.c.id, items.c.photo_id).where(wanted, items.c.photo_id.is_not(None))
            found |= {row.id: row.photo_id for row in self._work.rows(statement)}
        return found


def _scoped(statement: sa.Select[Any], kind: Kind | None, site: str | None, model: str | None) -> sa.Select[Any]:
    if kind is not None:
        statement = statement.where(items.c.kind == kind.value)
    if site is not None:
        statement = statement.where(inspections.c.site == site)
    return of_model(statement, model)
