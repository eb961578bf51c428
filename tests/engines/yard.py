"""A site whose store is about to fail: saves that may be repeated, and what is stored of them."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field

from inspect_core.domain.errors import BartackError, StoreFault
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.verify import verify
from tests.engines.cut_line import Line
from tests.engines.pg_server import PgServer
from tests.engines.s3_server import S3Server
from tests.usecases.site import Site, picture

#: A life grows long and is read whole at each save: another item after so many.
_SAVES_OF_ONE = 40


@dataclass
class Servers:
    """`address`: a store's, whose lines to the database and to the bucket can be cut."""

    address: str
    database: PgServer
    line: Line
    bucket: S3Server
    photo_line: Line


@dataclass
class Yard:
    """Saves into the store at `address`. `acknowledged`: what the store said it has; `told`: how often it refused, by
    what it said."""

    address: str
    acknowledged: dict[str, str] = field(default_factory=dict)
    told: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.site = Site(self.address)  # type: ignore[arg-type]
        self._items = [self.site.lanyard("LAN-000")]

    def save(self, number: int, *, with_photo: bool = True) -> None:
        """One inspection, with a photo of its own; the same number is the same save. Raises what the store says."""
        photos = (take_photo(picture(number, (320, 240)), self.site.services).id,) if with_photo else ()
        item = self._items[-1]
        self.site.record(self.site.check(item, f"save-{number}", photo_ids=photos))
        self.acknowledged[f"save-{number}"] = item.id

    def try_save(self, number: int, *, with_photo: bool = True) -> str:
        """Empty where it was acknowledged, else the problem that the person is told. Anything but a fault of the store
        with both of its sentences fails the test."""
        try:
            self.save(number, with_photo=with_photo)
        except BartackError as refusal:
            # Told in words that a person can act on, never as if the record were at fault.
            assert isinstance(refusal, StoreFault), refusal
            assert refusal.problem.endswith(".") and refusal.remedy.endswith(".")
            self.told[refusal.problem] = self.told.get(refusal.problem, 0) + 1
            return refusal.problem
        return ""

    def save_again(
        self, number: int, *, within: float, with_photo: bool = True, help_up: Callable[[], object] = lambda: None
    ) -> None:
        """The same save until it is acknowledged, `within` seconds."""
        until = time.monotonic() + within
        while problem := self.try_save(number, with_photo=with_photo):
            assert time.monotonic() < until, f"the store did not recover: {problem}"
            help_up()
            time.sleep(0.05)

    def check_nothing_is_lost(self) -> None:
        with self.site.services.unit_of_work() as uow:
            stored = {one.id for item in self._items for one in uow.inspections.of_item(item.id)}
        assert set(self.acknowledged) <= stored
        if len(self.acknowledged) >= _SAVES_OF_ONE * len(self._items):
            self._items.append(self.site.lanyard(f"LAN-{len(self._items):03}"))

    def check_whole_account(self) -> None:
        """All that was acknowledged is there, nothing else, nothing half, and verify finds no fault, photos and their
        copies included."""
        self.check_nothing_is_lost()
        with self.site.services.unit_of_work() as uow:
            stored = {one.id for item in self._items for one in uow.inspections.of_item(item.id)}
        assert stored == set(self.acknowledged)
        assert verify(self.site.services).faults == ()

    def close(self) -> None:
        self.site.services.close()
