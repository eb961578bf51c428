"""Looking back: what is due, what is on hold, and an item's whole life."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from inspect_core.domain.custody import CustodyEvent, Standing, State
from inspect_core.domain.errors import BadInput, NotFound
from inspect_core.domain.gear import Item, Kind, clean_tag
from inspect_core.domain.inspection import Inspection
from inspect_core.domain.people import Person
from inspect_core.domain.photos import Photo
from inspect_core.domain.record import ItemRow
from inspect_core.domain.setup import SetupRecord
from inspect_core.usecases.services import Services

#: How far ahead "soon" reaches on the first screen: common practice, no source.
SOON = timedelta(days=30)
_LIVE = (State.IN_SERVICE, State.ON_HOLD)


@dataclass(frozen=True, slots=True)
class Today:
    """The first screen: overdue and soon due (not both), what is on hold, and how many items stand where."""

    on: date
    overdue: tuple[ItemRow, ...]
    soon: tuple[ItemRow, ...]
    on_hold: tuple[ItemRow, ...]
    counts: Mapping[State, int]

    @property
    def empty(self) -> bool:
        return not sum(self.counts.values())


@dataclass(frozen=True, slots=True)
class History:
    """An item's whole life, newest first."""

    item: Item
    standing: Standing
    inspections: tuple[Inspection, ...]
    custody: tuple[CustodyEvent, ...]
    people: Mapping[str, Person]
    photos: Mapping[str, Photo]
    setups: tuple[SetupRecord, ...] = ()

    def name_of(self, person_id: str) -> str:
        person = self.people.get(person_id)
        return person.name if person else person_id


def today(services: Services, *, site: str | None = None) -> Today:
    """What needs doing now, for one site or all."""
    on = services.today()
    sites = (site,) if site else ()
    with services.unit_of_work() as uow:
        due = uow.items.rows(sites=sites, states=_LIVE, due_by=on + SOON)
        held = uow.items.rows(sites=sites, states=(State.ON_HOLD,))
        counts = uow.items.counts()
    return Today(on, *_late_and_soon(due, on), held, counts)


def due(services: Services, *, within_days: int = 30, site: str | None = None, kind: Kind | None = None) -> Today:
    """Overdue and soon due within so many days. Raises BadInput for a number of days below zero."""
    if not 0 <= within_days <= 3660:
        raise BadInput("The number of days must lie between 0 and 3660.", "Give how many days ahead to look.")
    on = services.today()
    with services.unit_of_work() as uow:
        rows = uow.items.rows(
            sites=(site,) if site else (),
            kinds=(kind,) if kind else (),
            states=_LIVE,
            due_by=on + timedelta(days=within_days),
        )
        counts = uow.items.counts()
    return Today(on, *_late_and_soon(rows, on), tuple(r for r in rows if r.standing.state is State.ON_HOLD), counts)


def _late_and_soon(rows: tuple[ItemRow, ...], on: date) -> tuple[tuple[ItemRow, ...], tuple[ItemRow, ...]]:
    """Items whose inspection in detail is overdue that day, and those that are due later; none without a date."""
    late = tuple(row for row in rows if row.standing.overdue_on(on))
    soon = tuple(row for row in rows if row.standing.next_due is not None and not row.standing.overdue_on(on))
    return late, soon


def item_by_tag(tag: str, services: Services) -> ItemRow:
    """The item that carries a tag. Raises NotFound with what to do, BadInput when it is no tag."""
    cleaned = clean_tag(tag)
    with services.unit_of_work() as uow:
        item = uow.items.find_tag(cleaned)
        if item is None:
            raise NotFound(f"No item carries the tag {cleaned}.", "Check the tag on the gear, or register the item.")
        return ItemRow(item, uow.items.standing(item.id))


def history(item_id: str, services: Services, *, limit: int | None = None) -> History:
    """An item's whole life. Raises NotFound."""
    with services.unit_of_work() as uow:
        item = uow.items.get(item_id)
        standing = uow.items.standing(item_id)
        inspections = uow.inspections.of_item(item_id, limit=limit)
        custody = uow.custody.of_item(item_id)
        setups = uow.setups.of_item(item_id)
        people = {p.id: p for p in uow.people.all()}
        ids = {photo_id for i in inspections for photo_id in i.photo_ids}
        ids |= {event.photo_id for event in custody if event.photo_id}
        photos = uow.photos.many(sorted(ids))
    return History(item, standing, inspections, custody, people, photos, setups)


def people(services: Services) -> tuple[Person, ...]:
    """Everybody active, by name."""
    with services.unit_of_work() as uow:
        return tuple(sorted((p for p in uow.people.all() if p.active), key=lambda p: p.name.casefold()))


def person_by_name(name: str, services: Services) -> Person | None:
    """Somebody of that name, case and spacing aside; an active one first."""
    with services.unit_of_work() as uow:
        return uow.people.find_name(name.strip())


def inspection_by_id(text: str, services: Services) -> Inspection:
    """An inspection by its identifier or an unambiguous beginning of it. Raises NotFound or BadInput."""
    wanted = text.strip().lower()
    with services.unit_of_work() as uow:
        found = uow.inspections.find(wanted)
        if found is not None:
            return found
        candidates = uow.inspections.by_prefix(wanted) if len(wanted) >= 4 else ()
        if len(candidates) > 1:
            raise BadInput(f"“{wanted}” begins {len(candidates)} inspections.", "Type more of the identifier.")
        if not candidates:
            raise NotFound(f"No inspection is called “{wanted[:40]}”.", "Copy the identifier from the item's history.")
        return uow.inspections.get(candidates[0])


def sites(services: Services) -> tuple[str, ...]:
    """Every site that an item is registered at, by name."""
    with services.unit_of_work() as uow:
        return uow.items.sites()
