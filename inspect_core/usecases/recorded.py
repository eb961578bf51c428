"""Which entry of the ledger holds which record: one line for each kind of record, read by `verify`.

A new kind of record needs its line in `KINDS`, a reader in `storage.records`, and an entry made by `account.enter` in
the transaction that writes it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from inspect_core.domain.record import ItemRow, LedgerEntry
from inspect_core.usecases.plain import (
    custody_plain,
    inspection_plain,
    item_plain,
    kit_entry,
    kit_event_entry,
    person_entry,
    person_plain,
    photo_record,
    standing_record,
)
from inspect_core.usecases.second_reading import reading_plain
from inspect_core.usecases.setup import setup_plain

Body = Mapping[str, Any]
#: A record's identifier and what the ledger says of it.
Part = tuple[str, Body]


@dataclass(frozen=True)
class RecordKind:
    """One kind of record.

    `name`: what people call it. `kept_as`: the kind under which the store reads it. `parts`: the records of this kind
    that an entry wrote. `now`: the stored record as the ledger would write it, told what the ledger did write, so that
    older forms can be given in their own way. `written_by`: the (subject, subject id) of entries that may hold a stored
    record. `replaced`: a later entry about the same record replaces the earlier ones.
    """

    name: str
    kept_as: str
    parts: Callable[[LedgerEntry], Iterable[Part]]
    now: Callable[[Any, Body], Body]
    written_by: Callable[[Any], tuple[tuple[str, str], ...]] = lambda _record: ()
    replaced: bool = False


def _under(key: str, *subjects: str) -> Callable[[LedgerEntry], Iterable[Part]]:
    """The record that lies under a key of the body; no subjects: of any entry."""

    def parts(entry: LedgerEntry) -> Iterable[Part]:
        body = entry.body.get(key)
        if isinstance(body, Mapping) and "id" in body and (not subjects or entry.subject in subjects):
            yield str(body["id"]), body

    return parts


def _whole(subject: str, key: str = "id") -> Callable[[LedgerEntry], Iterable[Part]]:
    """The body itself."""

    def parts(entry: LedgerEntry) -> Iterable[Part]:
        if entry.subject == subject and key in entry.body:
            yield str(entry.body[key]), {name: value for name, value in entry.body.items() if name not in _BESIDE}

    return parts


#: What `account.enter` puts beside a record.
_BESIDE = ("photo_records",)


def _standing(entry: LedgerEntry) -> Iterable[Part]:
    """Where an item stands after an entry. Entries of older programs hold the move alone, which says only the state."""
    body, custody = entry.body.get("standing"), entry.body.get("custody")
    if isinstance(body, Mapping):
        yield str(body["item"]), body
    elif isinstance(custody, Mapping):
        yield str(custody["item"]), {"item": custody["item"], "state": custody["after"]}


def _standing_now(row: ItemRow, written: Body) -> Body:
    now = standing_record(row.standing)
    return now if len(written) > 2 else {key: now[key] for key in written}


def _person(entry: LedgerEntry) -> Iterable[Part]:
    """A person lies under "person"; in entries of older programs the body is the person, with the name in clear."""
    if entry.subject == "person":
        inside = entry.body.get("person")
        body = inside if isinstance(inside, Mapping) else entry.body
        yield str(body["id"]), body


def _person_now(person: Any, written: Body) -> Body:
    return person_plain(person) if "name" in written else person_entry(person)


def _photos(entry: LedgerEntry) -> Iterable[Part]:
    for body in entry.body.get("photo_records", ()):
        yield str(body["id"]), body


KINDS: tuple[RecordKind, ...] = (
    RecordKind("item", "item", _under("item"), lambda row, _: item_plain(row.item), replaced=True),
    RecordKind("standing", "item", _standing, _standing_now, replaced=True),
    RecordKind("person", "person", _person, _person_now, replaced=True),
    RecordKind("kit", "kit", _under("kit"), lambda kit, _: kit_entry(kit), replaced=True),
    RecordKind(
        "setting",
        "setting",
        _whole("setting", "name"),
        lambda setting, written: {**written, "name": setting[0], "value": setting[1]},
        replaced=True,
    ),
    RecordKind(
        "inspection",
        "inspection",
        _under("inspection", "inspection"),
        lambda inspection, _: inspection_plain(inspection),
        lambda inspection: (("inspection", inspection.id),),
    ),
    RecordKind(
        "move",
        "custody",
        _under("custody"),
        lambda event, _: custody_plain(event),
        lambda event: (
            ("custody", event.id),
            ("inspection", event.inspection_id or ""),
            ("item", event.item_id),
        ),
    ),
    RecordKind(
        "set-up check",
        "set-up check",
        _whole("set-up check"),
        lambda record, _: setup_plain(record),
        lambda record: (("set-up check", record.id),),
    ),
    RecordKind(
        "kit event",
        "kit event",
        _under("event"),
        lambda event, _: kit_event_entry(event),
        lambda event: (("kit", event.kit_id), ("kit event", event.id)),
    ),
    RecordKind(
        "second reading",
        "second reading",
        _whole("second reading"),
        lambda reading, _: reading_plain(reading),
        lambda reading: (("second reading", reading.id),),
    ),
)
#: Photos are looked at on their own, with their files.
PHOTO = RecordKind("photo", "photo", _photos, lambda photo, _: photo_record(photo), replaced=True)
#: Settings that the program keeps for itself.
OWN_SETTINGS = frozenset({"derived", "digests sent", "calendar file rests", "closed", "job queue"})
#: Subjects that say that something happened and write no record.
EVENTS = frozenset({"signing key", "sign-in"})
