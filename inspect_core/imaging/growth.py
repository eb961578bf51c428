"""Whether a mark has grown since an earlier inspection, and whether the readings can tell."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from inspect_core.domain.errors import BadInput
from inspect_core.domain.marks import Reading
from inspect_core.domain.measures import measure_named


class Change(StrEnum):
    """What two readings say about a change."""

    MORE = "more"
    LESS = "less"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True)
class Growth:
    """Later minus earlier reading, its expanded uncertainty (k = 2), both in the reading's unit."""

    measure: str
    difference: float
    uncertainty: float
    unit: str
    change: Change
    sentence: str


def growth(earlier: Reading, later: Reading) -> Growth:
    """Compare two readings of the same measure. Raises BadInput where they are not of one kind.

    The two are taken as independent: other photo, other scale, other day. A difference counts as real when it
    is larger than its expanded uncertainty.
    """
    if earlier.measure != later.measure or earlier.unit != later.unit:
        raise BadInput(
            f"{earlier.measure} in {earlier.unit} and {later.measure} in {later.unit} cannot be compared.",
            "Compare readings of one measure.",
        )
    difference = later.value - earlier.value
    uncertainty = math.hypot(earlier.uncertainty, later.uncertainty)
    amount = f"{_plain(abs(difference), uncertainty)} ± {_plain(uncertainty, uncertainty)} {earlier.unit}"
    if abs(difference) <= uncertainty:
        change, sentence = Change.CANNOT_TELL, f"{amount}: cannot tell"
    elif difference > 0:
        change, sentence = Change.MORE, f"{amount} more: real"
    else:
        change, sentence = Change.LESS, f"{amount} less: real"
        if measure_named(earlier.measure).larger_is_worse:
            sentence += ", but damage does not heal; check that both marks show the same place"
    return Growth(earlier.measure, difference, uncertainty, earlier.unit, change, sentence)


def _plain(value: float, uncertainty: float) -> str:
    """With as many decimals as the first significant digit of the uncertainty has."""
    if uncertainty <= 0:
        return f"{value:.3g}"
    return f"{value:.{min(6, max(0, -math.floor(math.log10(uncertainty))))}f}"
