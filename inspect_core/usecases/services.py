"""What every use case is handed: the doors to the outside, wired once by the bootstrap."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Protocol

from inspect_core.ports import Clock, PhotoStore, UnitOfWorkFactory
from inspect_core.rules.model import RuleSet


def random_id() -> str:
    """A fresh identifier, 32 hex digits."""
    return uuid.uuid4().hex


class DrawPicture(Protocol):
    """Draws one demo picture: JPEG bytes with the capture time inside, and the truth about what it shows, with the
    defects as {"component", "category", "shape", "truth"} in full-resolution pixels and millimetres."""

    def __call__(
        self, kind: str, component: str, category: str | None, *, seed: int, captured_at: datetime
    ) -> tuple[bytes, Mapping[str, Any]]: ...


@dataclass(frozen=True)
class Services:
    """`place` tells people where their records lie; `draw` draws the demo site's pictures (None: no demo site)."""

    unit_of_work: UnitOfWorkFactory
    photos: PhotoStore
    clock: Clock
    rules: RuleSet
    place: str
    draw: DrawPicture | None = None
    new_id: Callable[[], str] = random_id

    def today(self) -> date:
        """The date at the clock's own place."""
        return self.clock.now().date()
