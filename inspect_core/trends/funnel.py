"""Rates of inspectors side by side: funnel plot limits that allow for how much each one inspected.

Around the rate θ of all together, an inspector with n inspections is expected to count between the α/2 and 1 − α/2
quantiles of a Poisson count of mean n θ, drawn at 95 % and 99.8 % (Spiegelhalter 2005, Stat. Med. 24:1185; quantiles
without interpolation, so the limits are the wider whole counts). Beyond the limits means different, not wrong:
inspectors look at different gear on different sites.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.stats import poisson

from inspect_core.domain.errors import BadInput
from inspect_core.trends.few import TooFew

LEVELS = (0.95, 0.998)
#: With fewer inspectors or defects a funnel says nothing: common practice, no source.
LEAST_INSPECTORS, LEAST_DEFECTS = 3, 10


class Place(StrEnum):
    """Where an inspector lies."""

    WITHIN = "within both limits"
    ABOVE_95 = "above the 95 % limit"
    BELOW_95 = "below the 95 % limit"
    ABOVE_998 = "above the 99.8 % limit"
    BELOW_998 = "below the 99.8 % limit"


@dataclass(frozen=True, slots=True)
class FunnelPoint:
    """One inspector: rate per 100 inspections, limits (low, high) per level of LEVELS, and where it lies."""

    label: str
    defects: int
    inspections: int
    per_100: float
    limits: tuple[tuple[float, float], tuple[float, float]]
    place: Place


@dataclass(frozen=True, slots=True)
class Funnel:
    """All inspectors by name around `centre` per 100 inspections, and the limits as curves over inspections.

    `curve`: (inspections, low 95 %, high 95 %, low 99.8 %, high 99.8 %), rates per 100.
    """

    centre: float
    points: tuple[FunnelPoint, ...]
    curve: tuple[tuple[float, float, float, float, float], ...]

    @property
    def in_words(self) -> str:
        """How many inspectors lie outside, how many chance puts there, and what to make of it."""
        outside = [point for point in self.points if point.place is not Place.WITHIN]
        told = "; ".join(f"{point.label} {point.place}" for point in outside) or "nobody lies beyond a limit"
        return (
            f"{len(self.points)} inspectors, {self.centre:.1f} defects per 100 inspections together: {told}. Of twenty "
            "alike, about one lies beyond the 95 % limit by chance. They look at different gear, so being beyond a "
            "limit is a reason to look together at some photos, not a mark of skill."
        )


def funnel(
    counts: Mapping[str, tuple[int, int]],
    *,
    least_inspectors: int = LEAST_INSPECTORS,
    least_defects: int = LEAST_DEFECTS,
) -> Funnel | TooFew:
    """Funnel of inspector to (defects, inspections). Raises BadInput for counts below zero or without inspections."""
    for label, (defects, inspections) in counts.items():
        if defects < 0 or inspections < 1:
            raise BadInput(f"The counts of {label} are none.", "Give defects from 0 up and inspections from 1 up.")
    total = sum(defects for defects, _ in counts.values())
    exposure = sum(inspections for _, inspections in counts.values())
    if len(counts) < least_inspectors or total < least_defects:
        why = f"At least {least_inspectors} inspectors and {least_defects} defects are needed."
        return TooFew("inspectors", len(counts), total, why)
    centre = total / exposure
    points = []
    for label, (defects, inspections) in sorted(counts.items()):
        inner, outer = (_limits(centre, inspections, level) for level in LEVELS)
        place = _place(defects, inspections, inner, outer)
        points.append(FunnelPoint(label, defects, inspections, 100 * defects / inspections, (inner, outer), place))
    sizes = [n for _, n in counts.values()]
    grid = np.unique(np.linspace(min(sizes), max(sizes), 60).round()).astype(int)
    curve = tuple((float(n), *_limits(centre, int(n), LEVELS[0]), *_limits(centre, int(n), LEVELS[1])) for n in grid)
    return Funnel(100 * centre, tuple(points), curve)


def _limits(centre: float, inspections: int, level: float) -> tuple[float, float]:
    mean, tail = centre * inspections, (1 - level) / 2
    return (
        float(poisson.ppf(tail, mean)) * 100 / inspections,
        float(poisson.isf(tail, mean)) * 100 / inspections,
    )


def _place(defects: int, inspections: int, inner: tuple[float, float], outer: tuple[float, float]) -> Place:
    rate = 100 * defects / inspections
    if rate > outer[1]:
        return Place.ABOVE_998
    if rate < outer[0]:
        return Place.BELOW_998
    return Place.ABOVE_95 if rate > inner[1] else Place.BELOW_95 if rate < inner[0] else Place.WITHIN
