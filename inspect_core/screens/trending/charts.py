"""Charts that stay readable in greyscale and at phone width: shades far apart, dashes and shapes beside colours."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import altair as alt
import pandas as pd

#: Bars and first lines; the intervals on them. Both stand out on the light and the dark page and from each other.
BAR, INTERVAL = "#2A8194", "#E69F00"
#: From dark to light, for what is stacked; every piece has an outline too.
STACK = ("#2A8194", "#E69F00", "#C9D6DB")
_OUTLINE, _SIGNAL = "#7C8B90", "#C0504D"
_LINES = ("#2A8194", "#E69F00", "#8A5FA8", "#7C8B90", "#C0504D", "#4E9A51")
_DASHES = ([1, 0], [8, 4], [2, 3], [10, 3, 2, 3], [5, 2], [1, 5])
#: More lines than these cannot be told apart without colour.
MOST_LINES = len(_DASHES)


def ranked(table: pd.DataFrame, title: str, *, share: bool) -> alt.LayerChart:
    """One line per group in the order given, with columns label, value, low and high: bar and interval."""
    groups = _groups(table)
    most = 1.0 if share else float(table["high"].max() or 1.0)
    # The title ends where the axis does: centred it would be cut off at phone width.
    axis = alt.Axis(format="%" if share else "~g", labelFontSize=13, tickCount=4, titleAnchor="end", titleAlign="right")
    values = alt.X("value:Q", title=title, axis=axis, scale=alt.Scale(domain=[0, most]))
    base = alt.Chart(table)
    tips = [alt.Tooltip(f"{name}:N") for name in table.columns if name not in ("value", "low", "high")]
    bars = base.mark_bar(color=BAR, height=16).encode(y=groups, x=values, tooltip=tips)
    lines = base.mark_rule(color=INTERVAL, strokeWidth=3).encode(y=groups, x="low:Q", x2="high:Q")
    return _tall(alt.layer(bars, lines), len(table))


def bars(table: pd.DataFrame, title: str) -> alt.Chart:
    """One plain bar per group in the order given, with columns label and value."""
    values = alt.X(
        "value:Q",
        title=title,
        axis=alt.Axis(labelFontSize=13, tickCount=4, format=",d", titleAnchor="end", titleAlign="right"),
    )
    chart = alt.Chart(table).mark_bar(color=BAR, height=18).encode(y=_groups(table), x=values, tooltip=["label:N"])
    return _tall(chart, len(table))


def stacked(table: pd.DataFrame, title: str, parts: Sequence[str]) -> alt.Chart:
    """Bars per label in the order given, stacked by `part`, with columns label, part, value and order (of parts)."""
    names = list(dict.fromkeys(table["label"]))
    shade = alt.Scale(domain=list(parts), range=list(STACK[: len(parts)]))
    words = {"labelFontSize": 14, "labelLimit": 300}
    legend = alt.Legend(orient="top", direction="vertical", title=None, symbolSize=260, symbolStrokeWidth=1, **words)
    chart = (
        alt.Chart(table[table["value"] > 0])
        .mark_bar(stroke=_OUTLINE, strokeWidth=1)
        .encode(
            y=_groups(table, names),
            x=alt.X("value:Q", title=title, axis=alt.Axis(labelFontSize=13, tickMinStep=1, format="d")),
            color=alt.Color("part:N", scale=shade, legend=legend),
            order=alt.Order("order:Q"),
            tooltip=["label:N", "part:N", "value:Q"],
        )
    )
    return _tall(chart, len(names) + 2)


def steps(table: pd.DataFrame, names: Sequence[str], title: str, *, band: bool = False) -> Any:
    """Curves that change in steps, with columns years, share and group; with `band` also low and high."""
    legend = alt.Legend(
        orient="top", direction="vertical", title=None, labelFontSize=14, labelLimit=320, symbolSize=900
    )
    single = len(names) == 1
    years = alt.X("years:Q", title="Age in years", axis=alt.Axis(labelFontSize=13, tickCount=6))
    most = 1.0 if float(table["share"].max()) > 0.5 else 0.5
    scale = alt.Scale(domain=[0, most])
    shares = alt.Y("share:Q", title=title, scale=scale, axis=alt.Axis(format="%", labelFontSize=13))
    lines = (
        alt.Chart(table)
        .mark_line(interpolate="step-after", strokeWidth=3)
        .encode(
            x=years,
            y=shares,
            color=alt.Color(
                "group:N",
                scale=alt.Scale(domain=list(names), range=list(_LINES[: len(names)])),
                legend=None if single else legend,
            ),
            strokeDash=alt.StrokeDash(
                "group:N",
                scale=alt.Scale(domain=list(names), range=[list(d) for d in _DASHES[: len(names)]]),
                legend=None if single else legend,
            ),
        )
    )
    if not band:
        return lines.properties(height=300 + (0 if single else 26 * len(names)))
    area = (
        alt.Chart(table)
        .mark_area(interpolate="step-after", opacity=0.25, color=BAR)
        .encode(x=years, y="low:Q", y2="high:Q")
    )
    return alt.layer(area, lines).properties(height=320)


def control(table: pd.DataFrame, title: str) -> alt.LayerChart:
    """A control chart, with columns month (a date), value, centre, lower, upper and signal ("" for none)."""
    months = alt.X("month:T", title=None, axis=alt.Axis(format="%Y-%m", labelFontSize=13, tickCount=6))
    base = alt.Chart(table)

    def level(name: str, dash: list[int]) -> alt.Chart:
        line = base.mark_line(interpolate="step", strokeDash=dash, strokeWidth=2, color=INTERVAL)
        return line.encode(x=months, y=alt.Y(f"{name}:Q", title=title))

    values = base.mark_line(color=BAR, strokeWidth=2, point=alt.OverlayMarkDef(color=BAR, size=45, aria=False)).encode(
        x=months, y=alt.Y("value:Q", title=title, axis=alt.Axis(labelFontSize=13)), tooltip=["month:T", "value:Q"]
    )
    layers = [level("upper", [6, 4]), level("centre", [1, 0]), level("lower", [6, 4]), values]
    standing_out = table[table["signal"] != ""]
    if len(standing_out):
        shape = {"shape": "diamond", "size": 260, "strokeWidth": 3, "color": _SIGNAL, "aria": False}
        marked = alt.Chart(standing_out).mark_point(**shape)
        layers.append(marked.encode(x=months, y="value:Q", tooltip=["month:T", "signal:N"]))
    return alt.layer(*layers).properties(height=320)


def inked(chart: Any, *, dark: bool) -> Any:
    """The chart with its words dark on the light page and light on the dark one; the page's own grey is too faint."""
    ink = "#C3CED2" if dark else "#3F4C51"
    words = {"labelColor": ink, "titleColor": ink}
    return chart.configure_axis(**words, titleFontSize=13).configure_legend(**words)


def _groups(table: pd.DataFrame, order: Sequence[str] = ()) -> alt.Y:
    names = list(order) or list(dict.fromkeys(table["label"]))
    axis = alt.Axis(labelLimit=175, labelFontSize=13)
    return alt.Y("label:N", sort=names, scale=alt.Scale(domain=names), title=None, axis=axis)


def _tall(chart: Any, lines: int) -> Any:
    return chart.properties(height=max(140, 36 * lines + 40))
