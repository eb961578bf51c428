"""Figures of how often damage is found."""

from __future__ import annotations

import math

import pandas as pd

from inspect_core.domain.errors import BadInput
from inspect_core.reports import trend_charts
from inspect_core.reports.figure import Figure, Table
from inspect_core.trends.before_after import BeforeAfter
from inspect_core.trends.control_charts import ControlChart
from inspect_core.trends.few import TooFew
from inspect_core.trends.rates import Rate
from inspect_core.usecases.services import Services
from inspect_core.usecases.trends_figures.common import POISSON, Estimate, beside, few_words, told
from inspect_core.usecases.trends_rates import BY_CATEGORY, DEFINITION, MONTHS_OF, SPLITS, Rates, changed, rates
from inspect_core.usecases.trends_scope import Scope

_NIST = "u-chart, limits at three standard deviations (NIST/SEMATECH e-Handbook 6.3.3.1)."
_TITLE = "Defects per 100 inspections"


def splits(scope: Scope) -> tuple[str, ...]:
    return SPLITS


def figures(services: Services, scope: Scope, by: str) -> tuple[Figure, ...]:
    """Rates by one split, the control chart by month, and with a day of a change both sides of it."""
    answer = rates(services, scope.whole(), by=by)
    period = scope.period(services.today())
    found = [_groups(answer, scope, period), months(answer, scope, period)]
    if scope.change is not None:
        found += change_figures(services, scope, by)
    return tuple(found)


def _groups(answer: Rates, scope: Scope, period: str) -> Figure:
    whole = answer.whole
    means = BY_CATEGORY if answer.by == "category" else DEFINITION
    if isinstance(whole, TooFew):
        counted = f"{whole.items} inspections, {scope.gear}"
        return told("rates", _TITLE, whole, counted=counted, period=period, means=means, method=POISSON)
    drawn = [group for group in answer.groups if isinstance(group, Rate)]
    if answer.by not in MONTHS_OF:
        drawn.sort(key=lambda group: -group.per_100)
    table = pd.DataFrame(
        [(one.label, one.per_100, one.low, one.high, f"{one.defects} in {one.inspections}") for one in drawn],
        columns=["label", "value", "low", "high", "found"],
    )
    rows = [
        (one.label, f"{one.defects} in {one.inspections}", f"{one.per_100:.1f}", f"{one.low:.1f} to {one.high:.1f}")
        for one in drawn
    ]
    late = table.tail(trend_charts.MOST_BARS) if answer.by in MONTHS_OF else table
    return Figure(
        f"rates-by-{answer.by}",
        _TITLE,
        whole.in_words,
        Table.of(("Group", "Found", "Per 100", "95 % interval"), rows),
        f"{whole.inspections} inspections with {whole.defects} defects, {scope.gear}",
        period,
        means,
        POISSON,
        chart=trend_charts.ranked(late, _TITLE, share=False) if drawn else None,
        words=f"{_TITLE}. " + " ".join(group.in_words for group in drawn),
        few=few_words(group for group in answer.groups if isinstance(group, TooFew)),
        notes=_too_many(len(table)),
    )


def _too_many(lines: int) -> tuple[str, ...]:
    most = trend_charts.MOST_BARS
    return (f"Drawn: {most} of {lines} groups; the table has all.",) if lines > most else ()


def months(answer: Rates, scope: Scope, period: str) -> Figure:
    """The control chart by month, with every signal named."""
    chart = answer.chart
    counted = f"inspections month by month, {scope.gear}"
    title = "Did it change? Month by month, with limits"
    if isinstance(chart, TooFew):
        return told("u-chart", title, chart, counted=counted, period=period, means=DEFINITION, method=_NIST)
    table = pd.DataFrame(
        {
            "month": pd.to_datetime([f"{point.label}-01" for point in chart.points]),
            "value": [point.value for point in chart.points],
            "centre": chart.centre,
            "lower": [point.lower for point in chart.points],
            "upper": [point.upper for point in chart.points],
            "signal": [" and ".join(point.signals) for point in chart.points],
        }
    )
    return Figure(
        "u-chart",
        title,
        chart.in_words,
        _months_table(chart),
        f"{sum(p.size for p in chart.points)} inspections in {len(chart.points)} months, {scope.gear}",
        period,
        f"{DEFINITION} Points: defects per inspection; full line: their mean; dashes: limits; diamonds: signals.",
        _NIST,
        chart=trend_charts.control(table, "Defects per inspection"),
        words=f"{chart.name}: {chart.unit} by month around {chart.centre:.3f}. {chart.in_words}",
        notes=tuple(_chart_notes(answer, chart)),
    )


def _chart_notes(answer: Rates, chart: ControlChart) -> list[str]:
    coarse = sum(point.coarse for point in chart.points)
    notes = []
    if coarse:
        notes.append(f"In {coarse} of {len(chart.points)} months fewer than 5 defects are expected: limits are rough.")
    if chart.left_out:
        notes.append(f"Nothing was inspected in {', '.join(chart.left_out)}.")
    if not math.isnan(answer.scatter):
        notes.append(f"Months scatter {answer.scatter:.1f} times as much as defects that come one by one (1: just so).")
    return notes


def _months_table(chart: ControlChart) -> Table:
    """The months that stand out, and the last twelve."""
    last = chart.points[-12:]
    shown = [point for point in chart.points if point.signals or point in last]
    rows = [
        (p.label, f"{p.count} in {p.size}", f"{p.lower:.2f} to {p.upper:.2f}", " and ".join(p.signals) or "none")
        for p in shown
    ]
    return Table.of(("Month", "Found", "Limits", "Signal"), rows)


def change_figures(services: Services, scope: Scope, by: str = "kind") -> list[Figure]:
    """Rates before a day and from that day on, group by group, with the test over all gear in the sentence."""
    if scope.change is None:
        return []
    split = by if by not in MONTHS_OF else "kind"
    sides = [rates(services, side, by=split) for side in scope.sides()]
    wholes = [side.whole for side in sides]
    found = [{one.label: one for one in side.groups if isinstance(one, Rate)} for side in sides]
    labels = list(dict.fromkeys(label for one in found for label in one))
    answer = _whole_change(services, scope)

    def estimate(one: Rate | TooFew | None) -> Estimate | None:
        if not isinstance(one, Rate):
            return None
        return Estimate(f"{one.defects} in {one.inspections}", one.per_100, one.low, one.high)

    groups = {"All gear": (estimate(wholes[0]), estimate(wholes[1]))}
    groups |= {label: (estimate(found[0].get(label)), estimate(found[1].get(label))) for label in labels}
    return [
        beside(
            f"rates-by-{split}-before-and-after",
            _TITLE,
            answer if isinstance(answer, str) else answer.in_words,
            groups,
            (f"before {scope.change}", f"from {scope.change} on"),
            share=False,
            counted=f"inspections on both sides of {scope.change}, {scope.gear}",
            period=scope.period(services.today()),
            means=BY_CATEGORY if split == "category" else DEFINITION,
            method="over all gear: ratio of two Poisson rates, exact conditional interval (Przyborowski and Wilenski "
            f"1940), through scipy; by group: {POISSON}",
        )
    ]


def _whole_change(services: Services, scope: Scope) -> BeforeAfter | TooFew | str:
    try:
        return changed(services, scope.whole(), scope.change) if scope.change else ""
    except BadInput as refused:
        return f"{refused.problem} {refused.remedy}"
