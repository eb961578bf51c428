"""Recording an inspection: decide, move the item, write the account, all in one transaction."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from inspect_core.deciding import decide
from inspect_core.domain.access import Action, require
from inspect_core.domain.custody import CustodyEvent, Standing, State, move_for, state_after
from inspect_core.domain.decision import Answer, Case, Decision, FactValue, FindingOutcome, Outcome, hand_decision
from inspect_core.domain.errors import BadInput, Conflict, NotAllowed
from inspect_core.domain.gear import Component, Item, components_of
from inspect_core.domain.inspection import Inspection, InspectionType, case_marks
from inspect_core.domain.marks import Mark
from inspect_core.domain.record import LedgerEntry
from inspect_core.domain.signatures import Signature
from inspect_core.ports import UnitOfWork
from inspect_core.rules.intervals import next_due
from inspect_core.usecases import account, doubts, falls
from inspect_core.usecases.acting import acting
from inspect_core.usecases.casefile import check_facts, facts_of_item, follows, own_facts
from inspect_core.usecases.plain import custody_plain, inspection_plain
from inspect_core.usecases.services import Services
from inspect_core.usecases.signing import signature_for

MOST_PHOTOS = 60
MOST_NOTE = 4000
#: Over all photos of one inspection; one photo takes 200.
MOST_MARKS = 3000
MOST_ANSWER_NOTE = 500
#: A phone's clock may run ahead of ours by this much before the time of an inspection counts as wrong.
CLOCK_SLACK = timedelta(minutes=10)


@dataclass(frozen=True, slots=True)
class Judgement:
    """What a competent person decides by hand, and why."""

    outcome: Outcome
    reason: str


@dataclass(frozen=True, slots=True)
class RecordInspection:
    """An inspection as a person gives it. `id` is made when the draft is opened, so that a double click, a rerun or
    a retry records it once. `at` None means now. `pin`: the PIN or pass phrase entered again, which signs an inspection
    in detail in a site with sign-in; it is compared and forgotten."""

    id: str
    item_id: str
    type: InspectionType
    by: str
    answers: Mapping[Component, Answer]
    marks: tuple[Mark, ...] = ()
    photo_ids: tuple[str, ...] = ()
    facts: Mapping[str, FactValue] = field(default_factory=dict)
    answer_notes: Mapping[Component, str] = field(default_factory=dict)
    note: str = ""
    hand: Judgement | None = None
    corrects: str | None = None
    at: datetime | None = None
    pin: str | None = field(default=None, repr=False)


@dataclass(frozen=True, slots=True)
class Recorded:
    """What was written: the inspection, where the item stands after it, and its place in the ledger (None where the
    same inspection had been recorded before). `held`: tags of the other gear of its kit that an arrested fall put on
    hold with it."""

    inspection: Inspection
    standing: Standing
    entry: LedgerEntry | None
    held: tuple[str, ...] = ()


def ask(command: RecordInspection, services: Services) -> Decision:
    """What the rules say to this inspection; writes nothing."""
    with services.unit_of_work() as uow:
        item = uow.items.get(command.item_id)
        standing = uow.items.standing(command.item_id)
    at = _time_of(command, services.clock.now())
    return decide(_case(command, item, standing, at.date(), services), services.rules, at.date())


def record(command: RecordInspection, services: Services) -> Recorded:
    """Record an inspection whole, or not at all.

    An arrested fall among the facts puts everything else of the kit that was worn on hold as well.

    Raises NotAllowed (role, qualification, sign-in, PIN, withdrawn gear), BadInput (what the command gets wrong),
    Conflict (the id belongs to another inspection), NotFound. Nothing is written in any of these cases.
    """
    now = services.clock.now()
    at = _time_of(command, now)
    # Looked at before the write lock is taken: reading pictures and comparing a PIN take their time.
    doubtful = doubts.about(
        command.photo_ids,
        command.item_id,
        services,
        at=at,
        inspection_id=command.id,
        corrects=command.corrects,
        entered_late=command.at is not None,
    )
    signature = _signature(command, services)
    with services.unit_of_work(write=True) as uow:
        known = uow.inspections.find(command.id)
        if known is not None:
            return _known(known, command, uow, services)
        item = uow.items.get(command.item_id)
        standing = uow.items.standing(item.id)
        _check_state(item, standing)
        person = acting(uow, services, command.by, _action(command), on=at.date(), signature=signature)
        require(person, _action(command), now.date())  # the time is only said: who signs it signs today
        _check(command, item, uow)
        case = _case(command, item, standing, at.date(), services)
        decision = decide(case, services.rules, at.date())
        hand = (
            hand_decision(decision, command.hand.outcome, command.hand.reason, person, at.date())
            if command.hand
            else None
        )
        inspection = Inspection(
            id=command.id,
            item_id=item.id,
            type=command.type,
            at=at,
            by=person.id,
            site=item.site,
            profile=item.profile,
            answers=dict(command.answers),
            facts=dict(case.facts),
            marks=command.marks,
            photo_ids=command.photo_ids,
            decision=decision,
            hand=hand,
            corrects=command.corrects,
            note=doubts.noted(command.note.strip(), command.photo_ids, doubtful),
            answer_notes=_notes(command),
            signature=signature,
        )
        inspection = replace(inspection, next_due=_next_due(inspection, standing, item, services))
        event = _move(inspection, standing, now, services)
        after = _standing_after(inspection, standing, event)
        uow.inspections.add(inspection)
        if event is not None:
            uow.custody.add(event)
        uow.items.set_standing(after)
        body = {"inspection": inspection_plain(inspection), "custody": custody_plain(event) if event else None}
        entry = account.enter(uow, now, "inspection", inspection.id, body)
        held = falls.hold_the_rest(uow, services, inspection) if falls.arrested(inspection) else ()
        uow.drafts.discard(inspection.id)
        uow.commit()
    return Recorded(inspection, after, entry, held)


def _time_of(command: RecordInspection, now: datetime) -> datetime:
    """When it was made, never later than now: an inspection dated ahead would answer a fall still to come."""
    at = command.at or now
    if at > now + CLOCK_SLACK:
        raise BadInput("The time of the inspection lies in the future.", "Check the clock of this device.")
    return min(at, now)


def _action(command: RecordInspection) -> Action:
    return Action.CHECK if command.type is InspectionType.BEFORE_USE else Action.INSPECT


def _signature(command: RecordInspection, services: Services) -> Signature | None:
    """The signature of an inspection in detail; none is asked for what has been recorded already."""
    if _action(command) is Action.CHECK:
        return None
    with services.unit_of_work() as uow:
        if uow.inspections.find(command.id) is not None:
            return None
    return signature_for(command.by, Action.INSPECT, command.pin, services)


def _known(known: Inspection, command: RecordInspection, uow: UnitOfWork, services: Services) -> Recorded:
    if known.item_id != command.item_id or known.by != command.by:
        raise Conflict("Another inspection carries this identifier.", "Start the inspection again.")
    if not _says_the_same(known, command, services):
        raise Conflict(
            "An inspection with this identifier is recorded already, and it says something else.",
            "Look at what was recorded; record what is new as a correction of it.",
        )
    return Recorded(known, uow.items.standing(known.item_id), None)


def _says_the_same(known: Inspection, command: RecordInspection, services: Services) -> bool:
    """Whether a command given again is the one recorded. Identifiers of marks are made anew at a retry, the note got
    the doubts about photos added, and the facts those of the register."""
    given = check_facts(command.facts, services.rules, known.at.date())
    asked = {name: value for name, value in known.facts.items() if name in given or not follows(name)}
    judged = (command.hand.outcome, command.hand.reason.strip()) if command.hand else None
    return (
        known.type is command.type
        and known.corrects == command.corrects
        and dict(known.answers) == dict(command.answers)
        and known.photo_ids == command.photo_ids
        and _unnamed(known.marks) == _unnamed(command.marks)
        and asked == given
        and judged == ((known.hand.outcome, known.hand.reason) if known.hand else None)
        and known.note.startswith(command.note.strip())
        and dict(known.answer_notes) == _notes(command)
    )


def _unnamed(marks: tuple[Mark, ...]) -> tuple[Mark, ...]:
    return tuple(replace(mark, id="") for mark in marks)


def _notes(command: RecordInspection) -> dict[Component, str]:
    return {component: note.strip() for component, note in command.answer_notes.items() if note.strip()}


def _case(command: RecordInspection, item: Item, standing: Standing, on: date, services: Services) -> Case:
    """What the rules weigh: what was found, and what was known of the item on that day. All of it is recorded, so
    that the decision can be made again later whatever the register says by then."""
    own = own_facts(check_facts(command.facts, services.rules, on), item, standing)
    extra: dict[str, FactValue] = {**own, "inspection type": command.type.value}
    if command.type is InspectionType.BEFORE_USE and standing.next_due is not None:
        # A detailed inspection is itself the cure for being overdue; only a check before use has to fail on it.
        extra["next due"] = standing.next_due
    facts = facts_of_item(item, on, last_periodic=standing.last_periodic_on, extra=extra)
    return Case(item.kind, item.profile, facts, dict(command.answers), case_marks(command.marks))


def _check_state(item: Item, standing: Standing) -> None:
    if standing.state in (State.WITHDRAWN, State.DESTROYED):
        raise NotAllowed(
            f"{item.tag} is {standing.state.value}; there is nothing to inspect.",
            "Keep it apart. Withdrawn gear never comes back.",
        )


def _check(command: RecordInspection, item: Item, uow: UnitOfWork) -> None:
    if len(command.photo_ids) > MOST_PHOTOS:
        raise BadInput(f"More than {MOST_PHOTOS} photos in one inspection.", "Leave out those that show nothing new.")
    if command.hand is not None and _action(command) is Action.CHECK:
        raise NotAllowed(
            "Nobody may decide by hand at a check before use: it is not signed.",
            "Inspect it in detail (periodic or after event), then decide by hand.",
        )
    if len(command.marks) > MOST_MARKS:
        raise BadInput(f"More than {MOST_MARKS} marks in one inspection.", "Draw one outline around many damages.")
    if len(command.note) > MOST_NOTE:
        raise BadInput(f"The note is longer than {MOST_NOTE} characters.", "Shorten it.")
    if command.hand is not None and len(command.hand.reason) > MOST_NOTE:
        raise BadInput(f"The reason is longer than {MOST_NOTE} characters.", "Shorten it.")
    if any(len(note) > MOST_ANSWER_NOTE for note in command.answer_notes.values()):
        raise BadInput(f"A note on a part is longer than {MOST_ANSWER_NOTE} characters.", "Shorten it.")
    strangers = [c.value for c in command.answers if c not in components_of(item.kind)]
    strangers += [m.component.value for m in command.marks if m.component not in components_of(item.kind)]
    if strangers:
        raise BadInput(f"A {item.kind.value} has no {strangers[0]}.", "Answer only the components of its kind.")
    for mark in command.marks:
        photo = uow.photos.get(mark.photo_id)
        if not mark.shape.within(photo.width, photo.height):
            raise BadInput("A mark reaches beyond its photo.", "Draw the mark again.")
    for photo_id in command.photo_ids:
        uow.photos.get(photo_id)
    if command.corrects is not None:
        corrected = uow.inspections.get(command.corrects)
        if corrected.item_id != item.id:
            raise BadInput("A correction names an inspection of another item.", "Name one of this item's inspections.")


def _next_due(inspection: Inspection, standing: Standing, item: Item, services: Services) -> date | None:
    """A detailed inspection that leaves the item fit sets the next date; anything else leaves it as it was."""
    if inspection.type is InspectionType.BEFORE_USE or inspection.outcome is not Outcome.IN_SERVICE:
        return standing.next_due
    if standing.last_periodic_on is not None and inspection.at.date() < standing.last_periodic_on:
        return standing.next_due  # entered late; a newer inspection has set the date already
    severe = inspection.facts.get("service severity") == "severe"
    return next_due(services.rules, item.profile, item.kind, inspection.at.date(), severe=severe).on


def _move(inspection: Inspection, standing: Standing, now: datetime, services: Services) -> CustodyEvent | None:
    """The move that follows. It is made when it is recorded: only an inspection after that can answer a hold that was
    entered late."""
    move = move_for(inspection.outcome, standing.state)
    if move is None:
        return None
    return CustodyEvent(
        id=services.new_id(),
        item_id=inspection.item_id,
        at=now,
        by=inspection.by,
        move=move,
        before=standing.state,
        after=state_after(move),
        reason=_why(inspection),
        inspection_id=inspection.id,
    )


def _why(inspection: Inspection) -> str:
    """The worst findings in words, the first three."""
    if inspection.hand is not None:
        return f"By judgement: {inspection.hand.reason}"
    wanted = FindingOutcome.WITHDRAW if inspection.outcome is Outcome.WITHDRAW else FindingOutcome.HOLD
    reasons = list(dict.fromkeys(f.reason for f in inspection.decision.deciding if f.outcome is wanted))
    more = f" And {len(reasons) - 3} more." if len(reasons) > 3 else ""
    return " ".join(reasons[:3]) + more


def _standing_after(inspection: Inspection, standing: Standing, event: CustodyEvent | None) -> Standing:
    on = inspection.at.date()
    in_detail = inspection.type is not InspectionType.BEFORE_USE
    periodic = _latest(standing.last_periodic_on, on) if in_detail else standing.last_periodic_on
    if standing.last_seen_on is not None and on < standing.last_seen_on and event is None:
        return replace(standing, last_periodic_on=periodic)  # entered late; what was found since stands
    reason = standing.reason
    if event is not None:
        reason = event.reason
    elif standing.state is State.IN_SERVICE:
        reason = f"Found fit at the {inspection.type.value} inspection."
    return replace(
        standing,
        state=event.after if event else standing.state,
        since=event.at if event else standing.since,
        reason=reason,
        last_inspection_id=inspection.id,
        last_seen_on=_latest(standing.last_seen_on, on),
        last_periodic_on=periodic,
        next_due=inspection.next_due,
        damage_used=_damage_used(inspection, standing),
    )


def _damage_used(inspection: Inspection, standing: Standing) -> float | None:
    """A look at which nothing was measured or met says nothing about damage that was measured before it."""
    findings = inspection.decision.findings
    told = any(f.value is not None or f.outcome is not FindingOutcome.CLEARED for f in findings)
    return inspection.decision.damage_used if told else standing.damage_used


def _latest(known: date | None, on: date) -> date:
    return on if known is None or on > known else known
