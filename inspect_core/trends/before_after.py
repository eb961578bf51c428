"""Whether defects became rarer after a change: ratio of two rates with its exact conditional interval.

Given the total x₀ + x₁, the later count x₁ is binomial with share π = r n₁ / (n₀ + r n₁), where r is the ratio of the
rates and n the inspections. The Clopper–Pearson interval of π, turned into r = π / (1 − π) · n₀ / n₁, is exact
(Przyborowski and Wilenski 1940, Biometrika 31:313; Clopper and Pearson 1934, Biometrika 26:404), through scipy.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.stats import binomtest

from inspect_core.domain.errors import BadInput
from inspect_core.trends.few import LEAST_EVENTS, TooFew, check_confidence

CAUTION = (
    "A change is mostly made after a bad spell, and a bad spell is mostly followed by a better one whatever is done. "
    "Other things may have changed on the same day. Looking at many reasons, one in twenty differs by chance alone."
)


@dataclass(frozen=True, slots=True)
class BeforeAfter:
    """Rates per 100 inspections before and after, their ratio (after / before) with its interval, and the p-value.

    `ratio` and `high` are infinite where nothing was found before. `p_value`: two-sided exact test of no change.
    """

    label: str
    before: tuple[int, int]
    after: tuple[int, int]
    before_per_100: float
    after_per_100: float
    ratio: float
    low: float
    high: float
    confidence: float
    p_value: float

    @property
    def clear(self) -> bool:
        """Whether the interval leaves "no change" out."""
        return self.high < 1 or self.low > 1

    @property
    def in_words(self) -> str:
        """What was seen, whether chance explains it, and the caution."""
        seen = (
            f"{self.label}: {self.before_per_100:.1f} per 100 inspections before ({self.before[0]} in "
            f"{self.before[1]}), {self.after_per_100:.1f} after ({self.after[0]} in {self.after[1]})"
        )
        span = f"ratio {self.ratio:.2f}, {self.confidence * 100:.0f} % interval {self.low:.2f} to {self.high:.2f}"
        if not self.clear:
            return f"{seen}; {span}. Chance alone can make this difference. {CAUTION}"
        way = "Rarer" if self.high < 1 else "More frequent"
        return f"{seen}; {span}. {way} after than chance alone makes likely. {CAUTION}"


def clopper_pearson(count: int, total: int, confidence: float = 0.95) -> tuple[float, float]:
    """Exact interval for a share. Raises BadInput where count is not within 0 … total or total is 0."""
    check_confidence(confidence)
    if not 0 <= count <= total or total == 0:
        raise BadInput("The count does not lie within its total.", "Give a count from 0 to a total above 0.")
    interval = binomtest(count, total).proportion_ci(confidence_level=confidence, method="exact")
    return float(interval.low), float(interval.high)


def before_after(
    label: str,
    before: tuple[int, int],
    after: tuple[int, int],
    *,
    confidence: float = 0.95,
    least_events: int = LEAST_EVENTS,
) -> BeforeAfter | TooFew:
    """Compare (defects, inspections) before and after; TooFew below `least_events` on both sides together.

    Raises BadInput for counts below zero or a side without inspections.
    """
    check_confidence(confidence)
    if min(*before, *after) < 0:
        raise BadInput("A count is below zero.", "Count defects and inspections from 0 up.")
    if before[1] == 0 or after[1] == 0:
        raise BadInput(
            "Nothing was inspected on one side of the change.", "Choose a day with inspections before and after it."
        )
    events, inspections = before[0] + after[0], before[1] + after[1]
    if events < max(1, least_events):
        why = f"At least {least_events} defects before and after together are needed."
        return TooFew(label, inspections, events, why)
    low, high = clopper_pearson(after[0], events, confidence)
    return BeforeAfter(
        label,
        before,
        after,
        100 * before[0] / before[1],
        100 * after[0] / after[1],
        _ratio(after[0] / events, before[1], after[1]),
        _ratio(low, before[1], after[1]),
        _ratio(high, before[1], after[1]),
        confidence,
        float(binomtest(after[0], events, after[1] / inspections).pvalue),
    )


def _ratio(share: float, before: int, after: int) -> float:
    return math.inf if share >= 1 else share / (1 - share) * before / after
