"""The choice of a language, at the foot of every screen, kept for whoever works here."""

from __future__ import annotations

from inspect_core.languages import OFFERED
from inspect_core.screens import speaking, state
from inspect_core.screens.frame import Frame
from inspect_core.screens.speaking import st
from inspect_core.usecases import reading_language

#: How an incomplete language says so, in its own words.
_IN_PART = {"es": "en parte"}


def begin(frame: Frame) -> None:
    """Speak the language that the person at work chose last, once for each person in a session."""
    signed = state.sign_in()
    person_id = signed[0] if signed else state.person_id()
    if person_id is None or not speaking.is_new(person_id):
        return
    kept = reading_language.of(person_id, frame.services)
    if kept is not None and kept != speaking.tongue().code:
        speaking.choose(kept)
        st.rerun()


def switch(frame: Frame) -> None:
    """The other languages, each by its own name; one that is not complete says so."""
    spoken = speaking.tongue()
    if not spoken.complete:
        st.caption("Only a part of Bartack speaks this language yet; the rest stays English.")
    with st.container(horizontal=True, gap="small", key="languages"):
        for one in OFFERED:
            if one != spoken:
                st.button(
                    one.name if one.complete else f"{one.name} ({_IN_PART[one.code]})",
                    key=state.widget("language", one.code),
                    on_click=_choose,
                    args=(frame, one.code),
                    type="tertiary",
                    icon=":material/translate:",
                )


def _choose(frame: Frame, code: str) -> None:
    speaking.choose(code)
    person = frame.person()
    if person is not None:
        reading_language.keep(person.id, code, frame.services)
