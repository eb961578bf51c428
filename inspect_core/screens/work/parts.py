"""Step 2: the components one after another. Nothing is answered in advance, and there is no answer for all at once."""

from __future__ import annotations

from collections.abc import Sequence

from inspect_core.domain.decision import Answer
from inspect_core.domain.gear import Component, components_of
from inspect_core.screens.frame import plain
from inspect_core.screens.speaking import st
from inspect_core.screens.words.choices import ANSWER_WORDS, answers_for
from inspect_core.screens.words.hints import HINTS, PRACTICE
from inspect_core.screens.work import facts, registered
from inspect_core.screens.work.body import Body, answered
from inspect_core.screens.work.one_fact import ask
from inspect_core.screens.work.session import Work
from inspect_core.usecases.questions import Question


def show(work: Work) -> None:
    """A large choice row per component."""
    _rows(work)
    with st.expander("Where these hints come from"):
        for component in components_of(work.item.kind):
            st.markdown(f"- {component.value}: {plain(HINTS[component].source)}")
        st.caption(f"“{PRACTICE}” means that no published list we have seen says it. The maker's list comes first.")


@st.fragment
def _rows(work: Work) -> None:
    components = components_of(work.item.kind)
    done = answered(work.body, work.item)
    st.progress(done / len(components), text=f"{done} of {len(components)} parts answered")
    trials = facts.asked(work)
    for component in components:
        _row(work, component, [q for q in trials if q.component is component])


def _row(work: Work, component: Component, here: Sequence[Question]) -> None:
    key = work.key("answer", component.value)
    words = {ANSWER_WORDS[a]: a for a in answers_for(work.item.kind, component)}
    if key not in st.session_state:
        known = work.body["answers"].get(component.value)
        st.session_state[key] = ANSWER_WORDS[Answer(known)] if known else None

    def set_answer() -> None:
        tapped = st.session_state[key]

        def change(body: Body) -> None:
            body["answers"].pop(component.value, None)
            if tapped:
                body["answers"][component.value] = words[tapped].value

        work.keep(change)

    with st.container(border=True):
        st.segmented_control(
            f"**{component.value[0].upper()}{component.value[1:]}**  \n{HINTS[component].look}",
            list(words),
            key=key,
            on_change=set_answer,
            width="stretch",
        )
        if st.session_state[key] != ANSWER_WORDS[Answer.ABSENT]:
            registered.told(work, component)
            for question in here:
                ask(work, question)
        if st.session_state[key] in (ANSWER_WORDS[Answer.DEFECT], ANSWER_WORDS[Answer.UNSEEN]):
            _note(work, component)


def _note(work: Work, component: Component) -> None:
    key = work.key("note", component.value)
    if key not in st.session_state:
        st.session_state[key] = work.body["notes"].get(component.value, "")

    def set_note() -> None:
        text = st.session_state[key]
        work.keep(lambda body: body["notes"].__setitem__(component.value, text))

    st.text_input(f"What about the {component.value}? (may stay empty)", key=key, max_chars=300, on_change=set_note)
