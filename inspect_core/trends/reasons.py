"""Why gear is withdrawn: counts and shares with their intervals.

One item may be withdrawn for several reasons at once, so shares of reasons may add up to more than one. Interval:
Wilson's score interval without continuity correction (Wilson 1927; the form in Newcombe 1998), through scipy.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from scipy.stats import binomtest

from inspect_core.domain.gear import model_label
from inspect_core.domain.record import Retirement

#: What a withdrawal is called where no mark but an answer, a date or a fact made it.
NO_MARK = "no mark: an answer, a date or a fact"


@dataclass(frozen=True, slots=True)
class Share:
    """How many of `total` fall under `label`: share with its 95 % interval, all 0 to 1."""

    label: str
    count: int
    total: int
    share: float
    low: float
    high: float


def wilson(count: int, total: int, confidence: float = 0.95) -> tuple[float, float]:
    """Wilson's interval for a share. Raises ValueError where count is not within 0 … total or total is 0."""
    if not 0 <= count <= total or total == 0:
        raise ValueError("count must lie within 0 and total, and total above 0")
    interval = binomtest(count, total).proportion_ci(confidence_level=confidence, method="wilson")
    return float(interval.low), float(interval.high)


def shares(labels: Iterable[Iterable[str]]) -> tuple[Share, ...]:
    """Shares of labels over items; each item counts once per label. Most frequent first, then by name."""
    groups = [set(item) for item in labels]
    counts = Counter(label for group in groups for label in group)
    total = len(groups)
    result = []
    for label, count in sorted(counts.items(), key=lambda pair: (-pair[1], pair[0])):
        low, high = wilson(count, total)
        result.append(Share(label, count, total, count / total, low, high))
    return tuple(result)


def category_labels(retirement: Retirement) -> set[str]:
    """The categories that withdrew an item, or NO_MARK."""
    named = {category.value for category, _, _ in retirement.reasons if category is not None}
    return named or {NO_MARK}


#: Splits whose groups follow each other in time.
IN_TIME = ("quarter", "year")
#: The ways to split withdrawals.
SPLITS: dict[str, Callable[[Retirement], set[str]]] = {
    "category": category_labels,
    "kind": lambda r: {r.kind.value},
    "site": lambda r: {r.site or "no site"},
    "model": lambda r: {model_label(r.maker, r.model) or "no model entered"},
    "quarter": lambda r: {f"{r.on:%Y}-Q{(r.on.month + 2) // 3}"},
    "year": lambda r: {f"{r.on:%Y}"},
}


def why_withdrawn(retirements: Iterable[Retirement], by: str = "category") -> tuple[Share, ...]:
    """Shares of withdrawals split `by` one of SPLITS, most frequent first, or in order of time where groups follow
    each other in time. Raises KeyError for another word."""
    split = SPLITS[by]
    found = shares(split(retirement) for retirement in retirements)
    return tuple(sorted(found, key=lambda share: share.label)) if by in IN_TIME else found


@dataclass(frozen=True, slots=True)
class ParetoBar:
    """One bar of a Pareto chart: its share, and the share of items with this or an earlier label (`together`).

    Items with several labels count once in `together`, so it never passes 1 and is no sum of shares.
    """

    share: Share
    together: float


def pareto(labels: Iterable[Iterable[str]]) -> tuple[ParetoBar, ...]:
    """Labels over items, most frequent first, with what the first ones explain together."""
    groups = [set(item) for item in labels]
    bars, seen = [], set[str]()
    for one in shares(groups):
        seen.add(one.label)
        bars.append(ParetoBar(one, sum(bool(group & seen) for group in groups) / one.total))
    return tuple(bars)
