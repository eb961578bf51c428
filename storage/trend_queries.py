"""What trends are made of, counted in the database. An inspection that a later one corrects is left out.

Corrections are few: counts are made over everything and the corrected ones counted off, which is far cheaper than
asking of every row whether a later one names it.
"""

from __future__ import annotations

from collections import Counter
from datetime import date
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Row

from inspect_core.domain.counted import AheadRow, DamageRow, FoundDefect, LifeRow, Tally
from inspect_core.domain.custody import Move, State
from inspect_core.domain.damage import damage_of
from inspect_core.domain.decision import Basis, Finding, FindingOutcome, Outcome
from inspect_core.domain.gear import Component, Kind, model_label
from storage.tables import (
    custody,
    findings,
    inspection_tallies,
    inspections,
    items,
)
from storage.trend_marks import CORRECTED, SqlMarkCounts, of_model, within

_LIVE = (State.IN_SERVICE.value, State.ON_HOLD.value)


class SqlTrendCounts(SqlMarkCounts):
    """The part of Reviews that trends ask for."""

    def lives(self) -> tuple[LifeRow, ...]:
        """Every item in order of its tag, with the first day on which it was withdrawn."""
        left = (
            sa.select(custody.c.item_id, sa.func.min(custody.c.day).label("left_on"))
            .where(custody.c.move == Move.WITHDRAW.value)
            .group_by(custody.c.item_id)
            .subquery()
        )
        names = ("id", "tag", "kind", "maker", "model", "site", "note", "first_used_on", "registered_on")
        statement = (
            sa.select(*(items.c[name] for name in names), left.c.left_on)
            .select_from(items)
            .outerjoin(left, left.c.item_id == items.c.id)
            .order_by(items.c.tag)
        )
        return tuple(
            LifeRow(
                row.id,
                row.tag,
                Kind(row.kind),
                row.maker,
                row.model,
                row.site,
                row.note,
                row.first_used_on,
                row.registered_on,
                row.left_on,
            )
            for row in self._work.rows(statement)
        )

    def tallies(self, *, since: date | None = None, until: date | None = None) -> tuple[Tally, ...]:
        """Inspections per kind, site, model and month, bounds included, by the date on site; ordered by month."""
        counted = Counter[tuple[str, str, str, str]]()
        defects = Counter[tuple[str, str, str, str]]()
        for sign, row in self.counted(_kept_tally(), _tally(), inspection_tallies, since, until):
            key = (row.month, row.kind, row.site, model_label(row.maker, row.model))
            counted[key] += sign * row.many
            defects[key] += sign * int(row.bad)
        return tuple(
            Tally(Kind(kind), site, month, many, defects[month, kind, site, model], model)
            for (month, kind, site, model), many in sorted(counted.items())
            if many
        )

    def found_defects(
        self,
        *,
        kind: Kind | None = None,
        site: str | None = None,
        model: str | None = None,
        since: date | None = None,
        until: date | None = None,
        limit: int = 200,
    ) -> tuple[FoundDefect, ...]:
        """Inspections that ended out of service, newest first."""
        column = inspections.c
        statement: sa.Select[Any] = (
            sa.select(column.id, column.item_id, items.c.tag, items.c.kind, column.site, column.day)
            .join_from(inspections, items, items.c.id == column.item_id)
            .where(column.outcome != Outcome.IN_SERVICE.value, column.id.not_in(CORRECTED))
            .order_by(column.day.desc(), column.number.desc())
            .limit(limit)
        )
        if kind is not None:
            statement = statement.where(items.c.kind == kind.value)
        if site is not None:
            statement = statement.where(column.site == site)
        statement = of_model(statement, model)
        return tuple(
            FoundDefect(row.id, row.item_id, row.tag, Kind(row.kind), row.site, row.day)
            for row in self._work.rows(within(statement, since, until))
        )

    def ahead(self) -> tuple[AheadRow, ...]:
        """Items in service or on hold, in order of their tags."""
        names = ("id", "tag", "kind", "site", "made_on", "maker_max_age_years", "next_due")
        statement = sa.select(*(items.c[name] for name in names)).where(items.c.state.in_(_LIVE)).order_by(items.c.tag)
        return tuple(
            AheadRow(row.id, row.tag, Kind(row.kind), row.site, row.made_on, row.maker_max_age_years, row.next_due)
            for row in self._work.rows(statement)
        )

    def damages(self) -> tuple[DamageRow, ...]:
        """Measured damage of items in service or on hold whose last look found some, by item, component and day."""
        column = inspections.c
        measured = ("outcome", "mark", "component", "measure", "value", "uncertainty", "limit_value", "unit")
        statement = (
            sa.select(column.item_id, column.day, *(findings.c[name] for name in measured))
            .join_from(items, inspections, column.item_id == items.c.id)
            .join(findings, findings.c.inspection == column.number)
            .where(
                items.c.state.in_(_LIVE),
                items.c.damage_used > 0,
                findings.c.component.is_not(None),
                findings.c.value.is_not(None),
                column.id.not_in(CORRECTED),
            )
        )
        largest: dict[tuple[str, str, date], float] = {}
        for row in self._work.rows(statement):
            key = (row.item_id, row.component, row.day)
            largest[key] = max(largest.get(key, 0.0), damage_of(_finding(row)))
        return tuple(
            DamageRow(item_id, Component(component), on, damage)
            for (item_id, component, on), damage in sorted(largest.items())
        )


def _kept_tally() -> sa.Select[Any]:
    own = inspection_tallies.c
    bad = sa.func.sum(sa.case((own.outcome != Outcome.IN_SERVICE.value, own.many), else_=0)).label("bad")
    key = (own.month, own.kind, own.site, own.model)
    return sa.select(
        own.month,
        own.kind,
        own.site,
        sa.literal("").label("maker"),
        own.model,
        sa.func.sum(own.many).label("many"),
        bad,
    ).group_by(*key)


def _tally() -> sa.Select[Any]:
    column = inspections.c
    bad = sa.func.sum(sa.case((column.outcome != Outcome.IN_SERVICE.value, 1), else_=0)).label("bad")
    return (
        sa.select(
            column.month, items.c.kind, column.site, items.c.maker, items.c.model, sa.func.count().label("many"), bad
        )
        .join_from(inspections, items, items.c.id == column.item_id)
        .group_by(column.month, items.c.kind, column.site, items.c.maker, items.c.model)
    )


def _finding(row: Row[Any]) -> Finding:
    return Finding(
        rule="",
        outcome=FindingOutcome(row.outcome),
        reason="",
        source="",
        basis=Basis.FROM_MEMORY,
        mark=row.mark,
        component=Component(row.component),
        measure=row.measure,
        value=row.value,
        uncertainty=row.uncertainty,
        limit=row.limit_value,
        unit=row.unit,
    )
