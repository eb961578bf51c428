"""An arrested fall: everything that was worn together is put on hold, in the transaction that tells of the fall."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from datetime import datetime

from inspect_core.domain.access import Action
from inspect_core.domain.custody import CustodyEvent, Move, State
from inspect_core.domain.errors import BadInput
from inspect_core.domain.inspection import Inspection
from inspect_core.domain.kits import content_at
from inspect_core.ports import UnitOfWork
from inspect_core.usecases import account
from inspect_core.usecases.acting import acting
from inspect_core.usecases.plain import custody_plain
from inspect_core.usecases.services import Services

FACT = "arrested fall"
_LIVE = (State.IN_SERVICE, State.ON_HOLD)


@dataclass(frozen=True, slots=True)
class ReportFall:
    """Somebody says that this item arrested a fall. `id` is made beforehand so that a double click reports once.
    `said`: what happened, in a few words; may stay empty. `at` None means now."""

    id: str
    item_id: str
    by: str
    said: str = ""
    at: datetime | None = None


def arrested(inspection: Inspection) -> bool:
    """Whether the inspection tells of a fall that the item arrested."""
    return inspection.facts.get(FACT) is True


def report_fall(command: ReportFall, services: Services) -> tuple[str, ...]:
    """Put the item and everything worn with it on hold, and return their tags. Anybody may report a fall.

    An item on hold already is held anew, so that no inspection from before the fall can release it. Gear that is
    withdrawn or destroyed stays so.
    """
    now = services.clock.now()
    at = command.at or now
    if at > now:
        raise BadInput("The fall lies in the future.", "Check the time.")
    with services.unit_of_work(write=True) as uow:
        person = acting(uow, services, command.by, Action.REPORT_FALL)
        tag = uow.items.get(command.item_id).tag
        said = f" {command.said.strip()[:300]}" if command.said.strip() else ""
        ids = (command.item_id, *worn_with(uow, command.item_id, at))
        held = _hold(uow, services, ids, person.id, f"A fall was arrested (reported on {tag}).{said}", command.id)
        uow.commit()
    return held


def hold_the_rest(uow: UnitOfWork, services: Services, inspection: Inspection) -> tuple[str, ...]:
    """What was worn with the inspected item when it arrested the fall; the item itself moves by its own outcome."""
    ids = worn_with(uow, inspection.item_id, inspection.at)
    reason = f"Worn with {uow.items.get(inspection.item_id).tag} when it arrested a fall."
    return _hold(uow, services, ids, inspection.by, reason, inspection.id)


def worn_with(uow: UnitOfWork, item_id: str, at: datetime) -> tuple[str, ...]:
    """The other items of the kit at that moment, and of the kit as it is now: in doubt more is held, not less."""
    found: dict[str, None] = {}
    for kit_id in dict.fromkeys(event.kit_id for event in uow.kits.events_of_item(item_id)):
        items, _ = content_at(uow.kits.events(kit_id), at)
        if item_id in items:
            found |= dict.fromkeys(items)
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
