"""What withdrawn gear cost, and what is coming."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from inspect_core.domain.counted import AheadRow, DamageRow
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.record import Retirement
from inspect_core.ports import UnitOfWork
from inspect_core.trends.coming import Ahead, Coming, age_limit_day, coming
from inspect_core.trends.damage_trend import DamagePoint, damage_trend
from inspect_core.trends.spending import Spending, main_category, spending
from inspect_core.usecases.services import Services
from inspect_core.usecases.trends_scope import KEPT, Scope
from inspect_core.usecases.trends_why import lives_of, withdrawals


@dataclass(frozen=True, slots=True)
class Spend:
    """What the withdrawn gear of a scope cost, as entered, with the withdrawals themselves."""

    scope: Scope
    spending: Spending
    items: tuple[Retirement, ...]

    @property
    def in_words(self) -> str:
        """One sentence with the sum, how many prices it holds, and the dearest reason."""
        total = self.spending.total
        if not total.items:
            return "No gear was withdrawn in this period."
        if total.cost is None:
            return f"{total.items} withdrawn, none with a price: what it cost is not known."
        dearest = self.spending.by_reason[0]
        missing = f"; {total.without_price} without a price are not in it" if total.without_price else ""
        return (
            f"Withdrawn gear cost {total.cost:,.2f} ({total.priced} of {total.items} items with a price{missing}); "
            f"most of it for {dearest.label}: {dearest.cost or 0:,.2f}."
        )

    def behind(self, label: str) -> tuple[Retirement, ...]:
        """The withdrawals of one reason, newest first."""
        found = (one for one in self.items if main_category(one) == label)
        return tuple(sorted(found, key=lambda one: one.on, reverse=True))


def spend(services: Services, scope: Scope) -> Spend:
    """What the withdrawn gear of a scope cost, in the currency that prices were entered in."""

    def make(uow: UnitOfWork, today: date) -> Spend:
        found = withdrawals(uow, scope)
        return Spend(scope, spending(found), found)

    return KEPT.answer(services, ("spend", scope), make)


@dataclass(frozen=True, slots=True)
class Outlook:
    """What the scope's gear in use reaches, month by month."""

    scope: Scope
    on: date
    items: int
    coming: Coming

    @property
    def in_words(self) -> str:
        """One sentence: how many items reach a limit this month and next, and how many are past one."""
        if not self.items:
            return "No gear is in use here."
        ahead = {item.item_id for month in self.coming.months[:2] for _, rows in month.reaching for _, item in rows}
        past = self.coming.past.items
        return (
            f"Of {self.items} items in use, {len(ahead)} reach a limit this month or next; {past} are past one already."
        )


def outlook(services: Services, scope: Scope, *, months: int = 12) -> Outlook:
    """Age limits, due dates and forecast damage limits of gear in service or on hold. Raises BadInput for a number
    of months outside 1 to 120.

    The maker's age limit counts from the day of making, as the rule on age does; an item without either day or limit
    is not known, not safe.
    """
    scope = scope.whole_life()

    def make(uow: UnitOfWork, today: date) -> Outlook:
        ours = {row.item_id for row in lives_of(uow, scope)}
        rows = [row for row in uow.reviews.ahead() if row.item_id in ours]
        limits = damage_limits(uow.reviews.damages())
        items = [
            Ahead(row.item_id, row.tag, row.kind, row.site, _age_limit(row), row.next_due, limits.get(row.item_id))
            for row in rows
        ]
        return Outlook(scope, today, len(items), coming(items, today, months))

    return KEPT.answer(services, ("outlook", scope, months), make)


def damage_limits(rows: Iterable[DamageRow]) -> dict[str, date]:
    """The earliest day on which one of an item's components reaches its damage limit, by item id; items whose trend
    gives none are left out."""
    points: dict[tuple[str, Component], list[DamagePoint]] = {}
    for row in rows:
        points.setdefault((row.item_id, row.component), []).append(DamagePoint(row.on, row.damage))
    limits: dict[str, date] = {}
    for (item_id, _), own in points.items():
        trend = damage_trend(own)
        if trend is not None and trend.earliest is not None:
            limits[item_id] = min(trend.earliest, limits.get(item_id, trend.earliest))
    return limits


def _age_limit(row: AheadRow) -> date | None:
    if row.made_on is None or row.max_age_years is None:
        return None
    try:
        return age_limit_day(row.made_on, row.max_age_years)
    except (BadInput, ValueError):  # an age that is none, or a day past the calendar's end
        return None
