"""How long gear lasts: the Kaplan–Meier estimate with delayed entry and right censoring.

S(t) = Π over event ages a ≤ t of (1 − d(a) / n(a)), where d(a) items were withdrawn at age a and n(a) items were
watched just before it: those whose record began at an age below a and had not ended (Kaplan and Meier 1958, J. Am.
Stat. Assoc. 53:457; delayed entry as in Klein and Moeschberger, Survival Analysis, 2nd ed. 2003, section 4.6, from
memory), through statsmodels. Standard error: Greenwood's. Interval: on the log(−log) scale, pointwise. Interval of
the median: the ages at which that interval crosses one half (Brookmeyer and Crowley 1982, Biometrics 38:29).

Censoring must not depend on the gear's state: items still in use and items lost count as "not withdrawn so far". An
item that came into the record at a later age was not seen to survive until then, and is counted only from there on.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
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
    check_age,
    collapses,
    enough,
    grouped,
)

#: Below so many items watched, the curve is moved by single items: common practice, no source.
THIN = 5


@dataclass(frozen=True, slots=True)
class Survival:
    """Share of gear not withdrawn by age, one step per age at which something was withdrawn.

    `items` that were watched at all, `events` withdrawals among them, `without_time` items left out because their
    record began and ended on one day. `starts_at_days`: the youngest age watched; where it is above 0 the share is of
    the gear that reached it. `unwatched`: spans of age over which nothing was watched and the curve rests on nothing.
    `low`, `high`: pointwise at `confidence`. `median`: the first age at which the share is one half or less; None: not
    reached.
    """

    label: str
    items: int
    events: int
    without_time: int
    confidence: float
    starts_at_days: float
    ends_at_days: float
    ages: tuple[float, ...]
    share: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    at_risk: tuple[int, ...]
    withdrawn: tuple[int, ...]
    median: float | None
    median_low: float | None
    median_high: float | None
    unwatched: tuple[tuple[float, float], ...]

    @property
    def thin_from_days(self) -> float | None:
        """The first event age at which fewer than THIN items were watched, or None."""
        return next((age for age, n in zip(self.ages, self.at_risk, strict=True) if n < THIN), None)

    def at(self, age_days: float) -> tuple[float, float | None, float]:
        """Share, low and high at an age; low is None before the first withdrawal, where nothing bounds it from
        below. Raises BadInput past the record."""
        check_age(age_days, self.starts_at_days, self.ends_at_days)
        steps = int(np.searchsorted(self.ages, age_days, side="right"))
        return (1.0, None, 1.0) if steps == 0 else (self.share[steps - 1], self.low[steps - 1], self.high[steps - 1])

    @property
    def in_words(self) -> str:
        """One sentence: the median with its interval and counts."""
        count = f"{self.items} items, {self.events} withdrawn"
        of = f" of the gear that reached {_years(self.starts_at_days)}" if self.starts_at_days > 0 else ""
        if self.median is None:
            return f"{self.label}: more than half{of} was still not withdrawn at the end of the record ({count})."
        low = "not known" if self.median_low is None else _years(self.median_low)
        high = "not reached" if self.median_high is None else _years(self.median_high)
        return (
            f"{self.label}: half{of} was withdrawn by {_years(self.median)} "
            f"({self.confidence * 100:.0f} % interval {low} to {high}; {count})."
        )


def survival(
    lifetimes: Iterable[Lifetime],
    label: str = "all",
    *,
    confidence: float = 0.95,
    from_age_days: float = 0.0,
    least_items: int = LEAST_ITEMS,
    least_events: int = LEAST_EVENTS,
) -> Survival | TooFew:
    """The Kaplan–Meier curve of one group, given that an item reached `from_age_days`.

    Also TooFew where everything watched at a young age was withdrawn while older items are still watched: the curve
    would lie at zero for a reason of the record, not of the gear. Raises BadInput for a confidence that is none.
    """
    from statsmodels.duration.survfunc import SurvfuncRight  # costs seconds; only trends need it

    seen = enough(lifetimes, label, confidence, from_age_days, least_items, least_events)
    if isinstance(seen, TooFew):
        return seen
    fit = SurvfuncRight(seen.left, seen.retired.astype(float), entry=seen.entered)
    ages, share = np.asarray(fit.surv_times, float), np.asarray(fit.surv_prob, float)
    if collapses(ages, share, seen.left):
        return TooFew(label, len(seen.lifetimes), seen.events, WHY_COLLAPSED)
    low, high = log_log_band(share, np.asarray(fit.surv_prob_se, float), confidence)
    half = 0.5 + 1e-12  # shares are products of rounded ratios
    return Survival(
        label,
        len(seen.lifetimes),
        seen.events,
        seen.without_time,
        confidence,
        float(seen.entered.min()),
        float(seen.left.max()),
        as_floats(ages),
        as_floats(share),
        as_floats(low),
        as_floats(high),
        tuple(round(float(n)) for n in fit.n_risk),
        tuple(round(float(n)) for n in fit.n_events),
        _first(ages, share <= half),
        _first(ages, low <= half),
        _first(ages, high <= half),
        _unwatched(seen.entered, seen.left),
    )


def survival_by(
    lifetimes: Iterable[Lifetime],
    by: str,
    *,
    confidence: float = 0.95,
    least_items: int = LEAST_ITEMS,
    least_events: int = LEAST_EVENTS,
) -> tuple[Survival | TooFew, ...]:
    """One curve, or TooFew, per group in order of name. Raises KeyError for a split that GROUPS lacks."""
    return tuple(
        survival(group, label, confidence=confidence, least_items=least_items, least_events=least_events)
        for label, group in grouped(lifetimes, by).items()
    )


def log_log_band(share: Floats, error: Floats, confidence: float) -> tuple[Floats, Floats]:
    """Pointwise interval of a survival curve on the log(−log) scale; where the share is 0 the last upper end stays."""
    z = float(norm.ppf(0.5 + confidence / 2))
    low, high = np.zeros_like(share), np.ones_like(share)
    inside = (share > 0) & (share < 1)
    spread = z * error[inside] / (share[inside] * np.log(share[inside]))  # negative, so the lower end comes first
    low[inside] = share[inside] ** np.exp(-spread)
    high[inside] = share[inside] ** np.exp(spread)
    low[share >= 1] = 1.0
    if len(share) > 1 and share[-1] <= 0:
        high[-1] = high[-2]
    return low, high


def _first(ages: Floats, met: NDArray[np.bool_]) -> float | None:
    return float(ages[np.argmax(met)]) if bool(met.any()) else None


def _unwatched(entered: Floats, left: Floats) -> tuple[tuple[float, float], ...]:
    """Spans between the first and the last age in which no item was watched."""
    gaps, reach = [], math.inf
    for begin, end in sorted(zip(entered.tolist(), left.tolist(), strict=True)):
        if begin > reach:
            gaps.append((reach, begin))
        reach = end if math.isinf(reach) else max(reach, end)
    return tuple(gaps)


def _years(days: float) -> str:
    return f"{days / 365.25:.1f} years"
