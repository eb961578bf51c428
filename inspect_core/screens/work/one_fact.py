"""One fact asked: by yes or no, a number with its unit, a word of a list, or a date. Left open means not known."""

from __future__ import annotations

from datetime import date
from typing import Any

from inspect_core.reports import wording
from inspect_core.screens.speaking import st
from inspect_core.screens.words.events import QUESTION_WORDS
from inspect_core.screens.work.body import Body
from inspect_core.screens.work.session import Work
from inspect_core.usecases.questions import Question

_YES, _NO = "Yes", "No"
_UNKNOWN = "Not known"


def ask(work: Work, question: Question) -> None:
    """Draw the question; its answer goes into the work at once."""
    key = work.key("fact", question.fact)
    words = QUESTION_WORDS.get(question.fact, question.meaning)
    known: Any = work.body["facts"].get(question.fact)

    def answered() -> None:
        value = st.session_state[key]

        def change(body: Body) -> None:
            body["facts"].pop(question.fact, None)
            if value in (_YES, _NO):
                body["facts"][question.fact] = value == _YES
            elif isinstance(value, date):
                body["facts"][question.fact] = {"date": value.isoformat()}
            elif value is not None and value != "":
                body["facts"][question.fact] = value

        work.keep(change)

    if question.type == "yes or no":
        _seed(key, None if known is None else _YES if known else _NO)
        st.segmented_control(words, [_YES, _NO], key=key, on_change=answered, width="stretch")
    elif question.type == "word":
        _seed(key, known)
        st.selectbox(words, question.values, index=None, key=key, placeholder=_UNKNOWN, on_change=answered)
    elif question.type == "number":
        _seed(key, known)
        st.number_input(
            f"{words} ({wording.unit_word(question.unit or '')})",
            value=None,
            min_value=question.lowest,
            max_value=question.highest,
            key=key,
            placeholder=_UNKNOWN,
            on_change=answered,
        )
    else:
        _seed(key, date.fromisoformat(known["date"]) if known else None)
        st.date_input(
            words,
            value=None,
            key=key,
            on_change=answered,
            max_value=work.frame.today,
            format="YYYY-MM-DD",
        )


def _seed(key: str, value: object) -> None:
    """The widget starts from the work; afterwards it keeps its own value for as long as it is drawn."""
    if key not in st.session_state:
        st.session_state[key] = value
