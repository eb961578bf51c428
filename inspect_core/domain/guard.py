"""Guarded acceptance after JCGM 106:2012.

A reading clears a limit only when the whole of its uncertainty does.
"""

from __future__ import annotations

from decimal import Decimal
from enum import StrEnum


class Reach(StrEnum):
    """How a reading with its uncertainty stands to a limit."""

    CLEARED = "cleared"
    NOT_RULED_OUT = "not ruled out"
    REACHED = "reached"


def reach(value: float, uncertainty: float, limit: float, *, lower: bool = False, includes_limit: bool = True) -> Reach:
    """How value ± uncertainty (k = 2, same unit) stands to an upper limit, or to a `lower` one.

    `includes_limit`: whether a reading at the limit reaches it ("at least") or not ("more than", "less than"). The
    interval is closed: an uncertain reading whose end touches the limit is not ruled out, whichever the source says.

    >>> reach(0.9, 0.3, 1.0).value, reach(0.5, 0.2, 1.0).value, reach(1.0, 0.0, 1.0, includes_limit=False).value
    ('not ruled out', 'cleared', 'cleared')
    """
    sign = -1.0 if lower else 1.0
    past = _compare(sign * value, 0.0, sign * limit)
    if past > 0 or (past == 0 and includes_limit):
        return Reach.REACHED
    if uncertainty > 0 and _compare(sign * value, uncertainty, sign * limit) >= 0:
        return Reach.NOT_RULED_OUT
    return Reach.CLEARED


def _compare(value: float, uncertainty: float, limit: float) -> int:
    """-1, 0 or 1 for value + uncertainty below, at or above the limit.

    Numbers that lie close together are added as the decimals people wrote, without the dust of binary fractions:
    0.7 + 0.1 reaches 0.8.
    """
    gap = value + uncertainty - limit
    if abs(gap) > 1e-9 * max(1.0, abs(limit)):
        return 1 if gap > 0 else -1
    exact = Decimal(repr(value)) + Decimal(repr(uncertainty)) - Decimal(repr(limit))
    return (exact > 0) - (exact < 0)
