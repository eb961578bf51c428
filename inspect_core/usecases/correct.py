"""Correcting the register: signed, with its reason; the old value stays in the account, and what was decided on it is
weighed again. A correction may hold an item, and never releases one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any

from inspect_core.domain.access import Action
from inspect_core.domain.correction import ItemCorrection, changed_fields
from inspect_core.domain.custody import Standing
from inspect_core.domain.errors import BadInput, Conflict
from inspect_core.domain.gear import Item, clean_tag
from inspect_core.domain.record import ItemRow, LedgerEntry
from inspect_core.domain.signatures import Signature, SignedBy
from inspect_core.domain.typed import one_line, some_lines
from inspect_core.ports import UnitOfWork
from inspect_core.rules.intervals import next_due
from inspect_core.rules.model import RuleSet
from inspect_core.usecases import account
from inspect_core.usecases.acting import acting
from inspect_core.usecases.ages import age_findings, age_lifted
from inspect_core.usecases.holding import LIVE, hold
from inspect_core.usecases.pieces import check_new_piece
from inspect_core.usecases.plain import item_plain, signed_plain, standing_record
from inspect_core.usecases.register import ITEM_FIELDS, MOST_TEXT, check_item, first_due, parse_item
from inspect_core.usecases.reweigh import Reweighed, reweigh
from inspect_core.usecases.services import Services
from inspect_core.usecases.signing import signature_for

_SUBJECT = "item correction"


@dataclass(frozen=True, slots=True)
class CorrectItem:
    """A correction as a person gives it: the item as they saw it, and as it should be. Only the fields that differ are
    changed. `pin`: the PIN or pass phrase entered again, which signs it in a site with sign-in."""

    before: Item
    after: Item
    by: str
    reason: str
    pin: str | None = field(default=None, repr=False)


@dataclass(frozen=True, slots=True)
class Corrected:
    """The item as it is registered now, and where it stands. `held`: why the correction put it on hold, empty where it
    did not. `reweighed`: inspections that the corrected register makes stricter."""

    item: Item
    standing: Standing
    fields: tuple[str, ...]
    held: str = ""
    reweighed: tuple[Reweighed, ...] = ()


def correct_item(command: CorrectItem, services: Services) -> Corrected:
    """Correct what is registered of an item. The same correction again changes nothing.

    An item that a past inspection would not have passed with the right register goes on hold, and so does one that
    turns out too old, or against which age has spoken until now: it stays there until a new inspection in detail. An
    old tag still leads to the item. Until the first inspection in detail the due date follows the correction, to an
    earlier day only.

    Raises BadInput (no reason, another kind, nothing changed, a bad value), Conflict (somebody corrected the same
    meanwhile; the tag or the serial number is another's), NotAllowed, NotFound. Nothing is written in these cases.
    """
    now = services.clock.now()
    command = _cleaned(command)
    reason = _checked(command, services, now.date())
    signature = signature_for(command.by, Action.CORRECT_ITEM, command.pin, services)
    with services.unit_of_work(write=True) as uow:
        known = uow.items.get(command.before.id)
        acting(uow, services, command.by, Action.CORRECT_ITEM, signature=signature)
        names = changed_fields(command.before, command.after)
        item = replace(known, **{name: getattr(command.after, name) for name in names})
        if item == known:
            return Corrected(known, uow.items.standing(known.id), ())
        _check_meanwhile(command, known, names)
        if "price" in names:
            acting(uow, services, command.by, Action.PRICES)
        if "maker" in names or "serial" in names:
            check_new_piece(item, uow)
        if "tag" in names:
            item = _with_new_tag(item, known, uow)
        check_item(item, services, now.date())
        uow.items.update(item)
        standing = _with_due(uow.items.standing(item.id), item, known, now.date(), services)
        uow.items.set_standing(standing)
        kept, told = item_plain(known), item_plain(item)
        body = {
            "item": told,
            "by": command.by,
            "reason": reason,
            "before": {name: kept.get(name) for name in names},
            "standing": standing_record(standing),
            **signed_plain(signature),
        }
        account.enter(uow, now, _SUBJECT, item.id, body)
        stricter = reweigh(known, item, uow.inspections.of_item(item.id), services.rules)
        aged = _grown_old(known, item, now.date(), services.rules)
        if not aged and age_lifted(ItemRow(known, standing), item, now.date(), services):
            aged = "Age spoke against it until now: it needs an inspection in detail."
        why = " ".join(filter(None, (aged, _would_be(stricter))))
        if why and standing.state in LIVE:
            why = f"The register was corrected: {reason} {why}"
            standing = hold(standing, why, command.by, uow, services)
        else:
            why = ""
        uow.commit()
    return Corrected(item, standing, names, why, stricter)


def item_with(item: Item, given: Mapping[str, Any]) -> Item:
    """The item with these fields as a form or a command gives them; empty means not known. Raises BadInput."""
    fields = {name: value for name, value in item_plain(item).items() if name in ITEM_FIELDS}
    parsed = parse_item(fields | {"kind": item.kind.value} | dict(given), item.id)
    return replace(parsed, registered_on=item.registered_on, former_tags=item.former_tags)


def _cleaned(command: CorrectItem) -> CorrectItem:
    """With what was changed as the register keeps it: the tag in its own letters, nothing unseen in a text."""
    after = command.after
    keeping = {"tag": clean_tag, "note": some_lines, **dict.fromkeys(("site", "maker", "model", "serial"), one_line)}
    names = changed_fields(command.before, after)
    cleaned: dict[str, Any] = {name: keep(getattr(after, name)) for name, keep in keeping.items() if name in names}
    if "standards" in names:
        cleaned["standards"] = tuple(kept for mark in after.standards if (kept := one_line(mark)))
    return replace(command, after=replace(after, **cleaned), reason=one_line(command.reason))


def _checked(command: CorrectItem, services: Services, today: date) -> str:
    """The reason, as one sentence. Raises BadInput."""
    before, after = command.before, command.after
    if (before.id, before.kind) != (after.id, after.kind):
        raise BadInput(
            "An item keeps its kind: other parts and other rules belong to another kind.",
            "Put this entry on hold, and register the gear anew with a tag of its own.",
        )
    if not changed_fields(before, after):
        raise BadInput("Nothing differs from what is registered.", "Change what is wrong, then correct it.")
    reason = command.reason
    if len(reason) < 3:
        raise BadInput("A correction needs its reason.", "Write how you know, such as: read again on the label.")
    if len(reason) > MOST_TEXT:
        raise BadInput(f"The reason is longer than {MOST_TEXT} characters.", "Shorten it.")
    check_item(after, services, today)
    return reason if reason.endswith((".", "!", "?")) else f"{reason}."


def _check_meanwhile(command: CorrectItem, known: Item, names: tuple[str, ...]) -> None:
    for name in names:
        if getattr(known, name) not in (getattr(command.before, name), getattr(command.after, name)):
            raise Conflict(
                "Somebody else corrected the same meanwhile.", "Look at what is registered now, then correct it."
            )


def _with_new_tag(item: Item, known: Item, uow: UnitOfWork) -> Item:
    """With the old tag kept. Raises Conflict where another item carries the new one, or carried it before: its old
    label would lead to the wrong gear."""
    tag = clean_tag(item.tag)
    other = uow.items.find_tag(tag)
    if other is not None and other.id != item.id:
        worn = "is in use by" if other.tag == tag else "was the tag of"
        raise Conflict(f"The tag {tag} {worn} {other.tag}, a {other.kind.value}.", "Give this one its own tag.")
    old = (*(one for one in known.former_tags if one not in (tag, known.tag)), known.tag)
    return replace(item, tag=tag, former_tags=old)


def _with_due(standing: Standing, item: Item, known: Item, today: date, services: Services) -> Standing:
    """Where other rules of place, or another first use, ask for an earlier inspection in detail, it is due earlier."""
    if standing.last_periodic_on is None:
        due = first_due(item, today, services)
    elif item.profile != known.profile:
        due = next_due(services.rules, item.profile, item.kind, standing.last_periodic_on).on
    else:
        return standing
    return replace(standing, next_due=min(due, standing.next_due or due))


def _grown_old(before: Item, after: Item, today: date, rules: RuleSet) -> str:
    """What age says of the gear now and did not say before, or said of another day."""
    known = {(finding.rule, finding.outcome, finding.reason) for finding in age_findings(before, today, rules)}
    found = age_findings(after, today, rules)
    return " ".join(finding.reason for finding in found if (finding.rule, finding.outcome, finding.reason) not in known)


def _would_be(stricter: tuple[Reweighed, ...]) -> str:
    """The newest inspection that would have ended otherwise, and its worst finding."""
    if not stricter:
        return ""
    worst = max(stricter, key=lambda one: (one.would_be.severity, one.on))
    return (
        f"With the right register the inspection of {worst.on} finds what it did not find then: "
        f"{worst.appearing[0].reason}"
    )


def corrections(item_id: str, services: Services) -> tuple[ItemCorrection, ...]:
    """Every correction of an item's register, newest first."""
    with services.unit_of_work() as uow:
        entries = uow.ledger.of_subject(_SUBJECT, item_id)
    return tuple(map(_correction_of, reversed(entries)))


def correction_plain(one: ItemCorrection) -> dict[str, Any]:
    """A correction as plain JSON data, for the command line."""
    return {
        "at": one.at.isoformat(),
        "by": one.by,
        "reason": one.reason,
        "before": dict(one.before),
        "after": dict(one.after),
        **signed_plain(one.signature),
    }


def _correction_of(entry: LedgerEntry) -> ItemCorrection:
    body = entry.body
    before = dict(body.get("before") or {})
    after = {name: body["item"].get(name) for name in before}
    signed = body.get("signature")
    signature = (
        Signature(signed["by"], datetime.fromisoformat(signed["at"]), SignedBy(signed["how"])) if signed else None
    )
    return ItemCorrection(entry.at, str(body.get("by", "")), str(body.get("reason", "")), before, after, signature)
