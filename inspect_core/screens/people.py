"""Set-up: the people of the site, and where the records lie."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import streamlit as st

from inspect_core.domain.errors import BartackError
from inspect_core.domain.people import Person, Role
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.measuring import card
from inspect_core.screens.parts import who
from inspect_core.screens.parts.errors import show_error
from inspect_core.usecases import review
from inspect_core.usecases.register import add_person


def show(frame: Frame) -> None:
    """Everybody active, one form for a new person, one for a change."""
    st.title("People and set-up")
    st.warning(
        "**There is no sign-in yet.**  \nWhoever opens this address can pick any name: a name on a record shows who "
        "said they did it. Keep the address inside the site's own network.",
        icon=":material/lock_open:",
    )
    here, add = st.columns(2, gap="large")
    with here:
        _here(frame)
    with add:
        _add(frame)
        st.subheader("Where the records lie")
        st.markdown(f"**{plain(frame.services.place)}**")
        st.caption("Copy this folder as a whole to keep a spare of the record.")
        st.subheader("Scale card for photos")
        card.download("people")


def _here(frame: Frame) -> None:
    if frame.person() is None:
        who.ask(frame)
    people = review.people(frame.services)
    st.subheader(f"People ({len(people)})")
    for person in people:
        with st.expander(f"{plain(person.name)}, {person.role.value}"):
            st.markdown(plain(_standing(person, frame.today)))
            _change(frame, person)


def _standing(person: Person, today: date) -> str:
    if person.role is not Role.COMPETENT_PERSON:
        return "Checks gear before use and puts it on hold."
    if person.qualified_until is None:
        return "May sign inspections in detail. No end date of the qualification is entered."
    if person.competent_on(today):
        return f"May sign inspections in detail until {person.qualified_until.isoformat()}."
    return f"The qualification ended on {person.qualified_until.isoformat()}; may not sign."


def _change(frame: Frame, person: Person) -> None:
    with st.form(state.widget("person", person.id), border=False):
        until = st.date_input(
            "Qualified until",
            value=person.qualified_until,
            key=state.widget("person", person.id, "until"),
            format="YYYY-MM-DD",
        )
        active = st.checkbox("Works here", value=person.active, key=state.widget("person", person.id, "active"))
        sent = st.form_submit_button("Keep")
    if sent:
        _store(frame, replace(person, qualified_until=until, active=active))


def _add(frame: Frame) -> None:
    st.subheader("Add a person")
    with st.form(state.widget("person", "new"), clear_on_submit=True):
        name = st.text_input(
            "Name, or the site's code for them", max_chars=80, key=state.widget("person", "new", "name")
        )
        role = st.selectbox("Role", [r.value for r in Role], key=state.widget("person", "new", "role"))
        until = st.date_input(
            "Qualified until (competent person)",
            value=None,
            key=state.widget("person", "new", "until"),
            format="YYYY-MM-DD",
        )
        sent = st.form_submit_button("Add", type="primary", width="stretch")
    if sent:
        try:
            person = Person(frame.services.new_id(), name.strip(), Role(role), until)
        except BartackError as error:
            show_error(error)
            return
        _store(frame, person)


def _store(frame: Frame, person: Person) -> None:
    try:
        add_person(person, frame.services)
    except BartackError as error:
        show_error(error)
        return
    state.tell(f"{person.name} is entered as {person.role.value}.", good=True)
    st.rerun()
