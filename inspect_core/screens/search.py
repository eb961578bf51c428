"""Search across every item and inspection; results come with their picture."""

from __future__ import annotations

from datetime import date
from typing import Any

from streamlit.delta_generator import DeltaGenerator

from inspect_core.domain.custody import State
from inspect_core.domain.decision import Outcome
from inspect_core.domain.gear import Kind
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category
from inspect_core.domain.record import SearchHit
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.looking import saved
from inspect_core.screens.parts import items
from inspect_core.screens.parts.sign import PAST_HEADLINES
from inspect_core.screens.speaking import inside, st, tongue
from inspect_core.screens.words.choices import TYPE_WORDS
from inspect_core.usecases import search

_PAGE = 20
#: Filters that are lists of words: name of the field, label.
_LISTS = (
    ("kinds", "Kind"),
    ("states", "Stands"),
    ("makers", "Maker"),
    ("models", "Model"),
    ("sites", "Site"),
    ("people", "Signed by"),
    ("types", "Inspection"),
    ("outcomes", "Outcome"),
    ("categories", "Mark"),
)


def show(frame: Frame) -> None:
    """Text and filters; hits one page at a time."""
    st.title("Search")
    st.text_input(
        "What to look for",
        placeholder="tag, serial, maker, words of a finding, a source or a note",
        max_chars=search.MOST_LETTERS,
        type="search",
        key=_key("text"),
        persist_state="session",
    )
    query = _asked()
    _filters(frame, query)
    saved.show(frame, query, put=put)
    name = f"search {query}"
    hits: list[SearchHit] = []
    after: str | None = None
    for _ in range(state.page_number(name)):
        page = search.search(query, frame.services, limit=_PAGE, after=after)
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


def _key(name: str) -> str:
    return state.widget("search", name)


def _asked() -> search.Query:
    """The search as the session holds it, so that the fold can tell how much is set before it is drawn."""

    def words(name: str) -> tuple[str, ...]:
        return tuple(str(one) for one in st.session_state.get(_key(name)) or ())

    def number(name: str) -> float | None:
        value = st.session_state.get(_key(name))
        return float(value) if value is not None else None

    def day(name: str) -> date | None:
        value = st.session_state.get(_key(name))
        return value if isinstance(value, date) else None

    return search.Query(
        text=str(st.session_state.get(_key("text")) or ""),
        kinds=tuple(map(Kind, words("kinds"))),
        sites=words("sites"),
        states=tuple(map(State, words("states"))),
        categories=tuple(map(Category, words("categories"))),
        outcomes=tuple(map(Outcome, words("outcomes"))),
        since=day("since"),
        until=day("until"),
        makers=words("makers"),
        models=words("models"),
        people=words("people"),
        types=tuple(map(InspectionType, words("types"))),
        damage_from=number("damage_from"),
        damage_to=number("damage_to"),
    )


def put(query: search.Query) -> None:
    """Set every field to what a saved search asks for; called before the fields are drawn."""
    st.session_state[_key("text")] = query.text
    for name, _ in _LISTS:
        st.session_state[_key(name)] = [str(one) for one in getattr(query, name)]
    for name in ("since", "until", "damage_from", "damage_to"):
        st.session_state[_key(name)] = getattr(query, name)


def _filters(frame: Frame, query: search.Query) -> None:
    told = f"Filters ({query.filters} set)" if query.filters else "Filters"
    with st.expander(told, icon=":material/filter_list:", key=_key("fold")):
        found = search.choices(frame.services)
        names = dict(found.people)
        offered: dict[str, list[str]] = {
            "kinds": [one.value for one in Kind],
            "states": [one.value for one in State],
            "sites": list(found.sites),
            "categories": [one.value for one in Category],
            "makers": list(found.makers),
            "models": list(found.models),
            "outcomes": [one.value for one in Outcome],
            "types": [one.value for one in InspectionType],
            "people": list(names),
        }
        # A row at a time: on a phone the fields of a row stand below each other, and in this order.
        for start in range(0, len(_LISTS), 2):
            for side, (name, label) in zip(st.columns(2), _LISTS[start : start + 2], strict=False):
                _many(side, name, label, offered[name], names)
        left, right = st.columns(2)
        for side, name, label in ((left, "since", "From"), (right, "until", "To")):
            inside(side).date_input(label, value=None, key=_key(name), format="YYYY-MM-DD", persist_state="session")
        left, right = st.columns(2)
        for side, name, label in ((left, "damage_from", "Damage used from"), (right, "damage_to", "Damage used to")):
            inside(side).number_input(
                label,
                min_value=0.0,
                max_value=search.MOST_DAMAGE,
                value=None,
                step=0.1,
                format="%.2f",
                placeholder="any",
                help="1 is at the limit of a rule.",
                key=_key(name),
                persist_state="session",
            )
        st.caption(
            "Marks, outcomes, inspections, people, days and damage used are of inspections: they leave items out."
        )
        st.button("Take all filters off", on_click=put, args=(search.Query(text=query.text),), width="stretch")


def _many(side: DeltaGenerator, name: str, label: str, options: list[str], names: dict[str, str]) -> None:
    kept: Any = st.session_state.get(_key(name))
    if isinstance(kept, list) and any(one not in options for one in kept):
        # A saved search may name a site or a maker that no item carries any more; it still finds nothing then.
        options = [*options, *(one for one in kept if one not in options)]
    inside(side).multiselect(
        label,
        options,
        placeholder="All",
        format_func=lambda one: TYPE_WORDS[InspectionType(one)] if name == "types" else names.get(one, one),
        key=_key(name),
        persist_state="session",
    )


def _hit(frame: Frame, place: int, hit: SearchHit, *, searched: bool) -> None:
    words = f"{items.name_of(hit.item)}, {hit.standing.state.value}"
    items.line(frame, f"hit {place}", hit.item, hit.standing, words, hit.photo_id)
    found = ""
    if hit.at is not None and hit.outcome is not None:
        later = " (corrected later)" if hit.corrected else ""
        found = f"Found on {hit.at:%Y-%m-%d}{later}: {PAST_HEADLINES[hit.outcome].lower()}. "
    if found or searched:
        st.caption(plain(found + tongue().written(hit.snippet)))
