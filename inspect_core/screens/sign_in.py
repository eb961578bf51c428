"""Signing in: a name and a PIN, or the server's own sign-in; choosing a PIN of one's own; turning sign-in on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inspect_core.domain.credentials import LEAST_DIGITS, LEAST_LETTERS
from inspect_core.domain.errors import BadInput, BartackError
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, own, person_words
from inspect_core.screens.parts import pin
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.speaking import st
from inspect_core.usecases import openid, review
from inspect_core.usecases import sign_in as use
from inspect_core.usecases.services import Services

_TYPED = "My name is not in this list"
RULES = f"A PIN has at least {LEAST_DIGITS} digits, a pass phrase at least {LEAST_LETTERS} characters."


def show(frame: Frame) -> None:
    """The page of its own, reached from the header."""
    st.title("Sign in")
    person = frame.person()
    if not frame.locked():
        st.info("This site has no sign-in yet: whoever opens it picks a name. It is turned on under People.")
        frame.link("people", "People and set-up", icon=":material/group:")
        return
    if person is None:
        ask(frame)
        return
    st.success(f"**Signed in as {own(person.name)}**, {person.role.value}.", icon=":material/check:")
    frame.link("today", "Go to Today", icon=":material/home:")
    own_pin(frame, person.id)


def ask(frame: Frame) -> None:
    """Name and PIN. Nothing typed here is kept."""
    st.subheader("Who are you?")
    if openid_on():
        _server(frame)
        return
    have = use.with_pin(frame.services)
    labels = {f"{p.name}, {p.role.value}": p.id for p in review.people(frame.services) if p.id in have}
    picked = st.selectbox(
        "Your name",
        [*labels, _TYPED],
        index=None,
        placeholder="Pick your name",
        format_func=person_words,
        key=state.widget("sign in", "name"),
    )
    if picked is None:
        st.caption("Whoever signs in acts under this name only. Looking needs no sign-in.")
        return
    name = ""
    if picked == _TYPED:
        name = st.text_input("Name", max_chars=80, key=state.widget("sign in", "typed"))
        st.caption("An administrator or manager enters you under People, and gives you a first PIN.")
    pin.kind("sign in")
    with st.form(state.widget("sign in", "form"), border=False, clear_on_submit=True):
        typed = pin.box("sign in")
        shared = st.checkbox(
            "Several people use this phone", key=state.widget("sign in", "shared"), help="It signs you out sooner."
        )
        sent = st.form_submit_button("Sign in", type="primary", width="stretch", icon=":material/login:")
    if sent:
        _sign_in(frame, labels.get(picked, name), typed, shared)


def _sign_in(frame: Frame, name: str, typed: str, shared: bool) -> None:
    try:
        signed = use.sign_in(name, typed, frame.services, shared=shared)
    except BartackError as error:
        show_error(error)
        return
    keep(signed)
    if signed.given:
        frame.go("sign-in")
    st.rerun()


def keep(signed: use.SignedIn) -> None:
    """The session learns who signed in and the number that proves it; what was typed is thrown away."""
    state.set_sign_in(signed.actor.person_id, signed.actor.token)


def leave(services: Services) -> None:
    """Sign out; as a callback."""
    use.sign_out(services)
    state.set_sign_in(None)
    state.set_person(None)
    state.drop_work()
    if openid_on() and _claims() is not None:
        st.logout()


def own_pin(frame: Frame, person_id: str) -> None:
    """Choosing one's own PIN; asked for at once where somebody else gave it."""
    must = use.must_choose(frame.services)
    first = person_id not in use.with_pin(frame.services)
    st.subheader("Your PIN")
    if must:
        st.warning(
            "**This PIN was given to you.** Choose your own before you sign anything: somebody else knows this one.",
            icon=":material/key:",
        )
    pin.kind("own")
    with st.form(state.widget("own pin"), border=False, clear_on_submit=True):
        current = "" if first else pin.box("own current", "you have now")
        fresh = pin.box("own new", "from now on", new=True)
        again = pin.box("own again", "once more", new=True)
        st.caption(RULES + " Obvious ones are refused.")
        sent = st.form_submit_button("Keep the new one", width="stretch", icon=":material/key:")
    if not sent:
        return
    try:
        if fresh != again:
            raise BadInput("The two new ones differ.", "Type the same one twice.")
        use.choose_pin(person_id, None if first else current, fresh, frame.services)
    except BartackError as error:
        show_error(error)
        return
    state.tell("Your new PIN counts from now on.", good=True)
    st.rerun()


def first_administrator(frame: Frame, name: str = "") -> None:
    """Name and PIN of the first administrator, which turns sign-in on."""
    pin.kind("first")
    with st.form(state.widget("first"), clear_on_submit=True):
        typed_name = st.text_input(
            "Your name, or the site's code for you", value=name, max_chars=80, key=state.widget("first", "name")
        )
        fresh = pin.box("first new", "you choose", new=True)
        again = pin.box("first again", "once more", new=True)
        st.caption(RULES)
        sent = st.form_submit_button("Start with sign-in", type="primary", width="stretch", icon=":material/key:")
    if not sent:
        return
    try:
        if fresh != again:
            raise BadInput("The two differ.", "Type the same one twice.")
        keep(use.begin_locked(typed_name, fresh, frame.services))
    except BartackError as error:
        show_error(error)
        return
    state.tell(
        "This site has sign-in now, and you are its administrator.",
        "Enter the others under People and give each a first PIN. Make one more person administrator: nobody else "
        "can help when a PIN is forgotten.",
        good=True,
    )
    st.rerun()


# The server's own sign-in (OpenID Connect) --------------------------------------------------------------------------


def openid_on() -> bool:
    """Whether the server's secrets name an OpenID Connect provider."""
    return "auth" in _secrets()


def _secrets() -> Mapping[str, Any]:
    return st.secrets.to_dict() if st.secrets.load_if_toml_exists() else {}


def _claims() -> dict[str, Any] | None:
    """What the provider says of whoever is signed in there, None where nobody is."""
    claims = st.user.to_dict()
    return claims if claims.get("is_logged_in") else None


def take_claims(services: Services) -> None:
    """Begin a sign-in here for somebody whom the provider vouches for; nothing where one lasts already."""
    if not openid_on() or state.sign_in() is not None:
        return
    claims = _claims()
    if claims is None or openid.over(claims, services.clock.now()):
        return
    signed = openid.sign_in_by_claims(claims, openid.rules_from(_secrets().get("bartack", {})), services)
    if signed is not None:
        keep(signed)


def _server(frame: Frame) -> None:
    claims = _claims()
    if claims is not None and state.sign_in() is None and not openid.over(claims, frame.services.clock.now()):
        st.info(
            "**You are known to the server, but hold no role here.**  \nYou may look at everything and write nothing. "
            "Ask whoever runs Bartack here to give you a role.",
            icon=":material/visibility:",
        )
        return
    st.button("Sign in", key=state.widget("sign in", "server"), on_click=st.login, type="primary", width="stretch")
    st.caption("Looking needs no sign-in; everything that is recorded does.")
