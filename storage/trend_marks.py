"""What trends count of marks and looks, and how counts come from tallies and from the inspections themselves."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Row

from inspect_core.domain.counted import MarkCount, MarkRow
from inspect_core.domain.decision import Answer
from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.marks import Category
from storage.tables import inspections, items, mark_items, mark_tallies, marks, part_tallies
from storage.tallies import whole_months, within_months
from storage.work import Work

_SEEN = (Answer.SOUND.value, Answer.DEFECT.value)
#: Inspections that a later one corrects. They are few: counting them off is far cheaper than asking of every row.
CORRECTED = sa.select(inspections.c.corrects).where(inspections.c.corrects.is_not(None))


class SqlMarkCounts:
    """The part of Reviews that counts marks and looks."""

    def __init__(self, work: Work) -> None:
        self._work = work

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
        shown: dict[str, Counter[Category]] = {}
        own = mark_tallies.c
        kept = of_gear(
            sa.select(own.component, own.category, sa.func.sum(own.marks).label("many"))
            .where(own.marks > 0)
            .group_by(own.component, own.category),
            mark_tallies,
            kind,
            site,
            model,
        )
        counted = _all_marks(
            sa.select(marks.c.component, marks.c.category, sa.func.count().label("many")).group_by(
                marks.c.component, marks.c.category
            ),
            kind,
            site,
            model,
        )
        for sign, row in self.counted(kept, counted, mark_tallies, since, until):
            shown.setdefault(row.component, Counter())[Category(row.category)] += sign * row.many
        looks = self._marked_looks(kind, site, model, since, until)
        behind = self._items_behind(kind, site, model, since, until)
        return tuple(
            MarkCount(
                Component(component),
                categories.total(),
                behind[component],
                looks[component],
                tuple(sorted((p for p in categories.items() if p[1]), key=lambda pair: (-pair[1], pair[0].value))),
            )
            for component, categories in sorted(shown.items())
            if categories.total()
        )

    def _marked_looks(
        self, kind: Kind, site: str | None, model: str | None, since: date | None, until: date | None
    ) -> Mapping[str, int]:
        """In how many inspections each component was marked."""
        own = part_tallies.c
        kept = sa.select(own.component, sa.func.sum(own.marked).label("many")).group_by(own.component)
        counted = sa.select(marks.c.component, sa.func.count(marks.c.inspection.distinct()).label("many"))
        found = Counter[str]()
        for sign, row in self.counted(
            of_gear(kept, part_tallies, kind, site, model),
            _all_marks(counted.group_by(marks.c.component), kind, site, model),
            part_tallies,
            since,
            until,
        ):
            found[row.component] += sign * row.many
        return found

    def _items_behind(
        self, kind: Kind, site: str | None, model: str | None, since: date | None, until: date | None
    ) -> Mapping[str, int]:
        """On how many different items each component was marked: an item counts once, so months do not add up."""
        own, months, edges = mark_items.c, *whole_months(since, until)
        found: dict[str, set[str]] = {}
        if months is not None:
            kept = sa.select(own.component, own.item_id).where(own.marks > 0).distinct()
            for row in self._work.rows(within_months(of_gear(kept, mark_items, kind, site, model), mark_items, months)):
                found.setdefault(row.component, set()).add(row.item_id)
        for first, last in edges:
            counted = sa.select(marks.c.component, inspections.c.item_id).distinct()
            for row in self._work.rows(_marks(counted, kind, site, model, first, last)):
                found.setdefault(row.component, set()).add(row.item_id)
        return Counter({component: len(items_) for component, items_ in found.items()})

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
        since = self._far_enough(kind, component, site, model, since, until, limit)
        column = inspections.c
        statement = (
            sa.select(column.id, column.item_id, items.c.tag, column.day, marks.c.component, marks.c.category)
            .where(marks.c.component == component.value)
            .order_by(column.day.desc(), column.number.desc(), marks.c.position)
            .limit(limit)
        )
        if since is None:  # they are few, and lie on few items
            own = mark_items.c
            behind = sa.select(own.item_id).where(own.kind == kind.value, own.component == component.value)
            statement = statement.where(column.item_id.in_(behind))
        return tuple(
            MarkRow(row.id, row.item_id, row.tag, row.day, Component(row.component), Category(row.category))
            for row in self._work.rows(_marks(statement, kind, site, model, since, until))
        )

    def _far_enough(
        self,
        kind: Kind,
        component: Component,
        site: str | None,
        model: str | None,
        since: date | None,
        until: date | None,
        limit: int,
    ) -> date | None:
        """A day from which on so many marks lie in whole months before `until`, so that older ones need no look."""
        own = mark_tallies.c
        by_month = sa.select(own.month, sa.func.sum(own.marks).label("many")).where(own.component == component.value)
        months, _ = whole_months(since, until)
        if months is None:
            return since
        asked = within_months(of_gear(by_month, mark_tallies, kind, site, model), mark_tallies, months)
        found = 0
        for row in self._work.rows(asked.group_by(own.month).order_by(own.month.desc())):
            found += row.many
            if found >= limit:
                return date.fromisoformat(f"{row.month}-01")
        return since

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
        column, each, own = inspections.c, self._answers(), part_tallies.c
        answered = (
            sa.select(each.c.key.label("component"), sa.func.count().label("many"))
            .select_from(inspections)
            .join(items, items.c.id == column.item_id)
            .join(each, sa.true())
            .where(items.c.kind == kind.value, each.c.value.in_(_SEEN))
            .group_by(each.c.key)
        )
        answer = column.answers.op("->>", return_type=sa.Text())(marks.c.component)
        only_marked = (
            sa.select(marks.c.component, sa.func.count(column.number.distinct()).label("many"))
            .join_from(marks, inspections, column.number == marks.c.inspection)
            .join(items, items.c.id == column.item_id)
            .where(items.c.kind == kind.value, sa.func.coalesce(answer, "").not_in(_SEEN))
            .group_by(marks.c.component)
        )
        nothing = sa.select(own.component, sa.literal(0).label("many")).where(sa.false())
        kept = sa.select(own.component, sa.func.sum(own.looked).label("many")).group_by(own.component)
        seen = Counter[Component]()
        for tallied, counted in ((of_gear(kept, part_tallies, kind, site, model), answered), (nothing, only_marked)):
            if site is not None:
                counted = counted.where(column.site == site)
            counted = of_model(counted, model)
            for sign, row in self.counted(tallied, counted, part_tallies, since, until):
                seen[Component(row.component)] += sign * row.many
        return {component: many for component, many in seen.items() if many}

    def _answers(self) -> sa.TableValuedAlias:
        """The answers of an inspection as rows of (key, value)."""
        spread = sa.func.json_each if self._work.dialect == "sqlite" else sa.func.json_each_text
        return spread(inspections.c.answers).table_valued(sa.column("key", sa.Text), sa.column("value", sa.Text))

    def counted(
        self,
        kept: sa.Select[Any],
        counted: sa.Select[Any],
        table: sa.Table,
        since: date | None,
        until: date | None,
    ) -> Iterator[tuple[int, Row[Any]]]:
        """Rows with their sign: from the tally for the months that the period holds whole, counted from the
        inspections themselves for the days outside them, less what a later inspection corrects."""
        months, edges = whole_months(since, until)
        if months is not None:
            yield from ((1, row) for row in self._work.rows(within_months(kept, table, months)))
        for first, last in edges:
            statement = within(counted, first, last)
            yield from ((1, row) for row in self._work.rows(statement))
            corrected = statement.where(inspections.c.id.in_(CORRECTED))
            yield from ((-1, row) for row in self._work.rows(corrected))


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
    statement = _all_marks(statement, kind, site, model).where(column.id.not_in(CORRECTED))
    return within(statement, since, until)


def _all_marks(statement: sa.Select[Any], kind: Kind, site: str | None, model: str | None) -> sa.Select[Any]:
    """The same without bounds, those of corrected inspections included."""
    column = inspections.c
    statement = (
        statement.select_from(marks)
        # The sum keeps the planner from walking every mark and looking up the inspection of each.
        .join(inspections, column.number + 0 == marks.c.inspection)
        .join(items, items.c.id == column.item_id)
        .where(items.c.kind == kind.value)
    )
    if site is not None:
        statement = statement.where(column.site == site)
    return of_model(statement, model)


def of_gear(
    statement: sa.Select[Any], table: sa.Table, kind: Kind | None, site: str | None, model: str | None
) -> sa.Select[Any]:
    """The statement over a tally, for the items of one kind or every kind."""
    own = table.c
    if kind is not None:
        statement = statement.where(own.kind == kind.value)
    if site is not None:
        statement = statement.where(own.site == site)
    return statement if model is None else statement.where(own.model == model)


def of_model(statement: sa.Select[Any], model: str | None) -> sa.Select[Any]:
    """The statement, which joins items, over one model by its label."""
    if model is None:
        return statement
    return statement.where(sa.func.trim(items.c.maker + " " + items.c.model) == model)


def within(statement: sa.Select[Any], since: date | None, until: date | None) -> sa.Select[Any]:
    # The month stands in an index, the day does not: it narrows the search, the day decides.
    if since is not None:
        statement = statement.where(inspections.c.month >= f"{since:%Y-%m}", inspections.c.day >= since)
    if until is not None:
        statement = statement.where(inspections.c.month <= f"{until:%Y-%m}", inspections.c.day <= until)
    return statement
