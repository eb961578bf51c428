"""What is coming: items that will reach their age limit, their due date or their damage limit, by month.

Age limits and due dates are known days. The damage limit is a forecast from a trend through past readings, and the
earlier end of its interval is the one to give: a trend promises nothing about the next fall. An item without a date
is not safe, only not known, and is counted.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from inspect_core.domain.dates import add_months
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Kind


class Limit(StrEnum):
    """What an item reaches."""

    AGE = "age limit"
    DUE = "inspection due"
    DAMAGE = "damage limit, forecast"


@dataclass(frozen=True, slots=True)
class Ahead:
    """One item in use and the days it is heading for; None: not known. `damage_limit_on`: the earliest day of its
    damage trend (`DamageTrend.earliest`)."""

    item_id: str
    tag: str
    kind: Kind
    site: str
    age_limit_on: date | None = None
    due_on: date | None = None
    damage_limit_on: date | None = None

    def reaches(self, limit: Limit) -> date | None:
        """The day on which it reaches that limit."""
        return {Limit.AGE: self.age_limit_on, Limit.DUE: self.due_on, Limit.DAMAGE: self.damage_limit_on}[limit]


@dataclass(frozen=True, slots=True)
class Month:
    """Items that reach a limit in one calendar month, earliest first; `items` counts each once."""

    month: str
    reaching: tuple[tuple[Limit, tuple[tuple[date, Ahead], ...]], ...]
    items: int

    def count(self, limit: Limit) -> int:
        """How many items reach that limit in the month."""
        return len(dict(self.reaching)[limit])


@dataclass(frozen=True, slots=True)
class Coming:
    """`past`: limits already reached before today, still in use. `months`: today's month first, with every month up
    to the horizon. `unknown`: items per limit whose day is not known. `later`: items per limit past the horizon."""

    past: Month
    months: tuple[Month, ...]
    unknown: tuple[tuple[Limit, int], ...]
    later: tuple[tuple[Limit, int], ...]


def coming(items: Iterable[Ahead], today: date, months: int = 12) -> Coming:
    """What items in use reach from `today` on, over so many calendar months including this one. Raises BadInput."""
    if not 1 <= months <= 120:
        raise BadInput("The number of months lies outside 1 to 120.", "Look 12 months ahead.")
    listed = sorted(items, key=lambda item: (item.tag, item.item_id))
    names = [f"{add_months(today.replace(day=1), ahead):%Y-%m}" for ahead in range(months)]
    slots: dict[str, dict[Limit, list[tuple[date, Ahead]]]] = {
        name: {limit: [] for limit in Limit} for name in ("past", *names)
    }
    unknown, later = dict.fromkeys(Limit, 0), dict.fromkeys(Limit, 0)
    for item in listed:
        for limit in Limit:
            day = item.reaches(limit)
            if day is None:
                unknown[limit] += 1
                continue
            name = "past" if day < today else f"{day:%Y-%m}"
            if name in slots:
                slots[name][limit].append((day, item))
            else:
                later[limit] += 1
    past, *ahead = (_month(name, found) for name, found in slots.items())
    return Coming(past, tuple(ahead), tuple(unknown.items()), tuple(later.items()))


def age_limit_day(first_day: date, years: float) -> date:
    """The day on which an age in years is reached, by whole months, parts of a month cut off (earlier is safer).

    Raises BadInput for an age that is none.
    """
    if not (math.isfinite(years) and 0 < years <= 100):
        raise BadInput("The age limit lies outside 0 to 100 years.", "Give the maker's limit in years.")
    return add_months(first_day, math.floor(years * 12 + 1e-9))


def _month(name: str, found: dict[Limit, list[tuple[date, Ahead]]]) -> Month:
    reaching = tuple((limit, tuple(sorted(rows, key=lambda row: row[0]))) for limit, rows in found.items())
    return Month(name, reaching, len({item.item_id for _, rows in reaching for _, item in rows}))
