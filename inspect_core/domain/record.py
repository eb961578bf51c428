"""Rows of the account that is only ever added to, and the values that searches and trends give back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from inspect_core.domain.custody import Standing
from inspect_core.domain.decision import Outcome
from inspect_core.domain.gear import Component, Item, Kind
from inspect_core.domain.marks import Category


@dataclass(frozen=True, slots=True)
class LedgerEntry:
    """One link of the hash chain. `body` is plain JSON data; `digest` is hex SHA-256 over the entry with `previous`."""

    number: int
    at: datetime
    subject: str
    subject_id: str
    body: Mapping[str, Any]
    previous: str
    digest: str


@dataclass(frozen=True, slots=True)
class TreeHead:
    """A signed statement: at that moment the account had `size` entries, and this root over all of them.

    `root` and `public_key` are 32 bytes, `signature` 64 (Ed25519).
    """

    size: int
    root: bytes
    at: datetime
    public_key: bytes
    signature: bytes


@dataclass(frozen=True, slots=True)
class StoredRecord:
    """One record as it is stored: `key` asks for the page after it, `record` is its domain value (None
    where the row is none that can be read), `odd` names what is wrong with the row by itself."""

    key: int | str
    id: str
    record: Any
    odd: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Draft:
    """Work not yet recorded, kept so that a closed browser loses nothing. `body` is plain JSON data."""

    id: str
    item_id: str
    body: Mapping[str, Any]
    saved_at: datetime


@dataclass(frozen=True, slots=True)
class ItemRow:
    """An item with where it stands, and the photo to show for it (the last marked one), if any."""

    item: Item
    standing: Standing
    photo_id: str | None = None


@dataclass(frozen=True, slots=True)
class SearchHit:
    """Something found: the item, and the inspection whose words matched, if one did. `corrected`: a later inspection
    corrects that one."""

    item: Item
    standing: Standing
    inspection_id: str | None
    at: datetime | None
    outcome: Outcome | None
    photo_id: str | None
    snippet: str
    corrected: bool = False


@dataclass(frozen=True, slots=True)
class Page:
    """A page of hits; `after` is the key that asks for the next one, None on the last."""

    hits: tuple[SearchHit, ...]
    after: str | None


@dataclass(frozen=True, slots=True)
class Retirement:
    """Why one item was withdrawn: the categories and components of the findings that withdrew it."""

    item_id: str
    tag: str
    kind: Kind
    maker: str
    model: str
    site: str
    on: date
    first_day: date | None
    reasons: tuple[tuple[Category | None, Component | None, str], ...]  # category, component, rule
    price: float | None
