"""How often defects are found: counts per 100 inspections with exact Poisson intervals.

Interval of a count x: ½ χ²(α/2; 2x) to ½ χ²(1 − α/2; 2x + 2) (Garwood 1936, Biometrika 28:437), divided by the
inspections. It holds where defects come one by one. Defects of one fall or one storm come together, and then the
true interval is wider than the one shown.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType

from scipy.stats import chi2

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Kind
from inspect_core.trends.few import TooFew, check_confidence

#: Below so many inspections no rate is drawn: common practice, no source.
LEAST_INSPECTIONS = 10


@dataclass(frozen=True, slots=True)
class InspectionCount:
    """Inspections of one kind at one site on one day or in the month that starts then, and the defects they found."""

    kind: Kind
    site: str
    on: date
    inspections: int
    defects: int
    model: str = ""

    def __post_init__(self) -> None:
        if self.inspections < 0 or self.defects < 0:
            raise BadInput("A count is below zero.", "Count inspections and defects from 0 up.")
        if self.defects and not self.inspections:
            raise BadInput("Defects are counted where nothing was inspected.", "Count the inspections that found them.")


@dataclass(frozen=True, slots=True)
class Rate:
    """Defects per 100 inspections with the exact Poisson interval at `confidence`."""

    label: str
    defects: int
    inspections: int
    per_100: float
    low: float
    high: float
    confidence: float

    @property
    def in_words(self) -> str:
        """One sentence with interval and counts."""
        return (
            f"{self.label}: {self.per_100:.1f} defects per 100 inspections ({self.confidence * 100:.0f} % interval "
            f"{self.low:.1f} to {self.high:.1f}; {self.defects} in {self.inspections})."
        )


#: Ways to split counts; the periods sort by their names.
RATE_SPLITS: Mapping[str, Callable[[InspectionCount], str]] = MappingProxyType(
    {
        "all": lambda row: "all",
        "kind": lambda row: row.kind.value,
        "model": lambda row: row.model or "no model entered",
        "site": lambda row: row.site or "no site",
        "month": lambda row: f"{row.on:%Y-%m}",
        "quarter": lambda row: f"{row.on:%Y}-Q{(row.on.month + 2) // 3}",
        "year": lambda row: f"{row.on:%Y}",
    }
)


def garwood(count: int, confidence: float = 0.95) -> tuple[float, float]:
    """Exact interval of a Poisson mean from one count. Raises BadInput for a count below zero."""
    check_confidence(confidence)
    if count < 0:
        raise BadInput("A count is below zero.", "Count from 0 up.")
    tail = (1 - confidence) / 2
    low = float(chi2.ppf(tail, 2 * count)) / 2 if count else 0.0
    return low, float(chi2.isf(tail, 2 * count + 2)) / 2


def rate(
    label: str, defects: int, inspections: int, *, confidence: float = 0.95, least_inspections: int = LEAST_INSPECTIONS
) -> Rate | TooFew:
    """Defects per 100 inspections; TooFew below `least_inspections`. Raises BadInput for counts below zero."""
    low, high = garwood(defects, confidence)
    if inspections < max(1, least_inspections):
        why = f"At least {least_inspections} inspections are needed for a rate."
        return TooFew(label, inspections, defects, why)
    per = 100 / inspections
    return Rate(label, defects, inspections, defects * per, low * per, high * per, confidence)


def rates_by(
    rows: Iterable[InspectionCount],
    by: str,
    *,
    confidence: float = 0.95,
    least_inspections: int = LEAST_INSPECTIONS,
) -> tuple[Rate | TooFew, ...]:
    """One rate, or TooFew, per group in order of name. Raises KeyError for a split that RATE_SPLITS lacks."""
    return tuple(
        rate(label, defects, inspections, confidence=confidence, least_inspections=least_inspections)
        for label, (defects, inspections) in counts_by(rows, by).items()
    )


def counts_by(rows: Iterable[InspectionCount], by: str) -> dict[str, tuple[int, int]]:
    """(defects, inspections) per group in order of name; what the control charts take by month."""
    split, groups = RATE_SPLITS[by], dict[str, list[InspectionCount]]()
    for row in rows:
        groups.setdefault(split(row), []).append(row)
    return {
        label: (sum(row.defects for row in group), sum(row.inspections for row in group))
        for label, group in sorted(groups.items())
    }


def more_than_poisson(defects: Iterable[int], inspections: Iterable[int]) -> float:
    """How much more counts scatter than Poisson counts of one rate: Pearson's χ² over its degrees of freedom.

    Near 1 where defects come one by one; well above 1, intervals and limits are too narrow. NaN with fewer than two
    groups or no defect.
    """
    pairs = [(d, n) for d, n in zip(defects, inspections, strict=True) if n > 0]
    total, exposure = sum(d for d, _ in pairs), sum(n for _, n in pairs)
    if len(pairs) < 2 or total == 0:
        return math.nan
    mean = total / exposure
    return sum((d - mean * n) ** 2 / (mean * n) for d, n in pairs) / (len(pairs) - 1)
