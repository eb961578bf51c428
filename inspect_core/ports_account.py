"""Protocols for the signed account and for reading the whole store, beside those of `inspect_core.ports`."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, Protocol

from inspect_core.domain.record import StoredRecord, TreeHead


class Signer(Protocol):
    """Signs with Ed25519 (RFC 8032); the private key stays inside."""

    def public_key(self) -> bytes:
        """32 bytes. Makes the pair of keys where there is none yet. Raises StoreFault."""
        ...

    def sign(self, message: bytes) -> bytes:
        """64 bytes. Raises StoreFault."""
        ...


class TreeRepository(Protocol):
    """The Merkle tree over the ledger, and its signed heads."""

    def nodes(self, numbers: Sequence[int]) -> Mapping[int, tuple[bytes, ...]]:
        """The nodes that these entries complete, level by level; entries without any are left out."""
        ...

    def add(self, number: int, nodes: Sequence[bytes]) -> None: ...

    def add_many(self, nodes: Mapping[int, Sequence[bytes]]) -> None:
        """The nodes of many entries by their numbers."""
        ...

    def last(self) -> int:
        """The highest entry whose nodes are kept, 0 where there is none."""
        ...

    def newest_head(self) -> TreeHead | None: ...

    def heads(self) -> Iterator[TreeHead]:
        """Smallest tree first."""
        ...

    def keep_head(self, head: TreeHead) -> None:
        """Keeps the newest head, in place of the one before it where that is of the same day (UTC)."""
        ...


class RecordReader(Protocol):
    """Every stored record by its kind: "item" (an ItemRow), "inspection", "custody", "person", "photo",
    "set-up check", "kit", "kit event", "second reading", "setting" (its name and value)."""

    def page(self, kind: str, *, after: int | str | None = None, limit: int = 500) -> tuple[StoredRecord, ...]:
        """The records of a kind in the order written (photos by their SHA-256, settings by name)."""
        ...

    def by_id(self, kind: str, ids: Sequence[str]) -> Mapping[str, StoredRecord]:
        """Those of these that are stored."""
        ...

    def known(self, kind: str, ids: Sequence[str]) -> frozenset[str]:
        """Which of these are stored."""
        ...

    def count(self, kind: str) -> int: ...


class Rows(Protocol):
    """Every table of the store as plain JSON data, for archives."""

    def schema(self) -> str:
        """Which form the tables have."""
        ...

    def tables(self, *, secrets: bool = False) -> tuple[str, ...]:
        """Names of the tables that an archive holds, in an order in which they can be filled; with `secrets` also
        that of PINs, which a store takes along when it moves."""
        ...

    def hold(self) -> None:
        """Lets this unit of work take as long as it takes: a server ends others that say nothing for minutes."""
        ...

    def empty(self) -> bool:
        """Whether nothing at all is recorded."""
        ...

    def clear(self) -> None:
        """Takes every row out of every table of a store that is being filled; what it remembers of itself stays."""
        ...

    def read(self, table: str) -> Iterator[dict[str, Any]]:
        """The rows of a table in the order of its key. Times are in UTC (ISO 8601), bytes in hex."""
        ...

    def write(self, table: str, rows: Iterator[Mapping[str, Any]]) -> int:
        """Adds rows as `read` gave them and counts them. Raises BadInput for rows that do not fit the table."""
        ...

    def work_out(self, tell: Callable[[], object] = lambda: None) -> None:
        """Makes what is worked out from records, after `write` has filled the tables of an empty store. `tell` is
        called again and again meanwhile."""
        ...
