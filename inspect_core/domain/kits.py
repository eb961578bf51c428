"""Kits: gear worn together by one person, such as harness, lanyard, rope grab and lifeline."""

from __future__ import annotations

from collections.abc import Sequence
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


def check_wearable(rows: Sequence[ItemRow], on: date) -> None:
    """Nothing where every item may be handed out on that day; else NotAllowed naming each one and why."""
    bad = [row for row in rows if not row.standing.usable_on(on)]
    if bad:
        raise NotAllowed(
            f"This kit is not to be worn: {'; '.join(_why(row, on) for row in bad)}.",
            "Swap what is named for an item in service, or have a competent person settle it.",
        )


def _why(row: ItemRow, on: date) -> str:
    if row.standing.usable and row.standing.overdue_on(on):
        return f"{row.item.tag} is overdue for its inspection in detail"
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
