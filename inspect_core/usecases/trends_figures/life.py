"""Figures of how long gear lasts and for which reason it leaves."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from inspect_core.reports import trend_charts
from inspect_core.reports.figure import Figure, Table
from inspect_core.trends.causes import Incidence, Incidences
from inspect_core.trends.few import TooFew
from inspect_core.trends.lifetimes import Survival
from inspect_core.trends.log_rank import LogRank
from inspect_core.usecases.services import Services
from inspect_core.usecases.trends_figures.common import few_words, items, span, told
from inspect_core.usecases.trends_life import Life, life, splits_of_life
from inspect_core.usecases.trends_scope import Scope

_YEAR = 365.25
_KAPLAN = (
    "Kaplan and Meier 1958 with delayed entry and right censoring, interval on the log(−log) scale; through "
    "statsmodels."
)
_LOG_RANK = "log-rank test (Mantel 1966; Peto and Peto 1972), through statsmodels."
_AALEN = "cumulative incidence after Aalen and Johansen 1978, with delayed entry; interval on the log(−log) scale."
_MEANS = (
    "age from the first day of use; gear in use counts as not withdrawn so far; gear registered in mid-life counts "
    "from then on."
)


def splits(scope: Scope) -> tuple[str, ...]:
    return splits_of_life(scope)


def figures(services: Services, scope: Scope, by: str) -> tuple[Figure, ...]:
    """The curve of all, curves by group with the test between them, and curves by reason."""
    answer = life(services, scope, by=by)
    day = services.today().isoformat()
    left_out = answer.watched.in_words
    counted = f"{items(len(answer.watched.lifetimes))}, {scope.gear}{'; ' + left_out if left_out else ''}"
    period = f"the whole record up to {day}; a period would cut lives off"
    return (
        _whole(answer.whole, counted, period),
        _groups(answer, counted, period),
        _reasons(answer.causes, counted, period),
        _group_reasons(answer, counted, period),
    )


def _whole(curve: Survival | TooFew, counted: str, period: str) -> Figure:
    title = "Share not withdrawn by age"
    if isinstance(curve, TooFew):
        return told("how-long-all", title, curve, counted=counted, period=period, means=_MEANS, method=_KAPLAN)
    points = [(curve.starts_at_days, 1.0, 1.0, 1.0)]
    points += list(zip(curve.ages, curve.share, curve.low, curve.high, strict=True))
    points.append((curve.ends_at_days, *points[-1][1:]))
    table = pd.DataFrame(points, columns=["years", "share", "low", "high"])
    table["years"] /= _YEAR
    table["group"] = curve.label
    thin = curve.thin_from_days
    note = "" if thin is None else f"From {thin / _YEAR:.1f} years on fewer than five items carry the curve."
    return Figure(
        "how-long-all",
        title,
        curve.in_words,
        _by_year(curve),
        counted,
        period,
        f"{_MEANS} Shaded: the 95 % interval.",
        _KAPLAN,
        chart=trend_charts.steps(table, [curve.label], "Share not withdrawn", band=True),
        words=f"Share of gear not withdrawn by age, with its 95 % interval. {curve.in_words}",
        notes=(note,) if note else (),
    )


def _by_year(curve: Survival) -> Table:
    """Shares at whole and half years that were watched, at most eight of them."""
    halves = range(1, int(curve.ends_at_days / _YEAR * 2) + 1)
    wanted = [half / 2 for half in halves if half / 2 * _YEAR >= curve.starts_at_days]
    rows = []
    for years in wanted[:: max(1, -(-len(wanted) // 8))]:
        share, low, high = curve.at(years * _YEAR)
        rows.append(
            (
                f"{years:g} year{'s' if years != 1 else ''}",
                f"{share:.0%}",
                "not known" if low is None else span(low, high),
            )
        )
    return Table.of(("Age", "Not withdrawn", "95 % interval"), rows)


def _groups(answer: Life, counted: str, period: str) -> Figure:
    curves = [group for group in answer.groups if isinstance(group, Survival)]
    shown = sorted(curves, key=lambda curve: -curve.items)[: trend_charts.MOST_LINES]
    test = answer.test
    notes = [f"Drawn: the {len(shown)} largest of {len(curves)} groups; the table has all."]
    return Figure(
        f"how-long-by-{answer.by}",
        f"By {'day of the change' if answer.by == 'cohort' else answer.by}",
        test.in_words if isinstance(test, LogRank) else f"Groups cannot be compared. {test.why}",
        _medians(curves),
        counted,
        period,
        f"{_MEANS} “Half by”: the age at which half was withdrawn.",
        f"{_KAPLAN} Between groups: {_LOG_RANK}",
        chart=trend_charts.steps(_lines(shown), [c.label for c in shown], "Share not withdrawn") if shown else None,
        words="Share of gear not withdrawn by age. " + " ".join(curve.in_words for curve in shown),
        few=few_words(group for group in answer.groups if isinstance(group, TooFew)),
        notes=tuple(notes) if len(shown) < len(curves) else (),
    )


def _lines(curves: Sequence[Survival]) -> pd.DataFrame:
    rows = []
    for curve in curves:
        rows.append((curve.label, curve.starts_at_days / _YEAR, 1.0))
        rows += [(curve.label, age / _YEAR, share) for age, share in zip(curve.ages, curve.share, strict=True)]
        rows.append((curve.label, curve.ends_at_days / _YEAR, curve.share[-1]))
    return pd.DataFrame(rows, columns=["group", "years", "share"])


def _medians(curves: Sequence[Survival]) -> Table:
    def years(days: float | None, missing: str) -> str:
        return missing if days is None else f"{days / _YEAR:.1f}"

    rows = [
        (
            curve.label,
            f"{curve.events} of {curve.items}",
            years(curve.median, "not reached"),
            f"{years(curve.median_low, 'not known')} to {years(curve.median_high, 'not reached')}",
        )
        for curve in curves
    ]
    return Table.of(("Group", "Withdrawn", "Half by (years)", "95 % interval"), rows)


def _reasons(causes: Incidences | TooFew, counted: str, period: str) -> Figure:
    title = "For which reason it leaves"
    means = (
        "share withdrawn for that reason while other reasons also take gear out; an item with two counts as “several "
        "reasons”."
    )
    if isinstance(causes, TooFew):
        return told("how-long-by-reason", title, causes, counted=counted, period=period, means=means, method=_AALEN)
    every = [*causes.curves, *([causes.rare] if causes.rare else [])]
    curves = every[: trend_charts.MOST_LINES]
    table = pd.DataFrame(
        [
            (curve.reason, age / _YEAR, share)
            for curve in curves
            for age, share in [
                (curve.starts_at_days, 0.0),
                *zip(curve.ages, curve.share, strict=True),
                (curve.ends_at_days, curve.share[-1]),
            ]
        ],
        columns=["group", "years", "share"],
    )
    return Figure(
        "how-long-by-reason",
        title,
        f"By the last age on record: {'; '.join(_at_end(curve) for curve in every[:3])}.",
        Table.of(
            ("Reason", "Items", "By the last age", "95 % interval"),
            [(c.reason, c.events, f"{c.share[-1]:.0%}", span(c.low[-1], c.high[-1])) for c in every],
        ),
        counted,
        period,
        means,
        _AALEN,
        chart=trend_charts.steps(table, [curve.reason for curve in curves], "Share withdrawn"),
        words="Share of gear withdrawn for each reason by age. " + "; ".join(_at_end(curve) for curve in curves),
        few=few_words(causes.told),
    )


def _at_end(curve: Incidence) -> str:
    return f"{curve.reason} {curve.share[-1]:.0%} by {curve.ends_at_days / _YEAR:.1f} years ({curve.events} items)"


def _group_reasons(answer: Life, counted: str, period: str) -> Figure:
    """What takes out most of each group: a table, because curves of every reason and group cannot be told apart."""
    rows = []
    for one in answer.group_causes:
        if isinstance(one, Incidences) and one.curves:
            most = max(one.curves, key=lambda curve: curve.share[-1])
            share = f"{most.share[-1]:.0%} ({span(most.low[-1], most.high[-1])})"
            rows.append((one.label, most.reason, f"{most.events} of {one.items}", share))
    says = "; ".join(f"{row[0]}: {row[1]}" for row in rows[:3]) or "No group is large enough for reasons of its own"
    return Figure(
        f"reasons-by-{answer.by}",
        "What takes out most of each group",
        f"{says}.",
        Table.of(("Group", "Reason", "Items", "By the last age (95 % interval)"), rows),
        counted,
        period,
        "the reason that takes out most of a group by the last age on record; narrow the page to one group for its "
        "curves.",
        _AALEN,
        few=few_words(one for one in answer.group_causes if isinstance(one, TooFew)),
    )
