"""Search across every item and inspection; results come with their picture."""

from __future__ import annotations

import streamlit as st

from inspect_core.domain.custody import State
from inspect_core.domain.decision import Outcome
from inspect_core.domain.gear import Kind
from inspect_core.domain.marks import Category
from inspect_core.domain.record import SearchHit
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.parts import items
from inspect_core.screens.parts.sign import PAST_HEADLINES
from inspect_core.usecases import search
from inspect_core.usecases.review import sites


def show(frame: Frame) -> None:
    """Text and filters; hits one page at a time."""
    st.title("Search")
    query = _query(frame)
    name = f"search {query}"
    hits: list[SearchHit] = []
    after: str | None = None
    for _ in range(state.page_number(name)):
        page = search.search(query, frame.services, limit=20, after=after)
        hits += page.hits
        after = page.after
        if after is None:
            break
    if not hits:
        st.markdown("Nothing fits. Use fewer words, or take a filter off.")
    for place, hit in enumerate(hits):
        _hit(frame, place, hit, searched=bool(query.text.strip()))
    if after is not None:
        st.button(
            "Show more", key=state.widget("search", "more"), on_click=state.more_pages, args=(name,), width="stretch"
        )


def _query(frame: Frame) -> search.Query:
    text = st.text_input(
        "What to look for",
        placeholder="tag, maker, words of a finding or a note",
        max_chars=search.MOST_LETTERS,
        type="search",
        key=state.widget("search", "text"),
    )
    with st.expander("Filters", icon=":material/filter_list:"):
        left, right = st.columns(2)
        kinds = left.multiselect("Kind", [k.value for k in Kind], key=state.widget("search", "kinds"))
        states = right.multiselect("Stands", [s.value for s in State], key=state.widget("search", "states"))
        categories = left.multiselect("Mark", [c.value for c in Category], key=state.widget("search", "categories"))
        outcomes = right.multiselect("Outcome", [o.value for o in Outcome], key=state.widget("search", "outcomes"))
        places = left.multiselect("Site", sites(frame.services), key=state.widget("search", "sites"))
        since = right.date_input("From", value=None, key=state.widget("search", "since"), format="YYYY-MM-DD")
        until = right.date_input("To", value=None, key=state.widget("search", "until"), format="YYYY-MM-DD")
    return search.Query(
        text=text or "",
        kinds=tuple(map(Kind, kinds)),
        sites=tuple(places),
        states=tuple(map(State, states)),
        categories=tuple(map(Category, categories)),
        outcomes=tuple(map(Outcome, outcomes)),
        since=since,
        until=until,
    )


def _hit(frame: Frame, place: int, hit: SearchHit, *, searched: bool) -> None:
    words = f"{items.name_of(hit.item)}, {hit.standing.state.value}"
    items.line(frame, f"hit {place}", hit.item, hit.standing, words, hit.photo_id)
    found = ""
    if hit.at is not None and hit.outcome is not None:
        found = f"Found on {hit.at:%Y-%m-%d}: {PAST_HEADLINES[hit.outcome].lower()}. "
    if found or searched:
        st.caption(plain(found + hit.snippet))
