"""Dates as makers' labels print them, and what is uncertain about each."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType

_MONTHS: Mapping[str, int] = MappingProxyType(
    {
        name: n
        for n, names in enumerate(
            (
                ("jan", "january"), ("feb", "february"), ("mar", "march"), ("apr", "april"), ("may",), ("jun", "june"),
                ("jul", "july"), ("aug", "august"), ("sep", "sept", "september"), ("oct", "october"),
                ("nov", "november"), ("dec", "december"),
            ),
            1,
        )
        for name in names
    }
)  # fmt: skip
_YEAR = r"((?:19|20)\d\d)"
_SIGN = r"\s*[-–—/. ]\s*"
_LETTERS_FOR_DIGITS = str.maketrans(
    {"O": "0", "o": "0", "Q": "0", "D": "0", "I": "1", "l": "1", "|": "1", "S": "5", "B": "8", "Z": "2"}
)
MONTH_ONLY = "The label names the month only; its first day is put, so that the gear counts as older rather than newer."
YEAR_ONLY = "The label names the year only; its first day is put, so that the gear counts as older rather than newer."


@dataclass(frozen=True, slots=True)
class LabelDate:
    """A day read from a label. `day` is None where the text names one but not which; `doubts` say why."""

    day: date | None
    doubts: tuple[str, ...] = ()


def find_date(text: str) -> LabelDate | None:
    """The first date in a text, None where there is none.

    >>> find_date("2023-05-14").day.isoformat(), find_date("MAY 2023").day.isoformat()
    ('2023-05-14', '2023-05-01')
    """
    found = _exact(text)
    if found is not None:
        return found
    mended = re.sub(r"[0-9OoQDIl|SBZ]{2,}", lambda m: m[0].translate(_LETTERS_FOR_DIGITS), text)
    if mended == text:
        return None
    found = _exact(mended)
    if found is None:
        return None
    return LabelDate(found.day, (f"It was read as “{text.strip()}”; letters were taken for digits.", *found.doubts))


def _exact(text: str) -> LabelDate | None:
    for pattern, read in _READERS:
        found = re.search(pattern, text, re.IGNORECASE)
        if found and read is _year and re.search(r"[0-9OIlSBZ|]", text[found.end() :].strip(" .,")[:4]):
            # Something stands behind the year that may be its month, badly read or badly parted.
            return LabelDate(None, (f"“{text.strip()[:40]}” cannot be read for certain: enter it by hand.",))
        if found:
            try:
                return read(*found.groups())
            except ValueError:
                return LabelDate(None, (f"“{found[0].strip()}” is no day in the calendar.",))
    return None


def _ymd(year: str, month: str, day: str) -> LabelDate:
    return LabelDate(date(int(year), int(month), int(day)))


def _two_orders(first: str, second: str, year: str) -> LabelDate:
    one, two = int(first), int(second)
    if one == two or (one > 12) != (two > 12):
        return LabelDate(date(int(year), min(one, two), max(one, two)))
    if max(one, two) > 12:
        raise ValueError("no month")
    return LabelDate(None, (f"“{first}/{second}/{year}” can be read as two days: enter it by hand.",))


def _named(day: str | None, month: str, year: str) -> LabelDate:
    number = _MONTHS[month.lower()]
    if day:
        return LabelDate(date(int(year), number, int(day)))
    return LabelDate(date(int(year), number, 1), (MONTH_ONLY,))


def _month(year: str, month: str) -> LabelDate:
    return LabelDate(date(int(year), int(month), 1), (MONTH_ONLY,))


def _short(month: str, year: str) -> LabelDate:
    told = f"“{month}/{year}” was read as month and year of this century."
    return LabelDate(date(2000 + int(year), int(month), 1), (told, MONTH_ONLY))


def _year(year: str) -> LabelDate:
    return LabelDate(date(int(year), 1, 1), (YEAR_ONLY,))


_NAMES = "|".join(sorted(_MONTHS, key=len, reverse=True))
_READERS = (
    (rf"(?<!\d){_YEAR}{_SIGN}(\d{{1,2}}){_SIGN}(\d{{1,2}})(?!\d)", _ymd),
    (rf"(?<!\d){_YEAR}(0[1-9]|1[0-2])([0-2]\d|3[01])(?!\d)", _ymd),
    (rf"(?<!\d)(\d{{1,2}}){_SIGN}(\d{{1,2}}){_SIGN}{_YEAR}(?!\d)", _two_orders),
    (rf"(?<!\d)(?:(\d{{1,2}})\s*[-/. ]?\s*)?({_NAMES})\.?\s*[-/., ]?\s*{_YEAR}(?!\d)", _named),
    (rf"(?<!\d){_YEAR}\s*[-/., ]?\s*()({_NAMES})(?![a-z])", lambda year, _, month: _named(None, month, year)),
    (rf"(?<!\d){_YEAR}\s*[-–—/.:]\s*(\d{{1,2}})(?!\d)", _month),
    (rf"(?<!\d)(\d{{1,2}})\s*[-/.]\s*{_YEAR}(?!\d)", lambda month, year: _month(year, month)),
    (r"(?<![\d/.-])(0[1-9]|1[0-2])\s*[-/]\s*(\d\d)(?![\d/.-])", _short),
    (rf"(?<![\d.-]){_YEAR}(?![\d.-])", _year),
)
