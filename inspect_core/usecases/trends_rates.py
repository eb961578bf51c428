"""How often damage is found, whether it changed, and whether it did on a given day."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from inspect_core.domain.counted import FoundDefect, Tally
from inspect_core.domain.dates import add_months
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Kind
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
    """How often inspections of the scope's gear find damage, split `by` kind, site, month, quarter or year. Raises
    BadInput for another split."""
    if by not in RATE_SPLITS:
        raise BadInput(f"Rates cannot be split by “{by}”.", f"Use one of: {', '.join(RATE_SPLITS)}.")

    def make(uow: UnitOfWork, today: date) -> Rates:
        rows = _counts(uow.reviews.tallies(since=scope.since, until=scope.until), scope)
        defects, inspections = counts_by(rows, "all").get("all", (0, 0))
        months = every_month(counts_by(rows, "month"))
        return Rates(
            scope,
            by,
            rate("All gear", defects, inspections),
            rates_by(rows, by),
            u_chart(months),
            more_than_poisson((m[1] for m in months), (m[2] for m in months)),
        )

    return KEPT.answer(services, ("rates", scope, by), make)


def defects_behind(
    services: Services, scope: Scope, by: str, label: str, *, limit: int = 200
) -> tuple[FoundDefect, ...]:
    """Inspections that ended out of service behind a group of `rates`, newest first. Raises BadInput for a split
    whose items cannot be listed."""
    kind, site, since, until = scope.kind, scope.site, scope.since, scope.until
    if by == "kind":
        kind = Kind(label)
    elif by == "site":
        site = "" if label == "no site" else label
    elif by == "month":
        first = date.fromisoformat(f"{label}-01")
        last = add_months(first, 1) - timedelta(days=1)
        since, until = max(first, since or first), min(last, until or last)
    elif by != "all":
        raise BadInput(f"The inspections behind a {by} cannot be listed.", "Split by kind, site or month.")
    with services.unit_of_work() as uow:
        return uow.reviews.found_defects(kind=kind, site=site, since=since, until=until, limit=limit)


def changed(services: Services, scope: Scope, on: date) -> BeforeAfter | TooFew:
    """Damage found per inspection before a day and from that day on, within the scope. Raises BadInput where one
    side holds no inspection."""
    if (scope.since and on <= scope.since) or (scope.until and on > scope.until):
        raise BadInput("The day of the change lies outside the period.", "Choose a day inside it, or a longer period.")

    def make(uow: UnitOfWork, today: date) -> BeforeAfter | TooFew:
        sides = ((scope.since, on - timedelta(days=1)), (on, scope.until))
        counted = [
            counts_by(_counts(uow.reviews.tallies(since=since, until=until), scope), "all").get("all", (0, 0))
            for since, until in sides
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
        InspectionCount(t.kind, t.site, date.fromisoformat(f"{t.month}-01"), t.inspections, t.defects)
        for t in tallies
        if scope.holds(t.kind, t.site)
    ]
