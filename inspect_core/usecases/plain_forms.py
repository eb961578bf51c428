"""Reading plain JSON data that came from outside: each value is what it should be, or refused by its key."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from enum import StrEnum
from typing import Any, TypeVar

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component, Kind, components_of

_E = TypeVar("_E", bound=StrEnum)


def bad(key: str, what: str, remedy: str) -> BadInput:
    """A refusal that names the key, what is wrong with it, and what to do."""
    return BadInput(f"{key}: {what}.", f"{remedy}.")


def quoted(value: object) -> str:
    """A wrong value as refusals show it: short, and without what it may hold."""
    if isinstance(value, int) and abs(value) > 10**18:
        return "a number of great length"
    if isinstance(value, str | int | float):
        return f"“{str(value)[:60]}”"
    if isinstance(value, list | tuple):
        return "a list"
    return "a table" if isinstance(value, Mapping) else f"“{type(value).__name__}”"


def table(data: object, key: str, known: Iterable[str] = ()) -> Mapping[str, Any]:
    """A table of keys and values, none but the `known` ones where any are given."""
    if not isinstance(data, Mapping):
        raise bad(key, "is no table of keys and values", 'Write it as {"key": value, …}')
    names = tuple(known)
    for name in data:
        if not isinstance(name, str) or (names and name not in names):
            raise bad(f"{key}.{str(name)[:60]}", "is an unknown key", f"Use: {', '.join(names)}")
    return data


def list_of(data: object, key: str, most: int) -> list[Any]:
    """A list of at most so many entries."""
    if not isinstance(data, list | tuple):
        raise bad(key, "is no list", "Write it as […]")
    if len(data) > most:
        raise bad(key, f"holds {len(data)} entries", f"Give at most {most}")
    return list(data)


def needed(data: Mapping[str, Any], key: str, where: str) -> Any:
    """The value of a key that must be there."""
    if key not in data or data[key] is None:
        raise bad(f"{where}.{key}" if where != "case" else key, "is missing", f"Add “{key}”")
    return data[key]


def word(value: object, key: str, known: type[_E]) -> _E:
    """A member of a vocabulary."""
    try:
        # Text alone is looked up: the enumeration's own refusal would spell out whatever else it is given.
        return known(value if isinstance(value, str) else "")
    except ValueError:
        raise bad(key, f"{quoted(value)} is not known", f"Use one of: {', '.join(known)}") from None


def component_of(value: object, key: str, kind: Kind) -> Component:
    """A component that the kind has."""
    component = word(value, key, Component)
    parts = components_of(kind)
    if component not in parts:
        raise bad(
            key, f"a {kind.value} has no {component.value}", f"Use one of: {', '.join(part.value for part in parts)}"
        )
    return component


def day_of(value: object, key: str) -> date:
    """A day written year-month-day."""
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    if isinstance(value, str) and len(value) == 10:
        try:
            return date.fromisoformat(value)
        except ValueError:
            pass
    raise bad(key, f"{quoted(value)} is no day", "Write it as 2026-01-31")


def number_of(value: object, key: str) -> float:
    """A finite number within reason."""
    # The size comes first: a whole number too long for a float cannot be asked whether it is finite.
    if isinstance(value, bool) or not isinstance(value, int | float) or abs(value) > 1e9 or not math.isfinite(value):
        raise bad(key, f"{quoted(value)} is no number", "Write a plain number, or leave it out when it is not known")
    return float(value)


def text_of(value: object, key: str, most: int = 4000) -> str:
    """Text without blanks at its ends; "" where the key is missing."""
    if value is None:
        return ""
    if not isinstance(value, str):
        raise bad(key, f"{quoted(value)} is no text", "Write it in quotes")
    if len(value) > most:
        raise bad(key, f"is longer than {most} characters", "Shorten it")
    return value.strip()
