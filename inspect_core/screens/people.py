"""Set-up: the people of the site and their PINs, what the site decides for everybody, where the records lie."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from inspect_core.domain.access import Action, may
from inspect_core.domain.credentials import Lasting
from inspect_core.domain.errors import BartackError
from inspect_core.domain.people import Person, Role
from inspect_core.screens import sign_in, state
from inspect_core.screens.frame import Frame, own, plain
from inspect_core.screens.measuring import card
from inspect_core.screens.parts import pin, who
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.speaking import st
from inspect_core.usecases import privacy, review, site_settings
from inspect_core.usecases import sign_in as use
from inspect_core.usecases.register import add_person

_DOES = {
    Role.WORKER: "Checks gear before use and puts it on hold.",
    Role.COMPETENT_PERSON: "",
    Role.MANAGER: "Looks after people, kits, settings and trends; witnesses and records destruction.",
    Role.ADMINISTRATOR: "Looks after people, PINs, settings and the record as a whole.",
}


def show(frame: Frame) -> None:
    """Everybody active, one form for a new person, one for a change, and the site's settings."""
    st.title("People and set-up")
    locked = frame.locked()
    person = frame.person()
    if not locked:
        _open(frame)
    here, add = st.columns(2, gap="large")
    with here:
        if person is None:
            who.ask(frame)
        elif locked and not sign_in.openid_on():
            frame.link("sign-in", "Change your PIN", icon=":material/key:")
        _here(frame, person, locked)
    with add:
        if not locked or (person is not None and may(person, Action.ADD_PERSON, frame.today)):
            _add(frame, person, locked)
        _settings(frame, person)
        st.subheader("Where the records lie")
        st.markdown(f"**{plain(frame.services.place)}**")
        st.caption("Copy this folder as a whole to keep a spare of the record.")
        st.subheader("Scale card for photos")
        card.download("people")


def _open(frame: Frame) -> None:
    st.warning(
        "**Nobody is signed in here.**  \nWhoever opens this address can pick any name: a name on a record shows who "
        "said they did it, and records are not signed. Keep the address inside the site's own network, or turn sign-in "
        "on.",
        icon=":material/lock_open:",
    )
    with st.expander("Turn sign-in on", icon=":material/key:"):
        st.markdown(
            "Give the first administrator's name and PIN. From then on everybody who records anything signs in, and "
            "inspections in detail, releases, withdrawals and destructions are signed by the PIN. It cannot be turned "
            "off again."
        )
        sign_in.first_administrator(frame)


def _here(frame: Frame, by: Person | None, locked: bool) -> None:
    people = review.people(frame.services)
    have = use.with_pin(frame.services) if locked else frozenset()
    out = use.locked_out(frame.services) if locked else frozenset()
    st.subheader(f"People ({len(people)})")
    for person in people:
        with st.expander(f"{own(person.name)}, {person.role.value}"):
            st.markdown(plain(_standing(person, frame.today)))
            if locked:
                st.markdown(_pin_words(person, have, out))
            if not locked or (by is not None and may(by, Action.CHANGE_PERSON, frame.today)):
                _change(frame, person, by, locked)
            if locked and by is not None and by.id != person.id and may(by, Action.RESET_PIN, frame.today):
                _give(frame, person, by)
            if by is not None and not person.coded and may(by, Action.CODE_NAME, frame.today):
                _code(frame, person, by)


def _pin_words(person: Person, have: frozenset[str], out: frozenset[str]) -> str:
    if person.id in out:
        return "**The PIN is locked after wrong guesses.** Giving a new one ends the lock."
    return "Has a PIN." if person.id in have else "Has no PIN yet, so cannot sign in."


def _standing(person: Person, today: date) -> str:
    if person.role is not Role.COMPETENT_PERSON:
        return _DOES[person.role]
    if person.qualified_until is None:
        return "May sign inspections in detail. No end date of the qualification is entered."
    if person.competent_on(today):
        return f"May sign inspections in detail until {person.qualified_until.isoformat()}."
    return f"The qualification ended on {person.qualified_until.isoformat()}; may not sign."


def _change(frame: Frame, person: Person, by: Person | None, locked: bool) -> None:
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
        _store(frame, replace(person, qualified_until=until, active=active), by, locked)


def _give(frame: Frame, person: Person, by: Person) -> None:
    name = f"give {person.id}"
    pin.kind(name)
    with st.form(state.widget("give pin", person.id), border=False, clear_on_submit=True):
        typed = pin.box(name, "to give", new=True)
        st.caption("Tell it to them in private. It lets them in once; then they choose their own.")
        sent = st.form_submit_button("Give this PIN", icon=":material/key:")
    if not sent:
        return
    try:
        use.give_pin(person.id, typed, by.id, frame.services)
    except BartackError as error:
        show_error(error)
        return
    state.tell(f"{person.name} has a new PIN.", "They choose their own when they sign in.", good=True)
    st.rerun()


def _code(frame: Frame, person: Person, by: Person) -> None:
    with st.popover("Replace this name by a code", icon=":material/visibility_off:"):
        st.markdown(
            "The name vanishes from lists, search, papers and exports made from now on, and from the store. The record "
            "and its account stay whole. It cannot be taken back."
        )
        st.caption(privacy.UNTOUCHED)
        with st.form(state.widget("code", person.id), border=False):
            code = st.text_input(
                "Code", max_chars=80, placeholder="such as P-17", key=state.widget("code", person.id, "word")
            )
            sent = st.form_submit_button("Replace the name for good", type="primary")
        if not sent:
            return
        try:
            coded = privacy.code_name(person.id, code, by.id, frame.services)
        except BartackError as error:
            show_error(error)
            return
        left = ""
        if coded.in_clear:
            numbers = ", ".join(map(str, coded.in_clear))
            left = f" Entries of the account written by an older version still hold the name: {numbers}."
        if coded.witnessed:
            left += f" So do {coded.witnessed} old records of a destruction, as the witness."
        state.tell(f"The name is replaced by {coded.person.name}.", privacy.UNTOUCHED + left, good=True)
        st.rerun()


def _add(frame: Frame, by: Person | None, locked: bool) -> None:
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
        _store(frame, person, by, locked)
    if locked:
        st.caption("Then open them in the list, and give them a first PIN.")


def _store(frame: Frame, person: Person, by: Person | None, locked: bool) -> None:
    try:
        add_person(person, frame.services, by=by.id if by is not None and locked else None)
    except BartackError as error:
        show_error(error)
        return
    state.tell(f"{person.name} is entered as {person.role.value}.", good=True)
    st.rerun()


def _settings(frame: Frame, by: Person | None) -> None:
    two, lasting = site_settings.shown(frame.services)
    st.subheader("What this site decides")
    if by is None or not may(by, Action.SETTINGS, frame.today):
        st.markdown(
            f"Two-person release: **{'on' if two else 'off'}**.  \nA sign-in lasts {lasting.hours} hours, "
            f"{lasting.idle_minutes} minutes without use."
        )
        st.caption("A manager or an administrator changes this.")
        return
    with st.form(state.widget("site settings")):
        wanted = st.checkbox("A second competent person releases held gear", value=two, key=state.widget("site", "two"))
        st.caption("Then neither the inspection nor the release may be by whoever raised the hold.")
        hours = st.number_input("A sign-in lasts (hours)", 1, 24, lasting.hours, key=state.widget("site", "hours"))
        idle = st.number_input(
            "It ends without use (minutes)", 1, 480, lasting.idle_minutes, key=state.widget("site", "idle")
        )
        shared = st.number_input(
            "On a shared phone (minutes)", 1, 480, lasting.shared_minutes, key=state.widget("site", "shared")
        )
        sent = st.form_submit_button("Keep")
    if not sent:
        return
    try:
        site_settings.set_two_persons(wanted, by.id, frame.services)
        site_settings.set_lasting(Lasting(int(hours), int(idle), int(shared)), by.id, frame.services)
    except BartackError as error:
        show_error(error)
        return
    state.tell("Kept, and written in the account.", good=True)
    st.rerun()
