"""One item of a set-up in a line: several may stand on one page."""

from __future__ import annotations

from inspect_core.domain.custody import Standing
from inspect_core.domain.gear import Item
from inspect_core.screens.frame import Frame
from inspect_core.screens.parts import items


def line(frame: Frame, where: str, item: Item, standing: Standing) -> None:
    """Sign, tag, kind, state and date of an item, as one way to its history."""
    words = f"{items.name_of(item)}, {standing.state.value}, {items.due_words(standing.next_due, frame.today)}"
    items.line(frame, f"{where} {item.id}", item, standing, words, None)
