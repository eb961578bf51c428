"""Canonical form (RFC 8785) and hash chain.

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


def entry_content(
    number: int, at: datetime, subject: str, subject_id: str, body: Mapping[str, Any], previous: str
) -> dict[str, Any]:
    """What an entry says, as plain JSON data: everything but its digest. The time is in UTC to the microsecond."""
    return {
        "number": number,
        "at": at.astimezone(UTC).isoformat(timespec="microseconds"),
        "subject": subject,
        "subject_id": subject_id,
        "body": dict(body),
        "previous": previous,
    }


def content_of(entry: LedgerEntry) -> dict[str, Any]:
    """What this entry says, as plain JSON data."""
    return entry_content(entry.number, entry.at, entry.subject, entry.subject_id, entry.body, entry.previous)


def digest_of(number: int, at: datetime, subject: str, subject_id: str, body: Mapping[str, Any], previous: str) -> str:
    """Hex SHA-256 over the canonical form of one entry."""
    content = entry_content(number, at, subject, subject_id, body, previous)
    return hashlib.sha256(canonical(content)).hexdigest()


def entry_after(
    head: LedgerEntry | None, at: datetime, subject: str, subject_id: str, body: Mapping[str, Any]
) -> tuple[LedgerEntry, bytes]:
    """The entry that follows `head` (None: the first), and its content in canonical form."""
    number = head.number + 1 if head else 1
    previous = head.digest if head else GENESIS
    content = canonical(entry_content(number, at, subject, subject_id, body, previous))
    digest = hashlib.sha256(content).hexdigest()
    return LedgerEntry(number, at, subject, subject_id, body, previous, digest), content


def next_entry(
    head: LedgerEntry | None, at: datetime, subject: str, subject_id: str, body: Mapping[str, Any]
) -> LedgerEntry:
    """The entry that follows `head` (None: the first)."""
    return entry_after(head, at, subject, subject_id, body)[0]


class Chain:
    """Follows a chain entry by entry, so that one of any length is checked a page at a time."""

    def __init__(self) -> None:
        self.number, self.digest = 0, GENESIS

    def faults(self, entry: LedgerEntry, content: bytes) -> tuple[str, ...]:
        """What is wrong with the next entry, one sentence per fault; `content` is its canonical form."""
        found: list[str] = []
        if entry.number != self.number + 1:
            found.append(
                f"Entry {self.number + 1} is missing or out of order: entry {entry.number} stands in its place."
            )
        if entry.previous != self.digest:
            found.append(f"Entry {entry.number} does not follow the entry before it.")
        if hashlib.sha256(content).hexdigest() != entry.digest:
            found.append(f"Entry {entry.number} ({entry.subject} {entry.subject_id}) was changed after it was written.")
        self.number, self.digest = entry.number, entry.digest
        return tuple(found)


def broken_links(entries: Iterable[LedgerEntry]) -> tuple[str, ...]:
    """What is wrong with a chain, one sentence per fault, naming the entry; empty when it is whole."""
    chain = Chain()
    return tuple(fault for entry in entries for fault in chain.faults(entry, canonical(content_of(entry))))
