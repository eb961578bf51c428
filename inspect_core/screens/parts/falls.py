"""The quick way to say that a fall was arrested: everything worn together goes on hold at once."""

from __future__ import annotations

from inspect_core.domain.errors import BartackError
from inspect_core.domain.gear import Item
from inspect_core.domain.people import Person
from inspect_core.screens import state
from inspect_core.screens.frame import Frame
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.speaking import st
from inspect_core.usecases.falls import ReportFall, report_fall


def report(frame: Frame, person: Person, item: Item) -> None:
    """A form with one button; anybody may press it."""
    name = f"fall {item.id}"
    with st.expander("A fall was arrested", icon=":material/warning:", key=state.widget("fall", "box", item.id)):
        st.caption("Puts this item and everything worn with it on hold at once, until a competent person has looked.")
        with st.form(state.widget("fall", item.id), border=False):
            on = st.date_input(
                "Day of the fall (empty if not certain)",
                value=None,
                max_value=frame.services.today(),
                key=state.widget("fall", item.id, "on"),
                help="Left empty, everything worn with it since it was last found fit in detail is put on hold.",
            )
            said = st.text_input(
                "What happened (may stay empty)", max_chars=300, key=state.widget("fall", item.id, "said")
            )
            sent = st.form_submit_button("Put all of it on hold", type="primary", width="stretch")
        if not sent:
            return
        try:
            event = state.once(name, frame.services.new_id())
            held = report_fall(ReportFall(event, item.id, person.id, said, on), frame.services)
        except BartackError as error:
            show_error(error)
            return
        state.used(name)
        words = ", ".join(held) if held else "nothing: it is withdrawn already"
        state.tell(f"On hold: {words}.", "Take all of it out of use now, and tell a competent person.")
        st.rerun()
