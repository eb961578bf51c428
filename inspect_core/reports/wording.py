"""Numbers, dates and readings as people read them: with unit, uncertainty and coverage factor."""

from __future__ import annotations

import math
from datetime import date, datetime

from inspect_core.domain.marks import Reading

#: Units as printed, where that differs from how files spell them.
UNIT_WORDS = {"mm2": "mm²", "deg": "°", "degC": "°C", "dE00": "(CIEDE2000)", "share": "share"}

SHARE_NOTE = "A share runs from 0 to 1; 1 is the whole."
UNCERTAINTY_NOTE = "± is the expanded uncertainty with coverage factor k = 2, about 95 % of cases."

#: What stands on every paper that says something about an item.
CAUTIONS = (
    "The maker's instructions, the law and codes of the place, and a competent person come before this paper.",
    "A photograph shows no hidden damage: what lies under a cover, in a rope or in the fibre is not in the picture.",
    "No reading proves strength. A measured mark says how large it is, not how much the item still holds.",
    "Gear that has arrested a fall, or is in doubt, is taken out at once, whatever an earlier paper says.",
)


def number(value: float, decimals: int | None = None) -> str:
    """A number with that many decimals (negative: rounded to tens and so on), or with at most six digits."""
    if not math.isfinite(value):
        return "without bound"
    text = f"{value:.6g}" if decimals is None else f"{round(value, decimals):.{max(0, decimals)}f}"
    return "0" if text.strip("-0.") == "" and decimals is None else text.replace("-", "−")


def unit_word(unit: str) -> str:
    return UNIT_WORDS.get(unit, unit)


def quantity(value: float, unit: str | None) -> str:
    """A number with its unit; an angle takes its sign without a space."""
    word = unit_word(unit or "")
    return f"{number(value)}{'' if word == '°' else ' '}{word}".strip()


def measured(value: float, uncertainty: float | None, unit: str | None) -> str:
    """Value ± uncertainty and unit, such as "3.20 ± 0.45 mm (k = 2)".

    The uncertainty keeps two significant digits and is rounded up, the value is rounded to the same place (JCGM
    100:2008, 7.2.6).
    """
    word = unit_word(unit or "")
    if uncertainty is None:
        return f"{quantity(value, unit)} (uncertainty not recorded)"
    if uncertainty == 0:
        return f"{number(value)} ± 0 {word} (k = 2)"
    # One digit less where rounding up carries, as from 0.0996 to 0.10.
    decimals = 1 - math.floor(math.log10(uncertainty))
    rounded = math.ceil(round(uncertainty * 10**decimals, 6)) / 10**decimals
    if rounded >= 10 ** (2 - decimals):
        decimals -= 1
    return f"{number(value, decimals)} ± {number(rounded, decimals)} {word} (k = 2)".replace("  ", " ")


def reading(one: Reading) -> str:
    """A reading in full: measure, value, uncertainty, unit, method."""
    method = one.method or "method not recorded"
    return f"{one.measure}: {measured(one.value, one.uncertainty, one.unit)}, {method}"


def damage_used(value: float) -> str:
    """The score, with enough digits that what lies below the limit is never printed as being at it."""
    if not math.isfinite(value):
        return "without bound"
    if value == 0:
        return "0"
    for decimals in range(2, 8):
        text = f"{value:.{decimals}f}"
        if (float(text) >= 1) == (value >= 1):
            return text
    return f"{value!r}"


def day(when: date | None, otherwise: str = "not recorded") -> str:
    return when.isoformat() if when else otherwise


def moment(when: datetime) -> str:
    """Date, time to the minute and zone, such as "2025-03-04 14:05 UTC+01:00"."""
    offset = f"{when:%z}"
    zone = f"UTC{offset[:3]}:{offset[3:5]}" if offset else "no time zone"
    return f"{when:%Y-%m-%d %H:%M} {zone}"


def count(how_many: int, one: str, several: str | None = None) -> str:
    """A count with its noun: 1 mark, 2 marks."""
    return f"{how_many} {one if how_many == 1 else several or one + 's'}"
