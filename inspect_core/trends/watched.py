"""What the record saw of each item's life, and how many items it watched at an age.

Every estimate of how long gear lasts starts here: an item is watched from the age at which its record began until it
was withdrawn (an event) or was last known not to be (censored). Ages in days since the item's first day.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Kind
from inspect_core.trends.few import LEAST_EVENTS, LEAST_ITEMS, TooFew, check_confidence, too_few

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Lifetime:
    """The part of one item's life that the record saw. Ages in days since its first day.

    `entered_age_days`: when its record began (0 where it came new). `left_age_days`: when it was withdrawn, or last
    known not to be. `reasons`: why it was withdrawn, empty where it was not or nobody entered why. `cohort`: a group
    that whoever asks puts the item in, such as before or after a change. Raises BadInput.
    """

    item_id: str
    kind: Kind
    model: str
    site: str
    entered_age_days: float
    left_age_days: float
    retired: bool
    reasons: tuple[str, ...] = ()
    cohort: str = ""

    def __post_init__(self) -> None:
        ages = (self.entered_age_days, self.left_age_days)
        if not all(math.isfinite(age) for age in ages) or not 0 <= ages[0] <= ages[1]:
            raise BadInput(
                f"The ages of item {self.item_id} do not follow each other.",
                "Give the age at which its record began, then the age at which it ended, both from its first day.",
            )
        if self.reasons and not self.retired:
            raise BadInput(
                f"Item {self.item_id} has a reason of withdrawal but was not withdrawn.", "Remove one of the two."
            )

    @classmethod
    def from_days(
        cls,
        item_id: str,
        kind: Kind,
        model: str,
        site: str,
        *,
        first_day: date,
        seen_from: date,
        seen_until: date,
        retired: bool,
        reasons: tuple[str, ...] = (),
        cohort: str = "",
    ) -> Lifetime:
        """Ages from dates. A record that began before `first_day` begins there, at age 0."""
        entered = max(0, (seen_from - first_day).days)
        return cls(item_id, kind, model, site, entered, (seen_until - first_day).days, retired, reasons, cohort)


#: Ways to split lifetimes into groups.
GROUPS: Mapping[str, Callable[[Lifetime], str]] = MappingProxyType(
    {
        "kind": lambda life: life.kind.value,
        "model": lambda life: life.model or "no model entered",
        "site": lambda life: life.site or "no site",
        "cohort": lambda life: life.cohort,
    }
)


def grouped(lifetimes: Iterable[Lifetime], by: str) -> dict[str, list[Lifetime]]:
    """Lifetimes per group, groups in order of name. Raises KeyError for a split that GROUPS lacks."""
    name, groups = GROUPS[by], dict[str, list[Lifetime]]()
    for life in lifetimes:
        groups.setdefault(name(life), []).append(life)
    return dict(sorted(groups.items()))


WHY_COLLAPSED = (
    "Everything watched at a young age was withdrawn while older items are still watched; look from a higher age on."
)


def watched_from(lifetimes: Iterable[Lifetime], from_age_days: float = 0.0) -> list[Lifetime]:
    """The lifetimes with any time on record past `from_age_days`. Raises BadInput for an age that is none."""
    if not (math.isfinite(from_age_days) and from_age_days >= 0):
        raise BadInput("The age to look from lies below zero.", "Give an age in days, 0 for the whole life.")
    return [life for life in lifetimes if life.left_age_days > max(life.entered_age_days, from_age_days)]


@dataclass(frozen=True, slots=True)
class Ready:
    """A group of lifetimes made ready for an estimate: those with time on record, as arrays of shape (items,).
    `without_time`: lifetimes left out because their record began and ended on one day."""

    lifetimes: tuple[Lifetime, ...]
    entered: Floats
    left: Floats
    retired: NDArray[np.bool_]
    without_time: int

    @property
    def events(self) -> int:
        """How many were withdrawn."""
        return int(self.retired.sum())


def enough(
    lifetimes: Iterable[Lifetime],
    label: str,
    confidence: float,
    from_age_days: float = 0.0,
    least_items: int = LEAST_ITEMS,
    least_events: int = LEAST_EVENTS,
) -> Ready | TooFew:
    """A group ready for an estimate, or TooFew. Raises BadInput for a confidence or an age that is none."""
    check_confidence(confidence)
    listed = list(lifetimes)
    seen = watched_from(listed, from_age_days)
    entered, left, retired = as_arrays(seen, from_age_days)
    small = too_few(label, len(seen), int(retired.sum()), least_items, least_events)
    without_time = sum(life.left_age_days == life.entered_age_days for life in listed)
    return small or Ready(tuple(seen), entered, left, retired, without_time)


def as_arrays(lifetimes: Sequence[Lifetime], from_age_days: float = 0.0) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Ages at entry (at least `from_age_days`) and at leaving, and whether withdrawn: each of shape (items,)."""
    entered = np.array([max(life.entered_age_days, from_age_days) for life in lifetimes], dtype=float)
    left = np.array([life.left_age_days for life in lifetimes], dtype=float)
    return entered, left, np.array([life.retired for life in lifetimes], dtype=bool)


def as_floats(column: Floats) -> tuple[float, ...]:
    """A column as plain numbers."""
    return tuple(float(number) for number in column)


def at_risk(ages: Floats, entered: Floats, left: Floats) -> Floats:
    """How many items were watched just before each age: entered < age ≤ left. Shape of `ages`."""
    began = np.searchsorted(np.sort(entered), ages, side="left")
    ended = np.searchsorted(np.sort(left), ages, side="left")
    return (began - ended).astype(float)


def collapses(ages: Floats, share: Floats, left: Floats) -> bool:
    """Whether the curve reaches zero at an age that items still outlive."""
    gone = ages[share <= 0]
    return bool(len(gone)) and bool(gone[0] < left.max())


def check_age(age_days: float, starts: float, ends: float) -> None:
    """Raises BadInput for an age that nobody watched: below the first or past the last on record."""
    if not starts <= age_days <= ends:
        raise BadInput(
            f"No item was watched at the age of {age_days:.0f} days.", f"Ask for {starts:.0f} to {ends:.0f} days."
        )
