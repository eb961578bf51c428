"""Protocols for blind second readings and what trends count by person, beside those of `inspect_core.ports`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Protocol

from inspect_core.domain.counted import MarkRow
from inspect_core.domain.gear import Kind
from inspect_core.domain.marks import Category
from inspect_core.domain.second_reading import BlindReading, InspectorCount, ReadPhoto, SharedPhoto, UnreadPhoto


class SecondReadingRepository(Protocol):
    """Blind second readings, never changed."""

    def add(self, reading: BlindReading) -> None:
        """Raises Conflict where that person read that photo before."""
        ...

    def find(self, reading_id: str) -> BlindReading | None: ...

    def count(self, by: str) -> int:
        """How many photos that person has read."""
        ...

    def unread(self, by: str, *, damaged: bool, limit: int) -> tuple[UnreadPhoto, ...]:
        """Photos that this person neither recorded nor read: with one category marked on them, or without a mark
        and from an inspection that left the item in service. The same order for every reader."""
        ...

    def may_read(self, photo_id: str, inspection_id: str, by: str) -> bool: ...

    def all(self) -> tuple[ReadPhoto, ...]:
        """Every blind answer beside the first look, by photo."""
        ...

    def doubted(self) -> tuple[ReadPhoto, ...]:
        """Blind answers that see damage on a photo on which the first look marked none, of gear in service or on hold
        that nobody has inspected in detail since that look; oldest first. Corrected looks are left out."""
        ...


class TrendSplits(Protocol):
    """The part of Reviews that counts by person and by category."""

    def inspector_counts(
        self,
        *,
        kind: Kind | None = None,
        site: str | None = None,
        model: str | None = None,
        since: date | None = None,
        until: date | None = None,
    ) -> tuple[InspectorCount, ...]:
        """Inspections and those that ended out of service, per person, kind, and whether in detail."""
        ...

    def category_counts(
        self,
        *,
        kind: Kind | None = None,
        site: str | None = None,
        model: str | None = None,
        since: date | None = None,
        until: date | None = None,
    ) -> Mapping[Category, int]:
        """In how many inspections each category was marked."""
        ...

    def marked_as(
        self,
        category: Category,
        *,
        kind: Kind | None = None,
        site: str | None = None,
        model: str | None = None,
        since: date | None = None,
        until: date | None = None,
        limit: int = 200,
    ) -> tuple[MarkRow, ...]:
        """Marks of one category, newest inspection first."""
        ...

    def shared_photos(
        self,
        *,
        kind: Kind | None = None,
        site: str | None = None,
        model: str | None = None,
        since: date | None = None,
        until: date | None = None,
    ) -> tuple[SharedPhoto, ...]:
        """Uses of photos that stand in more than one inspection, by photo."""
        ...

    def models(self) -> tuple[str, ...]:
        """Maker and model in one label, every pair on record once, by name."""
        ...

    def item_photos(self, item_ids: Sequence[str]) -> Mapping[str, str]:
        """The photo that lists show for each of these items, where there is one."""
        ...
