"""How fast damage used grows on one component of one item, and when it would reach its limit.

Robust line through the inspections: Theil's median of pairwise slopes with the interval of Sen (1968, J. Am. Stat.
Assoc. 63:1379), through scipy. A trend describes what was seen; it promises nothing about the next fall.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from inspect_core.domain.damage import damage_of
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.inspection import Inspection

#: Two points make a line through anything; a trend is told from three days on.
LEAST_INSPECTIONS = 3
_DAYS_PER_YEAR = 365.25
#: A limit further away than this is no forecast.
_FURTHEST_DAYS = 50 * _DAYS_PER_YEAR


@dataclass(frozen=True, slots=True)
class DamagePoint:
    """Largest damage used on one component at one inspection; 1 is at the limit."""

    on: date
    damage: float


@dataclass(frozen=True, slots=True)
class DamageTrend:
    """Growth of damage used per year with its interval at `confidence`, and when it reaches 1.

    `confidence` is what so few inspections can give: three give 67 %, four 92 %, whatever was asked for.
    `reaches_on`: the day on which the middle line reaches the limit; `earliest` and `latest` belong to the steepest
    and the flattest slope of the interval. None: not within 50 years, or not at all at that slope.
    """

    points: tuple[DamagePoint, ...]
    slope: float
    slope_low: float
    slope_high: float
    confidence: float
    reaches_on: date | None
    earliest: date | None
    latest: date | None

    @property
    def grows(self) -> bool:
        """Whether the interval of the slope leaves standing still out."""
        return self.slope_low > 0

    @property
    def in_words(self) -> str:
        """One sentence for people, with the interval and the number of inspections behind it."""
        count = f"{len(self.points)} inspections"
        span = f"{self.slope_low:.2f} to {self.slope_high:.2f} at {self.confidence * 100:.0f} % confidence"
        if not self.grows:
            return f"No growth can be told from {count} (growth a year {span})."
        if self.earliest is None:
            when = "not within 50 years"
        elif self.latest is None:
            when = f"on {self.earliest} at the earliest"
        else:
            when = f"between {self.earliest} and {self.latest}"
        return f"Grows by {self.slope:.2f} of its limit a year ({span}, {count}); at the limit {when}."


def damage_points(inspections: Iterable[Inspection], component: Component) -> tuple[DamagePoint, ...]:
    """Damage used on one component, one point a day (the largest), oldest first.

    Only inspections in which a mark on the component was measured count: not measured is not zero. Inspections that
    a later one corrects are left out.
    """
    listed = tuple(inspections)
    corrected = {inspection.corrects for inspection in listed}
    largest: dict[date, float] = {}
    for inspection in listed:
        if inspection.id in corrected:
            continue
        measured = [f for f in inspection.decision.findings if f.component is component and f.value is not None]
        if measured:
            day = inspection.at.date()
            largest[day] = max(largest.get(day, 0.0), *(damage_of(finding) for finding in measured))
    return tuple(DamagePoint(day, damage) for day, damage in sorted(largest.items()))


def damage_trend(points: Sequence[DamagePoint], confidence: float = 0.95) -> DamageTrend | None:
    """Theil–Sen line through damage used against time; None with fewer than three days.

    The line goes through the medians of time and damage, as scipy's intercept does. `confidence` lies between 0.5
    and 1. Raises BadInput for another confidence or a damage that is no number.
    """
    if not 0.5 < confidence < 1:
        raise BadInput("The confidence lies outside 0.5 to 1.", "Use 0.95 unless there is a reason not to.")
    ordered = sorted(points, key=lambda point: point.on)
    days = np.array([point.on.toordinal() for point in ordered], dtype=float)
    damage = np.array([point.damage for point in ordered], dtype=float)
    if not np.isfinite(damage).all():
        raise BadInput("A damage used is not a number.", "Leave out inspections in which nothing was measured.")
    if len(np.unique(days)) < LEAST_INSPECTIONS:
        return None
    from scipy.stats import theilslopes  # takes a second to load, and most pages show no trend

    fit = theilslopes(damage, days, alpha=confidence)
    middle_day, middle = float(np.median(days)), float(np.median(damage))
    slope, low, high = float(fit.slope), float(fit.low_slope), float(fit.high_slope)
    return DamageTrend(
        points=tuple(ordered),
        slope=slope * _DAYS_PER_YEAR,
        slope_low=low * _DAYS_PER_YEAR,
        slope_high=high * _DAYS_PER_YEAR,
        confidence=min(confidence, _most_confidence(len(days))),
        reaches_on=_reaches(slope, middle_day, middle),
        earliest=_reaches(high, middle_day, middle),
        latest=_reaches(low, middle_day, middle),
    )


def _most_confidence(count: int) -> float:
    """The interval is bounded by the smallest and largest pairwise slope, and all of them point one way by chance in
    2 of `count`! orders (Kendall's exact distribution), so no more can be claimed."""
    return 1 - 2 / math.factorial(min(count, 20))


def _reaches(slope: float, day: float, damage: float) -> date | None:
    """The day on which a line through (day, damage) with that slope per day reaches 1."""
    if damage >= 1:
        return date.fromordinal(int(day)) if slope <= 0 else date.fromordinal(max(1, int(day - (damage - 1) / slope)))
    if slope <= 0:
        return None
    ahead = (1 - damage) / slope
    if ahead > _FURTHEST_DAYS:
        return None
    return date.fromordinal(int(day)) + timedelta(days=math.ceil(round(ahead, 6)))
