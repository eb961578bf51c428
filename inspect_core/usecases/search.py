"""Search across every item and inspection."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from inspect_core.domain.custody import State
from inspect_core.domain.decision import Outcome
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Kind
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category
from inspect_core.domain.record import Page
from inspect_core.usecases.services import Services

MOST_LETTERS = 200
#: So many sites, makers, people and the like one filter may name.
MOST_CHOSEN = 1_000
MOST_HITS = 100
#: Damage used above this is asked for as "so much and more".
MOST_DAMAGE = 100.0


@dataclass(frozen=True, slots=True)
class Query:
    """What to look for. Empty text with filters lists everything that fits them.

    Categories, outcomes, types, people (ids), dates and damage used are of inspections, so they leave items out.
    `damage_from`, `damage_to`: share of a limit that is used up, bounds included; 1 is at the limit.
    """

    text: str = ""
    kinds: Sequence[Kind] = field(default=())
    sites: Sequence[str] = field(default=())
    states: Sequence[State] = field(default=())
    categories: Sequence[Category] = field(default=())
    outcomes: Sequence[Outcome] = field(default=())
    since: date | None = None
    until: date | None = None
    makers: Sequence[str] = field(default=())
    models: Sequence[str] = field(default=())
    people: Sequence[str] = field(default=())
    types: Sequence[InspectionType] = field(default=())
    damage_from: float | None = None
    damage_to: float | None = None

    @property
    def filters(self) -> int:
        """How many filters are set."""
        return sum(value not in ((), None) for name, value in _parts(self) if name != "text")


def search(query: Query, services: Services, *, limit: int = 20, after: str | None = None) -> Page:
    """One page of hits. Raises BadInput for a text too long, a limit out of range or bounds the wrong way round."""
    _check(query)
    if not 1 <= limit <= MOST_HITS:
        raise BadInput(f"A page holds 1 to {MOST_HITS} results.", "Ask for the next page instead.")
    with services.unit_of_work() as uow:
        return uow.search.find(
            query.text,
            kinds=query.kinds,
            sites=query.sites,
            states=query.states,
            categories=query.categories,
            outcomes=query.outcomes,
            since=query.since,
            until=query.until,
            makers=query.makers,
            models=query.models,
            people=query.people,
            types=query.types,
            damage_from=query.damage_from,
            damage_to=query.damage_to,
            limit=limit,
            after=after,
        )


def _check(query: Query) -> None:
    for name, value in _parts(query):
        if isinstance(value, tuple) and len(value) > MOST_CHOSEN:
            raise BadInput(f"The filter by {name} holds more than {MOST_CHOSEN} choices.", "Choose a few.")
        for text in value if isinstance(value, tuple) else (value,):
            if isinstance(text, str) and not text.isascii() and text.encode("utf-8", "replace").decode() != text:
                raise BadInput("The search holds a broken character.", "Type it again.")
    if len(query.text) > MOST_LETTERS:
        raise BadInput(f"The search text is longer than {MOST_LETTERS} characters.", "Use a few words.")
    if query.since and query.until and query.since > query.until:
        raise BadInput("The first day lies after the last.", "Give the earlier day first.")
    low, high = query.damage_from, query.damage_to
    for bound in (low, high):
        if bound is not None and not 0 <= bound <= MOST_DAMAGE:
            raise BadInput(f"Damage used lies between 0 and {MOST_DAMAGE:g}.", "1 is at the limit.")
    if low is not None and high is not None and low > high:
        raise BadInput("The smaller damage stands second.", "Give the smaller one first.")


@dataclass(frozen=True, slots=True)
class Choices:
    """What the filters offer besides the fixed words: sites, makers, models, and people (id, name) by name."""

    sites: tuple[str, ...]
    makers: tuple[str, ...]
    models: tuple[str, ...]
    people: tuple[tuple[str, str], ...]


def choices(services: Services) -> Choices:
    """Everything that is registered, each once."""
    with services.unit_of_work() as uow:
        pairs = uow.items.makers()
        people = sorted(((person.id, person.name) for person in uow.people.all()), key=lambda one: one[1].casefold())
        return Choices(
            uow.items.sites(),
            tuple(dict.fromkeys(maker for maker, _ in pairs if maker)),
            tuple(sorted({model for _, model in pairs if model})),
            tuple(people),
        )


def _parts(query: Query) -> list[tuple[str, Any]]:
    return [(name, getattr(query, name)) for name in Query.__slots__]


def query_plain(query: Query) -> dict[str, Any]:
    """A query as plain JSON data; what is not set is left out."""
    plain: dict[str, Any] = {}
    for name, value in _parts(query):
        if isinstance(value, date):
            plain[name] = value.isoformat()
        elif isinstance(value, str | float | int):
            if value != "":
                plain[name] = value
        elif value:
            plain[name] = [str(one) for one in value]
    return plain


_LISTS: Mapping[str, type] = {
    "kinds": Kind,
    "sites": str,
    "states": State,
    "categories": Category,
    "outcomes": Outcome,
    "makers": str,
    "models": str,
    "people": str,
    "types": InspectionType,
}


def query_of(plain: Mapping[str, Any]) -> Query:
    """A query from plain JSON data. Raises BadInput where it is none."""
    try:
        lists = {name: tuple(made(one) for one in plain.get(name, ())) for name, made in _LISTS.items()}
        days = {
            name: date.fromisoformat(plain[name]) if plain.get(name) is not None else None
            for name in ("since", "until")
        }
        damage = {
            name: float(plain[name]) if plain.get(name) is not None else None for name in ("damage_from", "damage_to")
        }
        query = Query(text=str(plain.get("text", "")), **lists, **days, **damage)  # type: ignore[arg-type]
    except (TypeError, ValueError) as error:
        raise BadInput("This is no search that was saved here.", "Delete it and save it again.") from error
    _check(query)
    return query
