"""Figures of what withdrawn gear cost, and of what is coming."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from inspect_core.reports import trend_charts, wording
from inspect_core.reports.figure import Figure, Table
from inspect_core.trends.coming import Limit, Month
from inspect_core.trends.spending import Spent
from inspect_core.usecases.services import Services
from inspect_core.usecases.trends_ahead import Outlook, Spend, outlook, spend
from inspect_core.usecases.trends_figures.common import items
from inspect_core.usecases.trends_scope import Scope

PAST = "past already"
_PRICES = (
    "price of the withdrawn item as entered; an item with several reasons counts once, under “several reasons”. A "
    "price not entered is not known, not zero. No currency is converted, no inflation."
)


def cost_figures(services: Services, scope: Scope) -> tuple[Figure, ...]:
    """Costs by reason and by year, and with a day of a change both sides of it."""
    answer = spend(services, scope.whole())
    period = scope.period(services.today())
    sums = answer.spending
    found = [
        _cost(answer, scope, period, "reason", sums.by_reason),
        _cost(answer, scope, period, "year", sums.by_year),
    ]
    if scope.change is not None:
        found.append(_sides(services, scope, period))
    return tuple(found)


def _cost(answer: Spend, scope: Scope, period: str, by: str, rows: Sequence[Spent]) -> Figure:
    total = answer.spending.total
    priced = [row for row in rows if row.cost is not None]
    drawn = pd.DataFrame({"label": [row.label for row in priced], "value": [row.cost for row in priced]})
    says = answer.in_words
    if by == "year" and priced:
        dearest = max(priced, key=lambda row: row.cost or 0)
        says = f"Most was spent in {dearest.label}: {dearest.cost:,.2f}."
    return Figure(
        f"cost-by-{by}",
        f"Cost of withdrawn gear by {by}",
        says,
        _cost_table(rows, by.capitalize()),
        f"{wording.count(total.items, 'withdrawal')}, {total.without_price} without a price, {scope.gear}",
        period,
        _PRICES,
        "plain sums.",
        chart=trend_charts.bars(drawn, "Cost, in the currency entered") if priced else None,
        words=f"Cost of withdrawn gear by {by}. " + " ".join(row.in_words for row in rows),
    )


def _cost_table(rows: Sequence[Spent], name: str) -> Table:
    cells = [
        (row.label, "not known" if row.cost is None else f"{row.cost:,.2f}", row.items, row.without_price)
        for row in rows
    ]
    return Table.of((name, "Cost", "Withdrawn", "Without price"), cells)


def _sides(services: Services, scope: Scope, period: str) -> Figure:
    names = (f"before {scope.change}", f"from {scope.change} on")
    sums = [spend(services, side).spending.total for side in scope.sides()]
    rows = [
        Spent(name, one.items, one.priced, one.without_price, one.cost) for name, one in zip(names, sums, strict=True)
    ]
    return Figure(
        "cost-before-and-after",
        "Before and after: cost of withdrawn gear",
        " ".join(row.in_words for row in rows),
        _cost_table(rows, "Side"),
        f"{items(sum(row.items for row in rows))}, {scope.gear}",
        period,
        f"{_PRICES} The two sides last differently long: do not read one sum against the other without that.",
        "plain sums.",
    )


def months_of(answer: Outlook) -> dict[str, Month]:
    """What is past already, then month by month, by the words that name it."""
    return {PAST: answer.coming.past, **{month.month: month for month in answer.coming.months}}


def coming_figures(services: Services, scope: Scope) -> tuple[Figure, ...]:
    """Items by the month in which they reach a limit."""
    answer = outlook(services, scope)
    months = months_of(answer)
    drawn = pd.DataFrame(
        [
            (label, limit.value, month.count(limit), order)
            for label, month in months.items()
            for order, limit in enumerate(Limit)
        ],
        columns=["label", "part", "value", "order"],
    )
    rows = [(label, *(month.count(limit) for limit in Limit)) for label, month in months.items()]
    unknown = "; ".join(f"{limit}: {many}" for limit, many in answer.coming.unknown)
    later = "; ".join(f"{limit}: {many}" for limit, many in answer.coming.later)
    told = "; ".join(f"{label}: {month.items}" for label, month in months.items() if month.items)
    return (
        Figure(
            "coming",
            "Items reaching a limit, month by month",
            answer.in_words,
            Table.of(("Month", *(limit.value.capitalize() for limit in Limit)), rows),
            f"{items(answer.items)} in service or on hold, {scope.gear}. Not known, which is not safe: {unknown}. "
            f"After these months: {later}",
            f"{answer.coming.months[0].month} to {answer.coming.months[-1].month}",
            "age limit: the maker's, counted from the day of making; due: the next detailed inspection; damage limit: "
            "the earlier end of a trend through three or more measured looks, which promises nothing about the next "
            "fall.",
            "dates as entered; the damage limit by Theil's slope with Sen's interval (1968), through scipy.",
            chart=(
                trend_charts.stacked(drawn, "Items reaching a limit", [limit.value for limit in Limit])
                if int(drawn["value"].sum())
                else None
            ),
            words=f"Items by the month in which they reach a limit. {told}",
            notes=("A period and a day of change do not bear on what lies ahead.",)
            if scope.change or scope.since or scope.until
            else (),
        ),
    )
