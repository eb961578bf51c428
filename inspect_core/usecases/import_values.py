"""Cells of a register's file as values of an item: units turned into ours, days read, nothing guessed."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date
from enum import StrEnum
from types import MappingProxyType
from typing import Any

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Fibre, Kind
from inspect_core.usecases.import_columns import BY_NAME, KIND_WORDS, STATE, UNITS, YEARS, Column, Field, words_of


class DayOrder(StrEnum):
    """How a day is written where it is not year-month-day."""

    ASK = "year first only"
    DAY_FIRST = "day first"
    MONTH_FIRST = "month first"


_ERRORS = ("#N/A", "#REF!", "#VALUE!", "#DIV/0!", "#NAME?", "#NUM!", "#NULL!")
_EMPTY = ("", "-", "–", "—", "n/a", "na", "none", "unknown", "?")
_NUMBER = re.compile(r"([+-]?\d+(?:[.,]\d+)?)\s*([a-zA-Z\"″]*)\.?")
_SLASHED = re.compile(r"(\d{1,2})[/.\- ](\d{1,2})[/.\- ](\d{4})")
_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[ T]00:00(?::00)?)?")
_NAMED = re.compile(r"(?:(\d{1,2})[. -]+([a-z]{3,9})\.?|([a-z]{3,9})\.?[ -]+(\d{1,2}),?)[ -]+(\d{4})", re.IGNORECASE)
_SHORT_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTHS: Mapping[str, int] = MappingProxyType({name: n for n, name in enumerate(_SHORT_MONTHS, 1)})
_DATES = ("made_on", "first_used_on")
_FREE_TEXT = ("site", "maker", "model", "serial", "note", "tag", "profile")
#: No date, number, kind or list of standards is longer. Long cells also cost time with the square of their length.
MOST_LETTERS = 300
_KINDS: Mapping[str, Kind] = MappingProxyType({words_of(k.value): k for k in Kind} | dict(KIND_WORDS))


def value_of(column: Column, cell: str, order: DayOrder) -> Any:
    """What the cell says for its column's field; None where it says nothing. Raises BadInput."""
    if column.field == STATE.name:
        return cell.strip() or None  # what is unknown or a dash is for import_states to judge
    if column.field is None or cell.strip().casefold() in _EMPTY:
        return None
    if cell.strip().upper() in _ERRORS:
        raise BadInput(f"The cell holds the error {cell.strip()}.", "Mend the formula, or type the value.")
    field = BY_NAME[column.field]
    if field.name in _FREE_TEXT:
        return cell
    cell = re.sub(r"[^\S\n]+", " ", cell.strip())
    if len(cell) > MOST_LETTERS:
        raise BadInput(f"The {field.words.lower()} has {len(cell)} characters.", "Give the value alone.")
    if field.name == "kind":
        return _kind(cell)
    if field.name in _DATES:
        return day_of(cell, order)
    if field.name == "rope_range_mm":
        return _range(field, cell, column.unit)
    if field.range is not None:
        return _number(field, cell, column.unit)
    if field.name == "price":
        return _plain_number(field, cell)
    if field.name == "fibre":
        return _fibre(cell)
    return ", ".join(mark.strip() for mark in re.split(r"[;\n|]", cell))  # standards, the last that is left


def _kind(cell: str) -> str:
    kind = _KINDS.get(words_of(cell)) or _KINDS.get(words_of(cell).removesuffix("s"))
    if kind is None:
        raise BadInput(f"“{cell}” is no kind of gear.", f"Use one of: {', '.join(k.value for k in Kind)}.")
    return kind.value


def _fibre(cell: str) -> str:
    words = words_of(cell)
    found = next((f for f in Fibre if words_of(f.value) == words), None)
    known = {"polyamide": Fibre.NYLON, "pa": Fibre.NYLON, "pes": Fibre.POLYESTER, "hmpe": Fibre.UHMWPE}
    fibre = found or known.get(words)
    if fibre is None:
        raise BadInput(f"“{cell}” is no fibre.", f"Use one of: {', '.join(f.value for f in Fibre)}.")
    return fibre.value


def day_of(cell: str, order: DayOrder) -> date:
    """A day. Year-month-day always; day and month in the order that was said; a month's name always. Raises BadInput
    where the order of day and month is not known."""
    text = cell.strip()
    try:
        if found := _ISO.fullmatch(text):
            return date(int(found[1]), int(found[2]), int(found[3]))
        if found := _NAMED.fullmatch(text):
            month = _MONTHS.get((found[2] or found[3])[:3].lower())
            if month is not None:
                return date(int(found[5]), month, int(found[1] or found[4]))
        if found := _SLASHED.fullmatch(text):
            first, second, year = int(found[1]), int(found[2]), int(found[3])
            return _ordered(text, first, second, year, order)
    except ValueError:
        raise BadInput(f"“{cell}” is no day in the calendar.", "Write year-month-day, such as 2025-03-31.") from None
    if re.fullmatch(r"\d{4}|\d{1,2}[/.-]\d{4}|\d{4}[/.-]\d{1,2}", text):
        raise BadInput(f"“{cell}” names no day.", "Where the label names a month only, write its first day.")
    raise BadInput(f"“{cell}” is not a date.", "Write year-month-day, such as 2025-03-31.")


def _ordered(text: str, first: int, second: int, year: int, order: DayOrder) -> date:
    if order is DayOrder.DAY_FIRST:
        return date(year, second, first)
    if order is DayOrder.MONTH_FIRST:
        return date(year, first, second)
    if first == second or (first > 12) != (second > 12):
        # Only one reading is a day at all.
        return date(year, min(first, second), max(first, second))
    raise BadInput(
        f"“{text}” can be read as two days.", "Say whether the day or the month comes first, or write year-month-day."
    )


def _plain_number(field: Field, cell: str) -> float:
    text = re.sub(r"[^\d.,+-]", "", cell)
    if re.fullmatch(r"[+-]?\d{1,3}[.,]\d{3}", text):
        raise BadInput(f"The {field.words.lower()} “{cell}” can be read as two numbers.", "Write it without thousands.")
    for thousands, point in ((",", "."), (".", ",")):
        grouped = rf"[+-]?\d{{1,3}}(\{thousands}\d{{3}})+(\{point}\d+)?"
        if re.fullmatch(grouped, text):
            text = text.replace(thousands, "")
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise BadInput(f"The {field.words.lower()} “{cell}” is not a number.", "Give digits only.") from None


def _number(field: Field, cell: str, heading_unit: str) -> float:
    found = _NUMBER.fullmatch(cell.strip())
    if not found:
        raise BadInput(f"The {field.words.lower()} “{cell}” is not a number.", "Give digits, with or without a unit.")
    return _in_ours(field, float(found[1].replace(",", ".")), found[2] or heading_unit, cell)


def _in_ours(field: Field, value: float, unit: str, cell: str) -> float:
    """The value in millimetres or years; refused where the unit is strange or the value is none such."""
    units, ours = (UNITS, "mm") if field.length else (YEARS, "years")
    factor = units.get(unit.lower(), None) if unit else 1.0
    if factor is None:
        raise BadInput(
            f"The {field.words.lower()} “{cell}” has the unit {unit}.", f"Give it in {', '.join(dict.fromkeys(units))}."
        )
    result = round(value * factor, 6)
    low, high = field.range or (0.0, float("inf"))
    if not low <= result <= high:
        raise BadInput(
            f"{result:g} {ours} is no {field.words.lower()} (expected {low:g} to {high:g} {ours}).",
            "Check the unit: is it in inches, or in another unit?" if field.length else "Check the number.",
        )
    return result


def _range(field: Field, cell: str, heading_unit: str) -> list[float]:
    parts: Sequence[str] = re.split(r"\s*(?:[-–—]|to|\.\.)\s*", cell.strip())
    if len(parts) == 1:
        raise BadInput(
            "The accepted rope range needs two numbers.", "Give the smallest and the largest, such as 14-16."
        )
    unit = next((m[2] for p in reversed(parts) if (m := _NUMBER.fullmatch(p)) and m[2]), heading_unit)
    return [_number(field, part, unit) for part in parts]
