"""An arrested fall: everything that was worn together is put on hold, in the transaction that tells of the fall."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from datetime import date, datetime, time

from inspect_core.domain.access import Action
from inspect_core.domain.custody import CustodyEvent, Move, State
from inspect_core.domain.decision import Answer, Outcome
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.inspection import Inspection, InspectionType
from inspect_core.domain.kits import shared_since
from inspect_core.domain.marks import Category
from inspect_core.ports import UnitOfWork
from inspect_core.usecases import account
from inspect_core.usecases.acting import acting
from inspect_core.usecases.plain import custody_plain
from inspect_core.usecases.services import Services

FACT = "arrested fall"
_LIVE = (State.IN_SERVICE, State.ON_HOLD)
#: Parts that a fall changes for good.
_TELLTALE = (Component.ENERGY_ABSORBER, Component.INDICATOR)


@dataclass(frozen=True, slots=True)
class ReportFall:
    """Somebody says that this item arrested a fall. `id` is made beforehand so that a double click reports once.
    `said`: what happened, in a few words; may stay empty. `on`: the day of the fall, None where nobody is certain."""

    id: str
    item_id: str
    by: str
    said: str = ""
    on: date | None = None


def arrested(inspection: Inspection) -> bool:
    """Whether the inspection tells of a fall that the item arrested."""
    return inspection.facts.get(FACT) is True


def report_fall(command: ReportFall, services: Services) -> tuple[str, ...]:
    """Put the item and everything worn with it on hold, and return their tags. Anybody may report a fall.

    Where the day is known, worn with it is what shared a kit with it on that day or since. Else it is what shared one
    at any moment since it was last found fit in detail: the kit may have been swapped before anybody told of the fall.
    An item on hold already is held anew, so that no inspection from before the fall can release it. Gear that is
    withdrawn or destroyed stays so.
    """
    now = services.clock.now()
    if command.on is not None and command.on > services.today():
        raise BadInput("The fall lies in the future.", "Check the day.")
    with services.unit_of_work(write=True) as uow:
        person = acting(uow, services, command.by, Action.REPORT_FALL)
        tag = uow.items.get(command.item_id).tag
        said = f" {command.said.strip()[:300]}" if command.said.strip() else ""
        day = f" on {command.on.isoformat()}" if command.on else ""
        start = _found_fit(uow, command.item_id, now)
        if command.on is not None:  # the hour may be told wrongly, so the whole day counts
            start = datetime.combine(command.on, time.min, tzinfo=now.tzinfo)
        ids = (command.item_id, *worn_with(uow, command.item_id, start))
        held = _hold(uow, services, ids, person.id, f"A fall was arrested{day} (reported on {tag}).{said}", command.id)
        uow.commit()
    return held


def hold_the_rest(uow: UnitOfWork, services: Services, inspection: Inspection) -> tuple[str, ...]:
    """What was worn with the inspected item when it arrested the fall; the item itself moves by its own outcome."""
    ids = worn_with(uow, inspection.item_id, _found_fit(uow, inspection.item_id, inspection.at))
    reason = f"Worn with {uow.items.get(inspection.item_id).tag} when it arrested a fall."
    return _hold(uow, services, ids, inspection.by, reason, inspection.id)


def worn_unasked(inspection: Inspection, services: Services) -> tuple[str, ...]:
    """Tags of live gear worn with an item whose energy absorber or load indicator was found defective although the
    inspection tells of no fall: whoever recorded it is asked whether there was one. Nothing else is held by it."""
    defect = any(inspection.answers.get(part) is Answer.DEFECT for part in _TELLTALE)
    marked = any(m.component in _TELLTALE or m.category is Category.DEPLOYED_ABSORBER for m in inspection.marks)
    if arrested(inspection) or not (defect or marked):
        return ()
    with services.unit_of_work() as uow:
        ids = worn_with(uow, inspection.item_id, _found_fit(uow, inspection.item_id, inspection.at))
        return tuple(uow.items.get(one).tag for one in ids if uow.items.standing(one).state in _LIVE)


def _found_fit(uow: UnitOfWork, item_id: str, before: datetime) -> datetime | None:
    """When the item was last found fit in detail before that moment, None where it never was. An inspection that was
    corrected says nothing."""
    inspections = uow.inspections.of_item(item_id)
    corrected = {inspection.corrects for inspection in inspections}
    for inspection in inspections:
        in_detail = inspection.type is not InspectionType.BEFORE_USE
        fit = in_detail and inspection.outcome is Outcome.IN_SERVICE and inspection.id not in corrected
        if fit and inspection.at < before:
            return inspection.at
    return None


def worn_with(uow: UnitOfWork, item_id: str, start: datetime | None) -> tuple[str, ...]:
    """The other items that shared a kit with this one at any moment since `start` (None: ever), and those of its kit
    as it is now: in doubt more is held, not less."""
    found: dict[str, None] = {}
    for kit_id in dict.fromkeys(event.kit_id for event in uow.kits.events_of_item(item_id)):
        found |= dict.fromkeys(shared_since(uow.kits.events(kit_id), item_id, start))
    now = uow.kits.with_item(item_id)
    found |= dict.fromkeys(now.item_ids if now else ())
    return tuple(other for other in found if other != item_id)


def _hold(
    uow: UnitOfWork, services: Services, item_ids: tuple[str, ...], by: str, reason: str, source: str
) -> tuple[str, ...]:
    now = services.clock.now()
    tags: list[str] = []
    for item_id in item_ids:
        standing = uow.items.standing(item_id)
        event_id = hashlib.sha256(f"{source} fall {item_id}".encode()).hexdigest()[:32]
        known = any(event.id == event_id for event in uow.custody.of_item(item_id))
        if standing.state not in _LIVE:
            continue
        tags.append(uow.items.get(item_id).tag)
        if known:
            continue
        event = CustodyEvent(event_id, item_id, now, by, Move.HOLD, standing.state, State.ON_HOLD, reason)
        uow.custody.add(event)
        uow.items.set_standing(replace(standing, state=State.ON_HOLD, since=now, reason=reason))
        account.enter(uow, now, "custody", event.id, {"custody": custody_plain(event)})
    return tuple(tags)
