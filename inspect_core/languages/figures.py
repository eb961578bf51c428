"""Numbers and dates inside a text, written as a language writes them (Unicode's CLDR, through Babel)."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date

from babel import Locale
from babel.dates import format_date
from babel.numbers import format_decimal, get_decimal_symbol

_DAY = re.compile(r"(?<![\w/.-])(\d{4})-(\d{2})-(\d{2})(?![\w/]|-\w|\.\w)(?: (\d{2}:\d{2}))?")
_UNIT = (
    r"(?:mm²?|mm2|cm|m|kN|N|J|kg|in|ft|lbf?|px|°[CF]?|%|s|ms|MB|kB|GB|Mo|ko|Go|years?|months?|days?|hours?"
    r"|ans?|mois|jours?|años?|mes(?:es)?|días?)"
)
#: Decimals that measure something: before a unit or "±", or after one; never a clause, a version or an identifier.
_MEASURE = re.compile(
    rf"(?<![\w.,/-])[−-]?\d+\.\d+"
    rf"(?=(?:[\s ]?(?:(?:±|×|/|to|à|a|and|et|y)[\s ]|–[\s ]?)[−-]?\d+(?:\.\d+)?)?[\s ]?{_UNIT}(?![\w]))"
)
_BOUNDED = re.compile(r"(?<![\w.,/-])([−-]?\d+(?:\.\d+)?)([\s ]±[\s ])(\d+(?:\.\d+)?)")
#: A share without the space that French sets before the sign.
_SHARE = re.compile(r"(?<=\d)%")


def writer(locale: Locale) -> Callable[[str], str]:
    """A function that writes the dates and the measured decimals in a text as that place does."""
    symbol = get_decimal_symbol(locale)

    def point(match: re.Match[str]) -> str:
        return match[0].replace(".", symbol)

    def day(match: re.Match[str]) -> str:
        try:
            when = date(int(match[1]), int(match[2]), int(match[3]))
        except ValueError:
            return match[0]
        told = format_date(when, "long", locale=locale)
        return f"{told}, {match[4]}" if match[4] else told

    def write(text: str) -> str:
        if not any(sign.isdigit() for sign in text):
            return text
        text = _DAY.sub(day, text)
        text = _MEASURE.sub(point, _BOUNDED.sub(point, text))
        return _SHARE.sub("\u202f%", text) if locale.language == "fr" else text

    return write


#: Thousands as English sets them apart: 12,345 and 1,234.50.
GROUPED = re.compile(r"(?<![\w.,/-])\d{1,3}(?:,\d{3})+(?:\.\d+)?(?![\w/]|[.,-]\d)")


def grouper(locale: Locale) -> Callable[[str], str]:
    """A function that writes a number with thousands, as `GROUPED` finds it, as that place does."""

    def write(text: str) -> str:
        decimals = len(text.partition(".")[2])
        return number(float(text.replace(",", "")), decimals or None, locale)

    return write


def number(value: float, decimals: int | None, locale: Locale) -> str:
    """A number with that many decimals, or as many as it has."""
    return format_decimal(value, format=None if decimals is None else f"#,##0.{'0' * decimals}", locale=locale)
