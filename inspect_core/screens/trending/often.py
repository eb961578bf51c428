"""How often is damage found: defects per 100 inspections by group, and month by month with limits."""

from __future__ import annotations

import math

import pandas as pd
import streamlit as st

from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.trending import charts, told
from inspect_core.trends.control_charts import ControlChart
from inspect_core.trends.few import TooFew
from inspect_core.trends.rates import Rate
from inspect_core.usecases.trends_rates import DEFINITION, Rates, defects_behind, rates
from inspect_core.usecases.trends_scope import Scope

_SPLIT_WORDS = {"kind": "Kind of gear", "site": "Site", "month": "Month"}


def show(frame: Frame, scope: Scope) -> None:
    """Rates with their intervals, the u-chart with its signals named, and the inspections of a group."""
    by = st.segmented_control(
        "Split by",
        list(_SPLIT_WORDS),
        default="kind",
        format_func=lambda name: _SPLIT_WORDS[name],
        key=state.widget("trends", "rates by"),
        required=True,
    )
    answer = rates(frame.services, scope, by=by or "kind")
    day = frame.today.isoformat()
    if isinstance(answer.whole, TooFew):
        told.nothing(answer.whole)
        return
    told.sentence(answer.in_words)
    _groups(answer, day)
    told.source(
        f"{answer.whole.inspections} inspections with {answer.whole.defects} defects, {scope.gear}",
        scope.period(frame.today),
        DEFINITION,
        "exact Poisson interval (Garwood 1936); it is right for defects that come one by one.",
    )
    st.subheader("Did it change?")
    _months(answer, day)
    st.subheader("The inspections behind a group")
    bad = sorted(answer.groups, key=_defects, reverse=True)
    label = told.choose("Group", [group.label for group in bad if _defects(group)], f"rates {answer.by}")
    if label is not None:
        found = defects_behind(frame.services, scope, answer.by, label)
        rows = [(one.tag, f"{one.kind.value}, {one.site}, found {one.on.isoformat()}") for one in found]
        told.items(frame, rows, f"rates {label}")


def _defects(group: Rate | TooFew) -> int:
    return group.defects if isinstance(group, Rate) else group.events


def _groups(answer: Rates, day: str) -> None:
    drawn = [group for group in answer.groups if isinstance(group, Rate)]
    if answer.by != "month":
        drawn.sort(key=lambda group: -group.per_100)
    if drawn:
        table = pd.DataFrame(
            {
                "label": [group.label for group in drawn],
                "value": [group.per_100 for group in drawn],
                "low": [group.low for group in drawn],
                "high": [group.high for group in drawn],
                "found": [f"{group.defects} in {group.inspections}" for group in drawn],
            }
        )
        shown = pd.DataFrame(
            {
                "Group": table["label"],
                "Found": table["found"],
                "Per 100": [f"{group.per_100:.1f}" for group in drawn],
                "95 % interval": [f"{group.low:.1f} to {group.high:.1f}" for group in drawn],
            }
        ).set_index("Group")
        chart = charts.ranked(table, "Defects per 100 inspections", share=False)
        words = "Defects per 100 inspections. " + " ".join(group.in_words for group in drawn)
        told.chart_and_table(chart, words, shown, f"rates-by-{answer.by}", day)
    told.few(group for group in answer.groups if isinstance(group, TooFew))


def _months(answer: Rates, day: str) -> None:
    chart = answer.chart
    if isinstance(chart, TooFew):
        told.nothing(chart)
        return
    told.sentence(chart.in_words)
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
    words = f"{chart.name}: {chart.unit} by month around {chart.centre:.3f}. {chart.in_words}"
    told.chart_and_table(charts.control(table, "Defects per inspection"), words, _months_table(chart), "u-chart", day)
    coarse = sum(point.coarse for point in chart.points)
    parts = ["**Method:** u-chart, limits at three standard deviations (NIST/SEMATECH e-Handbook 6.3.3.1)."]
    if coarse:
        parts.append(f"In {coarse} of {len(chart.points)} months fewer than 5 defects are expected: limits are rough.")
    if chart.left_out:
        parts.append(plain(f"Nothing was inspected in {', '.join(chart.left_out)}."))
    if not math.isnan(answer.scatter):
        parts.append(f"Months scatter {answer.scatter:.1f} times as much as defects that come one by one (1: just so).")
    st.caption(" ".join(parts))


def _months_table(chart: ControlChart) -> pd.DataFrame:
    """The months that stand out, and the last twelve."""
    last = chart.points[-12:]
    shown = [point for point in chart.points if point.signals or point in last]
    return pd.DataFrame(
        {
            "Month": [point.label for point in shown],
            "Found": [f"{point.count} in {point.size}" for point in shown],
            "Limits": [f"{point.lower:.2f} to {point.upper:.2f}" for point in shown],
            "Signal": [" and ".join(point.signals) or "none" for point in shown],
        }
    ).set_index("Month")
