"""Searches that are named to be asked again, by one person or by everybody at the site."""

from __future__ import annotations

from dataclasses import dataclass, replace

from inspect_core.domain.access import Action
from inspect_core.domain.errors import NotAllowed, NotFound
from inspect_core.domain.people import Person, Role
from inspect_core.domain.saved_search import SavedSearch
from inspect_core.ports import UnitOfWork
from inspect_core.usecases.acting import acting
from inspect_core.usecases.search import Query, query_of, query_plain
from inspect_core.usecases.services import Services

#: Besides whoever saved it, these change and delete what everybody sees: common practice, no source.
_KEEPERS = (Role.MANAGER, Role.ADMINISTRATOR)


@dataclass(frozen=True, slots=True)
class SaveSearch:
    """`id` is made when the form is drawn, so that a double click saves once; that of a known search changes it."""

    id: str
    name: str
    query: Query
    by: str
    for_everybody: bool = False


def save_search(command: SaveSearch, services: Services) -> SavedSearch:
    """Keep a search under a name. Raises Conflict where that name is taken, NotAllowed, BadInput, NotFound."""
    query = query_of(query_plain(command.query))  # what would not be read again is refused now
    with services.unit_of_work(write=True) as uow:
        person = acting(uow, services, command.by, Action.SAVE_SEARCH)
        known = uow.saved_searches.find(command.id)
        if known is not None:
            _require(person, known)
        search = SavedSearch(
            id=command.id,
            name=" ".join(command.name.split()),
            person_id="" if command.for_everybody else person.id,
            query=query_plain(query),
            saved_by=person.id,
            saved_at=services.clock.now(),
        )
        if known is not None:
            search = replace(search, saved_by=known.saved_by)
        uow.saved_searches.save(search)
        uow.commit()
    return search


def delete_search(search_id: str, by: str, services: Services) -> None:
    """Forget a saved search; what it finds is untouched. Raises NotFound, NotAllowed."""
    with services.unit_of_work(write=True) as uow:
        person = acting(uow, services, by, Action.SAVE_SEARCH)
        _require(person, _get(uow, search_id))
        uow.saved_searches.delete(search_id)
        uow.commit()


def saved_searches(person_id: str | None, services: Services) -> tuple[SavedSearch, ...]:
    """Everybody's, and that person's own, by name."""
    with services.unit_of_work() as uow:
        return uow.saved_searches.of(person_id or "")


def search_named(name: str, person_id: str | None, services: Services) -> SavedSearch:
    """The saved search of that name, case aside; the person's own before everybody's. Raises NotFound."""
    wanted = " ".join(name.casefold().split())
    found = [one for one in saved_searches(person_id, services) if " ".join(one.name.casefold().split()) == wanted]
    if not found:
        raise NotFound(f"No search is saved as “{name[:60]}”.", "Look at the list of saved searches.")
    return min(found, key=lambda one: one.for_everybody)


def may_change(person: Person | None, search: SavedSearch) -> bool:
    """Whether that person may change or delete it."""
    if person is None:
        return False
    return person.id in (search.person_id, search.saved_by) or (search.for_everybody and person.role in _KEEPERS)


def _require(person: Person, search: SavedSearch) -> None:
    if not may_change(person, search):
        raise NotAllowed(
            "Somebody else saved this search.", "Save it under a name of your own, or ask a manager to change it."
        )


def _get(uow: UnitOfWork, search_id: str) -> SavedSearch:
    found = uow.saved_searches.find(search_id)
    if found is None:
        raise NotFound("This search is not saved any more.", "Look at the list again.")
    return found
