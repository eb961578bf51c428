"""One item's life as people look back on it: entries and pictures a page at a time, readings over time, where it stood
when, and what can be laid side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from inspect_core.domain.custody import CustodyEvent, Move, Standing, State
from inspect_core.domain.decision import Outcome
from inspect_core.domain.gear import Component, Item
from inspect_core.domain.inspection import Inspection, InspectionType
from inspect_core.domain.life import LifeFigures, LifePage, Look, MarkedPhoto, Measured, PicturePage, SeenPhoto, Wanted
from inspect_core.domain.marks import Category, Mark
from inspect_core.domain.measures import MEASURES
from inspect_core.domain.setup import SetupRecord
from inspect_core.rules.model import RuleSet
from inspect_core.usecases.services import Services

#: Entries and pictures on a page.
PAGE, PICTURES = 20, 24
#: So many photos, the newest, may be chosen from where no part is named.
COMPARED = 400
#: So many inspections are looked at for the trend of damage; older ones say little about the next year.
_TREND = 200


@dataclass(frozen=True, slots=True)
class LifeView:
    """What an item's page opens with. `names`: people by their ids."""

    item: Item
    standing: Standing
    figures: LifeFigures
    page: LifePage
    moved_photos: Mapping[str, SeenPhoto]
    names: Mapping[str, str]

    def name_of(self, person_id: str) -> str:
        """The name, or the id where nobody is known by it."""
        return self.names.get(person_id, person_id)


def life(
    item_id: str, services: Services, wanted: Wanted | None = None, *, limit: int = PAGE, after: str | None = None
) -> LifeView:
    """An item with one page of its life. Raises NotFound; BadInput for a page that there is not."""
    with services.unit_of_work() as uow:
        item, standing = uow.items.get(item_id), uow.items.standing(item_id)
        page = uow.life.page(item_id, wanted or Wanted(), limit=limit, after=after)
        shown = [entry.photo_id for entry in page.entries if isinstance(entry, CustodyEvent) and entry.photo_id]
        photos = uow.photos.many(shown) if shown else {}
        return LifeView(
            item=item,
            standing=standing,
            figures=uow.life.figures(item_id),
            page=page,
            moved_photos={photo.id: SeenPhoto(photo.id, photo.width, photo.height) for photo in photos.values()},
            names={person.id: person.name for person in uow.people.all()},
        )


def pictures(
    item_id: str, services: Services, wanted: Wanted | None = None, *, limit: int = PICTURES, after: str | None = None
) -> PicturePage:
    """One page of an item's photos, newest inspection first. Raises BadInput for a page that there is not."""
    with services.unit_of_work() as uow:
        return uow.life.pictures(item_id, wanted or Wanted(), limit=limit, after=after)


def inspection(inspection_id: str, services: Services) -> Inspection:
    """One inspection whole. Raises NotFound."""
    with services.unit_of_work() as uow:
        return uow.inspections.get(inspection_id)


def newest_in_detail(item_id: str, services: Services) -> Inspection | None:
    """The newest inspection that was more than a check before use, corrected or not."""
    with services.unit_of_work() as uow:
        pages = (
            uow.life.page(item_id, Wanted(type=one), limit=1)
            for one in InspectionType
            if one is not InspectionType.BEFORE_USE
        )
        found = [entry for page in pages for entry in page.entries if isinstance(entry, Look)]
        return uow.inspections.get(max(found, key=lambda look: look.at).id) if found else None


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of time in one state. `until` None: it lasts. `by`: who made the move that began it."""

    state: State
    since: datetime
    until: datetime | None
    move: Move
    by: str
    reason: str
    event: CustodyEvent


def custody(item_id: str, services: Services) -> tuple[Span, ...]:
    """Where an item stood from its first move to today, oldest first; each move begins a span.

    What was entered late stands on its own day, and registering always stands first. The last span is where the item
    stands now, whatever the days of its moves say.
    """
    with services.unit_of_work() as uow:
        standing = uow.items.standing(item_id)
        events = sorted(uow.custody.of_item(item_id), key=lambda event: (event.move is not Move.REGISTER, event.at))
        names = {person.id: person.name for person in uow.people.all()}
    if not events:
        return ()
    starts = [min(event.at for event in events), *(event.at for event in events[1:])]
    ends: Sequence[datetime | None] = [*starts[1:], None]
    spans = [
        Span(event.after, since, until, event.move, names.get(event.by, event.by), event.reason, event)
        for event, since, until in zip(events, starts, ends, strict=True)
    ]
    if spans[-1].state is not standing.state:
        since = max(spans[-1].since, standing.since)
        spans[-1] = replace(spans[-1], until=since)
        cause = next((event for event in reversed(events) if event.after is standing.state), events[-1])
        by = names.get(cause.by, cause.by)
        spans.append(Span(standing.state, since, None, cause.move, by, standing.reason, cause))
    return tuple(spans)


@dataclass(frozen=True, slots=True)
class Series:
    """Readings of one measure on one component, oldest first, and the limits that weighed them: (limit, rule and what
    it does to the item). `larger_is_worse`: None where the number by itself is neither good nor bad."""

    component: Component
    category: Category
    measure: str
    unit: str
    points: tuple[Measured, ...]
    limits: tuple[tuple[float, str], ...]
    larger_is_worse: bool | None

    @property
    def in_words(self) -> str:
        """One sentence: how many readings, the first and the last."""
        first, last = self.points[0], self.points[-1]
        told = f"{len(self.points)} {'reading' if len(self.points) == 1 else 'readings'}"
        if len(self.points) == 1:
            return f"{told}: {_told(first)} on {first.at:%Y-%m-%d}."
        return f"{told}: {_told(first)} on {first.at:%Y-%m-%d}, {_told(last)} on {last.at:%Y-%m-%d}."


def _told(point: Measured) -> str:
    one = point.reading
    return f"{one.value:g} ± {one.uncertainty:g} {one.unit}"


def readings(item_id: str, services: Services, wanted: Wanted | None = None) -> tuple[Series, ...]:
    """Every reading of an item by component, category and measure; those read most often first. Corrected inspections
    are left out. Only component, category and year of `wanted` count."""
    asked = wanted or Wanted()
    with services.unit_of_work() as uow:
        found = uow.life.measured(item_id)
    groups: dict[tuple[Component, Category, str, str], list[Measured]] = {}
    for one in found:
        if (
            asked.component in (None, one.component)
            and asked.category in (None, one.category)
            and asked.year in (None, one.at.year)
        ):
            key = (one.component, one.category, one.reading.measure, one.reading.unit)
            groups.setdefault(key, []).append(one)
    series = [_series(key, points, services.rules) for key, points in groups.items()]
    return tuple(sorted(series, key=lambda one: (-len(one.points), one.component, one.category, one.measure)))


def _series(key: tuple[Component, Category, str, str], points: list[Measured], rules: RuleSet) -> Series:
    component, category, measure, unit = key
    # The rules of the newest reading that had any: an older limit may have been another rule's.
    kept = next((point.limits for point in reversed(points) if point.limits), ())
    limits = tuple((limit, _meaning(rule, rules)) for limit, rule in kept)
    known = MEASURES.get(measure)
    return Series(component, category, measure, unit, tuple(points), limits, known.larger_is_worse if known else None)


#: What a rule does to the item. How it once judged a reading says nothing of its limit: most readings are far below.
_DOES = {
    Outcome.WITHDRAW: "withdraws the item",
    Outcome.HOLD: "holds the item",
    Outcome.IN_SERVICE: "holds nothing",
}


def _meaning(rule_id: str, rules: RuleSet) -> str:
    """The rule and what it does; only its id where today's rules know it no more."""
    rule = next((one for one in rules.rules if one.id == rule_id), None)
    return f"{rule.title}: {_DOES[rule.outcome]}" if rule else rule_id


def for_trend(item_id: str, services: Services) -> tuple[Inspection, ...]:
    """The newest inspections whole, for the trend of damage used."""
    with services.unit_of_work() as uow:
        return uow.inspections.of_item(item_id, limit=_TREND)


@dataclass(frozen=True, slots=True)
class Comparable:
    """One photo that may be laid beside another: its words for a list, and what it shows."""

    words: str
    photo: SeenPhoto
    inspection_id: str
    at: datetime


def comparable(item_id: str, services: Services) -> Mapping[Component | None, tuple[Comparable, ...]]:
    """Photos that may be compared, newest first, by the component marked on them; None: every photo, marked or not.
    A component is left out where it was marked only once."""
    with services.unit_of_work() as uow:
        marked = uow.life.comparable(item_id)
        taken = uow.life.pictures(item_id, Wanted(), limit=COMPARED).pictures
    parts: dict[Component, list[MarkedPhoto]] = {}
    for one in marked:
        parts.setdefault(one.component, []).append(one)
    found: dict[Component | None, tuple[Comparable, ...]] = {
        part: tuple(
            Comparable(_when(one.at, one.type.value, one.inspection_id), one.photo, one.inspection_id, one.at)
            for one in own
        )
        for part, own in parts.items()
        if len(own) > 1
    }
    every: list[Comparable] = []
    places: dict[str, int] = {}
    for shot in taken:
        places[shot.inspection_id] = places.get(shot.inspection_id, 0) + 1
        words = f"{_when(shot.at, shot.type.value, shot.inspection_id)}, photo {places[shot.inspection_id]}"
        every.append(Comparable(words, shot.photo, shot.inspection_id, shot.at))
    if len(every) > 1:
        found[None] = tuple(every)
    return found


def _when(at: datetime, type_: str, inspection_id: str) -> str:
    return f"{at:%Y-%m-%d}, {type_}, {inspection_id[:6]}"


def marks_on(inspection_id: str, photo_id: str, services: Services) -> tuple[Mark, ...]:
    """The marks of an inspection on one of its photos."""
    with services.unit_of_work() as uow:
        return tuple(mark for mark in uow.life.marks(inspection_id) if mark.photo_id == photo_id)


def setups(item_id: str, services: Services) -> tuple[SetupRecord, ...]:
    """The set-up checks that an item was used in, newest first."""
    with services.unit_of_work() as uow:
        return uow.setups.of_item(item_id)


def days_in(spans: Sequence[Span], state: State, until: date) -> int:
    """Days that an item stood so, up to a day."""
    return sum(
        max(0, (min(until, span.until.date() if span.until else until) - span.since.date()).days)
        for span in spans
        if span.state is state
    )
