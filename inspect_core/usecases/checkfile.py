"""An inspection as a JSON file: what `bartack check` reads.

    {"type": "before use", "by": "name", "answers": {component: "sound|defect|unseen|absent"},
     "facts": {…}, "note": "…", "answer_notes": {component: text},
     "photos": [{"path": "hook.jpg",
                 "marks": [{"component", "category", "shape": {"type", "points"}, "readings": […], "note"}]}],
     "hand": {"outcome", "reason"}, "corrects": "inspection id", "id": "…"}

Only `by` and `answers` are needed. `facts` add to what the register knows of the item and never override it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from inspect_core.domain.decision import Answer, Outcome
from inspect_core.domain.gear import Item
from inspect_core.domain.geometry import Shape
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category, Mark
from inspect_core.usecases.casefile import check_facts, own_facts, readings_of
from inspect_core.usecases.inspect import MOST_NOTE, MOST_PHOTOS, Judgement, RecordInspection
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.plain_forms import component_of, list_of, needed, table, text_of, word
from inspect_core.usecases.services import Services

_KEYS = ("id", "type", "by", "answers", "answer_notes", "facts", "note", "photos", "hand", "corrects")
_MARK_KEYS = ("id", "component", "category", "shape", "readings", "note")
_MOST_MARKS = 200


def inspection_from(
    data: object, item: Item, person_id: str, services: Services, read_photo: Callable[[str], bytes]
) -> RecordInspection:
    """The command a check file stands for, its photos taken into the store.

    Everything in the file is looked at before the first photo is stored. Raises BadInput naming the key, BadPhoto
    for a photo that is none.
    """
    given = table(data, "check", _KEYS)
    answers = {
        component_of(name, f"answers.{name}", item.kind): word(value, f"answers.{name}", Answer)
        for name, value in table(given.get("answers", {}), "answers").items()
    }
    notes = {
        component_of(name, f"answer_notes.{name}", item.kind): text_of(value, f"answer_notes.{name}", 500)
        for name, value in table(given.get("answer_notes", {}), "answer_notes").items()
    }
    kind = word(given.get("type", InspectionType.BEFORE_USE.value), "type", InspectionType)
    facts = check_facts(table(given.get("facts", {}), "facts"), services.rules, services.today())
    with services.unit_of_work() as uow:
        own_facts(facts, item, uow.items.standing(item.id))
    photos = [
        (place, table(photo, f"photos[{place}]", ("path", "marks")))
        for place, photo in enumerate(list_of(given.get("photos", []), "photos", MOST_PHOTOS), start=1)
    ]
    paths = [text_of(needed(photo, "path", f"photos[{place}]"), f"photos[{place}].path") for place, photo in photos]
    drawn = [
        [
            _mark(mark, f"photos[{place}].marks[{n}]", item, person_id, services)
            for n, mark in enumerate(list_of(photo.get("marks", []), f"photos[{place}].marks", _MOST_MARKS), start=1)
        ]
        for place, photo in photos
    ]
    command = RecordInspection(
        id=text_of(given.get("id"), "id", 64) or services.new_id(),
        item_id=item.id,
        type=kind,
        by=person_id,
        answers=answers,
        facts=facts,
        answer_notes=notes,
        note=text_of(given.get("note"), "note", MOST_NOTE),
        hand=_judgement(given.get("hand")),
        corrects=text_of(given.get("corrects"), "corrects", 64) or None,
    )
    pictures = [read_photo(path) for path in paths]
    stored = [
        take_photo(picture, services, claimed_name=path).id for picture, path in zip(pictures, paths, strict=True)
    ]
    marks = [replace(mark, photo_id=id_) for id_, group in zip(stored, drawn, strict=True) for mark in group]
    return replace(command, marks=tuple(marks), photo_ids=tuple(dict.fromkeys(stored)))


def _judgement(data: object) -> Judgement | None:
    if data is None:
        return None
    given = table(data, "hand", ("outcome", "reason"))
    return Judgement(
        word(needed(given, "outcome", "hand"), "hand.outcome", Outcome), text_of(given.get("reason"), "hand.reason")
    )


def _mark(data: object, where: str, item: Item, person_id: str, services: Services) -> Mark:
    """A mark whose photo is not stored yet."""
    given = table(data, where, _MARK_KEYS)
    shape: Any = table(needed(given, "shape", where), f"{where}.shape", ("type", "points"))
    readings = readings_of(given.get("readings", []), f"{where}.readings")
    return Mark(
        id=text_of(given.get("id"), f"{where}.id", 64) or services.new_id(),
        photo_id="",
        component=component_of(needed(given, "component", where), f"{where}.component", item.kind),
        category=word(needed(given, "category", where), f"{where}.category", Category),
        shape=Shape.of(
            text_of(needed(shape, "type", f"{where}.shape"), f"{where}.shape.type"),
            list_of(needed(shape, "points", f"{where}.shape"), f"{where}.shape.points", 5000),
        ),
        readings=tuple(reading if reading.method else replace(reading, method="by hand") for reading in readings),
        note=text_of(given.get("note"), f"{where}.note", 500),
        made_by=person_id,
    )
