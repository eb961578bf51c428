"""Whether defects changed over time: control charts for attributes, with every signal named.

After the NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3: limits at three standard deviations around the
mean over all periods, a lower limit below 0 becomes 0.

u-chart, defects per inspection:   ū ± 3 √(ū / n_i)           (6.3.3.1, from memory)
c-chart, defects per period:       c̄ ± 3 √c̄                  (6.3.3.1, seen in part, rest from memory)
p-chart, share of items defective: p̄ ± 3 √(p̄ (1 − p̄) / n_i)  (6.3.3.2)

Three standard deviations suit counts that are nearly normal. Where fewer than 5 are expected in a period (common
practice, no source) the lower limit is mostly 0 and says nothing, and false alarms above are more frequent: such
points are marked `coarse`. Signal of a run: eight periods in a row on one side of the mean (Western Electric rules
as in 6.3.2, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from inspect_core.domain.errors import BadInput
from inspect_core.trends.few import TooFew

RUN = 8
#: Fewer periods give no mean worth a limit: common practice, no source (20 and more are usual).
LEAST_PERIODS = 8
_SMALL_EXPECTED = 5.0


class Signal(StrEnum):
    """Why a period stands out. A signal asks for a look at what happened then; it names no cause."""

    ABOVE = "above the upper limit"
    BELOW = "below the lower limit"
    RUN_ABOVE = "eight periods in a row above the mean"
    RUN_BELOW = "eight periods in a row below the mean"


@dataclass(frozen=True, slots=True)
class ChartPoint:
    """One period: its value, its limits in the chart's unit, and its signals. `coarse`: too few expected."""

    label: str
    count: int
    size: int
    value: float
    lower: float
    upper: float
    coarse: bool
    signals: tuple[Signal, ...]


@dataclass(frozen=True, slots=True)
class ControlChart:
    """A chart of `name` ("u-chart", …) in `unit`, its centre line, and its points in the order given.

    `left_out`: labels of periods in which nothing was inspected.
    """

    name: str
    unit: str
    centre: float
    points: tuple[ChartPoint, ...]
    left_out: tuple[str, ...]

    @property
    def signals(self) -> tuple[ChartPoint, ...]:
        """The periods that stand out."""
        return tuple(point for point in self.points if point.signals)

    @property
    def in_words(self) -> str:
        """The signals by name and period, or that there is none and what that means."""
        if not self.signals:
            return f"No period of {len(self.points)} stands out: the counts differ no more than chance makes them."
        told = "; ".join(f"{point.label} {' and '.join(point.signals)}" for point in self.signals)
        return f"{told[0].upper()}{told[1:]} ({self.name}, {len(self.points)} periods)."


Periods = Sequence[tuple[str, int, int]]


def u_chart(periods: Periods, *, least_periods: int = LEAST_PERIODS) -> ControlChart | TooFew:
    """Defects per inspection, from (label, defects, inspections) in order of time."""
    return _chart("u-chart", "defects per inspection", periods, least_periods, lambda u, n: math.sqrt(u / n))


def c_chart(periods: Sequence[tuple[str, int]], *, least_periods: int = LEAST_PERIODS) -> ControlChart | TooFew:
    """Defects per period, from (label, defects); every period must have held the same amount of inspection."""
    same = [(label, defects, 1) for label, defects in periods]
    return _chart("c-chart", "defects", same, least_periods, lambda c, n: math.sqrt(c))


def p_chart(periods: Periods, *, least_periods: int = LEAST_PERIODS) -> ControlChart | TooFew:
    """Share of inspected items with a defect, from (label, defective, inspected) in order of time."""
    if any(count > size for _, count, size in periods):
        raise BadInput("More items are defective than were inspected.", "Count each item once, or use the u-chart.")
    chart = _chart("p-chart", "share defective", periods, least_periods, lambda p, n: math.sqrt(p * (1 - p) / n))
    return chart


def _chart(
    name: str, unit: str, periods: Periods, least_periods: int, error: Callable[[float, int], float]
) -> ControlChart | TooFew:
    if any(count < 0 or size < 0 for _, count, size in periods):
        raise BadInput("A count is below zero.", "Count from 0 up.")
    if any(count > 0 and size == 0 for _, count, size in periods):
        raise BadInput("Defects are counted where nothing was inspected.", "Count the inspections that found them.")
    used = [period for period in periods if period[2] > 0]
    count, size = sum(period[1] for period in used), sum(period[2] for period in used)
    if len(used) < max(1, least_periods):
        return TooFew(name, size, count, f"At least {least_periods} periods with inspections are needed for limits.")
    centre = count / size
    sides = [(c / n > centre) - (c / n < centre) for _, c, n in used]
    points = []
    for number, (label, c, n) in enumerate(used):
        upper, lower = centre + 3 * error(centre, n), max(0.0, centre - 3 * error(centre, n))
        signals = [Signal.ABOVE] if c / n > upper else [Signal.BELOW] if c / n < lower else []
        run = sides[max(0, number - RUN + 1) : number + 1]
        if len(run) == RUN and abs(sum(run)) == RUN:
            signals.append(Signal.RUN_ABOVE if run[0] > 0 else Signal.RUN_BELOW)
        points.append(ChartPoint(label, c, n, c / n, lower, upper, centre * n < _SMALL_EXPECTED, tuple(signals)))
    return ControlChart(name, unit, centre, tuple(points), tuple(label for label, _, n in periods if n == 0))
