"""The question, the gear and period it is asked of, and the answer below."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import timedelta

import streamlit as st

from inspect_core.domain.gear import Kind
from inspect_core.screens import state
from inspect_core.screens.frame import Frame
from inspect_core.screens.trending import coming, lasts, often, prevents, spent, where, why
from inspect_core.usecases.review import sites
from inspect_core.usecases.trends_scope import Scope

_PERIODS = {"Everything": None, "Last 12 months": 365, "Last 3 years": 3 * 365}
#: Short name in the address, question, answer.
_QUESTIONS: Mapping[str, tuple[str, Callable[[Frame, Scope], None]]] = {
    "why": ("Why is gear withdrawn?", why.show),
    "life": ("How long does gear last?", lasts.show),
    "rates": ("How often is damage found?", often.show),
    "where": ("Where does damage happen?", where.show),
    "prevent": ("What prevents it?", prevents.show),
    "spending": ("What does it cost?", spent.show),
    "coming": ("What is coming?", coming.show),
}


def show(frame: Frame) -> None:
    """`?ask=life` in the address opens with that question."""
    st.title("Trends")
    names = list(_QUESTIONS)
    asked = state.query("ask") or ""
    name = st.selectbox(
        "Question",
        names,
        index=names.index(asked) if asked in _QUESTIONS else 0,
        format_func=lambda one: _QUESTIONS[str(one)][0],
        key=state.widget("trends", "question"),
    )
    scope = _scope(frame)
    question, answer = _QUESTIONS[str(name)]
    st.header(question)
    answer(frame, scope)
    st.caption(
        "A trend describes gear that was looked at. It decides about no item, and it names no cause: the cause of one "
        "withdrawal is what a competent person found out about it."
    )


def _scope(frame: Frame) -> Scope:
    with st.expander("Which gear and which period", icon=":material/filter_alt:"):
        one, two, three = st.columns(3)
        period = one.selectbox("Period", list(_PERIODS), key=state.widget("trends", "period"))
        kind = two.selectbox(
            "Kind", [k.value for k in Kind], index=None, placeholder="Every kind", key=state.widget("trends", "kind")
        )
        site = three.selectbox(
            "Site", sites(frame.services), index=None, placeholder="Every site", key=state.widget("trends", "site")
        )
    days = _PERIODS[period]
    since = frame.today - timedelta(days=days) if days else None
    return Scope(Kind(kind) if kind else None, site, since)
