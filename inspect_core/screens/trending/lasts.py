"""How long does gear last: the share not withdrawn by age, groups beside each other, and for which reason it leaves."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd
import streamlit as st

from inspect_core.reports import wording
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.trending import charts, told
from inspect_core.trends.causes import Incidence, Incidences
from inspect_core.trends.few import TooFew
from inspect_core.trends.lifetimes import Survival
from inspect_core.trends.log_rank import LogRank
from inspect_core.trends.watched import GROUPS
from inspect_core.usecases.trends_life import Life, life
from inspect_core.usecases.trends_scope import Scope

_YEAR = 365.25
_SPLIT_WORDS = {"kind": "Kind of gear", "model": "Model", "site": "Site"}
_METHOD = (
    "Kaplan and Meier 1958 with delayed entry and right censoring, interval on the log(−log) scale; "
    "through statsmodels."
)


def show(frame: Frame, scope: Scope) -> None:
    """The curve of all, curves by group with the test between them, curves by reason, and the items of a group."""
    by = st.segmented_control(
        "Compare by",
        list(GROUPS),
        default="kind",
        format_func=lambda name: _SPLIT_WORDS[name],
        key=state.widget("trends", "life by"),
        required=True,
    )
    answer = life(frame.services, scope, by=by or "kind")
    day = frame.today.isoformat()
    if isinstance(answer.whole, TooFew):
        told.nothing(answer.whole)
    else:
        told.sentence(answer.in_words)
        _whole(answer.whole, day)
    left_out = answer.watched.in_words
    told.source(
        f"{wording.count(len(answer.watched.lifetimes), 'item')}, {scope.gear}{'; ' + left_out if left_out else ''}",
        f"the whole record up to {day}; a period would cut lives off",
        "age from the first day of use; gear in use counts as not withdrawn so far; gear registered in mid-life counts "
        "from then on.",
        _METHOD,
    )
    _groups(answer, day)
    _reasons(answer.causes, day)
    _behind(frame, answer)


def _whole(curve: Survival, day: str) -> None:
    points = [(curve.starts_at_days, 1.0, 1.0, 1.0)]
    points += list(zip(curve.ages, curve.share, curve.low, curve.high, strict=True))
    points.append((curve.ends_at_days, *points[-1][1:]))
    table = pd.DataFrame(points, columns=["years", "share", "low", "high"])
    table["years"] /= _YEAR
    table["group"] = curve.label
    words = f"Share of gear not withdrawn by age, with its 95 % interval. {curve.in_words}"
    chart = charts.steps(table, [curve.label], "Share not withdrawn", band=True)
    told.chart_and_table(chart, words, _by_year([curve]), "how-long-all", day)
    thin = curve.thin_from_days
    if thin is not None:
        st.caption(f"From {thin / _YEAR:.1f} years on fewer than five items carry the curve.")


def _by_year(curves: Sequence[Survival]) -> pd.DataFrame:
    """Shares at whole and half years that were watched, at most eight of them."""
    rows = []
    for curve in curves:
        halves = range(1, int(curve.ends_at_days / _YEAR * 2) + 1)
        wanted = [half / 2 for half in halves if half / 2 * _YEAR >= curve.starts_at_days]
        for years in wanted[:: max(1, -(-len(wanted) // 8))]:
            share, low, high = curve.at(years * _YEAR)
            span = "not known" if low is None else f"{low:.0%} to {high:.0%}"
            rows.append((f"{years:g} years", f"{share:.0%}", span))
    return pd.DataFrame(rows, columns=["Age", "Not withdrawn", "95 % interval"]).set_index("Age")


def _groups(answer: Life, day: str) -> None:
    st.subheader(f"By {answer.by}")
    curves = [group for group in answer.groups if isinstance(group, Survival)]
    if curves:
        shown = sorted(curves, key=lambda curve: -curve.items)[: charts.MOST_LINES]
        chart = charts.steps(_lines(shown), [curve.label for curve in shown], "Share not withdrawn")
        words = "Share of gear not withdrawn by age. " + " ".join(curve.in_words for curve in shown)
        told.chart_and_table(chart, words, _medians(curves), f"how-long-by-{answer.by}", day)
        if len(shown) < len(curves):
            st.caption(f"Drawn: the {len(shown)} largest of {len(curves)} groups; the table has all.")
    told.few(group for group in answer.groups if isinstance(group, TooFew))
    st.markdown(plain(answer.test.in_words))
    if isinstance(answer.test, LogRank):
        st.caption("**Method:** log-rank test (Mantel 1966; Peto and Peto 1972), through statsmodels.")


def _lines(curves: Sequence[Survival]) -> pd.DataFrame:
    rows = []
    for curve in curves:
        rows.append((curve.label, curve.starts_at_days / _YEAR, 1.0))
        rows += [(curve.label, age / _YEAR, share) for age, share in zip(curve.ages, curve.share, strict=True)]
        rows.append((curve.label, curve.ends_at_days / _YEAR, rows[-1][2]))
    return pd.DataFrame(rows, columns=["group", "years", "share"])


def _medians(curves: Sequence[Survival]) -> pd.DataFrame:
    def years(days: float | None, otherwise: str) -> str:
        return otherwise if days is None else f"{days / _YEAR:.1f}"

    rows = [
        (
            curve.label,
            f"{curve.events} of {curve.items}",
            years(curve.median, "not reached"),
            f"{years(curve.median_low, 'not known')} to {years(curve.median_high, 'not reached')}",
        )
        for curve in curves
    ]
    return pd.DataFrame(rows, columns=["Group", "Withdrawn", "Half by (years)", "95 % interval"]).set_index("Group")


def _reasons(causes: Incidences | TooFew, day: str) -> None:
    st.subheader("For which reason it leaves")
    if isinstance(causes, TooFew):
        told.nothing(causes)
        return
    curves = [*causes.curves, *([causes.rare] if causes.rare else [])][: charts.MOST_LINES]
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
    names = [curve.reason for curve in curves]
    words = "Share of gear withdrawn for each reason by age. " + "; ".join(_at_end(curve) for curve in curves)
    rows = [(c.reason, c.events, f"{c.share[-1]:.0%}", f"{c.low[-1]:.0%} to {c.high[-1]:.0%}") for c in curves]
    columns = ["Reason", "Items", "By the last age", "95 % interval"]
    shown = pd.DataFrame(rows, columns=columns).set_index("Reason")
    told.chart_and_table(charts.steps(table, names, "Share withdrawn"), words, shown, "how-long-by-reason", day)
    told.few(causes.told)
    st.caption(
        "**Means:** share withdrawn for that reason while other reasons also take gear out; an item with two counts as "
        "“several reasons”. **Method:** Aalen and Johansen 1978."
    )


def _at_end(curve: Incidence) -> str:
    return f"{curve.reason} {curve.share[-1]:.0%} by {curve.ends_at_days / _YEAR:.1f} years ({curve.events} items)"


def _behind(frame: Frame, answer: Life) -> None:
    st.subheader("The items behind a group")
    label = told.choose("Group", [group.label for group in answer.groups], f"life {answer.by}")
    if label is None:
        return
    ages = {one.item_id: one for one in answer.watched.lifetimes}
    rows = []
    for row in answer.behind(label):
        years = ages[row.item_id].left_age_days / _YEAR
        ended = f"withdrawn at {years:.1f} years" if row.left_on else f"in the record at {years:.1f} years"
        rows.append((row.tag, ", ".join(filter(None, (row.kind.value, row.site, ended)))))
    told.items(frame, rows, f"life {label}")
