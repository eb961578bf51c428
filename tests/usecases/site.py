"""A small site over a store in a temporary folder, shared by the tests of use cases, commands and screens."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
from PIL import Image

from inspect_core import bootstrap
from inspect_core.domain.decision import Answer
from inspect_core.domain.gear import Component, Item, components_of, may_be_absent
from inspect_core.domain.geometry import Shape
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.domain.people import Person, Role
from inspect_core.usecases.correct import CorrectItem, correct_item
from inspect_core.usecases.inspect import RecordInspection, record
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.register import RegisterItem, add_person, parse_item, register
from inspect_core.usecases.services import Services

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


class StandingClock:
    """A clock that moves only when told."""

    def __init__(self, at: datetime = START) -> None:
        self.at = at

    def now(self) -> datetime:
        return self.at

    def move(self, **by: float) -> None:
        self.at += timedelta(**by)


class Site:
    """Open services with a standing clock, two competent persons, a worker and a manager."""

    def __init__(self, folder: Path) -> None:
        self.clock = StandingClock()
        self.services: Services = replace(bootstrap.open_services(str(folder)), clock=self.clock)
        self.worker = self._person("worker", Role.WORKER)
        self.competent = self._person("competent", Role.COMPETENT_PERSON)
        self.second = self._person("second", Role.COMPETENT_PERSON)
        self.manager = self._person("manager", Role.MANAGER)

    def _person(self, name: str, role: Role) -> str:
        return add_person(Person(f"person-{name}", name.capitalize(), role), self.services).id

    def lanyard(self, tag: str = "LAN-001", *, by: str | None = None, **fields) -> Item:
        given = {
            "tag": tag,
            "kind": "webbing lanyard",
            "site": "North Quay",
            "maker": "Maker A",
            "model": "A10",
            "serial": f"S-{tag}",
            "made_on": "2025-06-01",
            "first_used_on": "2026-01-05",
            "webbing_width_mm": 45,
            "fibre": "polyester",
            "packed_length_mm": 210,
            "standards": "CSA Z259.11",
        } | fields
        return register(RegisterItem(parse_item(given, f"item-{tag}"), by or self.worker), self.services)

    def correct(self, item: Item, *, by: str | None = None, reason: str = "Read again on its label.", **changes):
        command = CorrectItem(item, replace(item, **changes), by or self.manager, reason)
        return correct_item(command, self.services)

    def sound(self, item: Item) -> dict[Component, Answer]:
        return {
            part: Answer.ABSENT
            if may_be_absent(item.kind, part) and part is not Component.ENERGY_ABSORBER
            else Answer.SOUND
            for part in components_of(item.kind)
        }

    def photo(self, seed: int = 1) -> str:
        return take_photo(picture(seed), self.services).id

    def check(self, item: Item, inspection_id: str = "check-1", **changes) -> RecordInspection:
        command = RecordInspection(inspection_id, item.id, InspectionType.BEFORE_USE, self.worker, self.sound(item))
        return replace(command, **changes)

    def cut(self, item: Item, depth_mm: float, uncertainty_mm: float = 0.2, **changes) -> RecordInspection:
        photo_id = self.photo()
        reading = Reading("depth from edge", depth_mm, "mm", uncertainty_mm, "by hand, steel rule")
        mark = Mark(
            "mark-1",
            photo_id,
            Component.WEBBING,
            Category.CUT,
            Shape.of("line", [[10, 20], [60, 80]]),
            (reading,),
            made_by=self.worker,
        )
        answers = self.sound(item) | {Component.WEBBING: Answer.DEFECT}
        return self.check(item, answers=answers, marks=(mark,), photo_ids=(photo_id,), **changes)

    def record(self, command: RecordInspection):
        return record(command, self.services)


def picture(seed: int = 1, size: tuple[int, int] = (640, 480)) -> bytes:
    """A noisy JPEG with some structure; another seed is another picture."""
    rng = np.random.default_rng(seed)
    pixels = rng.integers(0, 255, (size[1] // 8, size[0] // 8, 3), dtype=np.uint8)
    image = Image.fromarray(pixels).resize(size, Image.Resampling.BICUBIC)
    out = io.BytesIO()
    image.save(out, "JPEG", quality=90)
    return out.getvalue()
