"""An item in a list, and an item's card."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from inspect_core.domain.custody import Standing
from inspect_core.domain.gear import Item
from inspect_core.domain.record import ItemRow
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, own, plain
from inspect_core.screens.parts import pictures, sign
from inspect_core.screens.speaking import st, tongue
from inspect_core.usecases import ages

#: Rows of a list that are shown at once.
ROWS = 10


def due_words(due: date | None, today: date) -> str:
    """When the next periodic inspection is due, as people say it."""
    if due is None:
        return "no inspection date set"
    days = (due - today).days
    if days < 0:
        return f"overdue by {-days} day{'s' if days < -1 else ''}"
    if days == 0:
        return "due today"
    return f"due in {days} day{'s' if days > 1 else ''}" if days <= 60 else f"due {due.isoformat()}"


def name_of(item: Item) -> str:
    """Kind, maker and model in one line."""
    made = tongue().written(" ".join(filter(None, (item.maker, item.model))))
    return f"{item.kind.value}, {made}" if made else item.kind.value


def rows(frame: Frame, name: str, found: Sequence[ItemRow], *, show_due: bool = True) -> None:
    """A list of items, ten at a time; each row opens the item."""
    shown = found[: ROWS * state.page_number(name)]
    for row in shown:
        _row(frame, name, row, show_due)
    left = len(found) - len(shown)
    if left > 0:
        st.button(
            f"Show {min(left, ROWS)} more of {left}",
            key=state.widget("more", name),
            on_click=state.more_pages,
            args=(name,),
            width="stretch",
        )


def _row(frame: Frame, name: str, row: ItemRow, show_due: bool) -> None:
    item, standing = row.item, row.standing
    words = f"{item.kind.value}, {standing.state.value}"
    if show_due:
        words += f", {due_words(standing.next_due, frame.today)}"
    if item.site:
        words += f", {tongue().written(item.site)}"
    line(frame, f"{name} {item.id}", item, standing, words, row.photo_id)


def line(frame: Frame, name: str, item: Item, standing: Standing, words: str, photo_id: str | None) -> None:
    """One item as one thing to press: its sign, its picture if there is one, its tag and some words. Gear past its age
    says so, wherever it is listed."""
    old = ages.aged(item, standing, frame.services)
    if old:
        words = f"{words}, past its age"
    with st.container(horizontal=True, wrap=False, vertical_alignment="center", gap="small", key=f"row {name}"):
        sign.mark(sign.standing_sign(standing, frame.today, old)[0])
        if photo_id:
            pictures.thumb(frame.services, photo_id, f"Last marked photo of {item.tag}")
        st.page_link(
            frame.pages["item"],
            label=f"**{own(item.tag)}** {plain(words)}",
            width="stretch",
            query_params={"tag": item.tag},
        )


def head(frame: Frame, item: Item, standing: Standing) -> None:
    """What the item is, in little room, for a screen on which it is being looked at. Green as large as an answer would
    say too much here: nobody has answered yet."""
    words = f"{name_of(item)}, {standing.state.value}, {due_words(standing.next_due, frame.today)}"
    line(frame, "head", item, standing, words, None)


def card(frame: Frame, item: Item, standing: Standing) -> None:
    """What the item is, and why it must not be used."""
    old = ages.aged(item, standing, frame.services)
    sign.standing_banner(standing, frame.today, old)
    with st.container(border=True):
        st.markdown(f"### {own(item.tag)}")
        st.markdown(plain(name_of(item)))
        st.markdown(f"**Why:** {plain(old or tongue().mixed(standing.reason))}")
