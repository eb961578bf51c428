"""Playing the demo site's three years through the same use cases that people use."""

from __future__ import annotations

import heapq
import uuid
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from functools import partial
from typing import Any

import numpy as np

from inspect_core.domain.custody import Move, State
from inspect_core.domain.decision import Answer, Outcome
from inspect_core.domain.errors import Conflict, NotAllowed
from inspect_core.domain.gear import Component, components_of
from inspect_core.domain.geometry import Shape
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.domain.measures import MEASURES
from inspect_core.domain.people import Person, Role
from inspect_core.domain.photos import Photo
from inspect_core.usecases.acting import locked
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.demo_kits import make_kits
from inspect_core.usecases.demo_plan import Harm, PlannedItem, plan_item, plan_site
from inspect_core.usecases.demo_readings import read_again
from inspect_core.usecases.inspect import Judgement, Recorded, RecordInspection, record
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.register import RegisterItem, add_person, parse_item, register
from inspect_core.usecases.services import DrawPicture, Services

Progress = Callable[[int, int, str], None]
Drawn = tuple[bytes, Mapping[str, Any]]

WORKERS = ("Worker 11", "Worker 12", "Worker 23", "Worker 31")
COMPETENT = ("Competent person A", "Competent person B")
MANAGER = "Site manager"
ADMINISTRATOR = "Administrator"
_METHOD = "demo: truth of the drawing"
#: What the drawing's truth is called among our measures, by category; the others carry no reading.
_READINGS: Mapping[Category, Mapping[str, str]] = {
    Category.CUT: {"depth_mm": "depth from edge", "length_mm": "length"},
    Category.FRAY: {"depth_mm": "depth from edge", "length_mm": "length"},
    Category.BURN: {"area_mm2": "area"},
    Category.ABRASION: {"area_mm2": "area"},
    Category.BROKEN_STITCH: {"count": "missing stitches"},
    Category.BROKEN_WIRE: {"count": "broken wires in a lay"},
}
#: Damage that a closer look may show to be harmless, with what the competent person writes then. Invented.
_HARMLESS = {
    Category.DISCOLOURATION: "Surface dirt only: it came off with clean water, the fibres beneath are supple.",
    Category.ABRASION: "Raised surface fibres only, no thread worn through; to be looked at again next time.",
}
#: Chance that a sound item is photographed at a periodic inspection, and that a check before use sees a harm.
_SOUND_PHOTO, _SEEN_AT_CHECK = 0.17, 0.7
#: After so many detailed looks an item that the rules still hold stays on hold.
_MOST_LOOKS = 4


@dataclass(frozen=True, slots=True)
class Made:
    """What the demo put into the store."""

    items: int
    inspections: int
    photos: int
    until: date

    def plain(self) -> dict[str, Any]:
        """As JSON data."""
        return {
            "items": self.items,
            "inspections": self.inspections,
            "photos": self.photos,
            "until": self.until.isoformat(),
        }


def fill_demo(services: Services, *, seed: int = 7, progress: Progress = lambda done, total, words: None) -> Made:
    """Fill an empty store with the demo site up to today. The same seed on the same day gives the same site.

    `progress` is called with days done, days in all, and words. Raises Conflict where the store holds items already,
    NotAllowed where this program came without its drawing part.
    """
    with services.unit_of_work() as uow:
        if locked(uow, services):
            raise NotAllowed(
                "This site has sign-in, and the demo site is for trying everything.",
                "Fill the demo site into a store of its own: --store FOLDER.",
            )
        if sum(uow.items.counts().values()):
            raise Conflict("This store holds items already.", "Fill the demo site into an empty store: --store FOLDER.")
    if services.draw is None:
        raise NotAllowed("This program came without its drawing part.", "Start an empty site instead.")
    pool = ThreadPoolExecutor(max_workers=2)
    try:
        return _Story(services, services.draw, seed, pool).play(progress)
    finally:
        pool.shutdown(cancel_futures=True)


class _Then:
    """A clock that stands where the story stands."""

    at = datetime(2000, 1, 1, tzinfo=UTC)

    def now(self) -> datetime:
        return self.at


@dataclass(frozen=True)
class _Picture:
    """A picture that is drawn ahead where there is time, or at once where it is wanted sooner."""

    job: Callable[[], Drawn]
    future: Future[Drawn]

    def now(self) -> Drawn:
        return self.job() if self.future.cancel() else self.future.result()


class _Life:
    """One item as the story goes on."""

    def __init__(self, plan: PlannedItem, pictures: dict[date, _Picture], harm_pictures: list[_Picture]) -> None:
        self.plan = plan
        self.item_id = ""
        self.harms = list(plan.harms)
        self.pictures = pictures
        self.harm_pictures = dict(zip(plan.harms, harm_pictures, strict=True))
        self.settled = 0

    def forget_pictures(self) -> None:
        for picture in (*self.pictures.values(), *self.harm_pictures.values()):
            picture.future.cancel()


class _Story:
    """Everything that happens, in order of time. Two threads draw the pictures ahead of it."""

    def __init__(self, services: Services, draw: DrawPicture, seed: int, pool: ThreadPoolExecutor) -> None:
        self.until = services.today()
        self.draw, self.seed, self.pool = draw, seed, pool
        self.rng = np.random.default_rng([seed, 2])
        self.own_rng = np.random.default_rng([seed, 3])  # so that salts change nothing of what happens
        self.clock = _Then()
        self.services = replace(services, clock=self.clock, new_id=self._id, new_secret=self._secret)
        self.people: dict[str, str] = {}
        self.lives: dict[str, _Life] = {}
        self.todo: list[tuple[date, int, str, Callable[[_Life, date], None]]] = []
        self.order = self.photos = self.inspections = 0
        self.numbers: dict[str, int] = {}

    def play(self, progress: Progress) -> Made:
        """Live through every day and return what was made."""
        plan = plan_site(self.seed, self.until)
        first = min(item.starts for item in plan)
        self._at(first)
        self._enter_people()
        for item in sorted(plan, key=lambda i: i.starts):
            self._begin(item)
        days = (self.until - first).days
        while self.todo:
            day, _, tag, happen = heapq.heappop(self.todo)
            if self.order % 7 == 0:
                progress((day - first).days, days, f"Demo site, {day:%B %Y}")
            self._at(day)
            happen(self.lives[tag], day)
        readers = {name: self.people[name] for name in COMPETENT}
        read_again(self.services, readers, self.seed, self.until, self._pass)
        add_person(Person(self._secret(), ADMINISTRATOR, Role.ADMINISTRATOR), self.services)
        workers = {name: self.people[name] for name in WORKERS}
        make_kits(self.services, workers, self.people[COMPETENT[0]], self.until, self._pass)
        progress(days, days, "Demo site")
        return Made(len(self.lives), self.inspections, self.photos, self.until)

    def _id(self) -> str:
        return uuid.UUID(bytes=self.rng.bytes(16), version=4).hex

    def _secret(self) -> str:
        return self.own_rng.bytes(16).hex()

    def _at(self, day: date) -> None:
        """Move the clock to working hours of a day, never backwards."""
        at = datetime.combine(day, time(7, 0), UTC) + timedelta(minutes=int(self.rng.integers(0, 480)))
        self.clock.at = max(at, self.clock.at + timedelta(seconds=20))

    def _pass(self, time: timedelta) -> None:
        self.clock.at += time

    def _later(self, tag: str, day: date, happen: Callable[[_Life, date], None]) -> None:
        if day < self.until:
            self.order += 1
            heapq.heappush(self.todo, (day, self.order, tag, happen))

    def _enter_people(self) -> None:
        roles = [(name, Role.WORKER) for name in WORKERS] + [(name, Role.COMPETENT_PERSON) for name in COMPETENT]
        for name, role in [*roles, (MANAGER, Role.MANAGER)]:
            until = self.until + timedelta(days=400) if role is Role.COMPETENT_PERSON else None
            self.people[name] = add_person(Person(self._id(), name, role, until), self.services).id

    def _begin(self, plan: PlannedItem) -> None:
        """Put an item's whole plan on the list and have its pictures drawn."""
        tag = str(plan.fields["tag"])
        letters, number = tag.split("-")
        self.numbers[letters] = max(self.numbers.get(letters, 0), int(number))
        shown = components_of(plan.kind)[1]
        pictures = {
            day: self._picture(plan, shown.value, None, day)
            for day in plan.periodic
            if self.rng.random() < _SOUND_PHOTO
        }
        harms = [self._picture(plan, h.component.value, h.category.value, h.on) for h in plan.harms]
        self.lives[tag] = _Life(plan, pictures, harms)
        self._later(tag, plan.starts, self._register)
        for day in plan.periodic:
            self._later(tag, day, self._periodic)
        for day in plan.checks:
            self._later(tag, day, self._check)

    def _picture(self, plan: PlannedItem, component: str, category: str | None, day: date) -> _Picture:
        at = datetime.combine(day, time(9, 30), UTC)
        seed = int(self.rng.integers(1, 2**31))
        job = partial(self.draw, plan.kind.value, component, category, seed=seed, captured_at=at)
        return _Picture(job, self.pool.submit(job))

    def _register(self, life: _Life, day: date) -> None:
        item = parse_item(life.plan.fields, self._id())
        life.item_id = register(RegisterItem(item, self.people[COMPETENT[0]]), self.services).id

    def _check(self, life: _Life, day: date) -> None:
        """A worker looks before use; a harm that has happened may be seen."""
        if self._state(life) is State.IN_SERVICE:
            seen = [h for h in life.harms if h.on <= day and self.rng.random() < _SEEN_AT_CHECK]
            who = WORKERS[int(self.rng.integers(len(WORKERS)))]
            self._record(life, day, InspectionType.BEFORE_USE, who, seen)

    def _periodic(self, life: _Life, day: date) -> None:
        """A competent person looks in detail and sees every harm there is."""
        if self._state(life) is State.IN_SERVICE:
            who = self._competent()
            worn = [self._worn(life, day, who)] if life.plan.wears_yearly else []
            self._record(life, day, InspectionType.PERIODIC, who, [h for h in life.harms if h.on <= day], worn=worn)

    def _settle(self, life: _Life, day: date) -> None:
        """A held item is looked at in detail, then released or withdrawn by judgement."""
        if self._state(life) is not State.ON_HOLD:
            return
        seen = [h for h in life.harms if h.on <= day]
        harmless = all(h.category in _HARMLESS for h in seen)
        if seen and harmless and self.rng.random() < 0.6:
            hand = Judgement(Outcome.IN_SERVICE, _HARMLESS[seen[0].category])
        elif seen:
            words = (
                f"{seen[0].category.value.capitalize()} on the {seen[0].component.value}: its strength cannot be known."
            )
            hand = Judgement(Outcome.WITHDRAW, words)
        else:
            hand = None
        who = self._competent()
        recorded = self._record(
            life, day, InspectionType.AFTER_EVENT if seen else InspectionType.PERIODIC, who, seen, hand
        )
        if recorded.standing.state is State.ON_HOLD and recorded.inspection.outcome is Outcome.IN_SERVICE:
            self._move(life, Move.RELEASE, who, "Found fit in detail.", inspection_id=recorded.inspection.id)
            life.harms = [h for h in life.harms if h not in seen]

    def _destroy(self, life: _Life, day: date) -> None:
        picture = self._picture(life.plan, components_of(life.plan.kind)[1].value, None, day)
        photo = take_photo(picture.now()[0], self.services)
        self.photos += 1
        words = "Cut through and thrown away."
        self._move(life, Move.DESTROY, COMPETENT[0], words, photo_id=photo.id, witness_id=self.people[MANAGER])

    def _state(self, life: _Life) -> State:
        with self.services.unit_of_work() as uow:
            return uow.items.standing(life.item_id).state

    def _competent(self) -> str:
        return COMPETENT[int(self.rng.integers(len(COMPETENT)))]

    def _record(
        self,
        life: _Life,
        day: date,
        kind: InspectionType,
        who: str,
        seen: list[Harm],
        hand: Judgement | None = None,
        worn: Sequence[Mark] = (),
    ) -> Recorded:
        harmed = {h.component for h in seen}
        answers = {
            part: Answer.ABSENT if part in life.plan.absent else Answer.DEFECT if part in harmed else Answer.SOUND
            for part in components_of(life.plan.kind)
        }
        marks = [*worn, *(self._mark(life, harm, who) for harm in seen)]
        photo_ids = [mark.photo_id for mark in marks]
        if kind is InspectionType.PERIODIC and day in life.pictures:
            photo_ids.append(take_photo(life.pictures[day].now()[0], self.services).id)
            self.photos += 1
        command = RecordInspection(
            id=self._id(),
            item_id=life.item_id,
            type=kind,
            by=self.people[who],
            answers=answers,
            marks=tuple(marks),
            photo_ids=tuple(dict.fromkeys(photo_ids)),
            hand=hand,
        )
        recorded = record(command, self.services)
        self.inspections += 1
        self._follow(life, day, recorded)
        return recorded

    def _worn(self, life: _Life, day: date, who: str) -> Mark:
        """A connector's wear, which grows a little from one inspection to the next."""
        years = (day - life.plan.starts).days / 365
        lost = max(0.001, 0.004 + life.plan.wears_yearly * years + float(self.rng.normal(0, 0.002)))
        loss = Reading("section loss", round(lost, 4), "share", 0.008, "demo: by hand, caliper")
        drawn = self._picture(life.plan, Component.BODY.value, Category.WEAR.value, day).now()
        return self._marked(drawn, Component.BODY, Category.WEAR, who, (loss,))

    def _mark(self, life: _Life, harm: Harm, who: str) -> Mark:
        """A harm marked on its photo; a second look at the same harm is a second picture of it."""
        drawn = life.harm_pictures[harm].now()
        life.harm_pictures[harm] = self._picture(
            life.plan, harm.component.value, harm.category.value, self.clock.at.date()
        )
        truth = drawn[1]["defects"][0]["truth"]
        readings = tuple(
            Reading(measure, float(value), MEASURES[measure].unit.value, _doubt(float(value), measure), _METHOD)
            for key, measure in _READINGS.get(harm.category, {}).items()
            if (value := truth.get(key)) is not None
        )
        return self._marked(drawn, harm.component, harm.category, who, readings)

    def _marked(
        self, drawn: Drawn, component: Component, category: Category, who: str, readings: tuple[Reading, ...]
    ) -> Mark:
        data, truth = drawn
        photo = take_photo(data, self.services)
        self.photos += 1
        shape = _inside(truth["defects"][0]["shape"], photo)
        return Mark(self._id(), photo.id, component, category, shape, readings, made_by=self.people[who])

    def _follow(self, life: _Life, day: date, recorded: Recorded) -> None:
        """What a decision leads to: a held item is settled, a withdrawn one destroyed and replaced."""
        tag = str(life.plan.fields["tag"])
        if recorded.standing.state is State.ON_HOLD and life.settled < _MOST_LOOKS:
            life.settled += 1
            self._later(tag, day + timedelta(days=int(self.rng.integers(1, 8))), self._settle)
        elif recorded.standing.state is State.WITHDRAWN:
            life.forget_pictures()
            if self.rng.random() < 0.7:
                self._later(tag, day + timedelta(days=int(self.rng.integers(2, 15))), self._destroy)
            letters = tag.split("-")[0]
            begins = day + timedelta(days=int(self.rng.integers(3, 21)))
            if begins < self.until:
                new_tag = f"{letters}-{self.numbers[letters] + 1:03d}"
                self._begin(plan_item(life.plan.kind, new_tag, begins, self.until, self.rng))

    def _move(
        self,
        life: _Life,
        move: Move,
        who: str,
        reason: str,
        *,
        inspection_id: str | None = None,
        photo_id: str | None = None,
        witness_id: str | None = None,
    ) -> None:
        make_move(
            MakeMove(self._id(), life.item_id, move, self.people[who], reason, inspection_id, photo_id, witness_id),
            self.services,
        )


def _inside(drawn: Mapping[str, Any], photo: Photo) -> Shape:
    """The drawn shape, cut off at the edge of the picture where the damage runs out of it."""
    points = [[min(max(x, 0.0), photo.width), min(max(y, 0.0), photo.height)] for x, y in drawn["points"]]
    return Shape.of(drawn["type"], points)


def _doubt(value: float, measure: str) -> float:
    """An uncertainty that fits what a photo of that size would give: 5 % and a fifth of a millimetre; counts none."""
    return 0.0 if MEASURES[measure].unit.value == "count" else round(0.05 * value + 0.2, 3)
