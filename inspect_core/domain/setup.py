"""A set-up check as recorded: what was asked, what was answered, and the gear that it was about."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from inspect_core.domain.errors import BadInput


@dataclass(frozen=True, slots=True)
class SetupRecord:
    """`case` and `result` are plain JSON data, as `bartack rig` reads and prints them. `answer` is the result's own:
    go, do not go, or ask a competent person. `place`: where on the site, in the person's words."""

    id: str
    at: datetime
    by: str
    site: str
    place: str
    check: str
    profile: str
    answer: str
    case: Mapping[str, Any]
    result: Mapping[str, Any]
    item_ids: tuple[str, ...] = ()
    photo_ids: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.at.tzinfo is None:
            raise BadInput("The time of the set-up check has no time zone.", "Give the time with its offset.")
        if len(set(self.item_ids)) != len(self.item_ids):
            raise BadInput("An item is named twice in one set-up check.", "Name each item once.")
