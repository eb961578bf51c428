"""Damage used: how much of what the rules allow a reading has used up. 1 is at the limit."""

from __future__ import annotations

from collections.abc import Iterable

from inspect_core.domain.decision import Finding, FindingOutcome
from inspect_core.domain.measures import MEASURES

#: Damage used of a lower limit is limit / (reading - uncertainty); it is never shown above this.
MOST_OF_LOWER_LIMIT = 10.0


def damage_of(finding: Finding) -> float:
    """Damage used by one finding: (reading + uncertainty) / limit of a mark's reading.

    At least 1 where the rule withdraws. A rule that allows none gives 1 where it is not ruled out. Findings without
    a mark's reading give 1 where they withdraw, else 0.
    """
    least = 1.0 if finding.outcome is FindingOutcome.WITHDRAW else 0.0
    if finding.mark is None or finding.value is None or finding.limit is None:
        return least
    spread = finding.uncertainty or 0.0
    measure = MEASURES.get(finding.measure or "")
    if measure is not None and measure.larger_is_worse is False:
        left = finding.value - spread
        used = min(finding.limit / left, MOST_OF_LOWER_LIMIT) if left > 0 else MOST_OF_LOWER_LIMIT
    elif finding.limit > 0:
        used = (finding.value + spread) / finding.limit
    else:
        used = 1.0 if finding.outcome is not FindingOutcome.CLEARED else 0.0
    return max(least, used, 0.0)


def damage_used(findings: Iterable[Finding]) -> float:
    """The largest over all findings, to six decimals; 0 where nothing was measured or met."""
    return round(max((damage_of(finding) for finding in findings), default=0.0), 6)
