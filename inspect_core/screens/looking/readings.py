"""Readings over time: a small chart for each measure with its uncertainty and the rule's limit, and the table."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from inspect_core.domain.gear import Item
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.looking import filters
from inspect_core.screens.measuring import trend_line
from inspect_core.screens.speaking import st
from inspect_core.usecases import life
from inspect_core.usecases.life import Series

_COLOUR, _SIGNAL = "#2A8194", "#C0504D"
#: Charts shown at once: each takes the browser a moment.
_CHARTS = 4


def show(frame: Frame, item: Item) -> None:
    """One chart for each measure of each part, those read most often first."""
    series = life.readings(item.id, frame.services, filters.asked(item.id))
    if not series:
        st.markdown("Nothing was measured.")
        return
    name = f"readings {item.id}"
    shown = series[: _CHARTS * state.page_number(name)]
    for one in shown:
        _one(one)
    if len(shown) < len(series):
        st.button(
            f"Show {min(_CHARTS, len(series) - len(shown))} more of {len(series)}",
            key=state.widget("history", "more readings"),
            on_click=state.more_pages,
            args=(name,),
            width="stretch",
        )
    st.caption(
        "Each bar spans the reading's uncertainty (k = 2). A dashed line is the limit of the rule that weighed the "
        "newest reading. Two readings may be of two different marks; no reading proves strength."
    )
    trend_line.show(life.for_trend(item.id, frame.services))


def _one(series: Series) -> None:
    title = f"{series.category.value} on the {series.component.value}: {series.measure}"
    st.markdown(f"**{plain(title[0].upper() + title[1:])}**")
    chart, table = st.columns([3, 2])
    with chart:
        _chart(series, title)
    with table:
        _table(series)
    limits = "; ".join(f"{limit:g} {series.unit} ({words})" for limit, words in series.limits)
    worse = {True: " Larger is worse.", False: " Smaller is worse.", None: ""}[series.larger_is_worse]
    st.markdown(plain(series.in_words + (f" Limit: {limits}." if limits else " No rule weighed it.") + worse))


def _table(series: Series) -> None:
    st.dataframe(
        [
            {
                "On": f"{point.at:%Y-%m-%d}",
                f"Reading ({series.unit})": f"{point.reading.value:g} ± {point.reading.uncertainty:g}",
                "How": point.reading.method,
            }
            for point in reversed(series.points)
        ],
        hide_index=True,
        height=min(236, 37 * len(series.points) + 39),
        alt=f"{len(series.points)} readings, newest first",
    )


def _chart(series: Series, title: str) -> None:
    # Loaded here: most pages of an item show no chart.
    import altair as alt
    import pandas as pd

    from inspect_core.reports.trend_charts import inked

    rows = [
        {
            "day": _naive(point.at),
            "value": point.reading.value,
            "low": point.reading.value - point.reading.uncertainty,
            "high": point.reading.value + point.reading.uncertainty,
            "told": f"{point.reading.value:g} ± {point.reading.uncertainty:g} {series.unit}",
        }
        for point in series.points
    ]
    limits = [limit for limit, _ in series.limits]
    lows = [point.reading.value - point.reading.uncertainty for point in series.points]
    highs = [point.reading.value + point.reading.uncertainty for point in series.points]
    scale = alt.Scale(domain=[min(0.0, *lows, *limits), max(*highs, *limits, 0.0) * 1.08 or 1.0])
    axis = alt.Axis(format="%Y-%m", labelFontSize=13, tickCount=3, labelAngle=0)
    days = alt.X("day:T", title=None, axis=axis)
    base: Any = alt.Chart(pd.DataFrame(rows))
    bars = base.mark_rule(color=_COLOUR, strokeWidth=3).encode(
        x=days,
        y=alt.Y("low:Q", title=series.unit, scale=scale, axis=alt.Axis(labelFontSize=13, tickCount=4)),
        y2="high:Q",
    )
    line = base.mark_line(color=_COLOUR, strokeWidth=1, opacity=0.6).encode(x=days, y=alt.Y("value:Q", scale=scale))
    dots = base.mark_point(color=_COLOUR, filled=True, size=70).encode(
        x=days,
        y=alt.Y("value:Q", scale=scale),
        tooltip=[alt.Tooltip("day:T", title="on"), alt.Tooltip("told:N", title="reading")],
    )
    layers = [line, bars, dots]
    if limits:
        rule = alt.Chart(pd.DataFrame({"limit": limits}))
        layers.append(
            rule.mark_rule(color=_SIGNAL, strokeDash=[6, 4], strokeWidth=2).encode(y=alt.Y("limit:Q", scale=scale))
        )
    st.altair_chart(
        inked(alt.layer(*layers).properties(height=190), dark=st.context.theme.type == "dark"),
        width="stretch",
        alt=f"{title} over time. {series.in_words}",
    )


def _naive(at: datetime) -> datetime:
    # Drawn as it was on site: the browser would move a time with a zone to its own.
    return at.replace(tzinfo=None)
