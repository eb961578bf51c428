"""How damage used on one part of an item has grown: a small chart with uncertainty bars, and one sentence."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from statistics import median
from typing import Any

from inspect_core.domain.damage import damage_of
from inspect_core.domain.decision import Finding
from inspect_core.domain.gear import Component
from inspect_core.domain.inspection import Inspection
from inspect_core.domain.measures import MEASURES
from inspect_core.screens.frame import plain
from inspect_core.screens.speaking import st
from inspect_core.trends.damage_trend import DamagePoint, DamageTrend, damage_points, damage_trend

DAYS_PER_YEAR = 365.25
_COLOUR, _SIGNAL = "#2A8194", "#C0504D"


def show(inspections: Sequence[Inspection]) -> None:
    """One chart per part that was measured at three or more inspections; nothing where there is none."""
    parts = dict.fromkeys(
        finding.component
        for inspection in inspections
        for finding in inspection.decision.findings
        if finding.component is not None and finding.mark is not None and finding.value is not None
    )
    trends = [(part, trend) for part in parts if (trend := damage_trend(damage_points(inspections, part)))]
    if not trends:
        return
    st.subheader("How damage grows")
    for component, trend in trends:
        st.markdown(f"**{component.value[0].upper()}{component.value[1:]}**")
        _chart(component, trend, inspections)
        st.markdown(plain(trend.in_words))
    st.caption(
        "Damage used is the reading with its uncertainty over the limit; 1 is at the limit. Each bar spans the "
        "reading's uncertainty (k = 2), and its upper end counts; the dotted line "
        "is the trend. A trend describes what was seen; it promises nothing."
    )


def spans(
    inspections: Iterable[Inspection], component: Component, points: Iterable[DamagePoint]
) -> list[tuple[DamagePoint, float, float]]:
    """For each point the share of the limit at the reading itself and at its harmless end (k = 2)."""
    listed = tuple(inspections)
    corrected = {inspection.corrects for inspection in listed}
    found = []
    for point in points:
        that_day = [
            finding
            for inspection in listed
            if inspection.id not in corrected and inspection.at.date() == point.on
            for finding in inspection.decision.findings
            if finding.component is component and finding.value is not None and damage_of(finding) == point.damage
        ]
        low, middle = _span(that_day[0]) if that_day else (point.damage, point.damage)
        found.append((point, min(middle, point.damage), min(low, point.damage)))
    return found


def _span(finding: Finding) -> tuple[float, float]:
    """(harmless end, reading) as a share of the limit; both the damage itself where the limit allows none."""
    value, limit, spread = finding.value or 0.0, finding.limit or 0.0, finding.uncertainty or 0.0
    measure = MEASURES.get(finding.measure or "")
    if measure is not None and measure.larger_is_worse is False:
        return (limit / (value + spread), limit / value) if value > 0 else (damage_of(finding), damage_of(finding))
    if limit <= 0:
        return damage_of(finding), damage_of(finding)
    return max(0.0, (value - spread) / limit), max(0.0, value / limit)


def _line(trend: DamageTrend) -> list[dict[str, Any]]:
    """The trend's middle line over the days seen, through the medians of day and damage as the trend has it."""
    days = [point.on.toordinal() for point in trend.points]
    middle_day, middle = median(days), median(point.damage for point in trend.points)
    return [
        {"day": str(point.on), "damage": middle + trend.slope * (point.on.toordinal() - middle_day) / DAYS_PER_YEAR}
        for point in (trend.points[0], trend.points[-1])
    ]


def _chart(component: Component, trend: DamageTrend, inspections: Iterable[Inspection]) -> None:
    # Loaded here: most items have no trend, and these two take longer than the rest of the page.
    import altair as alt
    import pandas as pd

    from inspect_core.reports.trend_charts import inked

    rows = [
        {"day": str(point.on), "reading": middle, "low": low, "damage": point.damage}
        for point, middle, low in spans(inspections, component, trend.points)
    ]
    top = max(1.1, *(row["damage"] * 1.05 for row in rows))  # type: ignore[operator]
    axis = alt.Axis(format="%Y-%m", labelFontSize=13, tickCount=4, labelAngle=0)
    days = alt.X("day:T", title=None, axis=axis)
    shares = alt.Scale(domain=[0, top])
    base = alt.Chart(pd.DataFrame(rows))
    title = "Damage used"
    bars = base.mark_rule(color=_COLOUR, strokeWidth=3).encode(
        x=days, y=alt.Y("low:Q", title=title, scale=shares, axis=alt.Axis(labelFontSize=13)), y2="damage:Q"
    )
    dots = base.mark_point(color=_COLOUR, filled=True, size=70).encode(
        x=days, y=alt.Y("reading:Q", scale=shares), tooltip=["day:T", "low:Q", "reading:Q", "damage:Q"]
    )
    limit = (
        alt.Chart(pd.DataFrame([{"limit": 1.0}]))
        .mark_rule(color=_SIGNAL, strokeDash=[6, 4], strokeWidth=2)
        .encode(y=alt.Y("limit:Q", scale=shares))
    )
    line = (
        alt.Chart(pd.DataFrame(_line(trend)))
        .mark_line(color=_COLOUR, strokeWidth=1.5, strokeDash=[2, 3])
        .encode(x=days, y=alt.Y("damage:Q", scale=shares))
    )
    chart = alt.layer(limit, line, bars, dots).properties(height=200)
    st.altair_chart(
        inked(chart, dark=st.context.theme.type == "dark"),
        width="stretch",
        alt=f"Damage used on the {component.value} over time. {trend.in_words}",
    )
