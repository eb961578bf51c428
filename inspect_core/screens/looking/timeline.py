"""The life in pictures by date: small photos, newest first, each opening large with its marks."""

from __future__ import annotations

from itertools import groupby

from inspect_core.domain.errors import BartackError
from inspect_core.domain.gear import Item
from inspect_core.domain.life import LifeFigures, Pictured
from inspect_core.reports import wording
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.looking import filters
from inspect_core.screens.parts import pictures, sign
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.speaking import st
from inspect_core.screens.words.choices import TYPE_WORDS
from inspect_core.usecases import life

#: Width of a small photo, pixels: two beside each other on a phone.
_SHOWN = 150


def show(frame: Frame, item: Item, figures: LifeFigures) -> None:
    """Photos by date. With a part or a mark chosen only those that show it."""
    name = f"pictures {item.id}"
    pages = state.page_number(name)
    found = life.pictures(item.id, frame.services, filters.asked(item.id), limit=life.PICTURES * pages)
    st.caption(f"{wording.count(figures.photos, 'photo')} in all, {len(found.pictures)} shown, the newest first.")
    if not found.pictures:
        st.markdown("No photo fits. Take a filter off.")
    year = 0
    for (_, inspection_id), group in groupby(found.pictures, key=lambda one: (one.at, one.inspection_id)):
        taken = list(group)
        if taken[0].at.year != year:
            year = taken[0].at.year
            st.markdown(f"#### {year}")
        _of_inspection(frame, item, inspection_id, taken)
    if found.after is not None:
        st.button(
            f"Show {life.PICTURES} more",
            key=state.widget("history", "more pictures"),
            on_click=state.more_pages,
            args=(name,),
            width="stretch",
        )


def _of_inspection(frame: Frame, item: Item, inspection_id: str, taken: list[Pictured]) -> None:
    first = taken[0]
    with st.container(horizontal=True, vertical_alignment="center", gap="small"):
        sign.outcome_chip(first.outcome)
        st.markdown(f"**{first.at:%Y-%m-%d}** {plain(TYPE_WORDS[first.type].lower())}", width="content")
    if first.corrected:
        st.warning(sign.CORRECTED, icon=":material/edit_note:")
    with st.container(horizontal=True, gap="small"):
        for one in taken:
            shown = "; ".join(f"{category.value} on the {part.value}" for part, category in one.shown)
            pictures.thumb(
                frame.services,
                one.photo.id,
                f"Photo of {item.tag} on {first.at:%Y-%m-%d}. {shown or 'Nothing marked'}",
                width=_SHOWN,
                caption=shown or None,
            )
    _large(frame, inspection_id, taken)


def _large(frame: Frame, inspection_id: str, taken: list[Pictured]) -> None:
    """The same photos large with their marks; drawn only when they are opened."""
    words = "Show large with marks" if any(one.shown for one in taken) else "Show large"
    opened = st.expander(words, key=state.widget("large", inspection_id), on_change="rerun", type="compact")
    if not opened.open:
        return
    with opened:
        try:
            for one in taken:
                marks = life.marks_on(inspection_id, one.photo.id, frame.services)
                pictures.with_marks(frame.services, one.photo, marks)
        except BartackError as error:
            show_error(error)
