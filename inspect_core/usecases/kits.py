"""Kits: made up, issued, taken back, an item swapped; who wore what, when."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from inspect_core.domain.access import Action
from inspect_core.domain.errors import BadInput, Conflict, NotAllowed
from inspect_core.domain.kits import Kit, KitEvent, KitMove, check_wearable, held_by_words
from inspect_core.domain.people import Person
from inspect_core.domain.record import ItemRow
from inspect_core.ports import UnitOfWork
from inspect_core.usecases import account
from inspect_core.usecases.acting import acting
from inspect_core.usecases.ages import too_old
from inspect_core.usecases.plain import kit_entry, kit_event_entry
from inspect_core.usecases.services import Services

MOST_NOTE = 300


@dataclass(frozen=True, slots=True)
class ChangeKit:
    """One thing to do with a kit. `id` names the event and is made beforehand, so that a double click does it once.

    `kit_id`: for a new kit any fresh id. MAKE needs `name` and `item_ids`; ISSUE `holder`; SWAP `taken_out` and
    `put_in`; PUT_IN and TAKE_OUT one of them.
    """

    id: str
    kit_id: str
    move: KitMove
    by: str
    name: str = ""
    item_ids: tuple[str, ...] = ()
    holder: str | None = None
    taken_out: str | None = None
    put_in: str | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class KitView:
    """A kit with its items as they stand. `why`: what forbids wearing it today, "" where nothing does."""

    kit: Kit
    rows: tuple[ItemRow, ...]
    holder: Person | None
    why: str

    @property
    def wearable(self) -> bool:
        return not self.why


@dataclass(frozen=True, slots=True)
class KitPast:
    """Everything that happened to a kit, newest first, with the words for ids."""

    view: KitView
    events: tuple[KitEvent, ...]
    names: Mapping[str, str]
    tags: Mapping[str, str]


_ACTIONS = {
    KitMove.MAKE: Action.MAKE_KIT,
    KitMove.ISSUE: Action.ISSUE_KIT,
    KitMove.RETURN: Action.RETURN_KIT,
    KitMove.SWAP: Action.MAKE_KIT,
    KitMove.PUT_IN: Action.MAKE_KIT,
    KitMove.TAKE_OUT: Action.MAKE_KIT,
    KitMove.DISSOLVE: Action.MAKE_KIT,
}


def change_kit(command: ChangeKit, services: Services) -> Kit:
    """Do it and return the kit as it is then. Raises NotAllowed, BadInput or Conflict with nothing written."""
    now = services.clock.now()
    with services.unit_of_work(write=True) as uow:
        done = uow.kits.find_event(command.id)
        if done is not None:
            return uow.kits.get(done.kit_id)
        person = acting(uow, services, command.by, _ACTIONS[command.move])
        before = None if command.move is KitMove.MAKE else uow.kits.get(command.kit_id)
        if before is not None and before.dissolved:
            raise NotAllowed("This kit was dissolved.", "Make up a new one.")
        after = _after(command, before, uow, services)
        _check_items(command, before, after, uow, services)
        event = KitEvent(
            id=command.id,
            kit_id=after.id,
            at=now,
            by=person.id,
            move=command.move,
            item_ids=before.item_ids if before and after.dissolved else after.item_ids,
            holder=before.holder if before and command.move is KitMove.RETURN else after.holder,
            taken_out=command.taken_out,
            put_in=command.put_in,
            note=command.note.strip()[:MOST_NOTE],
        )
        uow.kits.put(after)
        uow.kits.add_event(event)
        account.enter(uow, now, "kit", after.id, {"kit": kit_entry(after), "event": kit_event_entry(event)})
        uow.commit()
    return after


def _after(command: ChangeKit, before: Kit | None, uow: UnitOfWork, services: Services) -> Kit:
    """The kit as the command wants it, before its items are looked at."""
    now = services.clock.now()
    if before is None:
        if uow.kits.find_name(command.name) is not None:
            raise Conflict(f"There is a kit called {command.name.strip()} already.", "Give this one another name.")
        if not command.item_ids:
            raise BadInput("A kit holds at least one item.", "Name its items by their tags.")
        return Kit(command.kit_id, command.name.strip(), command.item_ids, now)
    if command.move is KitMove.ISSUE:
        return _issued(command, before, uow, services)
    if command.move is KitMove.RETURN:
        if before.holder is None:
            raise NotAllowed("This kit is issued to nobody.", "There is nothing to take back.")
        return replace(before, holder=None, since=now)
    if command.move is KitMove.DISSOLVE:
        if before.holder is not None:
            raise NotAllowed("This kit is issued.", "Take it back first.")
        return replace(before, item_ids=(), dissolved=True, since=now)
    return replace(before, item_ids=_swapped(command, before))


def _issued(command: ChangeKit, before: Kit, uow: UnitOfWork, services: Services) -> Kit:
    if before.holder is not None:
        raise NotAllowed(f"This kit is issued to {uow.people.get(before.holder).name} already.", "Take it back first.")
    if command.holder is None:
        raise BadInput("A kit is issued to somebody.", "Name the person who will wear it.")
    wearer = uow.people.get(command.holder)
    if not wearer.active:
        raise NotAllowed(f"{wearer.name} is no longer active here.", "Name somebody who works here.")
    return replace(before, holder=wearer.id, since=services.clock.now())


def _swapped(command: ChangeKit, before: Kit) -> tuple[str, ...]:
    out, new = command.taken_out, command.put_in
    wants = {KitMove.SWAP: (True, True), KitMove.PUT_IN: (False, True), KitMove.TAKE_OUT: (True, False)}
    if wants[command.move] != (out is not None, new is not None):
        raise BadInput("It is not clear which item goes and which comes.", "Name them by their tags.")
    if out is not None and out not in before.item_ids:
        raise BadInput("The item to take out is not in this kit.", "Pick one of its items.")
    if new is not None and new in before.item_ids:
        raise BadInput("The item to put in is in this kit already.", "Pick another one.")
    if out is None:
        return (*before.item_ids, *([new] if new else ()))
    kept = [(new if item == out else item) for item in before.item_ids]
    left = tuple(item for item in kept if item is not None)
    if not left:
        raise BadInput("This would leave the kit empty.", "Dissolve it instead.")
    return left


def _check_items(command: ChangeKit, before: Kit | None, after: Kit, uow: UnitOfWork, services: Services) -> None:
    """What is handed out, or newly put in, may be used today, its age allows it, and it is in no other kit."""
    fresh = [item for item in after.item_ids if before is None or item not in before.item_ids]
    for other in uow.kits.holding(fresh):
        if other.id != after.id:
            tags = ", ".join(uow.items.get(item).tag for item in fresh if item in other.item_ids)
            raise Conflict(f"{tags} is in the kit {other.name}.", "Take it out of that kit first.")
    checked = after.item_ids if command.move is KitMove.ISSUE else tuple(fresh)
    rows = _rows(checked, uow)
    check_wearable(rows, services.today(), _aged(rows, services))


def _aged(rows: Sequence[ItemRow], services: Services) -> dict[str, str]:
    on = services.today()
    return {row.item.id: too_old(row, on, services) for row in rows}


def _rows(item_ids: Sequence[str], uow: UnitOfWork) -> tuple[ItemRow, ...]:
    return tuple(ItemRow(uow.items.get(item), uow.items.standing(item)) for item in item_ids)


def kits_now(services: Services) -> tuple[KitView, ...]:
    """Every kit that is not dissolved, by name."""
    with services.unit_of_work() as uow:
        return tuple(_view(kit, uow, services) for kit in uow.kits.all())


def kit_named(text: str, services: Services) -> Kit:
    """The kit of that name or id. Raises NotFound."""
    with services.unit_of_work() as uow:
        return uow.kits.find_name(text) or uow.kits.get(text)


def kit_past(kit_id: str, services: Services) -> KitPast:
    """A kit with its whole history. Raises NotFound."""
    with services.unit_of_work() as uow:
        return _past(_view(uow.kits.get(kit_id), uow, services), uow.kits.events(kit_id), uow)


def _view(kit: Kit, uow: UnitOfWork, services: Services) -> KitView:
    rows = _rows(kit.item_ids, uow)
    try:
        check_wearable(rows, services.today(), _aged(rows, services))
        why = ""
    except NotAllowed as refused:
        why = refused.problem
    return KitView(kit, rows, uow.people.get(kit.holder) if kit.holder else None, why)


def _past(view: KitView, events: tuple[KitEvent, ...], uow: UnitOfWork) -> KitPast:
    names = {person.id: person.name for person in uow.people.all()}
    named = {item for event in events for item in (*event.item_ids, event.taken_out, event.put_in) if item}
    return KitPast(view, events, names, {item: uow.items.get(item).tag for item in named})


@dataclass(frozen=True, slots=True)
class Worn:
    """One thing in an item's life with kits: the event, the kit's name, and the person it was with."""

    event: KitEvent
    kit_name: str
    person: str


def worn_by(item_id: str, services: Services) -> tuple[Worn, ...]:
    """Every kit that an item was in, and with whom, newest first."""
    with services.unit_of_work() as uow:
        events = uow.kits.events_of_item(item_id)
        kits = {kit_id: uow.kits.get(kit_id).name for kit_id in {event.kit_id for event in events}}
        people = {person.id: person.name for person in uow.people.all()}
    return tuple(Worn(event, kits[event.kit_id], people.get(event.holder or "", "")) for event in events)


def whereabouts(item_ids: Sequence[str], services: Services) -> dict[str, str]:
    """Who has these items now, in a sentence that tells to fetch them; items that nobody has stay out.

    For gear that must not be used: lists and the item's page say it beside the state.
    """
    with services.unit_of_work() as uow:
        found: dict[str, str] = {}
        for kit in uow.kits.holding(item_ids):
            if kit.holder is not None:
                words = held_by_words(uow.people.get(kit.holder).name, kit.since.date())
                found |= {item: words for item in kit.item_ids if item in item_ids}
    return found


def kit_of(item_id: str, services: Services) -> Kit | None:
    """The kit that holds an item now."""
    with services.unit_of_work() as uow:
        return uow.kits.with_item(item_id)
