"""A search that somebody named, to ask again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from inspect_core.domain.errors import BadInput

LONGEST_NAME = 60


@dataclass(frozen=True, slots=True)
class SavedSearch:
    """`query` is plain JSON data. `person_id` "": the site's, seen by everybody."""

    id: str
    name: str
    person_id: str
    query: Mapping[str, Any]
    saved_by: str
    saved_at: datetime

    def __post_init__(self) -> None:
        if not self.name.strip() or len(self.name) > LONGEST_NAME:
            raise BadInput(f"A saved search needs a name of 1 to {LONGEST_NAME} characters.", "Give it a short name.")

    @property
    def for_everybody(self) -> bool:
        return not self.person_id
