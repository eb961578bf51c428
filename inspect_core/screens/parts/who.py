"""Who works in this session: signed in where the site has sign-in, else a name taken on trust."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from inspect_core.domain.credentials import Actor
from inspect_core.domain.errors import BartackError
from inspect_core.domain.people import Person, Role
from inspect_core.screens import sign_in, state
from inspect_core.screens.frame import Frame, own, person_words
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.speaking import st
from inspect_core.usecases import register, review
from inspect_core.usecases.services import Services

_NEW = "Somebody new"


def with_actor(services: Services) -> Services:
    """The services as this session may use them: with the sign-in that it holds, which the use cases look up."""
    held = state.sign_in()
    server = services.must_sign_in or sign_in.openid_on()
    return replace(services, actor=Actor(*held) if held else None, must_sign_in=server)


def header(frame: Frame, *, home: bool) -> None:
    """The way home, which a phone's folded navigation hides, and the name of whoever works here."""
    person = frame.person()
    locked = frame.locked()
    if person is None and not home and not locked:
        return
    aligned: Literal["distribute", "right"] = "distribute" if home else "right"
    with st.container(
        horizontal=True, wrap=False, vertical_alignment="center", horizontal_alignment=aligned, key="who"
    ):
        if home:
            frame.link("today", "Today", icon=":material/home:", wide=False)
        if person is not None:
            _named(frame, person, locked)
        elif locked:
            frame.link("sign-in", "Sign in", icon=":material/login:", wide=False)


def _named(frame: Frame, person: Person, locked: bool) -> None:
    if locked:
        st.button(
            f"Sign out {own(person.name)}",
            key=state.widget("who", "out"),
            on_click=sign_in.leave,
            args=(frame.services,),
            icon=":material/logout:",
            type="tertiary",
            help="Signed in here. Press when you are done or somebody else takes over.",
        )
        return
    st.button(
        own(person.name),
        key=state.widget("who", "change"),
        on_click=state.set_person,
        args=(None,),
        icon=":material/switch_account:",
        type="tertiary",
        help="Works here now. Press when somebody else takes over.",
    )


def required(frame: Frame) -> Person | None:
    """The person at work, or None after asking who it is."""
    person = frame.person()
    if person is None:
        ask(frame)
    return person


def ask(frame: Frame) -> None:
    """Sign in where the site has sign-in; else pick a name, or enter one with a role. Once per browser session."""
    if frame.locked():
        sign_in.ask(frame)
        return
    st.subheader("Who are you?")
    known = review.people(frame.services)
    labels = {f"{p.name}, {p.role.value}": p.id for p in known}
    choice = _NEW
    if known:
        picked = st.selectbox(
            "Your name",
            [*labels, _NEW],
            index=None,
            placeholder="Pick your name",
            format_func=person_words,
            key=state.widget("who", "pick"),
        )
        if picked is None:
            st.caption("Everything you record carries this name. Nobody is signed in, and records are not signed.")
            return
        choice = picked
    if choice != _NEW:
        state.set_person(labels[choice])
        st.rerun()
    _new_person(frame)


def _new_person(frame: Frame) -> None:
    with st.form(state.widget("who", "new")):
        name = st.text_input("Name, or the site's code for you", max_chars=80, key=state.widget("who", "name"))
        role = st.radio(
            "What you are on this site",
            [role.value for role in Role],
            captions=[
                "Checks gear before use.",
                "Inspects in detail, releases and withdraws.",
                "Looks after records and trends.",
                "Looks after people and set-up.",
            ],
            key=state.widget("who", "role"),
        )
        sent = st.form_submit_button("Start", type="primary", width="stretch")
    if not sent:
        return
    try:
        person = register.person_named(name, Role(role), frame.services)
    except BartackError as error:
        show_error(error)
        return
    if person.role.value != role:
        st.warning(f"{own(person.name)} is entered as {person.role.value} already. Pick the name from the list.")
        return
    state.set_person(person.id)
    st.rerun()
