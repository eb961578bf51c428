"""Custody: the state of an item and the moves between states, as one table."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from itertools import takewhile
from types import MappingProxyType

from inspect_core.domain.access import PERMISSIONS, Action, require
from inspect_core.domain.decision import Outcome
from inspect_core.domain.errors import BadInput, NotAllowed
from inspect_core.domain.inspection import Inspection, InspectionType
from inspect_core.domain.people import Person, Role
from inspect_core.domain.signatures import Signature


class State(StrEnum):
    """Whether an item may be handed out. Only `in service` may."""

    IN_SERVICE = "in service"
    ON_HOLD = "on hold"
    WITHDRAWN = "withdrawn"
    DESTROYED = "destroyed"


class Move(StrEnum):
    """What can happen to an item's state."""

    REGISTER = "register"
    HOLD = "put on hold"
    WITHDRAW = "withdraw"
    RELEASE = "release"
    DESTROY = "destroy"


@dataclass(frozen=True, slots=True)
class MoveRule:
    """Where a move starts and ends, which action of the table of permissions it is, and what it needs as evidence."""

    starts: tuple[State, ...]
    ends: State
    action: Action
    needs_inspection: bool = False
    needs_photo: bool = False

    @property
    def roles(self) -> tuple[Role, ...]:
        """Who may make it by hand."""
        return PERMISSIONS[self.action].roles

    @property
    def signed(self) -> bool:
        """Whether it takes the PIN again in a site with sign-in."""
        return PERMISSIONS[self.action].signed


MOVES: Mapping[Move, MoveRule] = MappingProxyType(
    {
        Move.HOLD: MoveRule((State.IN_SERVICE,), State.ON_HOLD, Action.HOLD),
        Move.WITHDRAW: MoveRule((State.IN_SERVICE, State.ON_HOLD), State.WITHDRAWN, Action.WITHDRAW),
        Move.RELEASE: MoveRule((State.ON_HOLD,), State.IN_SERVICE, Action.RELEASE, needs_inspection=True),
        Move.DESTROY: MoveRule((State.WITHDRAWN,), State.DESTROYED, Action.DESTROY, needs_photo=True),
    }
)


@dataclass(frozen=True, slots=True)
class CustodyEvent:
    """One move that was made. `witness_id` is the second person at a destruction; `witness` is their name as older
    records hold it, typed freely. `signature` is there where the site has sign-in and the move asks for one."""

    id: str
    item_id: str
    at: datetime
    by: str
    move: Move
    before: State | None
    after: State
    reason: str
    inspection_id: str | None = None
    photo_id: str | None = None
    witness: str = ""
    witness_id: str | None = None
    signature: Signature | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """Where an item stands now; kept beside the item so that lists need no history.

    `hold_since`: when the present hold began. `last_seen_on` / `last_periodic_on`: the last inspection of any
    type, and the last periodic or after-event one. `damage_used`: of the last inspection that measured anything.
    """

    item_id: str
    state: State
    since: datetime
    reason: str
    last_inspection_id: str | None = None
    last_seen_on: date | None = None
    last_periodic_on: date | None = None
    next_due: date | None = None
    damage_used: float | None = None

    @property
    def usable(self) -> bool:
        """Only gear in service may be handed out. Whether it may be today is for `usable_on` to say."""
        return self.state is State.IN_SERVICE

    def overdue_on(self, day: date) -> bool:
        """Whether the inspection in detail was due before that day."""
        return self.next_due is not None and self.next_due < day

    def usable_on(self, day: date) -> bool:
        """In service, and its inspection in detail not overdue; what lists and answers go by."""
        return self.usable and not self.overdue_on(day)


def move_for(outcome: Outcome, state: State) -> Move | None:
    """The move that an inspection's outcome makes by itself. A good outcome never releases by itself, and nothing
    moves gear that is withdrawn or destroyed."""
    if outcome is Outcome.WITHDRAW and state in (State.IN_SERVICE, State.ON_HOLD):
        return Move.WITHDRAW
    if outcome is Outcome.HOLD and state is State.IN_SERVICE:
        return Move.HOLD
    return None


def raisers(events: Sequence[CustodyEvent]) -> frozenset[str]:
    """Everybody who raised a hold since the last release, from an item's moves, newest first. A hold put on top of
    another does not end it: an arrested fall holds anew what was on hold already."""
    standing = takewhile(lambda event: event.move not in (Move.RELEASE, Move.REGISTER), events)
    return frozenset(event.by for event in standing if event.move is Move.HOLD)


def state_after(move: Move) -> State:
    """Where a move ends; a registration ends in service."""
    return MOVES[move].ends if move in MOVES else State.IN_SERVICE


def check_move(
    move: Move,
    standing: Standing,
    by: Person,
    on: date,
    *,
    reason: str,
    inspection: Inspection | None = None,
    photo_id: str | None = None,
    witness: Person | None = None,
    raised_by: Collection[str] = (),
    two_persons: bool = False,
) -> State:
    """The state after a move made by hand; raises NotAllowed or BadInput with what to do instead.

    `raised_by`: everybody who raised a hold that still stands. `two_persons`: whether the site asks that neither the
    inspection behind a release nor the release itself is theirs.
    """
    rule = MOVES.get(move)
    if rule is None:
        raise NotAllowed("An item is registered once.", "Open the item that carries this tag.")
    if standing.state not in rule.starts:
        raise NotAllowed(
            f"This item is {standing.state.value}; it cannot be moved by “{move.value}”.", _way_out(standing.state)
        )
    require(by, rule.action, on)
    if len(reason.strip()) < 3:
        raise BadInput("A move needs its reason.", "Write why, in a few words.")
    if rule.needs_inspection:
        _check_release(standing, inspection)
        if two_persons:
            _check_second_person(by, inspection, raised_by)
    if rule.needs_photo:
        _check_destruction(by, photo_id, witness)
    return rule.ends


def _check_destruction(by: Person, photo_id: str | None, witness: Person | None) -> None:
    if not photo_id:
        raise BadInput("Destruction is shown by a photo.", "Photograph the destroyed item with its tag in the picture.")
    if witness is None:
        raise BadInput("Destruction needs a witness.", "Name another person of this site who saw it.")
    if witness.id == by.id:
        raise NotAllowed("Nobody is their own witness.", "Name another person of this site who saw it.")
    if not witness.active:
        raise NotAllowed(f"{witness.name} is no longer active here.", "Name another person of this site who saw it.")


def _check_second_person(by: Person, inspection: Inspection | None, raised_by: Collection[str]) -> None:
    if by.id in raised_by:
        raise NotAllowed(
            "This site asks for a second person: whoever raised the hold may not release it.",
            f"Ask a competent person other than {by.name}.",
        )
    if inspection is not None and inspection.by in raised_by:
        raise NotAllowed(
            "This site asks for a second person: that inspection was made by whoever raised the hold.",
            "Inspect it in detail yourself, then release it.",
        )


def _check_release(standing: Standing, inspection: Inspection | None) -> None:
    """A release rests on a new inspection in detail, of this item, after the hold began, that found it fit."""
    again = "Inspect it in detail now (periodic or after event), then release it."
    if inspection is None:
        raise NotAllowed("A release needs a new inspection in detail.", again)
    if inspection.item_id != standing.item_id:
        raise NotAllowed("That inspection is of another item.", again)
    if inspection.type is InspectionType.BEFORE_USE:
        raise NotAllowed("A check before use releases nothing.", again)
    if inspection.at < standing.since:
        raise NotAllowed("That inspection is older than the hold.", again)
    if inspection.outcome is not Outcome.IN_SERVICE:
        raise NotAllowed(f"That inspection ended in “{inspection.outcome.value}”.", again)


def _way_out(state: State) -> str:
    return {
        State.IN_SERVICE: "Put it on hold first if it is in doubt.",
        State.ON_HOLD: "A competent person inspects it in detail, then releases or withdraws it.",
        State.WITHDRAWN: "Withdrawn gear never comes back. Destroy it and record that.",
        State.DESTROYED: "Nothing can be done with destroyed gear; register the replacement as a new item.",
    }[state]
