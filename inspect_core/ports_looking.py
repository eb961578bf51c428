"""Protocols for looking back at one item's life and for searches that were named, beside `inspect_core.ports`."""

from __future__ import annotations

from typing import Protocol

from inspect_core.domain.gear import Component
from inspect_core.domain.life import LifeFigures, LifePage, MarkedPhoto, Measured, PicturePage, Wanted
from inspect_core.domain.marks import Mark
from inspect_core.domain.saved_search import SavedSearch


class LifeReader(Protocol):
    """One item's life, a page at a time. What it reads does not grow with the length of the life, `measured` and
    `comparable` apart."""

    def page(self, item_id: str, wanted: Wanted, *, limit: int = 20, after: str | None = None) -> LifePage:
        """Inspections and moves, newest first; moves that an inspection made stand with it. Raises BadInput for an
        `after` that no page gave."""
        ...

    def pictures(self, item_id: str, wanted: Wanted, *, limit: int = 24, after: str | None = None) -> PicturePage:
        """Photos of inspections, newest inspection first and in the order taken. With a component or a category only
        those that carry such a mark. Raises BadInput for an `after` that no page gave."""
        ...

    def figures(self, item_id: str) -> LifeFigures: ...

    def measured(self, item_id: str) -> tuple[Measured, ...]:
        """Every reading, oldest first; corrected inspections are left out."""
        ...

    def comparable(self, item_id: str, component: Component | None = None) -> tuple[MarkedPhoto, ...]:
        """Photos with a marked component, newest first, one per inspection and component."""
        ...

    def around(self, inspection_id: str) -> tuple[int, tuple[str, ...]]:
        """How many inspections of its item were made before it, and the ids of those that correct it, newest first."""
        ...

    def marks(self, inspection_id: str) -> tuple[Mark, ...]: ...


class SavedSearchRepository(Protocol):
    """Searches that somebody named."""

    def save(self, search: SavedSearch) -> None:
        """Adds, or replaces the one with the same id. Raises Conflict where its owner has another of that name."""
        ...

    def find(self, search_id: str) -> SavedSearch | None: ...

    def of(self, person_id: str) -> tuple[SavedSearch, ...]:
        """Everybody's and that person's own, by name."""
        ...

    def delete(self, search_id: str) -> None: ...
