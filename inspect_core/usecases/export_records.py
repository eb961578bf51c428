"""Everything recorded as plain objects, one after the other, and the same as rows of flat tables."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from datetime import date, datetime
from typing import Any

from inspect_core.ports import UnitOfWork
from inspect_core.usecases.plain import (
    custody_plain,
    inspection_plain,
    item_plain,
    kit_entry,
    kit_event_entry,
    person_plain,
    photo_plain,
    standing_record,
)
from inspect_core.usecases.second_reading import reading_plain
from inspect_core.usecases.setup import setup_plain

Plain = dict[str, Any]
Row = dict[str, Any]

#: Kind as the store reads it, name of the file, and how a record becomes a plain object.
_KINDS: tuple[tuple[str, str, Callable[[Any], Plain]], ...] = (
    ("person", "people", person_plain),
    ("item", "items", lambda row: {**item_plain(row.item), "standing": standing_record(row.standing)}),
    ("inspection", "inspections", inspection_plain),
    ("custody", "moves", custody_plain),
    ("set-up check", "setups", setup_plain),
    ("kit", "kits", kit_entry),
    ("kit event", "kit_events", kit_event_entry),
    ("second reading", "second_readings", reading_plain),
    ("photo", "photos", photo_plain),
)
NAMES = tuple(name for _, name, _ in _KINDS)
#: Kinds that happened on a day; the others are told whole whatever day is asked for.
_DATED = ("inspections", "moves", "setups", "kit_events", "second_readings")
#: What an item says only where it is known, and every row of a table has a column for.
_ONLY_WHERE_KNOWN: Plain = {"maker_max_use_years": None, "lasting_facts": {}, "former_tags": []}
_PAGE = 300


def objects(uow: UnitOfWork, since: date | None = None) -> Iterator[tuple[str, Plain]]:
    """(name, object) of everything recorded, kind by kind in the order written; nothing is kept in memory.

    `since` leaves out what happened before that day, and photos that nothing told here holds.
    """
    for kind, name, plain in _KINDS:
        after: int | str | None = None
        while page := uow.records.page(kind, after=after, limit=_PAGE):
            after = page[-1].key
            for one in page:
                found = plain(one.record)
                if since is None or _within(uow, name, found, since):
                    yield name, found


def _within(uow: UnitOfWork, name: str, found: Plain, since: date) -> bool:
    if name in _DATED:
        return datetime.fromisoformat(found["at"]).date() >= since
    if name == "photos":
        uses = uow.records.by_id("inspection", [inspection for _, inspection in uow.photos.uses(found["id"])])
        return any(one.record.at.date() >= since for one in uses.values())
    return True


class Flattened:
    """Objects as rows of flat tables, each row naming what it belongs to by the item's tag and the person's name."""

    def __init__(self, uow: UnitOfWork) -> None:
        self._uow = uow
        self._people = {person.id: person.name for person in uow.people.all()}
        self._tags: dict[str, str] = {}

    def rows(self, name: str, found: Plain) -> Iterator[tuple[str, Row]]:
        """(table, row) for every row that an object gives."""
        if name == "inspections":
            yield from self._inspection(found)
        elif name == "items":
            last = {key: found.get(key, nothing) for key, nothing in _ONLY_WHERE_KNOWN.items()}
            row = _flat({**{key: value for key, value in found.items() if key not in last}, **last}, "standing")
            yield name, {**row, **{f"now_{k}": v for k, v in _standing(found["standing"])}}
        elif name == "setups":
            row = _flat(found, "case", "result", "items", "photos")
            yield name, {**row, "by_name": self._name(found["by"]), "tags": self._all_tags(found["items"])}
        elif name in ("kits", "kit_events"):
            row = _flat(found, "items")
            row |= {"holder_name": self._name(found["holder"]), "tags": self._all_tags(found["items"])}
            yield name, row
        elif name in ("moves", "second_readings"):
            row = {**_flat(found, "signature"), "by_name": self._name(found["by"])}
            if name == "moves":
                row |= {"tag": self._tag(found["item"]), "witness_id": found.get("witness_id"), **_signed(found)}
            yield name, row
        else:
            yield name, _flat(found)

    def _inspection(self, found: Plain) -> Iterator[tuple[str, Row]]:
        about = {"inspection": found["id"], "tag": self._tag(found["item"]), "on": found["at"][:10]}
        decision, hand = found["decision"], found["hand"] or {}
        nested = ("answers", "answer_notes", "facts", "photos", "marks", "decision", "hand", "signature")
        yield (
            "inspections",
            {
                **_flat(found, *nested),
                "tag": about["tag"],
                "by_name": self._name(found["by"]),
                "rules_outcome": decision["outcome"],
                "damage_used": decision["damage_used"],
                "rules_version": decision["rules"]["version"],
                "rules_digest": decision["rules"]["digest"],
                "hand_outcome": hand.get("outcome"),
                "hand_reason": hand.get("reason"),
                "hand_by": hand.get("by"),
                "photos": len(found["photos"]),
                "marks": len(found["marks"]),
                **_signed(found),
            },
        )
        for component, answer in found["answers"].items():
            note = found["answer_notes"].get(component)
            yield "answers", {**about, "component": component, "answer": answer, "note": note}
        for fact, value in found["facts"].items():
            yield "facts", {**about, "fact": fact, "value": value}
        for finding in decision["findings"]:
            yield "findings", {**about, **finding}
        for photo in found["photos"]:
            yield "inspection_photos", {**about, "photo": photo}
        for mark in found["marks"]:
            shape = mark["shape"]
            row = {**about, **_flat(mark, "shape", "readings"), "shape": shape["type"]}
            yield "marks", {**row, "points": json.dumps(shape["points"], separators=(",", ":"))}
            for reading in mark["readings"]:
                part = {"mark": mark["id"], "component": mark["component"], "category": mark["category"]}
                yield "readings", {**about, **part, **reading}

    def _tag(self, item_id: str) -> str:
        if item_id not in self._tags:
            if len(self._tags) > 10_000:
                self._tags.clear()
            self._tags[item_id] = self._uow.items.get(item_id).tag
        return self._tags[item_id]

    def _all_tags(self, item_ids: list[str]) -> str:
        return ", ".join(self._tag(item_id) for item_id in item_ids)

    def _name(self, person_id: str | None) -> str | None:
        return self._people.get(person_id or "")


def _standing(standing: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    return ((key, value) for key, value in standing.items() if key != "item")


def _signed(found: Plain) -> Row:
    signature = found.get("signature") or {}
    return {"signed_at": signature.get("at"), "signed_how": signature.get("how")}


def _flat(found: Plain, *without: str) -> Row:
    """Single values as they are; lists and tables as JSON text."""
    row: Row = {}
    for key, value in found.items():
        if key in without:
            continue
        if isinstance(value, list) and all(isinstance(part, str) for part in value):
            row[key] = ", ".join(value)
        elif isinstance(value, list | dict):
            row[key] = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
        else:
            row[key] = value
    return row
