"""By which age gear is withdrawn for which reason: cumulative incidence with competing reasons.

The Aalen–Johansen estimate I_k(t) = Σ over event ages a ≤ t of S(a−) · d_k(a) / n(a), with n(a) the items watched just
before a (delayed entry), d_k(a) the withdrawals for reason k and S the Kaplan–Meier curve of all withdrawals (Aalen
and Johansen 1978, Scand. J. Statist. 5:141). Variance: the delta-method form of Marubini and Valsecchi, Analysing
Survival Data, 1995 (formula 10.12, from memory), with n(a) under delayed entry. Interval: on the log(−log) scale.

statsmodels' CumIncidenceRight is the same estimate without delayed entry; it has no `entry`, so the sums are written
here and are checked against it where every entry is 0. One minus a Kaplan–Meier curve per reason would count gear
withdrawn for another reason as if it could still fail by this one, and would overstate every reason.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

from inspect_core.trends.few import LEAST_EVENTS, LEAST_ITEMS, TooFew
from inspect_core.trends.watched import (
    WHY_COLLAPSED,
    Floats,
    Lifetime,
    as_floats,
    at_risk,
    check_age,
    collapses,
    enough,
    grouped,
)

SEVERAL = "several reasons"
UNKNOWN = "no reason entered"
RARER = "rarer reasons together"


def single_cause(reasons: Iterable[str]) -> str:
    """The one label that reasons of withdrawal make: competing reasons must exclude each other, so two or more
    are SEVERAL, and none is UNKNOWN."""
    named = sorted(set(reasons))
    return named[0] if len(named) == 1 else SEVERAL if named else UNKNOWN


@dataclass(frozen=True, slots=True)
class Incidence:
    """Share of gear withdrawn for one reason by age, one step per age at which that happened.

    `low`, `high`: pointwise at the group's confidence.
    """

    reason: str
    events: int
    ages: tuple[float, ...]
    share: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    starts_at_days: float
    ends_at_days: float

    def at(self, age_days: float) -> tuple[float, float, float | None]:
        """Share, low and high at an age; high is None before the first withdrawal for this reason, where nothing
        can be said. Raises BadInput past the record."""
        check_age(age_days, self.starts_at_days, self.ends_at_days)
        steps = int(np.searchsorted(self.ages, age_days, side="right"))
        return (0.0, 0.0, None) if steps == 0 else (self.share[steps - 1], self.low[steps - 1], self.high[steps - 1])


@dataclass(frozen=True, slots=True)
class Incidences:
    """Every reason of one group, most withdrawals first.

    `curves` are reasons with enough withdrawals to be drawn. `rare` pools the others, so that `curves` and `rare`
    always add up to one minus the share not withdrawn; `told` names each of them with its count.
    """

    label: str
    items: int
    events: int
    without_time: int
    confidence: float
    curves: tuple[Incidence, ...]
    rare: Incidence | None
    told: tuple[TooFew, ...]


def incidences(
    lifetimes: Iterable[Lifetime],
    label: str = "all",
    *,
    cause: Callable[[Iterable[str]], str] = single_cause,
    confidence: float = 0.95,
    from_age_days: float = 0.0,
    least_items: int = LEAST_ITEMS,
    least_events: int = LEAST_EVENTS,
) -> Incidences | TooFew:
    """Cumulative incidence per reason, given that an item reached `from_age_days`.

    `cause` turns an item's reasons into the one label it counts under. TooFew as in `survival`. Raises BadInput for a
    confidence that is none.
    """
    seen = enough(lifetimes, label, confidence, from_age_days, least_items, least_events)
    if isinstance(seen, TooFew):
        return seen
    left = seen.left
    causes = [cause(life.reasons) if life.retired else "" for life in seen.lifetimes]
    counts = Counter(name for name in causes if name)
    few = {name for name, count in counts.items() if count < least_events}
    told = tuple(
        TooFew(
            name,
            len(seen.lifetimes),
            counts[name],
            f"At least {least_events} events are needed for a curve of its own.",
        )
        for name in sorted(few, key=lambda name: (-counts[name], name))
    )
    kept = np.array([RARER if name in few else name for name in causes])
    names = [name for name, _ in sorted(counts.items(), key=lambda pair: (-pair[1], pair[0])) if name not in few]
    names += [RARER] if few else []
    ages, total = np.unique(left[seen.retired], return_counts=True)
    watched_at = at_risk(ages, seen.entered, left)
    share: Floats = np.cumprod(1 - total / watched_at, dtype=np.float64)
    if collapses(ages, share, left):
        return TooFew(label, len(seen.lifetimes), seen.events, WHY_COLLAPSED)
    by_cause = {name: _counts_at(ages, left[kept == name]) for name in names}
    found = _curves(ages, watched_at, share, by_cause, confidence, (float(seen.entered.min()), float(left.max())))
    return Incidences(
        label,
        len(seen.lifetimes),
        seen.events,
        seen.without_time,
        confidence,
        tuple(curve for curve in found if curve.reason != RARER),
        next((curve for curve in found if curve.reason == RARER), None),
        told,
    )


def incidences_by(
    lifetimes: Iterable[Lifetime], by: str, *, confidence: float = 0.95
) -> tuple[Incidences | TooFew, ...]:
    """One set of curves, or TooFew, per group in order of name. Raises KeyError for a split that GROUPS lacks."""
    return tuple(incidences(group, label, confidence=confidence) for label, group in grouped(lifetimes, by).items())


def _counts_at(ages: Floats, own: Floats) -> Floats:
    counted = np.zeros(len(ages))
    np.add.at(counted, np.searchsorted(ages, own), 1)
    return counted


def _curves(
    ages: Floats,
    watched_at: Floats,
    share: Floats,
    by_cause: Mapping[str, Floats],
    confidence: float,
    span: tuple[float, float],
) -> list[Incidence]:
    before = np.concatenate(([1.0], share[:-1]))
    total = sum(by_cause.values(), np.zeros(len(ages)))
    stayed = watched_at - total
    # Where everything watched left, nothing later can depend on it, so the infinite term carries no weight.
    greenwood = np.divide(total, watched_at * stayed, out=np.zeros(len(ages)), where=stayed > 0)
    curves = []
    for reason, own in by_cause.items():
        incidence = np.cumsum(before * own / watched_at)
        # Σ [I(t) − I(a)]² g(a) + S(a−)² (n − d_k) d_k / n³ − 2 [I(t) − I(a)] S(a−) d_k / n², by running sums over a.
        cross = before * own / watched_at**2
        variance = incidence**2 * np.cumsum(greenwood) - 2 * incidence * np.cumsum(incidence * greenwood)
        variance += np.cumsum(incidence**2 * greenwood)
        variance += np.cumsum(before**2 * (watched_at - own) * own / watched_at**3)
        variance += 2 * np.cumsum(incidence * cross) - 2 * incidence * np.cumsum(cross)
        low, high = _band(incidence, np.sqrt(np.maximum(variance, 0)), confidence)
        steps: NDArray[np.bool_] = own > 0
        at, up_to, least, most = (as_floats(column[steps]) for column in (ages, incidence, low, high))
        curves.append(Incidence(reason, int(own.sum()), at, up_to, least, most, *span))
    return curves


def _band(incidence: Floats, error: Floats, confidence: float) -> tuple[Floats, Floats]:
    """Interval on the log(−log) scale; at 1 the last lower end stays."""
    z = float(norm.ppf(0.5 + confidence / 2))
    low, high = np.zeros_like(incidence), np.ones_like(incidence)
    inside = (incidence > 0) & (incidence < 1 - 1e-12)
    spread = z * error[inside] / (incidence[inside] * np.log(incidence[inside]))
    low[inside] = incidence[inside] ** np.exp(-spread)
    high[inside] = incidence[inside] ** np.exp(spread)
    full = np.flatnonzero(incidence >= 1 - 1e-12)
    if len(full) and full[0] > 0:
        low[full] = low[full[0] - 1]
    return low, high
