"""How often damage is found, whether it changed, and whether it did on a given day."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta

from inspect_core.domain.counted import FoundDefect, MarkRow, Tally
from inspect_core.domain.dates import add_months
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Kind
from inspect_core.domain.marks import Category
from inspect_core.ports import UnitOfWork
from inspect_core.trends.before_after import BeforeAfter, before_after
from inspect_core.trends.control_charts import ControlChart, u_chart
from inspect_core.trends.few import TooFew
from inspect_core.trends.rates import (
    RATE_SPLITS,
    InspectionCount,
    Rate,
    counts_by,
    more_than_poisson,
    rate,
    rates_by,
)
from inspect_core.usecases.services import Services
from inspect_core.usecases.trends_scope import KEPT, Scope

#: A defect here: an inspection that did not leave its item in service.
DEFINITION = "A defect is an inspection that ended on hold or withdrawn; corrected inspections are left out."
#: What is counted instead where rates are split by category.
BY_CATEGORY = "Counted is an inspection that marked this category, however many marks; it need not have held the item."
#: The ways to split rates; a category is not a property of an inspection, so its counts are made apart.
SPLITS = ("kind", "category", "model", "site", "month", "quarter", "year")
#: Splits whose groups follow each other in time, with how many months each lasts.
MONTHS_OF = {"month": 1, "quarter": 3, "year": 12}


@dataclass(frozen=True, slots=True)
class Rates:
    """Defects per 100 inspections: over all, by group, and month by month with limits. `scatter`: how much more the
    months differ than Poisson counts would (near 1: one by one), NaN where that cannot be told."""

    scope: Scope
    by: str
    whole: Rate | TooFew
    groups: tuple[Rate | TooFew, ...]
    chart: ControlChart | TooFew
    scatter: float

    @property
    def in_words(self) -> str:
        """One sentence with the rate of all."""
        return self.whole.in_words


def rates(services: Services, scope: Scope, *, by: str = "kind") -> Rates:
    """How often inspections of the scope's gear find damage, split `by` one of SPLITS. Raises BadInput for another
    split."""
    if by not in SPLITS and by not in RATE_SPLITS:
        raise BadInput(f"Rates cannot be split by “{by}”.", f"Use one of: {', '.join(SPLITS)}.")

    def make(uow: UnitOfWork, today: date) -> Rates:
        rows = _counts(uow.reviews.tallies(since=scope.since, until=scope.until), scope)
        defects, inspections = counts_by(rows, "all").get("all", (0, 0))
        months = every_month(counts_by(rows, "month"))
        groups: tuple[Rate | TooFew, ...]
        if by == "category":
            marked = uow.reviews.category_counts(kind=scope.kind, **scope.within)
            groups = tuple(rate(c.value, many, inspections) for c, many in sorted(marked.items()))
        else:
            groups = rates_by(rows, by)
        return Rates(
            scope,
            by,
            rate("All gear", defects, inspections),
            groups,
            u_chart(months),
            more_than_poisson((m[1] for m in months), (m[2] for m in months)),
        )

    return KEPT.answer(services, ("rates", scope, by), make)


def defects_behind(
    services: Services, scope: Scope, by: str, label: str, *, limit: int = 200
) -> tuple[FoundDefect | MarkRow, ...]:
    """Inspections that ended out of service behind a group of `rates`, newest first; behind a category the marks that
    show it. Raises BadInput for another split."""
    kind, within = scope.kind, scope.within
    if by == "category":
        with services.unit_of_work() as uow:
            return uow.reviews.marked_as(Category(label), kind=kind, limit=limit, **within)
    if by == "kind":
        kind = Kind(label)
    elif by == "site":
        within["site"] = "" if label == "no site" else label
    elif by == "model":
        within["model"] = "" if label == "no model entered" else label
    elif by in MONTHS_OF:
        first = first_day(label)
        last = add_months(first, MONTHS_OF[by]) - timedelta(days=1)
        within["since"] = max(first, scope.since or first)
        within["until"] = min(last, scope.until or last)
    elif by != "all":
        raise BadInput(f"The inspections behind a {by} cannot be listed.", f"Split by one of: {', '.join(SPLITS)}.")
    with services.unit_of_work() as uow:
        return uow.reviews.found_defects(kind=kind, limit=limit, **within)


def first_day(label: str) -> date:
    """The first day of a period by its label: "2026", "2026-Q2" or "2026-05"."""
    year, _, part = label.partition("-")
    if part.startswith("Q"):
        return date(int(year), 3 * int(part[1:]) - 2, 1)
    return date(int(year), int(part or 1), 1)


def changed(services: Services, scope: Scope, on: date) -> BeforeAfter | TooFew:
    """Damage found per inspection before a day and from that day on, within the scope. Raises BadInput where one
    side holds no inspection, or the day lies outside the period."""
    sides = replace(scope, change=on).sides()

    def make(uow: UnitOfWork, today: date) -> BeforeAfter | TooFew:
        counted = [
            counts_by(_counts(uow.reviews.tallies(since=side.since, until=side.until), side), "all").get("all", (0, 0))
            for side in sides
        ]
        return before_after(f"Change on {on.isoformat()}", counted[0], counted[1])

    return KEPT.answer(services, ("changed", scope, on), make)


def every_month(counts: dict[str, tuple[int, int]]) -> list[tuple[str, int, int]]:
    """(month, defects, inspections) from the first to the last month, those without inspections included."""
    if not counts:
        return []
    month, last = (date.fromisoformat(f"{name}-01") for name in (min(counts), max(counts)))
    found = []
    while month <= last:
        name = f"{month:%Y-%m}"
        found.append((name, *counts.get(name, (0, 0))))
        month = add_months(month, 1)
    return found


def _counts(tallies: Iterable[Tally], scope: Scope) -> list[InspectionCount]:
    return [
        InspectionCount(t.kind, t.site, date.fromisoformat(f"{t.month}-01"), t.inspections, t.defects, t.model)
        for t in tallies
        if scope.holds(t.kind, t.site, model=t.model)
    ]
