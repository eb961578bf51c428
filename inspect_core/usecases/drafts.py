"""Unfinished inspections, kept on the server so that a closed browser loses no mark."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Item
from inspect_core.domain.record import Draft
from inspect_core.ledger import canonical
from inspect_core.usecases.acting import somebody
from inspect_core.usecases.services import Services

#: A draft is answers and marks; a larger one is no inspection.
MOST_BYTES = 2_000_000


def save_draft(draft_id: str, item_id: str, body: Mapping[str, Any], services: Services) -> Draft:
    """Keep the work as it is now, replacing what was kept under the same id. Raises BadInput when too large, or
    when an inspection of that id has been recorded already."""
    if len(canonical(dict(body))) > MOST_BYTES:
        raise BadInput("This inspection has grown too large to keep.", "Record it, and start another for the rest.")
    draft = Draft(draft_id, item_id, body, services.clock.now())
    with services.unit_of_work(write=True) as uow:
        somebody(uow, services)
        if uow.inspections.find(draft_id) is not None:
            raise BadInput("This inspection has been recorded already.", "Open the item's history to see it.")
        uow.drafts.save(draft)
        uow.commit()
    return draft


def find_draft(draft_id: str, services: Services) -> Draft | None:
    """The draft of that id, or None."""
    with services.unit_of_work() as uow:
        return uow.drafts.find(draft_id)


def unfinished(services: Services, *, limit: int = 20) -> tuple[tuple[Draft, Item], ...]:
    """Unfinished inspections over all items with the item they are of, last saved first."""
    with services.unit_of_work() as uow:
        return tuple((draft, uow.items.get(draft.item_id)) for draft in uow.drafts.newest(limit))


def discard_draft(draft_id: str, services: Services) -> None:
    """Throw a draft away; its photos stay in the store."""
    with services.unit_of_work(write=True) as uow:
        somebody(uow, services)
        uow.drafts.discard(draft_id)
        uow.commit()
