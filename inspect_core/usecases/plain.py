"""Domain values as plain JSON data, for the ledger, the command line and exports.

Dates are ISO 8601, lengths millimetres. Numbers that are whole in meaning stay numbers; nothing is rounded.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date
from typing import Any

from inspect_core.domain.custody import CustodyEvent, Standing
from inspect_core.domain.decision import Decision, Finding
from inspect_core.domain.gear import Item
from inspect_core.domain.inspection import Inspection
from inspect_core.domain.kits import Kit, KitEvent
from inspect_core.domain.marks import Mark, Reading
from inspect_core.domain.people import Person
from inspect_core.domain.photos import Photo
from inspect_core.domain.signatures import Signature


def _day(value: Any) -> str | None:
    return value.isoformat() if value is not None else None


def item_plain(item: Item) -> dict[str, Any]:
    """Everything registered of an item."""
    return {
        "id": item.id,
        "tag": item.tag,
        "kind": item.kind.value,
        "site": item.site,
        "maker": item.maker,
        "model": item.model,
        "serial": item.serial,
        "made_on": _day(item.made_on),
        "first_used_on": _day(item.first_used_on),
        "registered_on": _day(item.registered_on),
        "profile": item.profile,
        "fibre": item.fibre.value,
        "standards": list(item.standards),
        "webbing_width_mm": item.webbing_width_mm,
        "rope_diameter_mm": item.rope_diameter_mm,
        "rope_range_mm": list(item.rope_range_mm) if item.rope_range_mm else None,
        "packed_length_mm": item.packed_length_mm,
        "throat_mm": item.throat_mm,
        "maker_max_age_years": item.maker_max_age_years,
        "maker_limits": dict(item.maker_limits),
        "price": item.price,
        "note": item.note,
        # Left out where there is nothing: entries written before these existed have no such keys.
        **({"maker_max_use_years": item.maker_max_use_years} if item.maker_max_use_years is not None else {}),
        **({"lasting_facts": dict(item.lasting_facts)} if item.lasting_facts else {}),
        **({"former_tags": list(item.former_tags)} if item.former_tags else {}),
    }


def standing_plain(standing: Standing, on: date, aged: str = "") -> dict[str, Any]:
    """Where an item stands, and whether it may be handed out on that day. `aged`: what its age says against it."""
    return {
        "state": standing.state.value,
        "usable": standing.usable_on(on) and not aged,
        "overdue": standing.overdue_on(on),
        "past_age": aged or None,
        "since": standing.since.isoformat(),
        "reason": standing.reason,
        "last_inspection": standing.last_inspection_id,
        "last_seen_on": _day(standing.last_seen_on),
        "last_periodic_on": _day(standing.last_periodic_on),
        "next_due": _day(standing.next_due),
        "damage_used": standing.damage_used,
    }


def standing_record(standing: Standing) -> dict[str, Any]:
    """Where an item stands, as recorded; unlike `standing_plain` it says nothing about any day."""
    return {
        "item": standing.item_id,
        "state": standing.state.value,
        "since": standing.since.isoformat(),
        "reason": standing.reason,
        "last_inspection": standing.last_inspection_id,
        "last_seen_on": _day(standing.last_seen_on),
        "last_periodic_on": _day(standing.last_periodic_on),
        "next_due": _day(standing.next_due),
        "damage_used": standing.damage_used,
    }


def reading_plain(reading: Reading) -> dict[str, Any]:
    """A reading with its unit, its expanded uncertainty (k = 2) and how it was got."""
    return {
        "measure": reading.measure,
        "value": reading.value,
        "unit": reading.unit,
        "uncertainty": reading.uncertainty,
        "method": reading.method,
    }


def mark_plain(mark: Mark) -> dict[str, Any]:
    """A mark; points in pixels of the upright original."""
    return {
        "id": mark.id,
        "photo": mark.photo_id,
        "component": mark.component.value,
        "category": mark.category.value,
        "shape": {"type": mark.shape.type.value, "points": [[p.x, p.y] for p in mark.shape.points]},
        "readings": [reading_plain(r) for r in mark.readings],
        "note": mark.note,
        "made_by": mark.made_by,
    }


def finding_json(finding: Finding) -> dict[str, Any]:
    """A finding with the keys of the command line's contract, in its order; None where a key does not apply."""
    return {
        "rule": finding.rule,
        "outcome": finding.outcome.value,
        "mark": finding.mark,
        "component": finding.component.value if finding.component else None,
        "measure": finding.measure,
        "value": finding.value,
        "uncertainty": finding.uncertainty,
        "limit": finding.limit,
        "unit": finding.unit,
        "reason": finding.reason,
        "source": finding.source,
        "basis": finding.basis.value,
    }


def finding_plain(finding: Finding) -> dict[str, Any]:
    """A finding as recorded: the contract's keys, and whether its source was written for lifting gear."""
    return {**finding_json(finding), "analogue": finding.analogue}


def decision_plain(decision: Decision, each: Callable[[Finding], dict[str, Any]] = finding_plain) -> dict[str, Any]:
    """A decision in the key order of the command line's contract; `each` turns its findings into plain data."""
    return {
        "outcome": decision.outcome.value,
        "damage_used": decision.damage_used,
        "findings": [each(f) for f in decision.findings],
        "rules": {"version": decision.rules.version, "digest": decision.rules.digest},
    }


def signed_plain(signature: Signature | None) -> dict[str, Any]:
    """The signature as a key of its own, left out where there is none: entries written before signing existed, or in a
    site without sign-in, have no such key."""
    if signature is None:
        return {}
    return {"signature": {"by": signature.by, "at": signature.at.isoformat(), "how": signature.how.value}}


def inspection_plain(inspection: Inspection) -> dict[str, Any]:
    """A whole inspection, as it goes into the ledger."""
    hand = inspection.hand
    return {
        "id": inspection.id,
        "item": inspection.item_id,
        "type": inspection.type.value,
        "at": inspection.at.isoformat(),
        "by": inspection.by,
        "site": inspection.site,
        "profile": inspection.profile,
        "outcome": inspection.outcome.value,
        "answers": {c.value: a.value for c, a in inspection.answers.items()},
        "answer_notes": {c.value: n for c, n in inspection.answer_notes.items()},
        "facts": {k: v.isoformat() if hasattr(v, "isoformat") else v for k, v in inspection.facts.items()},
        "photos": list(inspection.photo_ids),
        "marks": [mark_plain(m) for m in inspection.marks],
        "decision": decision_plain(inspection.decision),
        "hand": {"outcome": hand.outcome.value, "reason": hand.reason, "by": hand.by} if hand else None,
        "corrects": inspection.corrects,
        "next_due": _day(inspection.next_due),
        "note": inspection.note,
        **signed_plain(inspection.signature),
    }


def custody_plain(event: CustodyEvent) -> dict[str, Any]:
    """A move that was made."""
    return {
        "id": event.id,
        "item": event.item_id,
        "at": event.at.isoformat(),
        "by": event.by,
        "move": event.move.value,
        "before": event.before.value if event.before else None,
        "after": event.after.value,
        "reason": event.reason,
        "inspection": event.inspection_id,
        "photo": event.photo_id,
        "witness": event.witness,
        **({"witness_id": event.witness_id} if event.witness_id else {}),
        **signed_plain(event.signature),
    }


def person_entry(person: Person) -> dict[str, Any]:
    """What the ledger says of a person: never the name, only what the name and its salt together give.

    Made of the stored row alone, so that `verify` can compare it with the last entry about the person. Older entries
    are flat, without "person", and hold the name in clear as `person_plain` gives it.
    """
    return {
        "id": person.id,
        "name_commitment": person.name_commitment,
        "code": person.name if person.coded else None,
        "role": person.role.value,
        "qualified_until": _day(person.qualified_until),
        "active": person.active,
    }


def person_plain(person: Person) -> dict[str, Any]:
    """A person as shown and exported, with the name; not for the ledger."""
    return {
        "id": person.id,
        "name": person.name,
        "role": person.role.value,
        "qualified_until": _day(person.qualified_until),
        "active": person.active,
    }


def kit_entry(kit: Kit) -> dict[str, Any]:
    """A kit as its row stands after an event; goes into the ledger beside the event."""
    return {
        "id": kit.id,
        "name": kit.name,
        "items": list(kit.item_ids),
        "since": kit.since.isoformat(),
        "holder": kit.holder,
        "dissolved": kit.dissolved,
    }


def kit_event_entry(event: KitEvent) -> dict[str, Any]:
    """One thing that happened to a kit, as stored."""
    return {
        "id": event.id,
        "kit": event.kit_id,
        "at": event.at.isoformat(),
        "by": event.by,
        "move": event.move.value,
        "items": list(event.item_ids),
        "holder": event.holder,
        "taken_out": event.taken_out,
        "put_in": event.put_in,
        "note": event.note,
    }


def setting_entry(name: str, value: Any, by: str | None) -> dict[str, Any]:
    """A setting as it was made; `value` is what lies in the settings table under that name."""
    return {"name": name, "value": value, "by": by}


def photo_plain(photo: Photo) -> dict[str, Any]:
    """What is known of a photo."""
    return {
        "id": photo.id,
        "media_type": photo.media_type,
        "width": photo.width,
        "height": photo.height,
        "size": photo.size,
        "captured_at": _day(photo.captured_at),
        "phash": photo.phash,
        "advice": list(photo.advice),
    }


def photo_record(photo: Photo) -> dict[str, Any]:
    """Everything recorded of a photo; `copies` are SHA-256 by name."""
    return {
        **photo_plain(photo),
        "sharpness": photo.sharpness,
        "exposure": photo.exposure,
        "glare_share": photo.glare_share,
        "received_at": photo.received_at.astimezone(UTC).isoformat(),
        "copies": dict(photo.copies),
    }
