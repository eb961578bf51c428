"""Kits: gear worn together by one person, such as harness, lanyard, rope grab and lifeline."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from inspect_core.domain.errors import BadInput, NotAllowed
from inspect_core.domain.record import ItemRow

MOST_NAME = 60
MOST_ITEMS = 12


class KitMove(StrEnum):
    """What can happen to a kit."""

    MAKE = "made up"
    ISSUE = "issued"
    RETURN = "taken back"
    SWAP = "item swapped"
    PUT_IN = "item put in"
    TAKE_OUT = "item taken out"
    DISSOLVE = "dissolved"


@dataclass(frozen=True, slots=True)
class Kit:
    """`item_ids` in the order they were put in. `holder`: the person it is issued to, None while it lies in the store.
    `since`: when it was issued or came back. A dissolved kit holds nothing and stays for its history."""

    id: str
    name: str
    item_ids: tuple[str, ...]
    since: datetime
    holder: str | None = None
    dissolved: bool = False

    def __post_init__(self) -> None:
        if not self.name.strip() or len(self.name) > MOST_NAME:
            raise BadInput(f"A kit needs a name of 1 to {MOST_NAME} characters.", "Write it on the bag as well.")
        if len(set(self.item_ids)) != len(self.item_ids):
            raise BadInput("An item is named twice in this kit.", "Name each item once.")
        if len(self.item_ids) > MOST_ITEMS:
            raise BadInput(f"More than {MOST_ITEMS} items in one kit.", "Name only what one person wears together.")
        if self.dissolved and (self.item_ids or self.holder):
            raise BadInput("A dissolved kit holds nothing.", "Take its items back first.")


@dataclass(frozen=True, slots=True)
class KitEvent:
    """One thing that happened to a kit. `item_ids` is what it held afterwards (before, when it was dissolved), so that
    every event tells by itself who wore what from then on. `holder`: who had it afterwards; for a return, who brought
    it back."""

    id: str
    kit_id: str
    at: datetime
    by: str
    move: KitMove
    item_ids: tuple[str, ...]
    holder: str | None = None
    taken_out: str | None = None
    put_in: str | None = None
    note: str = ""


def check_wearable(rows: Sequence[ItemRow], on: date, aged: Mapping[str, str] | None = None) -> None:
    """Nothing where every item may be handed out on that day; else NotAllowed naming each one and why.

    `aged`: item id → what its age says against it, "" where it says nothing.
    """
    old = aged or {}
    bad = [row for row in rows if not row.standing.usable_on(on) or old.get(row.item.id)]
    if bad:
        raise NotAllowed(
            f"This kit is not to be worn: {'; '.join(_why(row, on, old) for row in bad)}.",
            "Swap what is named for an item in service, or have a competent person settle it.",
        )


def _why(row: ItemRow, on: date, aged: Mapping[str, str]) -> str:
    if row.standing.usable and row.standing.overdue_on(on):
        return f"{row.item.tag} is overdue for its inspection in detail"
    if row.standing.usable:
        return f"{row.item.tag}: {aged[row.item.id].rstrip('.')}"
    return f"{row.item.tag} is {row.standing.state.value}"


def held_by_words(name: str, since: date) -> str:
    """Where gear that must not be used is at this moment."""
    return f"With {name} since {since.isoformat()}: fetch it."


def content_at(events: Sequence[KitEvent], at: datetime) -> tuple[tuple[str, ...], str | None]:
    """What the kit held and who had it at that moment, from its events, newest first; nothing before it was made."""
    held: tuple[tuple[str, ...], str | None] = ((), None)
    for event in reversed(events):
        if event.at > at:
            break
        if event.move is KitMove.DISSOLVE:
            held = ((), None)
        else:
            held = (event.item_ids, None if event.move is KitMove.RETURN else event.holder)
    return held


def shared_since(events: Sequence[KitEvent], item_id: str, start: datetime | None) -> tuple[str, ...]:
    """Every item that was in this kit together with that one at some moment from `start` on (None: ever), itself
    included, from the kit's events, newest first."""
    later = [e for e in reversed(events) if e.move is not KitMove.DISSOLVE and (start is None or e.at >= start)]
    contents = [content_at(events, start)[0]] if start is not None else []
    contents += [event.item_ids for event in later]
    return tuple(dict.fromkeys(item for content in contents if item_id in content for item in content))
