"""What is registered of an item, field by field, in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from inspect_core.domain.correction import ItemCorrection
from inspect_core.domain.wording import shown

FIELD_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "tag": "Tag",
        "site": "Site",
        "maker": "Maker",
        "model": "Model",
        "serial": "Serial number",
        "made_on": "Made on",
        "first_used_on": "First used on",
        "profile": "Rules of which place",
        "fibre": "Fibre",
        "standards": "Standards on its label",
        "webbing_width_mm": "Webbing width",
        "rope_diameter_mm": "Rope diameter",
        "rope_range_mm": "Rope diameters it accepts",
        "packed_length_mm": "Energy absorber, packed length",
        "throat_mm": "Hook throat opening",
        "maker_max_age_years": "Longest life the maker allows",
        "maker_max_use_years": "Longest time in use the maker allows",
        "maker_limits": "The maker's own limits",
        "lasting_facts": "What lasts as long as the gear",
        "price": "Price",
        "note": "Note",
    }
)
_NOT_KNOWN = "not known"
#: Fields that hold what a person typed.
_TYPED = ("tag", "site", "maker", "model", "serial", "standards", "note")


def value_words(name: str, value: Any) -> str:
    """A field's plain value, with its unit."""
    if value is None or value in ("", [], {}):
        return _NOT_KNOWN
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {_word(one)}" for key, one in sorted(value.items()))
    if name == "rope_range_mm":
        return f"{value[0]:g} to {value[1]:g} mm"
    if isinstance(value, list):
        return ", ".join(map(str, value))
    if name.endswith("_mm"):
        return shown(value, "mm")
    if name.endswith("_years"):
        return shown(value, "year")
    return _word(value)


def _word(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)


def change_lines(correction: ItemCorrection, written: Callable[[str], str] = str) -> tuple[str, ...]:
    """One line for each field that was corrected: what stands there now, and what stood there before. `written` marks
    what a person typed, for other languages."""

    def said(name: str, value: Any) -> str:
        words = value_words(name, value)
        return written(words) if name in _TYPED and words != _NOT_KNOWN else words

    return tuple(
        f"{FIELD_WORDS.get(name, name)}: {said(name, correction.after[name])} instead of {said(name, before)}"
        for name, before in correction.before.items()
    )
