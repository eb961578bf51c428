"""What the register says of the gear at hand: told where it would be asked; answers it contradicts are taken back."""

from __future__ import annotations

from inspect_core.domain.gear import Component
from inspect_core.screens.frame import plain
from inspect_core.screens.speaking import st
from inspect_core.screens.work.body import facts_of
from inspect_core.screens.work.session import Work
from inspect_core.usecases.questions import contradictions, registered_at


def told(work: Work, component: Component | None) -> None:
    """Lasting facts are registered once and not asked again; whoever has the gear in hand compares them."""
    known = registered_at(work.item, component)
    if known:
        facts = "; ".join(f"{name}: {_words(value)}" for name, value in known)
        st.caption(f"On the register: {plain(facts)}. Does the gear say otherwise? Then have the register corrected.")


def contradicted(work: Work) -> None:
    """Answers given before the register was corrected: they stop the recording, so each can be taken back here."""
    for one in contradictions(facts_of(work.body), work.item):
        fact = one.fact

        def take_back(fact: str = fact) -> None:
            st.session_state.pop(work.key("fact", fact), None)
            work.keep(lambda body: body["facts"].pop(fact, None))

        with st.container(border=True):
            st.warning(
                f"**The register says otherwise: {plain(fact)}.**  \nIt says “{plain(_words(one.registered))}”, the "
                f"answer here was “{plain(_words(one.answered))}”. Look at the gear: if the register is right, take "
                "the answer back; if it is wrong, have it corrected first.",
                icon=":material/edit_note:",
            )
            st.button(
                f"Take back this answer: {fact}",
                key=work.key("take back", fact),
                on_click=take_back,
                width="stretch",
                icon=":material/undo:",
            )
            work.frame.link("item", "Open the register entry", icon=":material/history:", tag=work.item.tag)


def _words(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)
