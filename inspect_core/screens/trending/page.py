"""The question, the gear and period it is asked of, and the answer below."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from inspect_core.screens import state
from inspect_core.screens.frame import Frame
from inspect_core.screens.speaking import st, tongue
from inspect_core.screens.trending import agrees, coming, filters, lasts, often, prevents, spent, where, why
from inspect_core.usecases.trends_figures import QUESTIONS
from inspect_core.usecases.trends_report import page_report
from inspect_core.usecases.trends_scope import Scope

#: What draws an answer, by the question's short name; it returns how the answer was split.
_ANSWERS: Mapping[str, Callable[[Frame, Scope], str]] = {
    "why": why.show,
    "life": lasts.show,
    "rates": often.show,
    "where": where.show,
    "prevent": prevents.show,
    "agree": agrees.show,
    "spending": spent.show,
    "coming": coming.show,
}


def show(frame: Frame) -> None:
    """`?ask=life` in the address opens with that question; `kind`, `model`, `site`, `since`, `until`, `change` and
    `by` narrow and split it."""
    st.title("Trends")
    asked = state.query("ask") or ""
    key = state.begin_with(state.widget("trends", "question"), asked if asked in QUESTIONS else "why")
    name = str(st.selectbox("Question", list(QUESTIONS), format_func=lambda one: QUESTIONS[str(one)].words, key=key))
    scope = filters.scope(frame)
    st.header(QUESTIONS[name].words)
    by = _ANSWERS[name](frame, scope)
    state.share_address({"ask": name, **filters.address(scope), "by": by})
    _report(frame, scope)
    st.caption(
        "A trend describes gear that was looked at. It decides about no item, and it names no cause: the cause of one "
        "withdrawal is what a competent person found out about it."
    )


def _report(frame: Frame, scope: Scope) -> None:
    person, spoken = frame.person(), tongue()
    st.subheader("Take it away")
    st.markdown(
        "Every question for this gear and period, with a summary, as one paper. The page's address opens it again."
    )
    st.download_button(
        "All questions as a report (PDF)",
        lambda: page_report(frame.services, scope, person, spoken),
        file_name=f"trends-{frame.today.isoformat()}.pdf",
        mime="application/pdf",
        key=state.widget("trend report"),
        on_click="ignore",
        icon=":material/description:",
        width="stretch",
    )
