"""Moves made by hand: hold, withdraw, release, destroy."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from inspect_core.domain.custody import MOVES, CustodyEvent, Move, Standing, check_move, raisers
from inspect_core.domain.decision import FindingOutcome, Outcome
from inspect_core.domain.errors import BadInput, NotAllowed
from inspect_core.ports import UnitOfWork
from inspect_core.usecases import account
from inspect_core.usecases.acting import acting
from inspect_core.usecases.plain import custody_plain
from inspect_core.usecases.services import Services
from inspect_core.usecases.signing import signature_for
from inspect_core.usecases.site_settings import two_persons

MOST_REASON = 1000


@dataclass(frozen=True, slots=True)
class MakeMove:
    """A move by hand. `id` is made beforehand so that a double click moves once. `inspection_id` is the evidence
    of a release, `photo_id` and `witness_id` (another person of this site) those of a destruction. `pin`: the PIN or
    pass phrase entered again, which signs a withdrawal, a release or a destruction in a site with sign-in."""

    id: str
    item_id: str
    move: Move
    by: str
    reason: str
    inspection_id: str | None = None
    photo_id: str | None = None
    witness_id: str | None = None
    pin: str | None = field(default=None, repr=False)


def make_move(command: MakeMove, services: Services) -> Standing:
    """Make the move and return where the item stands. Raises NotAllowed or BadInput with nothing written."""
    rule = MOVES.get(command.move)
    if rule is None:
        raise NotAllowed("An item is registered once.", "Open the item that carries this tag.")
    if len(command.reason) > MOST_REASON:
        raise BadInput(f"The reason is longer than {MOST_REASON} characters.", "Shorten it.")
    with services.unit_of_work() as uow:
        if any(event.id == command.id for event in uow.custody.of_item(command.item_id)):
            return uow.items.standing(command.item_id)
    signature = signature_for(command.by, rule.action, command.pin, services)
    now = services.clock.now()
    with services.unit_of_work(write=True) as uow:
        events = uow.custody.of_item(command.item_id)
        if any(event.id == command.id for event in events):
            return uow.items.standing(command.item_id)
        standing = uow.items.standing(command.item_id)
        person = acting(uow, services, command.by, rule.action, signature=signature)
        inspection = uow.inspections.get(command.inspection_id) if command.inspection_id else None
        after = check_move(
            command.move,
            standing,
            person,
            now.date(),
            reason=command.reason,
            inspection=inspection,
            photo_id=command.photo_id,
            witness=uow.people.get(command.witness_id) if command.witness_id else None,
            raised_by=raisers(events),
            two_persons=two_persons(uow),
        )
        if command.move is Move.RELEASE:
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
            witness_id=command.witness_id,
            signature=signature,
        )
        moved = replace(standing, state=after, since=now, reason=event.reason)
        uow.custody.add(event)
        uow.items.set_standing(moved)
        account.enter(uow, now, "custody", event.id, {"custody": custody_plain(event)})
        uow.commit()
    return moved


def _check_newest(command: MakeMove, uow: UnitOfWork) -> None:
    """A release never looks past a later inspection that found a fault or that a person ended otherwise than fit, and
    never rests on one that was corrected, whenever the correction says it was made."""
    inspections = uow.inspections.of_item(command.item_id)
    if any(inspection.corrects == command.inspection_id for inspection in inspections):
        raise NotAllowed(
            "A later inspection corrects this one; it is no evidence any more.",
            "Inspect it in detail again, then release it.",
        )
    for inspection in inspections:
        if inspection.id == command.inspection_id:
            return
        if inspection.outcome is not Outcome.IN_SERVICE:
            raise NotAllowed(
                f"A later inspection ended in “{inspection.outcome.value}”.",
                "Inspect it in detail again, then release it.",
            )
        if any(f.outcome is not FindingOutcome.CLEARED for f in inspection.decision.findings):
            raise NotAllowed(
                "A later inspection found something that this one does not answer.",
                "Inspect it in detail again, then release it.",
            )
