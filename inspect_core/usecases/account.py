"""Writing into the ledger, inside the unit of work of whatever is being recorded."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from inspect_core.domain.errors import BartackError
from inspect_core.domain.record import LedgerEntry
from inspect_core.ledger import broken_links, canonical, next_entry
from inspect_core.ports import UnitOfWork
from inspect_core.usecases.plain import inspection_plain
from inspect_core.usecases.services import Services


def enter(uow: UnitOfWork, at: datetime, subject: str, subject_id: str, body: Mapping[str, Any]) -> LedgerEntry:
    """Add the next link; it becomes real with the unit of work's commit."""
    entry = next_entry(uow.ledger.head(), at, subject, subject_id, body)
    uow.ledger.add(entry)
    return entry


@dataclass(frozen=True, slots=True)
class Account:
    """What a look through the whole account found; no faults means that it is whole."""

    entries: int
    photos: int
    head: str | None
    faults: tuple[str, ...]


def verify(services: Services) -> Account:
    """Recompute the chain, compare every stored inspection with its entry, and every photo with its name.

    A cut-off end is not seen here: that needs a signed head kept elsewhere.
    """
    faults: list[str] = []
    photos: set[str] = set()
    with services.unit_of_work() as uow:
        entries = uow.ledger.entries()
        faults += broken_links(entries)
        for entry in entries:
            if entry.subject != "inspection":
                continue
            written = entry.body["inspection"]
            photos |= set(written["photos"])
            stored = uow.inspections.find(entry.subject_id)
            if stored is None:
                faults.append(f"Inspection {entry.subject_id} (entry {entry.number}) is missing from the store.")
            elif canonical(inspection_plain(stored)) != canonical(written):
                faults.append(f"Inspection {entry.subject_id} differs from what entry {entry.number} recorded.")
    for photo_id in sorted(photos):
        try:
            services.photos.original(photo_id)
        except BartackError as fault:
            faults.append(f"Photo {photo_id}: {fault.problem}")
    return Account(len(entries), len(photos), entries[-1].digest if entries else None, tuple(faults))
