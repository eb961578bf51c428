"""Moves made by hand: hold, withdraw, release, destroy."""

from __future__ import annotations

from dataclasses import dataclass, replace

from inspect_core.domain.custody import CustodyEvent, Move, Standing, check_move
from inspect_core.domain.decision import FindingOutcome
from inspect_core.domain.errors import NotAllowed
from inspect_core.ports import UnitOfWork
from inspect_core.usecases import account
from inspect_core.usecases.plain import custody_plain
from inspect_core.usecases.services import Services


@dataclass(frozen=True, slots=True)
class MakeMove:
    """A move by hand. `id` is made beforehand so that a double click moves once. `inspection_id` is the evidence
    of a release, `photo_id` and `witness` those of a destruction. `allow_same_person` False asks for a second
    competent person where one raised the hold."""

    id: str
    item_id: str
    move: Move
    by: str
    reason: str
    inspection_id: str | None = None
    photo_id: str | None = None
    witness: str = ""
    allow_same_person: bool = True


def make_move(command: MakeMove, services: Services) -> Standing:
    """Make the move and return where the item stands. Raises NotAllowed or BadInput with nothing written."""
    now = services.clock.now()
    with services.unit_of_work(write=True) as uow:
        events = uow.custody.of_item(command.item_id)
        if any(event.id == command.id for event in events):
            return uow.items.standing(command.item_id)
        standing = uow.items.standing(command.item_id)
        person = uow.people.get(command.by)
        if not person.active:
            raise NotAllowed(f"{person.name} is no longer active here.", "Pick who makes this move.")
        inspection = uow.inspections.get(command.inspection_id) if command.inspection_id else None
        after = check_move(
            command.move,
            standing,
            person,
            now.date(),
            reason=command.reason,
            inspection=inspection,
            photo_id=command.photo_id,
            witness=command.witness,
        )
        if command.move is Move.RELEASE:
            _check_second_person(command, events, uow)
            _check_newest(command, uow)
        if command.photo_id:
            uow.photos.get(command.photo_id)
        event = CustodyEvent(
            command.id,
            command.item_id,
            now,
            person.id,
            command.move,
            standing.state,
            after,
            command.reason.strip(),
            command.inspection_id,
            command.photo_id,
            command.witness.strip(),
        )
        moved = replace(standing, state=after, since=now, reason=event.reason)
        uow.custody.add(event)
        uow.items.set_standing(moved)
        account.enter(uow, now, "custody", event.id, {"custody": custody_plain(event)})
        uow.commit()
    return moved


def _check_second_person(command: MakeMove, events: tuple[CustodyEvent, ...], uow: UnitOfWork) -> None:
    raised_by = next((e.by for e in events if e.move is Move.HOLD), None)
    if not command.allow_same_person and raised_by == command.by:
        raise NotAllowed(
            "This site asks for a second person: whoever raised the hold may not release it.",
            f"Ask a competent person other than {uow.people.get(command.by).name}.",
        )


def _check_newest(command: MakeMove, uow: UnitOfWork) -> None:
    """A release never looks past a later inspection that found a fault."""
    for inspection in uow.inspections.of_item(command.item_id):
        if inspection.id == command.inspection_id:
            return
        if any(f.outcome is not FindingOutcome.CLEARED for f in inspection.decision.findings):
            raise NotAllowed(
                "A later inspection found something that this one does not answer.",
                "Inspect it in detail again, then release it.",
            )
