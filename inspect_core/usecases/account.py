"""Writing into the ledger, inside the unit of work of whatever is being recorded."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from inspect_core.domain.record import LedgerEntry
from inspect_core.ledger import broken_links, next_entry
from inspect_core.ports import UnitOfWork


def enter(uow: UnitOfWork, at: datetime, subject: str, subject_id: str, body: Mapping[str, Any]) -> LedgerEntry:
    """Add the next link; it becomes real with the unit of work's commit."""
    entry = next_entry(uow.ledger.head(), at, subject, subject_id, body)
    uow.ledger.add(entry)
    return entry


def check_account(uow: UnitOfWork) -> tuple[str, ...]:
    """What is wrong with the chain, one sentence per fault; empty when whole."""
    return broken_links(uow.ledger.entries())
