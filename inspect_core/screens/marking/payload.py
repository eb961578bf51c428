"""What the browser says was drawn on a photo, checked like a file from a stranger.

Frame of every coordinate: pixels of the upright full-resolution original, x right, y down.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from typing import Any, NoReturn, TypeVar

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import MOST_POINTS, Shape
from inspect_core.domain.marks import Category, Mark, Reading

MOST_NOTE_CHARACTERS = 500
#: Over all marks of one photo; the browser thins outlines to a few hundred points each.
MOST_POINTS_IN_ALL = 50_000
#: Pixels by which a point may lie past the edge, since browsers round.
EDGE_SLACK = 1.0
MOST_REV = 2**53

_T = TypeVar("_T")
_ID = re.compile(r"[A-Za-z0-9-]{1,64}")
_PAYLOAD_KEYS = {"photo_id", "rev", "marks"}
_UNPLACED = "unplaced"
_MARK_KEYS = {"id", "component", "category", "note", "shape"}
_SHAPE_KEYS = {"type", "points"}
_AGAIN = "Reload the page and draw the mark again."


@dataclass(frozen=True, slots=True)
class DrawnMark:
    """A mark as a person drew it, not yet measured or recorded."""

    id: str
    component: Component
    category: Category
    shape: Shape
    note: str = ""

    def as_plain(self) -> dict[str, Any]:
        """Plain values as the browser sends them; fit for JSON and for a session's state."""
        return {
            "id": self.id,
            "component": self.component.value,
            "category": self.category.value,
            "note": self.note,
            "shape": {"type": self.shape.type.value, "points": [[p.x, p.y] for p in self.shape.points]},
        }

    def as_mark(self, *, photo_id: str, made_by: str, readings: tuple[Reading, ...] = ()) -> Mark:
        """The mark to decide on and record, with its photo, its maker and what was measured."""
        return Mark(self.id, photo_id, self.component, self.category, self.shape, readings, self.note, made_by)


def validate_payload(
    payload: object,
    *,
    photo_id: str,
    width: int,
    height: int,
    components: Iterable[Component],
    categories: Iterable[Category],
    most_marks: int = 200,
) -> tuple[DrawnMark, ...]:
    """The marks in a browser's payload, or BadInput with a sentence that names the fault.

    Parameters
    ----------
    payload: `{"photo_id", "rev", "marks": [{"id", "component", "category", "note", "shape": {"type", "points"}}]}`,
        with `"unplaced"` where marks wait for their part.
    photo_id: the photo that was shown; a payload about another photo is refused.
    width, height: size of the upright full-resolution original, pixels.
    components, categories: what may be chosen; anything else is refused.
    most_marks: more marks than this on one photo are refused.
    """
    body = _mapping(payload, _PAYLOAD_KEYS, "What the browser sent", may={_UNPLACED})
    if body["photo_id"] != photo_id:
        _refuse("The marks belong to another photo.", "Open the photo again and mark it there.")
    payload_rev(body)
    listed = _list(body["marks"], "The marks")
    if len(listed) > most_marks:
        _refuse(
            f"There are {len(listed)} marks on one photo; {most_marks} are the most.",
            "Draw one outline around many small damages, or take a second photo.",
        )
    allowed_components = frozenset(components)
    allowed_categories = frozenset(categories)
    marks = tuple(
        _mark(entry, number, width, height, allowed_components, allowed_categories)
        for number, entry in enumerate(listed, start=1)
    )
    _check_together(marks)
    return marks


def payload_rev(payload: object) -> int:
    """The change count in a payload: a whole number that grows with every change. BadInput when it is none."""
    rev = payload.get("rev") if isinstance(payload, Mapping) else None
    if isinstance(rev, bool) or not isinstance(rev, int) or not 0 <= rev <= MOST_REV:
        _refuse("The change count of the marks is no whole number.", _AGAIN)
    return rev


def payload_unplaced(payload: object) -> int:
    """How many marks the browser keeps back because nobody said yet on which part they lie. BadInput for no count."""
    count = payload.get(_UNPLACED, 0) if isinstance(payload, Mapping) else 0
    if isinstance(count, bool) or not isinstance(count, int) or not 0 <= count <= MOST_REV:
        _refuse("The count of marks without a part is no whole number.", _AGAIN)
    return count


def _mark(
    entry: object,
    number: int,
    width: int,
    height: int,
    components: frozenset[Component],
    categories: frozenset[Category],
) -> DrawnMark:
    name = f"Mark {number}"
    body = _mapping(entry, _MARK_KEYS, name)
    mark_id = body["id"]
    if not isinstance(mark_id, str) or not _ID.fullmatch(mark_id):
        _refuse(f"{name} has no valid id.", "Ids are 1 to 64 letters, digits or dashes; draw the mark again.")
    note = body["note"]
    if not isinstance(note, str):
        _refuse(f"The note of {name.lower()} is no text.", _AGAIN)
    if len(note) > MOST_NOTE_CHARACTERS:
        _refuse(
            f"The note of {name.lower()} has {len(note)} characters; {MOST_NOTE_CHARACTERS} are the most.",
            "Shorten the note.",
        )
    component = _choice(body["component"], {c.value: c for c in components}, f"The component of {name.lower()}")
    category = _choice(body["category"], {c.value: c for c in categories}, f"The category of {name.lower()}")
    return DrawnMark(mark_id, component, category, _shape(body["shape"], name, width, height), note)


def _shape(entry: object, name: str, width: int, height: int) -> Shape:
    body = _mapping(entry, _SHAPE_KEYS, f"The shape of {name.lower()}")
    if not isinstance(body["type"], str):
        _refuse(f"The shape type of {name.lower()} is no text.", _AGAIN)
    points = _list(body["points"], f"The points of {name.lower()}")
    if len(points) > MOST_POINTS:
        _refuse(f"{name} has {len(points)} points; {MOST_POINTS} are the most.", "Draw the outline with fewer points.")
    pairs = [_point(point, name, width, height) for point in points]
    shape = Shape.of(body["type"], pairs)
    first = shape.points[0]
    if all(abs(p.x - first.x) < 0.5 and abs(p.y - first.y) < 0.5 for p in shape.points):
        _refuse(f"{name} has no size: all its points lie in one place.", "Delete it and draw it again.")
    return shape


def _point(entry: object, name: str, width: int, height: int) -> tuple[float, float]:
    pair = _list(entry, f"A point of {name.lower()}")
    if len(pair) != 2 or any(isinstance(value, bool) or not isinstance(value, int | float) for value in pair):
        _refuse(f"A point of {name.lower()} is no pair of numbers.", _AGAIN)
    x, y = pair
    # Written so that NaN, infinities and whole numbers too large for a float all fail the comparison.
    if not (-EDGE_SLACK <= x <= width + EDGE_SLACK and -EDGE_SLACK <= y <= height + EDGE_SLACK):
        _refuse(f"{name} has a point that is not on the photo.", "Move the mark back onto the photo or draw it again.")
    return float(x), float(y)


def _check_together(marks: Sequence[DrawnMark]) -> None:
    seen: set[str] = set()
    for number, mark in enumerate(marks, start=1):
        if mark.id in seen:
            _refuse(f"Mark {number} carries the same id as an earlier mark.", "Delete one of the two.")
        seen.add(mark.id)
    total = sum(len(mark.shape.points) for mark in marks)
    if total > MOST_POINTS_IN_ALL:
        _refuse(
            f"The marks have {total} points together; {MOST_POINTS_IN_ALL} are the most.",
            "Delete marks that are not needed, or take a second photo.",
        )


def _mapping(value: object, keys: set[str], name: str, *, may: Set[str] = frozenset()) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        _refuse(f"{name} is not in the expected form.", _AGAIN)
    unknown = sorted(str(key)[:40] for key in value if key not in keys | may)
    if unknown:
        _refuse(f"{name} carries unknown entries: {', '.join(unknown[:5])}.", _AGAIN)
    missing = sorted(keys - set(value))
    if missing:
        _refuse(f"{name} lacks: {', '.join(missing)}.", _AGAIN)
    return value


def _list(value: object, name: str) -> Sequence[Any]:
    if not isinstance(value, list | tuple):
        _refuse(f"{name} are not given as a list.", _AGAIN)
    return value


def _choice(value: object, known: Mapping[str, _T], name: str) -> _T:
    if not isinstance(value, str):
        _refuse(f"{name} is no text.", _AGAIN)
    if value not in known:
        _refuse(f"{name}, “{value[:40]}”, cannot be chosen here.", f"Choose one of: {', '.join(sorted(known))}.")
    return known[value]


def _refuse(problem: str, remedy: str) -> NoReturn:
    raise BadInput(problem, remedy)
