"""Step 1: what has happened to the gear. One tap where nothing did."""

from __future__ import annotations

from collections.abc import Sequence

from inspect_core.domain.inspection import InspectionType
from inspect_core.screens.speaking import st
from inspect_core.screens.words.events import ELSE, EVENT_WORDS
from inspect_core.screens.work import registered
from inspect_core.screens.work.body import Body
from inspect_core.screens.work.one_fact import ask
from inspect_core.screens.work.session import Work
from inspect_core.usecases.questions import Question, questions

_NOTHING = "Nothing happened"
_SOMETHING = "Something happened"


def asked(work: Work) -> tuple[Question, ...]:
    """What rules of this item weigh and only people know."""
    return questions(work.item, InspectionType(work.body["type"]), work.frame.services)


def show(work: Work) -> None:
    """Ask what happened, what follows from it, and what belongs to no part."""
    all_ = asked(work)
    events = [q for q in all_ if q.event]
    _happened(work, events)
    if work.body["happened"] == _SOMETHING:
        _which(work, events)
        for question in all_:
            if question.follows is not None and work.body["facts"].get(question.follows) is True:
                ask(work, question)
    registered.told(work, None)
    for question in all_:
        if not question.event and question.follows is None and question.component is None:
            ask(work, question)


def _happened(work: Work, events: Sequence[Question]) -> None:
    key = work.key("happened")
    if key not in st.session_state:
        st.session_state[key] = work.body["happened"] or None

    def set_happened() -> None:
        tapped = st.session_state[key]

        def change(body: Body) -> None:
            body["happened"] = tapped or ""
            body["facts"] = {
                fact: value for fact, value in body["facts"].items() if not _belongs(fact, events, asked(work))
            }
            if tapped == _NOTHING:
                body["facts"] |= dict.fromkeys((q.fact for q in events), False)

        work.keep(change)

    before_use = work.body["type"] == InspectionType.BEFORE_USE.value
    st.segmented_control(
        f"Has anything happened to it since the last {'check' if before_use else 'inspection'}?",
        [_NOTHING, _SOMETHING],
        key=key,
        on_change=set_happened,
        width="stretch",
    )
    names = [EVENT_WORDS[q.fact].lower() for q in events if q.fact in EVENT_WORDS]
    if names:
        st.caption("Such as: " + "; ".join(names) + ".")


def _belongs(fact: str, events: Sequence[Question], all_: Sequence[Question]) -> bool:
    return any(q.fact == fact for q in events) or any(q.fact == fact and q.follows for q in all_)


def _which(work: Work, events: Sequence[Question]) -> None:
    key = work.key("which")
    words = {EVENT_WORDS.get(q.fact, q.fact): q.fact for q in events}
    if key not in st.session_state:
        st.session_state[key] = [w for w, fact in words.items() if work.body["facts"].get(fact) is True]

    def set_which() -> None:
        tapped = set(st.session_state[key])
        named = tapped - {ELSE}

        def change(body: Body) -> None:
            for word, fact in words.items():
                body["facts"].pop(fact, None)
                if named:
                    body["facts"][fact] = word in tapped

        work.keep(change)

    st.pills("What happened?", [*words, ELSE], selection_mode="multi", key=key, on_change=set_which)
    if ELSE in st.session_state[key]:
        st.warning(
            "**Bartack has no rule for something else, so it cannot clear it.**  \nPut the item on hold on its own "
            "page, write there what happened, and let a competent person look.",
            icon=":material/front_hand:",
        )
        work.frame.link("item", "Put it on hold", icon=":material/front_hand:", tag=work.item.tag)
