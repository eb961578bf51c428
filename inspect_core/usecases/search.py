"""Search across every item and inspection."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from inspect_core.domain.custody import State
from inspect_core.domain.decision import Outcome
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Kind
from inspect_core.domain.marks import Category
from inspect_core.domain.record import Page
from inspect_core.usecases.services import Services

MOST_LETTERS = 200
MOST_HITS = 100


@dataclass(frozen=True, slots=True)
class Query:
    """What to look for. Empty text with filters lists everything that fits them."""

    text: str = ""
    kinds: Sequence[Kind] = field(default=())
    sites: Sequence[str] = field(default=())
    states: Sequence[State] = field(default=())
    categories: Sequence[Category] = field(default=())
    outcomes: Sequence[Outcome] = field(default=())
    since: date | None = None
    until: date | None = None


def search(query: Query, services: Services, *, limit: int = 20, after: str | None = None) -> Page:
    """One page of hits. Raises BadInput for a text too long, a limit out of range or dates the wrong way round."""
    if len(query.text) > MOST_LETTERS:
        raise BadInput(f"The search text is longer than {MOST_LETTERS} characters.", "Use a few words.")
    if not 1 <= limit <= MOST_HITS:
        raise BadInput(f"A page holds 1 to {MOST_HITS} results.", "Ask for the next page instead.")
    if query.since and query.until and query.since > query.until:
        raise BadInput("The first day lies after the last.", "Give the earlier day first.")
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
            limit=limit,
            after=after,
        )
