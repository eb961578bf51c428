"""An item's whole life, newest first: pictures with their marks, decisions with their sources, and every move."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from inspect_core.domain.custody import CustodyEvent, Move, State
from inspect_core.domain.errors import BartackError
from inspect_core.domain.gear import components_of
from inspect_core.domain.inspection import Inspection, InspectionType
from inspect_core.domain.marks import Category
from inspect_core.reports import wording
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.measuring import over_time, trend_line
from inspect_core.screens.parts import details, findings, items, moves, papers, pictures, setups, sign, tag_box
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.words.choices import TYPE_WORDS
from inspect_core.usecases import review
from inspect_core.usecases.review import History

PAGE = 20
_LIVE = (State.IN_SERVICE, State.ON_HOLD)
_MOVE_WORDS = {
    Move.REGISTER: "Registered",
    Move.HOLD: "Put on hold",
    Move.WITHDRAW: "Withdrawn",
    Move.RELEASE: "Released from hold",
    Move.DESTROY: "Destroyed",
}


def show(frame: Frame) -> None:
    """The item that the address names."""
    row = tag_box.item_at_address(frame)
    if row is None:
        st.title("Item")
        picked = tag_box.pick(frame, "item")
        if picked:
            st.query_params["tag"] = picked[0]
            st.rerun()
        return
    past = review.history(row.item.id, frame.services)
    item, standing = past.item, past.standing
    st.title(item.tag)
    sign.standing_banner(standing, frame.today)
    _ways(frame, past)
    life, side = st.columns([3, 2], gap="large")
    with side:
        _registered(frame, past)
        _actions(frame, past)
        trend_line.show(past)
    with life:
        setups.shown(frame, past)
        over_time.history_box(frame, past)
        _life(frame, past)


def _ways(frame: Frame, past: History) -> None:
    """What most people come here for, in reach of a thumb."""
    item, standing = past.item, past.standing
    if standing.state not in _LIVE:
        return
    one, two = st.columns(2, wrap=False)
    with one:
        frame.link("inspect", "Inspect in detail", icon=":material/frame_inspect:", tag=item.tag)
    with two:
        if standing.usable:
            frame.link("check", "Check before use", icon=":material/checklist:", tag=item.tag)
        else:
            papers.tag(frame, item, standing)


def _registered(frame: Frame, past: History) -> None:
    item, standing = past.item, past.standing
    st.markdown(f"**{plain(items.name_of(item))}**")
    lines = {
        "Why": "" if standing.usable else standing.reason,
        "Stands so since": f"{standing.since:%Y-%m-%d}",
        "Inspection in detail": items.due_words(standing.next_due, frame.today) if standing.state in _LIVE else "",
        "Last looked at": standing.last_seen_on.isoformat() if standing.last_seen_on else "never",
        "Serial": item.serial,
        "Site": item.site,
        "Made": item.made_on.isoformat() if item.made_on else "",
        "First used": item.first_used_on.isoformat() if item.first_used_on else "",
        "Note": item.note,
    }
    st.markdown("  \n".join(f"{name}: {plain(text)}" for name, text in lines.items() if text))


def _actions(frame: Frame, past: History) -> None:
    item, standing = past.item, past.standing
    if standing.state not in _LIVE:
        papers.tag(frame, item, standing)
    papers.label(frame, item)
    with st.expander("Hold, withdraw, release, destroy", icon=":material/swap_horiz:"):
        newest = next((i for i in past.inspections if i.type is not InspectionType.BEFORE_USE), None)
        moves.offered(frame, item, standing, newest)


def _life(frame: Frame, past: History) -> None:
    st.subheader("Its life, newest first")
    inspections, events = _filtered(past)
    entries: list[tuple[object, Inspection | CustodyEvent]] = [(i.at, i) for i in inspections]
    entries += [(e.at, e) for e in events if e.inspection_id is None or e.move is Move.RELEASE]
    entries.sort(key=lambda entry: entry[0], reverse=True)  # type: ignore[arg-type, return-value]
    shown = entries[: PAGE * state.page_number(past.item.id)]
    st.caption(f"{wording.count(len(inspections), 'inspection')}, showing {len(shown)} of {len(entries)} entries.")
    corrected = {i.corrects: i.id for i in past.inspections if i.corrects}
    for _, entry in shown:
        if isinstance(entry, Inspection):
            _inspection(frame, past, entry, corrected.get(entry.id))
        else:
            _event(frame, past, entry)
    if len(shown) < len(entries):
        st.button(
            f"Show {min(PAGE, len(entries) - len(shown))} more",
            key=state.widget("history", "more"),
            on_click=state.more_pages,
            args=(past.item.id,),
            width="stretch",
        )


def _filtered(past: History) -> tuple[Sequence[Inspection], Sequence[CustodyEvent]]:
    there = {m.component.value for i in past.inspections for m in i.marks}
    kinds = {m.category.value for i in past.inspections for m in i.marks}
    if not there:
        return past.inspections, past.custody
    part, category = st.columns(2)
    components = [c.value for c in components_of(past.item.kind) if c.value in there]
    component = part.selectbox(
        "Part", components, index=None, placeholder="Every part", key=state.widget("history", "part", past.item.id)
    )
    categories = [c.value for c in Category if c.value in kinds]
    shows = category.selectbox(
        "Mark", categories, index=None, placeholder="Every mark", key=state.widget("history", "mark", past.item.id)
    )
    if component is None and shows is None:
        return past.inspections, past.custody

    def fits(inspection: Inspection) -> bool:
        return any(
            component in (None, m.component.value) and shows in (None, m.category.value) for m in inspection.marks
        )

    return [i for i in past.inspections if fits(i)], []


def _inspection(frame: Frame, past: History, inspection: Inspection, corrected_by: str | None) -> None:
    with st.container(border=True):
        with st.container(horizontal=True, vertical_alignment="center", gap="small"):
            sign.outcome_chip(inspection.outcome)
            st.markdown(
                f"**{inspection.at:%Y-%m-%d}** {plain(TYPE_WORDS[inspection.type].lower())}, "
                f"{plain(past.name_of(inspection.by))}",
                width="content",
            )
        if corrected_by:
            st.warning("A later inspection corrects this one.", icon=":material/edit_note:")
        if inspection.corrects:
            st.caption("Corrects an earlier inspection.")
        if inspection.photo_ids:
            seen, told = st.columns(2)
            with seen:
                _photos(frame, past, inspection)
            with told:
                _told(inspection)
        else:
            _told(inspection)
        details.box(frame, past.item, inspection)


def _told(inspection: Inspection) -> None:
    """Readings, what the rules found and a judgement by hand, in words."""
    for number, mark in enumerate(inspection.marks, 1):
        readings = "; ".join(wording.reading(r) for r in mark.readings) or "not measured"
        st.markdown(f"**{number}: {mark.category.value} on the {mark.component.value}.** {plain(readings)}")
    for finding in inspection.decision.deciding:
        st.markdown(f"- {plain(finding.reason)}  \n  *{plain(findings.source_words(finding))}*")
    if inspection.hand is not None:
        st.markdown(
            f"- **By judgement: {sign.PAST_HEADLINES[inspection.hand.outcome].lower()}.** "
            f"{plain(inspection.hand.reason)}"
        )
    if inspection.note:
        st.markdown(f"Note: {plain(inspection.note)}")


def _photos(frame: Frame, past: History, inspection: Inspection) -> None:
    numbers = {mark.id: number for number, mark in enumerate(inspection.marks, 1)}
    for photo_id in inspection.photo_ids:
        if photo_id in past.photos:
            pictures.with_marks(frame.services, past.photos[photo_id], inspection.marks, numbers=numbers)
            pictures.close_ups(frame.services, past.photos[photo_id], inspection.marks, numbers)


def _event(frame: Frame, past: History, event: CustodyEvent) -> None:
    words = _MOVE_WORDS[event.move]
    st.markdown(
        f"**{event.at:%Y-%m-%d}** {words}, {plain(past.name_of(event.by))}: {plain(event.reason)}"
        + (f" Witness: {plain(event.witness)}." if event.witness else "")
    )
    if event.photo_id and event.photo_id in past.photos:
        try:
            pictures.with_marks(frame.services, past.photos[event.photo_id], ())
        except BartackError as error:
            show_error(error)
