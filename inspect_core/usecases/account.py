"""Writing into the ledger, inside the unit of work of whatever is being recorded."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any

from inspect_core.domain.record import LedgerEntry, TreeHead
from inspect_core.ledger import (
    Frontier,
    canonical,
    content_of,
    entry_after,
    frontier_numbers,
    head_message,
    key_id,
    leaf_hash,
)
from inspect_core.ports import UnitOfWork
from inspect_core.ports_account import Signer
from inspect_core.usecases.plain import photo_record, standing_record

#: Entries written before the tree was kept are added to it so many at a time.
_PAGE = 500


def enter(uow: UnitOfWork, at: datetime, subject: str, subject_id: str, body: Mapping[str, Any]) -> LedgerEntry:
    """Add the next entry to the chain and to the tree; it becomes real with the unit of work's commit.

    A body that holds a move ("custody") also gets where the item stands after it ("standing"), and one that names
    photos what is known of them ("photo_records"), so that nothing in their rows can be changed unseen. Call it after
    the records themselves are written.
    """
    entry, content = entry_after(uow.ledger.head(), at, subject, subject_id, _with_rows(uow, body))
    frontier = _frontier(uow, entry.number - 1)
    uow.ledger.add(entry)
    uow.tree.add(entry.number, frontier.add(leaf_hash(content)))
    return entry


def seal(uow: UnitOfWork, signer: Signer) -> TreeHead | None:
    """Sign the tree as it stands after what this unit of work entered; None where it entered nothing.

    A key other than that of the head before it is entered first, so that the account itself says when keys changed.
    """
    added = uow.ledger.added()
    if added is None:
        return None
    key, before = signer.public_key(), uow.tree.newest_head()
    if before is not None and before.public_key != key:
        added = enter(
            uow,
            added.at,
            "signing key",
            key_id(key),
            {"public_key": key.hex(), "before": before.public_key.hex()},
        )
    root = _frontier(uow, added.number).root()
    head = TreeHead(added.number, root, added.at, key, signer.sign(head_message(added.number, root, added.at)))
    uow.tree.keep_head(head)
    return head


def complete(uow: UnitOfWork, tell: Callable[[], object] = lambda: None) -> None:
    """Add the entries that stand in no tree yet; what `enter` does by itself before it adds one. `tell` is called
    again and again meanwhile."""
    head = uow.ledger.head()
    if head is not None and uow.tree.last() < head.number:
        _complete(uow, head.number, tell)


def _with_rows(uow: UnitOfWork, body: Mapping[str, Any]) -> dict[str, Any]:
    full = dict(body)
    photos: list[str] = [*(body.get("photos") or ())]
    inspection, custody = body.get("inspection"), body.get("custody")
    if isinstance(inspection, Mapping):
        photos += inspection.get("photos", ())
    if isinstance(custody, Mapping):
        full["standing"] = standing_record(uow.items.standing(custody["item"]))
        if custody.get("photo"):
            photos.append(custody["photo"])
    elif isinstance(inspection, Mapping):
        full["standing"] = standing_record(uow.items.standing(inspection["item"]))
    known = [photo for photo in map(uow.photos.find, dict.fromkeys(photos)) if photo is not None]
    if known:
        full["photo_records"] = [photo_record(photo) for photo in known]
    return full


def _frontier(uow: UnitOfWork, size: int) -> Frontier:
    """The right edge of the tree at that size. Entries that an older program wrote are added to the tree first."""
    numbers = frontier_numbers(size)
    known = uow.tree.nodes(numbers)
    if len(known) < len(numbers):
        _complete(uow, size)
        known = uow.tree.nodes(numbers)
    return Frontier(size, [known[number][-1] for number in numbers])


def _complete(uow: UnitOfWork, size: int, tell: Callable[[], object] = lambda: None) -> None:
    last = uow.tree.last()
    numbers = frontier_numbers(last)
    known = uow.tree.nodes(numbers)
    frontier = Frontier(last, [known[number][-1] for number in numbers])
    while frontier.size < size:
        page = uow.ledger.entries(after=frontier.size, limit=min(_PAGE, size - frontier.size))
        uow.tree.add_many({entry.number: frontier.add(leaf_hash(canonical(content_of(entry)))) for entry in page})
        tell()
