"""Searches that were named, as rows."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Row

from inspect_core.domain.errors import Conflict
from inspect_core.domain.saved_search import SavedSearch
from storage.mapping import frozen, name_key
from storage.tables import saved_searches
from storage.work import Work


class SqlSavedSearches:
    """Fulfils SavedSearchRepository."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def save(self, search: SavedSearch) -> None:
        values = {
            "id": search.id,
            "name": search.name,
            "name_key": name_key(search.name),
            "person_id": search.person_id,
            "query": dict(search.query),
            "saved_by": search.saved_by,
            "saved_at": search.saved_at,
        }
        clash = Conflict(
            f"A search called “{search.name}” is saved already.", "Choose another name, or delete that one first."
        )
        changed = sa.update(saved_searches).where(saved_searches.c.id == search.id).values(values)
        if not self._work.change(changed, clash=clash):
            self._work.insert(saved_searches, values, clash=clash)

    def find(self, search_id: str) -> SavedSearch | None:
        row = self._work.first(sa.select(saved_searches).where(saved_searches.c.id == search_id))
        return _search(row) if row else None

    def of(self, person_id: str) -> tuple[SavedSearch, ...]:
        """Everybody's and that person's own, by name."""
        own = saved_searches.c
        statement = (
            sa.select(saved_searches).where(own.person_id.in_(["", person_id])).order_by(own.name_key, own.number)
        )
        return tuple(_search(row) for row in self._work.rows(statement))

    def delete(self, search_id: str) -> None:
        self._work.change(sa.delete(saved_searches).where(saved_searches.c.id == search_id))


def _search(row: Row[Any]) -> SavedSearch:
    return SavedSearch(row.id, row.name, row.person_id, frozen(row.query), row.saved_by, row.saved_at)
