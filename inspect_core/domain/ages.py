"""Gear past its age: how far back gear may have been made, or first used, before the rules about age speak."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class AgeCut:
    """One way in which gear may be past its age; `day` is in it.

    Parameters
    ----------
    in_use: counted from the first use, else from the day of making.
    limit_years: only gear for which the maker sets this limit; None: gear for which the maker sets none.
    day: gear made, or first used, on it or before.
    unknown: gear whose day nobody knows counts as well.
    """

    in_use: bool
    limit_years: float | None
    day: date
    unknown: bool
