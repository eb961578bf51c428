"""An inspection as a JSON file: what `bartack check` reads.

    {"type": "before use", "by": "name", "answers": {component: "sound|defect|unseen|absent"},
     "facts": {…}, "note": "…", "answer_notes": {component: text},
     "photos": [{"path": "hook.jpg",
                 "marks": [{"component", "category", "shape": {"type", "points"}, "readings": […], "note"}]}],
     "hand": {"outcome", "reason"}, "corrects": "inspection id", "id": "…"}

Only `by` and `answers` are needed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Any, TypeGuard

from inspect_core.domain.decision import Answer, FactValue, Outcome
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import Shape
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.domain.measures import MEASURES
from inspect_core.usecases.inspect import Judgement, RecordInspection
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.services import Services

_KEYS = ("id", "type", "by", "answers", "answer_notes", "facts", "note", "photos", "hand", "corrects")
_MARK_KEYS = ("id", "component", "category", "shape", "readings", "note")
_READING_KEYS = ("measure", "value", "unit", "uncertainty", "method")


def inspection_from(
    data: Any, item_id: str, person_id: str, services: Services, read_photo: Callable[[str], bytes]
) -> RecordInspection:
    """The command a check file stands for, its photos taken into the store.

    Everything in the file is looked at before the first photo is stored. Raises BadInput naming the key, BadPhoto
    for a photo that is none.
    """
    _mapping(data, "The file", _KEYS)
    answers = {
        _word("component", c, Component): _word("answer", a, Answer)
        for c, a in _mapping(data.get("answers", {}), "answers").items()
    }
    notes = {
        _word("component", c, Component): _text(n, "answer_notes")
        for c, n in _mapping(data.get("answer_notes", {}), "answer_notes").items()
    }
    hand = _mapping(data["hand"], "hand", ("outcome", "reason")) if data.get("hand") else None
    photos = [_mapping(p, "photos", ("path", "marks")) for p in _list(data.get("photos", []), "photos")]
    drafts = [[_mark(m, services) for m in _list(photo.get("marks", []), "marks")] for photo in photos]
    judgement = (
        Judgement(_word("outcome", hand.get("outcome"), Outcome), _text(hand.get("reason"), "reason")) if hand else None
    )
    kind = _word("type of inspection", data.get("type", InspectionType.BEFORE_USE.value), InspectionType)
    facts = {str(k): _fact(v) for k, v in _mapping(data.get("facts", {}), "facts").items()}
    pictures = [read_photo(_text(photo.get("path"), "path")) for photo in photos]
    stored = [
        take_photo(picture, services, claimed_name=str(photo["path"])).id
        for photo, picture in zip(photos, pictures, strict=True)
    ]
    marks = tuple(
        Mark(
            id=draft["id"],
            photo_id=photo_id,
            component=draft["component"],
            category=draft["category"],
            shape=draft["shape"],
            readings=draft["readings"],
            note=draft["note"],
            made_by=person_id,
        )
        for photo_id, group in zip(stored, drafts, strict=True)
        for draft in group
    )
    return RecordInspection(
        id=_text(data.get("id"), "id") or services.new_id(),
        item_id=item_id,
        type=kind,
        by=person_id,
        answers=answers,
        marks=marks,
        photo_ids=tuple(dict.fromkeys(stored)),
        facts=facts,
        answer_notes=notes,
        note=_text(data.get("note"), "note"),
        hand=judgement,
        corrects=_text(data.get("corrects"), "corrects") or None,
    )


def _mark(data: Any, services: Services) -> dict[str, Any]:
    mark = _mapping(data, "A mark", _MARK_KEYS)
    shape = _mapping(mark.get("shape"), "shape", ("type", "points"))
    return {
        "id": _text(mark.get("id"), "id") or services.new_id(),
        "component": _word("component", mark.get("component"), Component),
        "category": _word("category", mark.get("category"), Category),
        "shape": Shape.of(str(shape.get("type")), _list(shape.get("points"), "points")),
        "readings": tuple(_reading(r) for r in _list(mark.get("readings", []), "readings")),
        "note": _text(mark.get("note"), "note"),
    }


def _reading(data: Any) -> Reading:
    reading = _mapping(data, "A reading", _READING_KEYS)
    name = str(reading.get("measure"))
    measure = MEASURES.get(name)
    if measure is None:
        raise BadInput(f"“{name}” is no measure.", "See the measures that `bartack decide --list` prints.")
    if reading.get("unit", measure.unit.value) != measure.unit.value:
        raise BadInput(f"{name.capitalize()} is kept in {measure.unit.value}.", "Convert the reading to that unit.")
    value, uncertainty = reading.get("value"), reading.get("uncertainty")
    if not _is_number(value) or not _is_number(uncertainty):
        raise BadInput(f"The reading of {name} lacks its value or its uncertainty.", "Give both as numbers.")
    method = _text(reading.get("method"), "method") or "by hand"
    return Reading(name, float(value), measure.unit.value, float(uncertainty), method)


def _is_number(value: Any) -> TypeGuard[float]:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _fact(value: Any) -> FactValue:
    if isinstance(value, str):
        try:
            return date.fromisoformat(value)
        except ValueError:
            return value
    if isinstance(value, bool):
        return value
    if isinstance(value, (int, float)):
        return float(value)
    raise BadInput(f"A fact cannot be {value!r}.", "Give yes or no as true or false, a number, a date or a word.")


def _mapping(data: Any, name: str, keys: Sequence[str] | None = None) -> Mapping[str, Any]:
    if not isinstance(data, Mapping):
        raise BadInput(f"{name} must be an object with keys.", "Write it in braces, as the help shows.")
    if keys is not None and (unknown := sorted(set(map(str, data)) - set(keys))):
        raise BadInput(f"{name} has an unknown key “{unknown[0]}”.", f"Use only: {', '.join(keys)}.")
    return data


def _list(data: Any, name: str) -> Sequence[Any]:
    if not isinstance(data, list):
        raise BadInput(f"“{name}” must be a list.", "Write it in square brackets.")
    return data


def _word(name: str, value: Any, words: Any) -> Any:
    try:
        return words(value)
    except ValueError:
        raise BadInput(f"“{value}” is no {name}.", f"Use one of: {', '.join(w.value for w in words)}.") from None


def _text(value: Any, name: str) -> str:
    if value is None:
        return ""
    if not isinstance(value, str):
        raise BadInput(f"“{name}” must be text.", "Write it in quotes.")
    return value.strip()
