"""The unfinished inspection as plain data, and the command it becomes. No widgets here.

A body holds only what JSON holds, so that it can lie in the store and in a browser session alike. What is read back
from either is checked again when it becomes a command.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from inspect_core.domain.decision import Answer, FactValue, Outcome
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component, Item, components_of
from inspect_core.domain.geometry import Shape
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.domain.people import Person
from inspect_core.usecases.inspect import Judgement, RecordInspection
from inspect_core.usecases.measured import Alone, task_of

Body = dict[str, Any]


def empty(type: InspectionType, *, corrects: str | None = None) -> Body:
    """A body with nothing answered: no answer is ever given in advance."""
    return {
        "type": type.value,
        "step": 0,
        "facts": {},
        "happened": "",
        "answers": {},
        "notes": {},
        "photos": [],
        "marks": {},
        "revs": {},
        "unplaced": {},
        "readings": {},
        "aids": {},
        "left": [],
        "note": "",
        "hand": None,
        "photo": "",
        "refused": 0,
        "corrects": corrects,
    }


def whole(stored: Mapping[str, Any]) -> Body:
    """A stored body with every key there; unknown keys are left out."""
    try:
        type_ = InspectionType(str(stored.get("type")))
    except ValueError:
        raise BadInput("This unfinished work cannot be read.", "Discard it and start again.") from None
    body = empty(type_)
    for key, start in body.items():
        value = stored.get(key, start)
        if start is not None and not isinstance(value, type(start)):
            raise BadInput("This unfinished work cannot be read.", "Discard it and start again.")
        body[key] = value
    return body


def answered(body: Body, item: Item) -> int:
    """How many of the item's components carry an answer."""
    return sum(component.value in body["answers"] for component in components_of(item.kind))


def with_defect(body: Body) -> tuple[Component, ...]:
    """The components answered "defect", in the order answered."""
    return tuple(Component(c) for c, answer in body["answers"].items() if answer == Answer.DEFECT.value)


def marked(body: Body) -> tuple[Component, ...]:
    """The components that carry a mark."""
    return tuple(dict.fromkeys(Component(m["component"]) for marks in body["marks"].values() for m in marks))


def has_anything(body: Body) -> bool:
    """Whether there is anything worth keeping."""
    keys = ("facts", "happened", "answers", "photos", "note", "hand")
    return any(body[key] for key in keys)


def unplaced(body: Body, photo_id: str | None = None) -> int:
    """How many marks are drawn on that photo, or on any, of which nobody has said yet on which part they lie."""
    wanted = body["photos"] if photo_id is None else [photo_id]
    return sum(int(body["unplaced"].get(one, 0)) for one in wanted)


def marks_of(body: Body, made_by: str) -> tuple[Mark, ...]:
    """Every mark with its readings. Raises BadInput where one does not fit."""
    return tuple(
        Mark(
            id=str(plain["id"]),
            photo_id=photo_id,
            component=Component(plain["component"]),
            category=Category(plain["category"]),
            shape=Shape.of(plain["shape"]["type"], plain["shape"]["points"]),
            readings=tuple(reading_of(r) for r in body["readings"].get(plain["id"], [])),
            note=str(plain.get("note", "")),
            made_by=made_by,
        )
        for photo_id in body["photos"]
        for plain in body["marks"].get(photo_id, [])
    )


def reading_of(plain: Mapping[str, Any]) -> Reading:
    """A reading from plain values."""
    return Reading(
        str(plain["measure"]),
        float(plain["value"]),
        str(plain["unit"]),
        float(plain["uncertainty"]),
        str(plain["method"]),
    )


def facts_of(body: Body) -> dict[str, FactValue]:
    """The facts as stated; dates come back as dates."""
    facts: dict[str, FactValue] = {}
    for name, value in body["facts"].items():
        facts[name] = date.fromisoformat(value["date"]) if isinstance(value, Mapping) else value
    return facts


def alone_of(body: Body) -> tuple[Alone, ...]:
    """What was measured with no damage marked. Raises BadInput where one does not fit."""
    found = []
    for photo_id in body["photos"]:
        aid = body["aids"].get(photo_id)
        for name, entry in (aid.get("tasks", {}) if isinstance(aid, Mapping) else {}).items():
            try:
                if entry.get("readings") and not entry.get("mark"):
                    found.append(_alone(photo_id, name, entry))
            except (AttributeError, KeyError, IndexError, TypeError, ValueError):
                raise BadInput(
                    "A measurement of this unfinished work cannot be read.", "Take it away and draw it again."
                ) from None
    return tuple(found)


def _alone(photo_id: str, name: str, entry: Mapping[str, Any]) -> Alone:
    task, component = task_of(name)
    readings = tuple(reading_of(reading) for reading in entry["readings"])
    shape = entry["drawn"][0]["shape"]
    id_ = f"measured-{task.name}-{component.value}-{photo_id[:8]}".replace(" ", "-").lower()
    return Alone(id_, photo_id, task, component, Shape.of(shape["type"], shape["points"]), readings)


def command(body: Body, draft_id: str, item: Item, by: Person) -> RecordInspection:
    """What the use cases are asked to weigh or record. Raises BadInput where the body makes no sense, or holds a mark
    without its part: a mark that nobody can weigh must not be left out in silence."""
    if unplaced(body):
        raise BadInput(
            "A mark is drawn, and nobody has said on which part it lies.",
            "Go back to the photos and choose its part, or delete it.",
        )
    try:
        hand = body["hand"]
        return RecordInspection(
            id=draft_id,
            item_id=item.id,
            type=InspectionType(body["type"]),
            by=by.id,
            answers={Component(c): Answer(a) for c, a in body["answers"].items()},
            marks=marks_of(body, by.id),
            photo_ids=tuple(body["photos"]),
            facts=facts_of(body),
            answer_notes={Component(c): str(n) for c, n in body["notes"].items() if n},
            note=str(body["note"]),
            hand=Judgement(Outcome(hand["outcome"]), str(hand["reason"])) if hand else None,
            corrects=body["corrects"],
        )
    except (KeyError, TypeError, ValueError):
        raise BadInput("This unfinished work cannot be read.", "Discard it and start again.") from None
