"""Searches that were named: choose one, keep the present one, change or delete it."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from inspect_core.domain.errors import BartackError
from inspect_core.domain.people import Person
from inspect_core.domain.saved_search import LONGEST_NAME, SavedSearch
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, own
from inspect_core.screens.parts import who
from inspect_core.screens.speaking import inside, st
from inspect_core.usecases.saved_searches import SaveSearch, delete_search, may_change, save_search, saved_searches
from inspect_core.usecases.search import Query, query_of
from inspect_core.usecases.services import Services

Put = Callable[[Query], None]
_CHOSEN = state.widget("saved", "chosen")
_NEW = "new saved search"


def show(frame: Frame, query: Query, *, put: Put) -> None:
    """The fold with the list and what can be done. `put` sets the page's fields to a search."""
    person = frame.person()
    known = {one.id: one for one in saved_searches(person.id if person else None, frame.services)}
    told = f"Saved searches ({len(known)})" if known else "Saved searches"
    with st.expander(told, icon=":material/bookmark:", key=state.widget("saved", "fold")):
        if known:
            st.selectbox(
                "Saved searches",
                list(known),
                index=None,
                placeholder="Choose one",
                format_func=lambda one: _words(known[one]) if one in known else "",
                key=_CHOSEN,
                on_change=_choose,
                args=(known, put),
                label_visibility="collapsed",
            )
        chosen = known.get(str(st.session_state.get(_CHOSEN)))
        if chosen is not None:
            _chosen(frame, person, chosen, query)
        if person is None:
            st.caption("Whoever says who they are can save searches and sees their own here.")
            who.ask(frame)
        elif query != Query():
            _new(frame, person, query)
        else:
            st.caption("Type something or set a filter; then it can be saved here under a name.")


def _words(search: SavedSearch) -> str:
    return f"{search.name} (everybody)" if search.for_everybody else search.name


def _choose(known: Mapping[str, SavedSearch], put: Put) -> None:
    chosen = known.get(str(st.session_state.get(_CHOSEN)))
    if chosen is None:
        return
    try:
        put(query_of(chosen.query))
    except BartackError as error:
        state.tell(error.problem, error.remedy)


def _chosen(frame: Frame, person: Person | None, search: SavedSearch, query: Query) -> None:
    if not may_change(person, search):
        st.caption("Saved by somebody else: it can be used here, not changed.")
        return
    assert person is not None  # noqa: S101 - nobody may change nothing
    name = st.text_input(
        "Its name", value=search.name, max_chars=LONGEST_NAME, key=state.widget("saved", "name of", search.id)
    )
    change, delete = st.columns(2)
    command = SaveSearch(search.id, name, query, person.id, search.for_everybody)
    inside(change).button(
        "Save name and present filters",
        key=state.widget("saved", "change"),
        on_click=_change,
        args=(command, frame.services),
        width="stretch",
    )
    inside(delete).button(
        f"Delete “{own(search.name)}”",
        key=state.widget("saved", "delete"),
        on_click=_delete,
        args=(search.id, person.id, frame.services),
        width="stretch",
    )


def _new(frame: Frame, person: Person, query: Query) -> None:
    with st.form(state.widget("saved", "new"), border=False, clear_on_submit=True):
        name = st.text_input(
            "Save the present search as",
            max_chars=LONGEST_NAME,
            placeholder="for example: cuts this year",
            key=state.widget("saved", "new name"),
        )
        everybody = st.checkbox("Everybody at this site sees it", key=state.widget("saved", "everybody"))
        if st.form_submit_button("Save search", width="stretch"):
            fresh = state.once(_NEW, frame.services.new_id())
            if _save(SaveSearch(fresh, name, query, person.id, everybody), frame.services):
                state.used(_NEW)
            st.rerun()


def _save(command: SaveSearch, services: Services) -> bool:
    try:
        saved = save_search(command, services)
    except BartackError as error:
        state.tell(error.problem, error.remedy)
        return False
    state.tell(f"“{saved.name}” is saved.", good=True)
    return True


def _change(command: SaveSearch, services: Services) -> None:
    _save(command, services)


def _delete(search_id: str, by: str, services: Services) -> None:
    try:
        delete_search(search_id, by, services)
    except BartackError as error:
        state.tell(error.problem, error.remedy)
        return
    st.session_state.pop(_CHOSEN, None)
    state.tell("The saved search is deleted. What it found is untouched.", good=True)
