"""Charts that stay readable in greyscale and at phone width: shades far apart, dashes and shapes beside colours."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import altair as alt
import pandas as pd

#: Bars and first lines; the intervals on them. Both stand out on the light and the dark page and from each other.
BAR, INTERVAL = "#2A8194", "#E69F00"
#: From dark to light, for what is stacked; every piece has an outline and its count too.
STACK = ("#2A8194", "#E69F00", "#C9D6DB")
_OUTLINE, _SIGNAL = "#7C8B90", "#C0504D"
_LINES = ("#2A8194", "#E69F00", "#8A5FA8", "#7C8B90", "#C0504D", "#4E9A51")
_DASHES = ([1, 0], [8, 4], [2, 3], [10, 3, 2, 3], [5, 2], [1, 5])
#: More lines than these cannot be told apart without colour.
MOST_LINES = len(_DASHES)
#: Bars past these make a chart longer than a screen; the table has them all.
MOST_BARS = 18
_FONT = 13


def ranked(table: pd.DataFrame, title: str, *, share: bool) -> alt.LayerChart:
    """One line per group in the order given, with columns label, value, low and high: bar and interval; where there
    is a column `together`, a diamond for what this and the earlier groups explain together."""
    table = table.head(MOST_BARS)
    groups = _groups(table)
    most = 1.0 if share else float(table["high"].max() or 1.0)
    # The title ends where the axis does: centred it would be cut off at phone width.
    axis = alt.Axis(
        format="%" if share else ",.3~f", labelFontSize=_FONT, tickCount=4, titleAnchor="end", titleAlign="right"
    )
    values = alt.X("value:Q", title=title, axis=axis, scale=alt.Scale(domain=[0, most]))
    base = alt.Chart(table)
    tips = [alt.Tooltip(f"{name}:N") for name in table.columns if name not in ("value", "low", "high", "together")]
    bars = base.mark_bar(color=BAR, height=16).encode(y=groups, x=values, tooltip=tips)
    lines = base.mark_rule(color=INTERVAL, strokeWidth=3).encode(y=groups, x="low:Q", x2="high:Q")
    layers = [bars, lines]
    if "together" in table.columns:
        shape = {"shape": "diamond", "size": 110, "color": _OUTLINE, "filled": False, "strokeWidth": 2, "aria": False}
        layers.append(base.mark_point(**shape).encode(y=groups, x="together:Q", tooltip=tips))
    return _tall(alt.layer(*layers), len(table))


def sides(table: pd.DataFrame, title: str, names: Sequence[str], *, share: bool) -> alt.LayerChart:
    """Two lines per group, before and after: a shape of its own for each side and its interval, with columns label,
    side, value, low and high. `names`: the two sides in order."""
    labels = list(dict.fromkeys(table["label"]))[:MOST_BARS]
    table = table[table["label"].isin(labels)]
    most = 1.0 if share else float(table["high"].max() or 1.0)
    axis = alt.Axis(
        format="%" if share else ",.3~f", labelFontSize=_FONT, tickCount=4, titleAnchor="end", titleAlign="right"
    )
    values = alt.X("value:Q", title=title, axis=axis, scale=alt.Scale(domain=[0, most]))
    offset = alt.YOffset("side:N", sort=list(names))
    colours = alt.Color("side:N", scale=alt.Scale(domain=list(names), range=[BAR, INTERVAL]), legend=_legend())
    shapes = alt.Shape("side:N", scale=alt.Scale(domain=list(names), range=["circle", "square"]), legend=_legend())
    base = alt.Chart(table)
    lines = base.mark_rule(strokeWidth=2).encode(
        y=_groups(table, labels), yOffset=offset, x="low:Q", x2="high:Q", color=colours
    )
    points = base.mark_point(filled=True, size=110, aria=False).encode(
        y=_groups(table, labels), yOffset=offset, x=values, color=colours, shape=shapes, tooltip=["label:N", "side:N"]
    )
    return alt.layer(lines, points).properties(height=max(150, 40 * len(labels) + 60))


def bars(table: pd.DataFrame, title: str) -> alt.Chart:
    """One plain bar per group in the order given, with columns label and value."""
    table = table.head(MOST_BARS)
    axis = alt.Axis(labelFontSize=_FONT, tickCount=4, format=",d", titleAnchor="end", titleAlign="right")
    values = alt.X("value:Q", title=title, axis=axis)
    chart = alt.Chart(table).mark_bar(color=BAR, height=18).encode(y=_groups(table), x=values, tooltip=["label:N"])
    return _tall(chart, len(table))


def stacked(table: pd.DataFrame, title: str, parts: Sequence[str]) -> alt.LayerChart:
    """Bars per label in the order given, stacked by `part`, with columns label, part, value and order (of parts);
    every piece carries its count."""
    names = list(dict.fromkeys(table["label"]))
    shade = alt.Scale(domain=list(parts), range=list(STACK[: len(parts)]))
    drawn = table[table["value"] > 0].copy()
    ends = drawn.sort_values("order").groupby("label")["value"].cumsum()
    drawn["middle"] = ends - drawn["value"] / 2
    base = alt.Chart(drawn)
    axis = alt.Axis(labelFontSize=_FONT, tickMinStep=1, format="d", titleAnchor="end", titleAlign="right")
    pieces = base.mark_bar(stroke=_OUTLINE, strokeWidth=1).encode(
        y=_groups(table, names),
        x=alt.X("value:Q", title=title, axis=axis),
        color=alt.Color("part:N", scale=shade, legend=_legend(260)),
        order=alt.Order("order:Q"),
        tooltip=["label:N", "part:N", "value:Q"],
    )
    counts = base.mark_text(color="#16191D", fontSize=12, fontWeight="bold", aria=False).encode(
        y=_groups(table, names), x="middle:Q", text="value:Q"
    )
    return _tall(alt.layer(pieces, counts), len(names) + 2)


def steps(table: pd.DataFrame, names: Sequence[str], title: str, *, band: bool = False) -> Any:
    """Curves that change in steps, with columns years, share and group; with `band` also low and high."""
    single = len(names) == 1
    years = alt.X("years:Q", title="Age in years", axis=alt.Axis(labelFontSize=_FONT, tickCount=6))
    most = 1.0 if float(table["share"].max()) > 0.5 else 0.5
    scale = alt.Scale(domain=[0, most])
    shares = alt.Y("share:Q", title=title, scale=scale, axis=alt.Axis(format="%", labelFontSize=_FONT))
    legend = None if single else _legend(900)
    colours = alt.Scale(domain=list(names), range=list(_LINES[: len(names)]))
    dashes = alt.Scale(domain=list(names), range=[list(d) for d in _DASHES[: len(names)]])
    lines = (
        alt.Chart(table)
        .mark_line(interpolate="step-after", strokeWidth=3)
        .encode(
            x=years,
            y=shares,
            color=alt.Color("group:N", scale=colours, legend=legend),
            strokeDash=alt.StrokeDash("group:N", scale=dashes, legend=legend),
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
    months = alt.X("month:T", title=None, axis=alt.Axis(format="%Y-%m", labelFontSize=_FONT, tickCount=6))
    base = alt.Chart(table)

    def level(name: str, dash: list[int]) -> alt.Chart:
        line = base.mark_line(interpolate="step", strokeDash=dash, strokeWidth=2, color=INTERVAL)
        return line.encode(x=months, y=alt.Y(f"{name}:Q", title=title))

    values = base.mark_line(color=BAR, strokeWidth=2, point=alt.OverlayMarkDef(color=BAR, size=45, aria=False)).encode(
        x=months, y=alt.Y("value:Q", title=title, axis=alt.Axis(labelFontSize=_FONT)), tooltip=["month:T", "value:Q"]
    )
    layers = [level("upper", [6, 4]), level("centre", [1, 0]), level("lower", [6, 4]), values]
    standing_out = table[table["signal"] != ""]
    if len(standing_out):
        shape = {"shape": "diamond", "size": 260, "strokeWidth": 3, "color": _SIGNAL, "aria": False}
        marked = alt.Chart(standing_out).mark_point(**shape)
        layers.append(marked.encode(x=months, y="value:Q", tooltip=["month:T", "signal:N"]))
    return alt.layer(*layers).properties(height=320)


def funnel(points: pd.DataFrame, curve: pd.DataFrame, centre: float) -> alt.LayerChart:
    """Rates of inspectors with limits that narrow with how much each inspected. `points`: columns label, inspections,
    per_100 and outside (bool). `curve`: columns inspections, per_100 and limit (one line each)."""
    inspections = alt.X(
        "inspections:Q", title="Inspections made", axis=alt.Axis(labelFontSize=_FONT, tickCount=5, format=",d")
    )
    rate = alt.Y("per_100:Q", title="Defects per 100 inspections", axis=alt.Axis(labelFontSize=_FONT))
    names = list(dict.fromkeys(curve["limit"]))
    widths = {name: ([6, 4] if "99.8" in name else [2, 3]) for name in names}
    limits = [
        alt.Chart(curve[curve["limit"] == name])
        .mark_line(color=INTERVAL, strokeWidth=2, strokeDash=dash)
        .encode(x=inspections, y=rate)
        for name, dash in widths.items()
    ]
    middle = (
        alt.Chart(pd.DataFrame({"per_100": [centre]})).mark_rule(color=_OUTLINE, strokeWidth=2).encode(y="per_100:Q")
    )
    seen = alt.Chart(points).mark_point(filled=True, size=150, aria=False, opacity=1)
    shape = alt.Shape("outside:N", scale=alt.Scale(domain=[False, True], range=["circle", "diamond"]), legend=None)
    colour = alt.Color("outside:N", scale=alt.Scale(domain=[False, True], range=[BAR, _SIGNAL]), legend=None)
    dots = seen.encode(x=inspections, y=rate, shape=shape, color=colour, tooltip=["label:N", "found:N"])
    words = (
        alt.Chart(points)
        .mark_text(dy=-14, fontSize=12, aria=False, color=_OUTLINE)
        .encode(x=inspections, y=rate, text="label:N")
    )
    return alt.layer(*limits, middle, dots, words).properties(height=340)


def inked(chart: Any, *, dark: bool) -> Any:
    """The chart with its words dark on the light page and light on the dark one; the page's own grey is too faint."""
    ink = "#C3CED2" if dark else "#3F4C51"
    words = {"labelColor": ink, "titleColor": ink}
    return chart.configure_axis(**words, titleFontSize=_FONT).configure_legend(**words)


def _legend(size: int = 160) -> alt.Legend:
    return alt.Legend(
        orient="top",
        direction="vertical",
        title=None,
        labelFontSize=14,
        labelLimit=320,
        symbolSize=size,
        symbolStrokeWidth=2,
    )


def _groups(table: pd.DataFrame, order: Sequence[str] = ()) -> alt.Y:
    names = list(order) or list(dict.fromkeys(table["label"]))
    axis = alt.Axis(labelLimit=175, labelFontSize=_FONT)
    return alt.Y("label:N", sort=names, scale=alt.Scale(domain=names), title=None, axis=axis)


def _tall(chart: Any, lines: int) -> Any:
    return chart.properties(height=max(140, 36 * lines + 40))
