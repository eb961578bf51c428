"""Rows ↔ domain values, field by field, for everything but inspections (see `inspection_mapping`)."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta, timezone
from functools import lru_cache
from types import MappingProxyType
from typing import Any

from sqlalchemy.engine import Row

from inspect_core.domain.custody import CustodyEvent, Move, Standing, State
from inspect_core.domain.gear import Fibre, Item, Kind, clean_tag
from inspect_core.domain.people import Person, Role
from inspect_core.domain.photos import Photo
from inspect_core.domain.record import Draft, ItemRow, LedgerEntry
from inspect_core.domain.signatures import Signature, SignedBy

Values = dict[str, Any]


def offset_of(at: datetime) -> int:
    """Seconds between the time's own zone and UTC. The zone's name is not kept."""
    offset = at.utcoffset()
    if offset is None:
        raise ValueError("a time without a zone cannot be stored")
    return round(offset.total_seconds())


def on_site(at: datetime, offset: int) -> datetime:
    """A stored time as it was on site."""
    return at.astimezone(_zone(offset))


@lru_cache(maxsize=256)
def _zone(offset: int) -> timezone:
    return timezone(timedelta(seconds=offset))


def frozen(values: Mapping[str, Any]) -> Mapping[str, Any]:
    return MappingProxyType(dict(values))


def name_key(name: str) -> str:
    """What two spellings of one name share."""
    return " ".join(name.casefold().split())


def item_values(item: Item) -> Values:
    """The columns of an item, without where it stands. Raises BadInput where the tag is none."""
    least, most = item.rope_range_mm or (None, None)
    return {
        "id": item.id,
        "tag": clean_tag(item.tag),
        "kind": item.kind.value,
        "site": item.site,
        "maker": item.maker,
        "model": item.model,
        "serial": item.serial,
        "made_on": item.made_on,
        "first_used_on": item.first_used_on,
        "registered_on": item.registered_on,
        "profile": item.profile,
        "fibre": item.fibre.value,
        "standards": list(item.standards),
        "webbing_width_mm": item.webbing_width_mm,
        "rope_diameter_mm": item.rope_diameter_mm,
        "rope_range_least_mm": least,
        "rope_range_most_mm": most,
        "packed_length_mm": item.packed_length_mm,
        "throat_mm": item.throat_mm,
        "maker_max_age_years": item.maker_max_age_years,
        "maker_max_use_years": item.maker_max_use_years,
        "maker_limits": dict(item.maker_limits),
        "lasting_facts": dict(item.lasting_facts),
        "former_tags": list(item.former_tags),
        "price": item.price,
        "note": item.note,
    }


def item_of(row: Row[Any]) -> Item:
    least, most = row.rope_range_least_mm, row.rope_range_most_mm
    return Item(
        id=row.id,
        tag=row.tag,
        kind=Kind(row.kind),
        site=row.site,
        maker=row.maker,
        model=row.model,
        serial=row.serial,
        made_on=row.made_on,
        first_used_on=row.first_used_on,
        registered_on=row.registered_on,
        profile=row.profile,
        fibre=Fibre(row.fibre),
        standards=tuple(row.standards),
        webbing_width_mm=row.webbing_width_mm,
        rope_diameter_mm=row.rope_diameter_mm,
        rope_range_mm=None if least is None else (least, most),
        packed_length_mm=row.packed_length_mm,
        throat_mm=row.throat_mm,
        maker_max_age_years=row.maker_max_age_years,
        maker_max_use_years=row.maker_max_use_years,
        maker_limits=frozen(row.maker_limits),
        lasting_facts=frozen(row.lasting_facts),
        former_tags=tuple(row.former_tags),
        price=row.price,
        note=row.note,
    )


def standing_values(standing: Standing) -> Values:
    """The columns of an item's row that say where it stands."""
    return {
        "state": standing.state.value,
        "since": standing.since,
        "since_offset": offset_of(standing.since),
        "reason": standing.reason,
        "last_inspection_id": standing.last_inspection_id,
        "last_seen_on": standing.last_seen_on,
        "last_periodic_on": standing.last_periodic_on,
        "next_due": standing.next_due,
        "damage_used": standing.damage_used,
    }


def standing_of(row: Row[Any]) -> Standing:
    return Standing(
        item_id=row.id,
        state=State(row.state),
        since=on_site(row.since, row.since_offset),
        reason=row.reason,
        last_inspection_id=row.last_inspection_id,
        last_seen_on=row.last_seen_on,
        last_periodic_on=row.last_periodic_on,
        next_due=row.next_due,
        damage_used=row.damage_used,
    )


def item_row_of(row: Row[Any]) -> ItemRow:
    return ItemRow(item_of(row), standing_of(row), row.photo_id)


def signature_values(signature: Signature | None) -> Values:
    """The columns that make a record signed. Who signed is the record's own `by`, and so is the zone of its time."""
    if signature is None:
        return {"signed_at": None, "signed_how": None}
    return {"signed_at": signature.at, "signed_how": signature.how.value}


def signature_of(row: Row[Any]) -> Signature | None:
    if row.signed_at is None:
        return None
    return Signature(row.by, on_site(row.signed_at, row.at_offset), SignedBy(row.signed_how))


def custody_values(event: CustodyEvent) -> Values:
    return {
        "id": event.id,
        "item_id": event.item_id,
        "at": event.at,
        "at_offset": offset_of(event.at),
        "day": event.at.date(),
        "by": event.by,
        "move": event.move.value,
        "before": event.before.value if event.before else None,
        "after": event.after.value,
        "reason": event.reason,
        "inspection_id": event.inspection_id,
        "photo_id": event.photo_id,
        "witness": event.witness,
        "witness_id": event.witness_id,
        **signature_values(event.signature),
    }


def custody_of(row: Row[Any]) -> CustodyEvent:
    return CustodyEvent(
        id=row.id,
        item_id=row.item_id,
        at=on_site(row.at, row.at_offset),
        by=row.by,
        move=Move(row.move),
        before=State(row.before) if row.before else None,
        after=State(row.after),
        reason=row.reason,
        inspection_id=row.inspection_id,
        photo_id=row.photo_id,
        witness=row.witness,
        witness_id=row.witness_id,
        signature=signature_of(row),
    )


def photo_values(photo: Photo) -> Values:
    return {
        "id": photo.id,
        "media_type": photo.media_type,
        "width": photo.width,
        "height": photo.height,
        "size": photo.size,
        "captured_at": photo.captured_at.isoformat() if photo.captured_at else None,
        "phash": photo.phash,
        "sharpness": photo.sharpness,
        "exposure": photo.exposure,
        "glare_share": photo.glare_share,
        "advice": list(photo.advice),
        "received_at": photo.received_at,
        "copies": dict(photo.copies),
    }


def photo_of(row: Row[Any]) -> Photo:
    return Photo(
        id=row.id,
        media_type=row.media_type,
        width=row.width,
        height=row.height,
        size=row.size,
        captured_at=datetime.fromisoformat(row.captured_at) if row.captured_at else None,
        phash=row.phash,
        sharpness=row.sharpness,
        exposure=row.exposure,
        glare_share=row.glare_share,
        advice=tuple(row.advice),
        received_at=row.received_at,
        copies=frozen(row.copies),
    )


def person_values(person: Person) -> Values:
    return {
        "id": person.id,
        "name": person.name,
        "name_key": name_key(person.name),
        "role": person.role.value,
        "qualified_until": person.qualified_until,
        "active": person.active,
        "name_salt": person.name_salt,
        "coded": person.coded,
    }


def person_of(row: Row[Any]) -> Person:
    return Person(
        id=row.id,
        name=row.name,
        role=Role(row.role),
        qualified_until=row.qualified_until,
        active=row.active,
        name_salt=row.name_salt,
        coded=row.coded,
    )


def draft_values(draft: Draft) -> Values:
    return {"id": draft.id, "item_id": draft.item_id, "body": dict(draft.body), "saved_at": draft.saved_at}


def draft_of(row: Row[Any]) -> Draft:
    return Draft(id=row.id, item_id=row.item_id, body=row.body, saved_at=row.saved_at)


def entry_values(entry: LedgerEntry) -> Values:
    return {
        "number": entry.number,
        "at": entry.at,
        "subject": entry.subject,
        "subject_id": entry.subject_id,
        "body": dict(entry.body),
        "previous": entry.previous,
        "digest": entry.digest,
    }


def entry_of(row: Row[Any]) -> LedgerEntry:
    return LedgerEntry(
        number=row.number,
        at=row.at,
        subject=row.subject,
        subject_id=row.subject_id,
        body=row.body,
        previous=row.previous,
        digest=row.digest,
    )
