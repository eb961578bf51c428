"""Every rule that decides here: where it comes from, what that is worth, and since when it holds."""

from __future__ import annotations

from typing import Any

from inspect_core.domain.decision import Basis
from inspect_core.domain.gear import Kind
from inspect_core.domain.marks import Category
from inspect_core.reports import wording
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.parts import past
from inspect_core.screens.parts.findings import BASIS_WORDS
from inspect_core.screens.speaking import inside, st

_PAGE = 25


def show(frame: Frame) -> None:
    """The rule set, filtered."""
    st.title("Rules")
    rules = frame.services.rules
    st.markdown(
        f"Rule set **{plain(rules.version)}**, {wording.count(len(rules.rules), 'rule')}. Its digest, which stands "
        f"on every certificate: `{rules.digest}`"
    )
    st.caption("A maker's own limits, entered with an item, count beside these. No rule here is invented by us.")
    past.show(frame)
    chosen = _filters()
    found = [rule for rule in rules.rules if _fits(rule, *chosen)]
    shown = found[: _PAGE * state.page_number("rules")]
    st.caption(f"Showing {len(shown)} of {wording.count(len(found), 'rule')}.")
    for rule in shown:
        _rule(rule)
    if len(shown) < len(found):
        st.button(
            "Show more", key=state.widget("rules", "more"), on_click=state.more_pages, args=("rules",), width="stretch"
        )


def _filters() -> tuple[str, str | None, str | None, str | None]:
    text = st.text_input(
        "Words",
        max_chars=200,
        placeholder="part of a rule or a source",
        type="search",
        key=state.widget("rules", "text"),
    )
    one, two, three = st.columns(3)
    kind = inside(one).selectbox(
        "Kind", [k.value for k in Kind], index=None, placeholder="Every kind", key=state.widget("rules", "kind")
    )
    category = inside(two).selectbox(
        "Mark", [c.value for c in Category], index=None, placeholder="Every mark", key=state.widget("rules", "category")
    )
    basis = inside(three).selectbox(
        "Basis", [b.value for b in Basis], index=None, placeholder="Every basis", key=state.widget("rules", "basis")
    )
    return text or "", kind, category, basis


def _fits(rule: Any, text: str, kind: str | None, category: str | None, basis: str | None) -> bool:
    words = " ".join((rule.id, rule.title, rule.reason, rule.citation)).casefold()
    return (
        all(word in words for word in text.casefold().split())
        and (kind is None or rule.for_kind(Kind(kind)))
        and (category is None or Category(category) in rule.categories)
        and (basis is None or rule.basis.value == basis)
    )


def _rule(rule: Any) -> None:
    with st.container(border=True):
        st.markdown(f"**{plain(rule.title)}**")
        st.markdown(plain(rule.reason))
        limit = _limit(rule)
        st.markdown(plain(" ".join(filter(None, (f"Outcome: {rule.outcome.value}.", limit)))))
        st.caption(plain(_origin(rule)))


def _limit(rule: Any) -> str:
    if rule.measure is None or rule.met is None:
        return ""
    if rule.limit is None:
        return f"When {rule.measure} is {rule.met.value} the {rule.limit_fact}." if rule.limit_fact else ""
    limit = wording.quantity(rule.limit, rule.unit) if isinstance(rule.limit, int | float) else str(rule.limit)
    return f"When {rule.measure} is {rule.met.value} {limit}."


def _origin(rule: Any) -> str:
    place = "everywhere" if "common" in rule.profiles else ", ".join(rule.profiles)
    dates = ""
    if rule.first_day or rule.last_day:
        dates = f" In force from {rule.first_day or 'the start'} to {rule.last_day or 'today and on'}."
    analogue = " Written for lifting gear, used as an analogue." if rule.analogue else ""
    return (
        f"Source: {rule.citation}. Basis: {BASIS_WORDS[rule.basis]}. Applies {place}.{dates}{analogue} Rule {rule.id}."
    )
