"""The life entry by entry, newest first: inspections with their pictures, and moves."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from inspect_core.domain.custody import CustodyEvent, Move
from inspect_core.domain.life import Look
from inspect_core.reports import wording
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, own, plain
from inspect_core.screens.parts import details, findings, pictures, sign
from inspect_core.screens.speaking import st, tongue
from inspect_core.screens.words.choices import TYPE_WORDS
from inspect_core.usecases.life import PAGE, LifeView

MOVE_WORDS: Mapping[Move, str] = MappingProxyType(
    {
        Move.REGISTER: "Registered",
        Move.HOLD: "Put on hold",
        Move.WITHDRAW: "Withdrawn",
        Move.RELEASE: "Released from hold",
        Move.DESTROY: "Destroyed",
    }
)


def show(frame: Frame, view: LifeView) -> None:
    """One page, and the way to more."""
    figures, entries = view.figures, view.page.entries
    more = "" if view.page.after is None else f" The newest {len(entries)} entries stand here."
    st.caption(
        f"{wording.count(figures.inspections, 'inspection')} and {wording.count(figures.photos, 'photo')} in all.{more}"
    )
    if not entries:
        st.markdown("Nothing in this life fits. Take a filter off.")
    for entry in entries:
        if isinstance(entry, Look):
            _look(frame, view, entry)
        else:
            _move(frame, view, entry)
    if view.page.after is not None:
        st.button(
            f"Show {PAGE} more",
            key=state.widget("history", "more"),
            on_click=state.more_pages,
            args=(view.item.id,),
            width="stretch",
        )


def _look(frame: Frame, view: LifeView, look: Look) -> None:
    with st.container(border=True):
        with st.container(horizontal=True, vertical_alignment="center", gap="small"):
            sign.outcome_chip(look.outcome)
            st.markdown(
                f"**{look.at:%Y-%m-%d}** {plain(TYPE_WORDS[look.type].lower())}, {own(view.name_of(look.by))}",
                width="content",
            )
        if look.corrected:
            st.warning(sign.CORRECTED, icon=":material/edit_note:")
        if look.corrects:
            st.caption("Corrects an earlier inspection.")
        if look.photos:
            seen, told = st.columns(2)
            with seen:
                _photos(frame, look)
            with told:
                _told(look)
        else:
            _told(look)
        details.box(frame, view.item, look.id)


def _told(look: Look) -> None:
    """Readings, what the rules found and a judgement by hand, in words."""
    for number, mark in enumerate(look.marks, 1):
        readings = "; ".join(wording.reading(r) for r in mark.readings) or "not measured"
        st.markdown(f"**{number}: {mark.category.value} on the {mark.component.value}.** {plain(readings)}")
    for finding in look.deciding:
        st.markdown(f"- {plain(finding.reason)}  \n  *{plain(findings.source_words(finding))}*")
    if look.hand is not None:
        headline = sign.PAST_HEADLINES[look.hand.outcome].lower()
        st.markdown(f"- **By judgement: {headline}.** {plain(tongue().written(look.hand.reason))}")
    if look.note:
        st.markdown(f"Note: {plain(tongue().mixed(look.note))}")


def _photos(frame: Frame, look: Look) -> None:
    """Every marked photo with its marks, or the first of those without; the others once they are asked for."""
    numbers = {mark.id: number for number, mark in enumerate(look.marks, 1)}
    marked = {mark.photo_id for mark in look.marks}
    shown = [photo for photo in look.photos if photo.id in marked] or list(look.photos[:1])
    for photo in shown:
        pictures.with_marks(frame.services, photo, look.marks, numbers=numbers)
        pictures.close_ups(frame.services, photo, look.marks, numbers)
    rest = [photo for photo in look.photos if photo not in shown]
    if not rest:
        return
    words = f"{wording.count(len(rest), 'more photo')} of that day"
    opened = st.expander(words, key=state.widget("more photos", look.id), on_change="rerun", type="compact")
    if opened.open:
        with opened:
            for photo in rest:
                pictures.with_marks(frame.services, photo, ())


def _move(frame: Frame, view: LifeView, event: CustodyEvent) -> None:
    reason = plain(tongue().mixed(event.reason))
    st.markdown(
        f"**{event.at:%Y-%m-%d}** {MOVE_WORDS[event.move]}, {own(view.name_of(event.by))}: {reason}"
        + _witness(view, event)
    )
    photo = view.moved_photos.get(event.photo_id or "")
    if photo is not None:
        pictures.with_marks(frame.services, photo, ())


def _witness(view: LifeView, event: CustodyEvent) -> str:
    name = view.name_of(event.witness_id) if event.witness_id else event.witness
    return f" Witness: {own(name)}." if name else ""
