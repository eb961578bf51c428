"""Inspection in detail by a competent person: periodic, after an event, or correcting an earlier one."""

from __future__ import annotations

from typing import NamedTuple

from inspect_core.domain.custody import State
from inspect_core.domain.gear import Component
from inspect_core.domain.inspection import Inspection, InspectionType
from inspect_core.domain.people import Person, Role
from inspect_core.domain.record import ItemRow
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, own
from inspect_core.screens.measuring import over_time
from inspect_core.screens.parts import items, pictures, tag_box, who
from inspect_core.screens.speaking import st
from inspect_core.screens.words.choices import TYPE_WORDS, components_first
from inspect_core.screens.words.next_steps import NEXT_STEPS
from inspect_core.screens.work import flow
from inspect_core.screens.work.body import marked, with_defect
from inspect_core.screens.work.session import Work, open_work
from inspect_core.usecases import review

_TYPES = {TYPE_WORDS[t]: t for t in (InspectionType.PERIODIC, InspectionType.AFTER_EVENT)}


def show(frame: Frame) -> None:
    """Ask for the item and the person, then go through the steps."""
    st.title("Inspect in detail")
    row = tag_box.item_at_address(frame)
    if row is None:
        picked = tag_box.pick(frame, "inspect")
        if picked:
            st.query_params.pop("draft", None)
            st.query_params["tag"] = picked[0]
            st.rerun()
        return
    person = who.required(frame)
    if person is None:
        return
    items.head(frame, row.item, row.standing)
    if row.standing.state in (State.WITHDRAWN, State.DESTROYED):
        st.markdown("\n".join(f"- {step}" for step in NEXT_STEPS[row.standing.state]))
    elif _may_sign(frame, person):
        _inspect(frame, row, person)
    if st.button("Inspect another item", key=state.widget("inspect", "other"), type="tertiary"):
        st.query_params.clear()
        st.rerun()


def _may_sign(frame: Frame, person: Person) -> bool:
    """The use case refuses others as well; saying so here spares them the work."""
    if person.competent_on(frame.today):
        if person.qualified_until is None:
            st.caption("No end date of your qualification is entered. The set-up screen takes it.")
        return True
    if person.role is Role.COMPETENT_PERSON:
        st.error(
            "**Your qualification has run out.**  \nEnter the new date on the set-up screen, or ask "
            "a competent person.",
            icon=":material/lock:",
        )
    else:
        st.error(
            f"**An inspection in detail is signed by a competent person; you are {person.role.value}.**  \n"
            "Check it before use instead, or put it on hold on the item's page until they have looked.",
            icon=":material/lock:",
        )
    return False


def _inspect(frame: Frame, row: ItemRow, person: Person) -> None:
    named = state.query("corrects")
    former = review.inspection_by_id(named, frame.services).id if named else None
    work = open_work(frame, row, person, InspectionType.PERIODIC, corrects=former)
    _type(work)
    if work.body["corrects"]:
        _corrected(frame, work)
    due = items.due_words(row.standing.next_due, frame.today).capitalize()
    st.caption(f"{due}. A good result sets the next date.")
    flow.show(work, beside_photos=_compare)


def _type(work: Work) -> None:
    key = work.key("type")
    if key not in st.session_state:
        st.session_state[key] = TYPE_WORDS[InspectionType(work.body["type"])]

    def set_type() -> None:
        chosen = _TYPES.get(st.session_state[key])
        if chosen is not None:
            work.keep(lambda body: body.__setitem__("type", chosen.value))

    st.segmented_control("Why now?", list(_TYPES), key=key, on_change=set_type, required=True, width="stretch")


def _corrected(frame: Frame, work: Work) -> None:
    former = review.inspection_by_id(work.body["corrects"], frame.services)
    st.info(
        f"This corrects the {TYPE_WORDS[former.type].lower()} of {former.at:%Y-%m-%d}. The earlier record stays as it "
        "is and points here.",
        icon=":material/edit_note:",
    )


class Former(NamedTuple):
    """An earlier photo of a part, with the inspection it comes from."""

    inspection: Inspection
    photo_id: str


def last_photo_of(component: Component, inspections: tuple[Inspection, ...]) -> Former | None:
    """The newest earlier photo on which that part carries a mark. `inspections` newest first."""
    for inspection in inspections:
        for mark in inspection.marks:
            if mark.component is component:
                return Former(inspection, mark.photo_id)
    return None


def _compare(work: Work) -> None:
    """The photo at hand beside the last photo of the same part."""
    past = review.history(work.item.id, work.frame.services, limit=200)
    seen = components_first(work.item.kind, (*marked(work.body), *with_defect(work.body)))
    found = {c.value: former for c in seen if (former := last_photo_of(c, past.inspections))}
    if not found:
        return
    with st.expander("Compare with the last photo of the same part", icon=":material/compare:", expanded=True):
        name = st.selectbox("Part", list(found), key=work.key("compare"))
        former = found[name]
        now, before = st.columns(2)
        with now:
            _now(work)
        with before:
            st.markdown(f"**{former.inspection.at:%Y-%m-%d}**, {own(past.name_of(former.inspection.by))}")
            pictures.with_marks(work.frame.services, past.photos[former.photo_id], former.inspection.marks)
        over_time.work_box(work, name, past.photos[former.photo_id], former.inspection.marks)


def _now(work: Work) -> None:
    photos = work.body["photos"]
    st.markdown("**Now**")
    if not photos:
        st.caption("Take the photo from the same side as the last one.")
        return
    chosen = work.body["photo"] if work.body["photo"] in photos else photos[-1]
    services = work.frame.services
    st.image(pictures.preview(services, services.place, chosen), width="stretch", alt="The photo taken now")
