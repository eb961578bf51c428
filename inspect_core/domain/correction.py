"""A correction of what is registered of an item: which fields, what stood there before, and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import datetime
from typing import Any

from inspect_core.domain.gear import Item
from inspect_core.domain.signatures import Signature

#: What no correction touches: the item itself, what it is, when it was entered, and the tags that it carried.
KEPT = ("id", "kind", "registered_on", "former_tags")
CORRECTABLE = tuple(field.name for field in fields(Item) if field.name not in KEPT)


@dataclass(frozen=True, slots=True)
class ItemCorrection:
    """One correction as it was recorded. `before` and `after`: the fields that changed, as plain values. `reason` is
    empty, and `before` too, in records of programs that did not ask for it."""

    at: datetime
    by: str
    reason: str
    before: Mapping[str, Any]
    after: Mapping[str, Any]
    signature: Signature | None = None


def changed_fields(before: Item, after: Item) -> tuple[str, ...]:
    """Names of the fields that differ, in the order of an item's fields."""
    return tuple(name for name in CORRECTABLE if getattr(before, name) != getattr(after, name))
