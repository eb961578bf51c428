"""The first screen: what to do now."""

from __future__ import annotations

from collections.abc import Mapping

import streamlit as st

from inspect_core.domain.custody import State
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.palette import STATE_SIGNS
from inspect_core.domain.record import ItemRow
from inspect_core.screens import welcome
from inspect_core.screens.frame import Frame
from inspect_core.screens.parts import items, sign, tag_box, who
from inspect_core.screens.words.choices import TYPE_WORDS
from inspect_core.usecases import review
from inspect_core.usecases.drafts import unfinished

_CHECK = "Check before use"
_OPEN = "Open its history"


def show(frame: Frame) -> None:
    """Big ways into the work, then what is overdue, due soon and on hold. A store without gear shows the welcome."""
    now = review.today(frame.services)
    if now.empty:
        welcome.show(frame)
        return
    st.title("Today")
    do, see = st.columns([2, 3], gap="large")
    with do:
        _ways(frame)
        if frame.person() is None:
            who.ask(frame)
    with see:
        _unfinished(frame)
        _counts(now.counts)
        _section(frame, "Overdue for inspection in detail", "overdue", now.overdue)
        _section(frame, "On hold: do not use", "hold", now.on_hold)
        _section(frame, "Due within 30 days", "soon", now.soon)


def _ways(frame: Frame) -> None:
    picked = tag_box.pick(frame, "today", (_CHECK, _OPEN))
    if picked:
        frame.go("check" if picked[1] == _CHECK else "item", tag=picked[0])
    one, two = st.columns(2, wrap=False)
    with one:
        frame.link("inspect", "Inspect", icon=":material/frame_inspect:")
    with two:
        frame.link("register", "Register", icon=":material/add_box:")
    frame.link("roll", "Photos from the roof", icon=":material/photo_library:")
    frame.link("setup", "Check the set-up", icon=":material/rule:")


def _unfinished(frame: Frame) -> None:
    work = unfinished(frame.services)
    if not work:
        return
    st.subheader(f"Unfinished work ({len(work)})")
    for draft, item in work[: items.ROWS]:
        type_ = draft.body.get("type")
        page = "check" if type_ == InspectionType.BEFORE_USE.value else "inspect"
        words = TYPE_WORDS[InspectionType(type_)] if type_ in set(InspectionType) else "Inspection"
        frame.link(
            page,
            f"Go on: {words.lower()} of {item.tag}, begun {draft.saved_at:%Y-%m-%d %H:%M}",
            icon=":material/edit:",
            tag=item.tag,
            draft=draft.id,
        )


def _counts(counts: Mapping[State, int]) -> None:
    with st.container(horizontal=True, gap="medium", key="counts"):
        for one in State:
            st.html(sign.chip_html(STATE_SIGNS[one], f"{counts.get(one, 0)} {one.value}"), width="content")


def _section(frame: Frame, title: str, name: str, rows: tuple[ItemRow, ...]) -> None:
    st.subheader(f"{title} ({len(rows)})")
    if not rows:
        st.caption("None.")
        return
    items.rows(frame, name, rows, show_due=name != "hold")
