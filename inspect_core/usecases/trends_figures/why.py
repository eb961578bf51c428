"""Figures of why gear is withdrawn."""

from __future__ import annotations

import pandas as pd

from inspect_core.reports import trend_charts, wording
from inspect_core.reports.figure import Figure, Table
from inspect_core.trends.reasons import IN_TIME, SPLITS, wilson
from inspect_core.usecases.services import Services
from inspect_core.usecases.trends_figures.common import WILSON, Estimate, beside, items, span
from inspect_core.usecases.trends_scope import Scope
from inspect_core.usecases.trends_why import Why, prevention, why

#: Below this the page says that the numbers are small: common practice, no source.
FEW = 10
_MEANS = "bar: share of withdrawn items; line across it: its 95 % interval."
_NOT_LIFE = " How long gear lasts cannot be read from it."


def splits(scope: Scope) -> tuple[str, ...]:
    return tuple(SPLITS)


def figures(services: Services, scope: Scope, by: str) -> tuple[Figure, ...]:
    """Shares by one split, and with a day of a change both sides of it."""
    answer = why(services, scope.whole(), by=by)
    day = services.today()
    first = _shares(answer, scope.gear, scope.period(day))
    if scope.change is None or by in IN_TIME:
        return (first,)
    return first, _beside(services, scope, by, scope.period(day))


def _shares(answer: Why, gear: str, period: str) -> Figure:
    by, many = answer.reasons.by, len(answer.reasons.items)
    in_time = by in IN_TIME
    shares = [bar.share for bar in answer.bars]
    drawn = pd.DataFrame(
        {
            "label": [share.label for share in shares],
            "items": [f"{share.count} of {share.total}" for share in shares],
            "value": [share.share for share in shares],
            "low": [share.low for share in shares],
            "high": [share.high for share in shares],
        }
    )
    head = ["Group", "Items", "95 % interval"]
    rows = [[share.label, f"{share.count} of {share.total}", span(share.low, share.high)] for share in shares]
    means = _MEANS
    if not in_time and len(shares) > 1:
        drawn["together"] = [bar.together for bar in answer.bars]
        head.append("Together")
        rows = [[*row, f"{bar.together:.0%}"] for row, bar in zip(rows, answer.bars, strict=True)]
        means += " Diamond: this and the more frequent ones together, each item once."
    if by == "category":
        means += " One item may have several reasons."
    words = "; ".join(
        f"{share.label} {share.count} of {share.total}, {share.share:.0%}, interval {span(share.low, share.high)}"
        for share in shares
    )
    small = "So few items make wide intervals: read them before the bars."
    return Figure(
        f"withdrawals-by-{by}",
        "Share of withdrawn items",
        f"{answer.in_words} {small}" if 0 < many < FEW else answer.in_words,
        Table.of(head, rows),
        f"{wording.count(many, 'withdrawal')} of {items(len(answer.lives))} on record, {gear}",
        period,
        means + _NOT_LIFE,
        WILSON,
        chart=trend_charts.ranked(drawn, "Share of withdrawn items", share=True) if shares else None,
        words=f"Shares of withdrawn items. {words}",
    )


def _beside(services: Services, scope: Scope, by: str, period: str) -> Figure:
    both = [why(services, side, by=by) for side in scope.sides()]
    found = [{share.label: share for share in one.reasons.shares} for one in both]
    totals = [len(one.reasons.items) for one in both]
    labels = list(dict.fromkeys(label for one in found for label in one))

    def estimate(side: int, label: str) -> Estimate | None:
        share = found[side].get(label)
        if totals[side] == 0:
            return None
        if share is None:
            return Estimate(f"0 of {totals[side]}", 0.0, *wilson(0, totals[side]))
        return Estimate(f"{share.count} of {share.total}", share.share, share.low, share.high)

    names = (f"before {scope.change}", f"from {scope.change} on")
    return beside(
        f"withdrawals-by-{by}-before-and-after",
        "Share of withdrawn items",
        f"{items(totals[0])} withdrawn {names[0]}, {items(totals[1])} {names[1]}. Shares say what gear was withdrawn "
        "for, not how much of it: how often damage is found is another question.",
        {label: (estimate(0, label), estimate(1, label)) for label in labels},
        names,
        share=True,
        counted=f"{wording.count(sum(totals), 'withdrawal')}, {scope.gear}",
        period=period,
        means="share of the items withdrawn on that side of the day; lines: 95 % intervals.",
        method=WILSON,
    )


def prevention_figures(services: Services, scope: Scope) -> tuple[Figure, ...]:
    """What prevents the reasons found: a table, no chart."""
    answer = prevention(services, scope.whole())
    rows = [
        (f"{share.label}, {share.count} of {share.total}", link.cause, link.measure)
        for share, links in answer.lines
        for link in links
    ]
    total = answer.lines[0][0].total if answer.lines else 0
    return (
        Figure(
            "prevention",
            "Reasons, likely causes and measures",
            answer.in_words,
            Table.of(("Reason", "Look for", "Against it"), rows),
            f"{wording.count(total, 'withdrawal')}, {scope.gear}",
            scope.period(services.today()),
            "likely causes of a reason, a place to start looking; never a finding about one item.",
            "common practice, no source.",
        ),
    )
