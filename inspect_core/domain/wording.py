"""Numbers, facts and marks as people read them."""

from __future__ import annotations

from inspect_core.domain.decision import FactValue
from inspect_core.domain.marks import Category

_SHOWN_UNITS = {"mm2": "mm²", "degC": "°C", "dE00": "ΔE00", "year": "years", "month": "months"}
_WITHOUT_ARTICLE = (Category.RUST, Category.WEAR, Category.ABRASION, Category.DISCOLOURATION, Category.DEFORMATION)
_IN_WORDS = {
    Category.CHEMICAL: "Chemical damage",
    Category.LABEL: "Damage to the label",
    Category.OTHER: "Other damage",
}


def shown(value: float, unit: str | None) -> str:
    """A number with its unit as people read it: shares in per cent, no trailing zeros.

    >>> shown(0.125, "share"), shown(1.0, "mm"), shown(10, "deg"), shown(3, "count"), shown(1, "year")
    ('12.5 %', '1 mm', '10°', '3', '1 year')
    """
    if unit == "share":
        return f"{_plain(value * 100)} %"
    number = _plain(value)
    if unit == "deg":
        return f"{number}°"
    if unit is None or unit in ("", "count"):
        return number
    if unit in ("year", "month") and number == "1":
        return f"1 {unit}"
    return f"grade {number}" if unit == "grade" else f"{number} {_SHOWN_UNITS.get(unit, unit)}"


def shown_reading(value: float, uncertainty: float, unit: str | None) -> str:
    """A number with its expanded uncertainty (k = 2) and unit; the uncertainty is left out where it is nil.

    >>> shown_reading(0.9, 0.3, "mm"), shown_reading(0.1, 0.02, "share"), shown_reading(6, 0, "count")
    ('0.9 ± 0.3 mm', '10 ± 2 %', '6')
    """
    if not uncertainty:
        return shown(value, unit)
    factor = 100 if unit == "share" else 1
    if unit == "grade":
        return f"{shown(value, unit)} ± {_plain(uncertainty)}"
    return f"{_plain(value * factor)} ± {shown(uncertainty, unit)}"


def _plain(value: float) -> str:
    return f"{round(value, 3):.10g}"


def mark_seen(category: Category) -> str:
    """What a mark shows, to begin a sentence.

    >>> mark_seen(Category.CUT), mark_seen(Category.RUST), mark_seen(Category.OTHER)
    ('A cut', 'Rust', 'Other damage')
    """
    if category in _IN_WORDS:
        return _IN_WORDS[category]
    word = category.value
    return word.capitalize() if category in _WITHOUT_ARTICLE else f"{'An' if word[0] in 'aeiou' else 'A'} {word}"


def fact_stated(name: str, value: FactValue | None) -> str:
    """A fact as a sentence.

    >>> fact_stated("arrested fall", True)
    'Arrested fall: yes.'
    """
    words = ("yes" if value else "no") if isinstance(value, bool) else str(value)
    return f"{name[:1].upper()}{name[1:]}: {words}."
