"""Check before use: tag, what happened, parts, photos, answer. Made for a phone and gloves."""

from __future__ import annotations

from inspect_core.domain.custody import Move, State
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.record import ItemRow
from inspect_core.screens import state
from inspect_core.screens.frame import Frame
from inspect_core.screens.parts import items, moves, papers, tag_box, who
from inspect_core.screens.speaking import st
from inspect_core.screens.words.next_steps import NEXT_STEPS
from inspect_core.screens.work import flow
from inspect_core.screens.work.session import open_work
from inspect_core.usecases import ages


def show(frame: Frame) -> None:
    """Ask for the item, refuse at once what must not be used, and go through the steps."""
    st.title("Check before use")
    row = tag_box.item_at_address(frame)
    if row is None:
        picked = tag_box.pick(frame, "check")
        if picked:
            st.query_params.pop("draft", None)
            st.query_params["tag"] = picked[0]
            st.rerun()
        return
    old = ages.aged(row.item, row.standing, frame.services)
    if old or not row.standing.usable:
        items.card(frame, row.item, row.standing)
        _stop(row)
        if old:
            moves.one(frame, row.item, row.standing, Move.HOLD)
        frame.link("item", "Its history in pictures", icon=":material/history:", tag=row.item.tag)
        papers.tag(frame, row.item, row.standing)
        _other()
        return
    items.head(frame, row.item, row.standing)
    person = who.required(frame)
    if person is None:
        return
    flow.show(open_work(frame, row, person, InspectionType.BEFORE_USE))
    _other()


def _stop(row: ItemRow) -> None:
    state_ = State.ON_HOLD if row.standing.usable else row.standing.state  # past its age: as if it were on hold
    st.markdown("\n".join(f"- {step}" for step in NEXT_STEPS[state_]))


def _other() -> None:
    if st.button("Check another item", key=state.widget("check", "other"), type="tertiary"):
        st.query_params.clear()
        st.rerun()
