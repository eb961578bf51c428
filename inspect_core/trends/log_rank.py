"""Whether groups of gear last equally long: the log-rank test with delayed entry.

At each event age a, of d(a) withdrawals a group with n_g(a) of n(a) watched items expects d(a) · n_g(a) / n(a). The
sums of observed less expected, weighed by their covariance (hypergeometric), give χ² with groups − 1 degrees of
freedom (Mantel 1966, Cancer Chemother. Rep. 50:163; Peto and Peto 1972, J. R. Stat. Soc. A 135:185), through
statsmodels. It sees curves that stay apart; curves that cross it may miss.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from inspect_core.trends.few import LEAST_EVENTS, LEAST_ITEMS, TooFew, too_few
from inspect_core.trends.watched import Lifetime, as_arrays, at_risk, grouped, watched_from


@dataclass(frozen=True, slots=True)
class GroupCount:
    """Withdrawals of one group: seen, and expected if every group lasted equally long."""

    label: str
    items: int
    observed: int
    expected: float


@dataclass(frozen=True, slots=True)
class LogRank:
    """χ² with its degrees of freedom and p-value; `left_out` are groups too small to take part."""

    groups: tuple[GroupCount, ...]
    chi_square: float
    degrees: int
    p_value: float
    left_out: tuple[TooFew, ...]

    @property
    def in_words(self) -> str:
        """One sentence with the p-value, and what it does not say."""
        names = ", ".join(group.label for group in self.groups)
        chance = "less than 0.001" if self.p_value < 0.001 else f"{self.p_value:.3f}"
        return (
            f"Were {names} equally lasting, differences at least as large as these would come by chance with "
            f"probability {chance} (log-rank χ² {self.chi_square:.2f}, {self.degrees} degrees of freedom). The test "
            "names no cause: groups may differ in use, storage and care."
        )


def log_rank(
    lifetimes: Iterable[Lifetime], by: str, *, least_items: int = LEAST_ITEMS, least_events: int = LEAST_EVENTS
) -> LogRank | TooFew:
    """Test over the groups of `by` (kind, model or site) that are large enough.

    TooFew with fewer than two such groups, or where groups were never watched at the same ages. Raises KeyError for
    another split.
    """
    from statsmodels.duration.survfunc import survdiff  # costs seconds; only trends need it

    groups, left_out = dict[str, list[Lifetime]](), []
    for label, lives in grouped(lifetimes, by).items():
        watched = watched_from(lives)
        small = too_few(label, len(watched), sum(life.retired for life in watched), least_items, least_events)
        if small is None:
            groups[label] = watched
        else:
            left_out.append(small)
    pooled = [life for lives in groups.values() for life in lives]
    events = sum(life.retired for life in pooled)
    if len(groups) < 2:
        return TooFew(by, len(pooled), events, "Fewer than two groups are large enough to be compared.")
    entered, left, retired = as_arrays(pooled)
    names = np.repeat(np.arange(len(groups)), [len(lives) for lives in groups.values()])
    ages, withdrawn = np.unique(left[retired], return_counts=True)
    share = withdrawn / at_risk(ages, entered, left)
    counts = []
    for number, (label, lives) in enumerate(groups.items()):
        own = names == number
        expected = float((at_risk(ages, entered[own], left[own]) * share).sum())
        counts.append(GroupCount(label, len(lives), int(retired[own].sum()), expected))
    try:
        chi_square, p_value = survdiff(left, retired.astype(float), names, entry=entered)
    except np.linalg.LinAlgError:
        chi_square = p_value = float("nan")
    if not np.isfinite(chi_square):
        return TooFew(by, len(pooled), events, "The groups were hardly watched at the same ages.")
    return LogRank(tuple(counts), float(chi_square), len(groups) - 1, float(p_value), tuple(left_out))
