"""The account of everything decided: canonical form (RFC 8785) and hash chain.

Each entry's digest is SHA-256 over the canonical JSON of number, time, subject, body and the digest before it, so
that a changed, removed or inserted entry breaks every digest after it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from typing import Any

import rfc8785

from inspect_core.domain.record import LedgerEntry

#: What stands before the first entry.
GENESIS = "0" * 64


def canonical(value: Any) -> bytes:
    """The RFC 8785 form of plain JSON data: the same data give the same bytes on every machine."""
    return bytes(rfc8785.dumps(value))


def digest_of(number: int, at: datetime, subject: str, subject_id: str, body: Mapping[str, Any], previous: str) -> str:
    """Hex SHA-256 of one entry. The time counts in UTC to the microsecond."""
    content = {
        "number": number,
        "at": at.astimezone(UTC).isoformat(timespec="microseconds"),
        "subject": subject,
        "subject_id": subject_id,
        "body": dict(body),
        "previous": previous,
    }
    return hashlib.sha256(canonical(content)).hexdigest()


def next_entry(
    head: LedgerEntry | None, at: datetime, subject: str, subject_id: str, body: Mapping[str, Any]
) -> LedgerEntry:
    """The entry that follows `head` (None: the first)."""
    number = head.number + 1 if head else 1
    previous = head.digest if head else GENESIS
    digest = digest_of(number, at, subject, subject_id, body, previous)
    return LedgerEntry(number, at, subject, subject_id, body, previous, digest)


def broken_links(entries: Iterable[LedgerEntry]) -> tuple[str, ...]:
    """What is wrong with a chain, one sentence per fault, naming the entry; empty when it is whole."""
    faults: list[str] = []
    number, previous = 0, GENESIS
    for entry in entries:
        if entry.number != number + 1:
            faults.append(f"Entry {number + 1} is missing or out of order: entry {entry.number} stands in its place.")
        if entry.previous != previous:
            faults.append(f"Entry {entry.number} does not follow the entry before it.")
        computed = digest_of(entry.number, entry.at, entry.subject, entry.subject_id, entry.body, entry.previous)
        if computed != entry.digest:
            faults.append(
                f"Entry {entry.number} ({entry.subject} {entry.subject_id}) was changed after it was written."
            )
        number, previous = entry.number, entry.digest
    return tuple(faults)
