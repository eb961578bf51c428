"""What trends are made of, counted in the database. An inspection that a later one corrects is left out.

Corrections are few: counts are made over everything and the corrected ones counted off, which is far cheaper than
asking of every row whether a later one names it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from datetime import date
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Row

from inspect_core.domain.counted import AheadRow, DamageRow, FoundDefect, LifeRow, MarkCount, MarkRow, Tally
from inspect_core.domain.custody import Move, State
from inspect_core.domain.damage import damage_of
from inspect_core.domain.decision import Answer, Basis, Finding, FindingOutcome, Outcome
from inspect_core.domain.gear import Component, Kind, model_label
from inspect_core.domain.marks import Category
from storage.tables import custody, findings, inspections, items, marks
from storage.work import Work

_LIVE = (State.IN_SERVICE.value, State.ON_HOLD.value)
_SEEN = (Answer.SOUND.value, Answer.DEFECT.value)
_CORRECTED = sa.select(inspections.c.corrects).where(inspections.c.corrects.is_not(None))


class SqlTrendCounts:
    """The part of Reviews that trends ask for."""

    def __init__(self, work: Work) -> None:
        self._work = work

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
        everything = _within(_tally(), since, until)
        for sign, statement in ((1, everything), (-1, everything.where(inspections.c.id.in_(_CORRECTED)))):
            for row in self._work.rows(statement):
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
        statement = (
            sa.select(column.id, column.item_id, items.c.tag, items.c.kind, column.site, column.day)
            .join_from(inspections, items, items.c.id == column.item_id)
            .where(column.outcome != Outcome.IN_SERVICE.value, column.id.not_in(_CORRECTED))
            .order_by(column.day.desc(), column.number.desc())
            .limit(limit)
        )
        if kind is not None:
            statement = statement.where(items.c.kind == kind.value)
        if site is not None:
            statement = statement.where(column.site == site)
        statement = _of_model(statement, model)
        return tuple(
            FoundDefect(row.id, row.item_id, row.tag, Kind(row.kind), row.site, row.day)
            for row in self._work.rows(_within(statement, since, until))
        )

    def mark_counts(
        self,
        kind: Kind,
        *,
        site: str | None = None,
        model: str | None = None,
        since: date | None = None,
        until: date | None = None,
    ) -> tuple[MarkCount, ...]:
        """Marks on one kind's items, counted by component in order of its name; categories most frequent first."""
        many = sa.func.count().label("many")
        items_behind = sa.func.count(inspections.c.item_id.distinct()).label("items_behind")
        looks = sa.func.count(marks.c.inspection.distinct()).label("looks")
        shown: dict[str, list[tuple[Category, int]]] = {}
        by_category = sa.select(marks.c.component, marks.c.category, many).group_by(marks.c.component, marks.c.category)
        for row in self._work.rows(_marks(by_category, kind, site, model, since, until)):
            shown.setdefault(row.component, []).append((Category(row.category), row.many))
        by_component = sa.select(marks.c.component, many, items_behind, looks).group_by(marks.c.component)
        counted = _marks(by_component, kind, site, model, since, until).order_by(marks.c.component)
        return tuple(
            MarkCount(
                Component(row.component),
                row.many,
                row.items_behind,
                row.looks,
                tuple(sorted(shown[row.component], key=lambda pair: (-pair[1], pair[0].value))),
            )
            for row in self._work.rows(counted)
        )

    def marked(
        self,
        kind: Kind,
        component: Component,
        *,
        site: str | None = None,
        model: str | None = None,
        since: date | None = None,
        until: date | None = None,
        limit: int = 200,
    ) -> tuple[MarkRow, ...]:
        """Marks on a component of one kind's items, newest inspection first."""
        column = inspections.c
        statement = (
            sa.select(column.id, column.item_id, items.c.tag, column.day, marks.c.component, marks.c.category)
            .where(marks.c.component == component.value)
            .order_by(column.day.desc(), column.number.desc(), marks.c.position)
            .limit(limit)
        )
        return tuple(
            MarkRow(row.id, row.item_id, row.tag, row.day, Component(row.component), Category(row.category))
            for row in self._work.rows(_marks(statement, kind, site, model, since, until))
        )

    def looked_at(
        self,
        kind: Kind,
        *,
        site: str | None = None,
        model: str | None = None,
        since: date | None = None,
        until: date | None = None,
    ) -> Mapping[Component, int]:
        """In how many inspections of a kind each component was seen: answered sound or defect, or marked."""
        column, each = inspections.c, self._answers()
        answered = (
            sa.select(each.c.key.label("component"), sa.func.count().label("many"))
            .select_from(inspections)
            .join(items, items.c.id == column.item_id)
            .join(each, sa.true())
            .where(items.c.kind == kind.value, each.c.value.in_(_SEEN), column.id.not_in(_CORRECTED))
            .group_by(each.c.key)
        )
        answer = column.answers.op("->>", return_type=sa.Text())(marks.c.component)
        only_marked = (
            sa.select(marks.c.component, sa.func.count(column.number.distinct()).label("many"))
            .join_from(marks, inspections, column.number == marks.c.inspection)
            .join(items, items.c.id == column.item_id)
            .where(
                items.c.kind == kind.value,
                sa.func.coalesce(answer, "").not_in(_SEEN),
                column.id.not_in(_CORRECTED),
            )
            .group_by(marks.c.component)
        )
        seen = Counter[Component]()
        for statement in (answered, only_marked):
            if site is not None:
                statement = statement.where(column.site == site)
            for row in self._work.rows(_within(_of_model(statement, model), since, until)):
                seen[Component(row.component)] += row.many
        return dict(seen)

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
                column.id.not_in(_CORRECTED),
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

    def _answers(self) -> sa.TableValuedAlias:
        """The answers of an inspection as rows of (key, value)."""
        spread = sa.func.json_each if self._work.dialect == "sqlite" else sa.func.json_each_text
        return spread(inspections.c.answers).table_valued(sa.column("key", sa.Text), sa.column("value", sa.Text))


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


def _marks(
    statement: sa.Select[Any],
    kind: Kind,
    site: str | None,
    model: str | None,
    since: date | None,
    until: date | None,
) -> sa.Select[Any]:
    """The statement over the marks of one kind's items."""
    column = inspections.c
    statement = (
        statement.select_from(marks)
        .join(inspections, column.number == marks.c.inspection)
        .join(items, items.c.id == column.item_id)
        .where(items.c.kind == kind.value, column.id.not_in(_CORRECTED))
    )
    if site is not None:
        statement = statement.where(column.site == site)
    return _within(_of_model(statement, model), since, until)


def _of_model(statement: Any, model: str | None) -> Any:
    """The statement, which joins items, over one model by its label."""
    if model is None:
        return statement
    return statement.where(sa.func.trim(items.c.maker + " " + items.c.model) == model)


def _within(statement: sa.Select[Any], since: date | None, until: date | None) -> sa.Select[Any]:
    # The month stands in an index, the day does not: it narrows the search, the day decides.
    if since is not None:
        statement = statement.where(inspections.c.month >= f"{since:%Y-%m}", inspections.c.day >= since)
    if until is not None:
        statement = statement.where(inspections.c.month <= f"{until:%Y-%m}", inspections.c.day <= until)
    return statement


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
