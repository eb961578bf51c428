"""A measuring case as it comes in (JSON read into plain values), checked into frozen values.

Every fault is a BadInput that names the key at fault and says what to do; nothing is measured before all is sound.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeGuard, TypeVar

import numpy as np

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import Shape
from inspect_core.domain.marks import Category
from inspect_core.domain.measures import MEASURES
from inspect_core.imaging.plane import Array

METHODS = ("known_length", "card", "none")
#: What a known length may be said to lie across; it then gives the webbing's edges as well.
OF = ("webbing width", "rope diameter", "rule", "other")
MOST_MARKS = 200

_TOP = {"photo", "scale", "marks", "item"}
_SCALE = {
    "method",
    "points",
    "length_mm",
    "length_sd_mm",
    "point_sd_px",
    "of",
    "rule_mm",
    "rule_sd_mm",
    "height_mm",
    "height_sd_mm",
    "widest_tilt_deg",
}
_MARK = {"id", "component", "category", "shape", "measure", "edge", "other_edge", "region", "reference", "second"}
_ITEM = {"webbing_width_mm", "rope_diameter_mm", "packed_length_mm", "throat_mm"}


@dataclass(frozen=True, slots=True, eq=False)
class ScaleWish:
    """How the scale is to be taken; None where a value was left out."""

    method: str
    points: Array | None
    of: str
    length_mm: float | None
    length_sd_mm: float | None
    point_sd_px: float | None
    rule_mm: float | None
    rule_sd_mm: float | None
    height_mm: float
    height_sd_mm: float | None
    widest_tilt_deg: float | None


@dataclass(frozen=True, slots=True, eq=False)
class MarkWish:
    """One mark to be measured, with the lines and outlines that some measures need.

    `measures` empty: the usual ones for its category, component and shape.
    """

    id: str
    component: Component
    category: Category
    shape: Shape
    measures: tuple[str, ...]
    edge: Array | None
    other_edge: Array | None
    region: Shape | None
    reference: Shape | None
    second: Shape | None


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """A whole case. `item` holds nominal sizes in mm by their key."""

    photo: str
    scale: ScaleWish
    marks: tuple[MarkWish, ...]
    item: Mapping[str, float]


def read_case(case: Mapping[str, Any]) -> Case:
    """Check a case. Raises BadInput for the first fault found."""
    _mapping(case, "The case", _TOP)
    photo = case.get("photo")
    if not isinstance(photo, str) or not photo.strip():
        raise BadInput("The case names no photo.", 'Give "photo" as a path.')
    scale = _scale(_mapping(case.get("scale", {"method": "none"}), "“scale”", _SCALE))
    marks = case.get("marks", [])
    if not _is_list(marks):
        raise BadInput("“marks” is not a list.", "Give a list of marks, empty when there are none.")
    if len(marks) > MOST_MARKS:
        raise BadInput(f"The case has {len(marks)} marks; the most is {MOST_MARKS}.", "Measure fewer marks at a time.")
    read = tuple(_mark(_mapping(mark, f"Mark {number}", _MARK), number) for number, mark in enumerate(marks, 1))
    ids = [mark.id for mark in read]
    for name in ids:
        if ids.count(name) > 1:
            raise BadInput(f"Two marks are called “{name}”.", "Give every mark an id of its own.")
    item = _mapping(case.get("item", {}), "“item”", _ITEM)
    sizes = {key: _number(item, key, "“item”", least=0.0, above=True, most=1e5) for key in item}
    return Case(photo.strip(), scale, read, {k: v for k, v in sizes.items() if v is not None})


def needed(shape: Shape | None, key: str, what: str) -> Shape:
    """A mark's further shape. Raises BadInput naming the key where it is missing."""
    if shape is None:
        raise BadInput(f"This measure needs {what}.", f'Draw it and give it as "{key}" of the mark.')
    return shape


def _scale(scale: Mapping[str, Any]) -> ScaleWish:
    method = scale.get("method", "none")
    if method not in METHODS:
        raise BadInput(f"“{method}” is no way to take a scale.", f"Use one of: {', '.join(METHODS)}.")
    of = scale.get("of", "other")
    if of not in OF:
        raise BadInput(f"A known length of “{of}” is not known.", f"Use one of: {', '.join(OF)}, or leave it out.")
    points = _line(scale["points"], "“scale”: “points”") if scale.get("points") is not None else None
    where = "“scale”"
    length = _number(scale, "length_mm", where, least=0.0, above=True, most=10_000)
    if method == "known_length":
        if points is None:
            raise BadInput("A known length needs its two points.", 'Give "points" as [[x, y], [x, y]].')
        if length is None:
            raise BadInput("A known length needs its length.", 'Give "length_mm" in millimetres.')
    return ScaleWish(
        method=method,
        points=points,
        of=of,
        length_mm=length,
        length_sd_mm=_number(scale, "length_sd_mm", where, least=0.0, most=1000),
        point_sd_px=_number(scale, "point_sd_px", where, least=0.0, most=50),
        rule_mm=_number(scale, "rule_mm", where, least=0.0, above=True, most=1000),
        rule_sd_mm=_number(scale, "rule_sd_mm", where, least=0.0, most=5),
        height_mm=_number(scale, "height_mm", where, least=-1000, most=1000) or 0.0,
        height_sd_mm=_number(scale, "height_sd_mm", where, least=0.0, most=1000),
        widest_tilt_deg=_number(scale, "widest_tilt_deg", where, least=0.0, most=60),
    )


def _mark(mark: Mapping[str, Any], number: int) -> MarkWish:
    name = mark.get("id")
    if not isinstance(name, str) or not name:
        raise BadInput(f"Mark {number} has no id.", 'Give every mark an "id" of its own, as text.')
    where = f"Mark “{name}”"
    wanted = mark.get("measure", [])
    measures = [wanted] if isinstance(wanted, str) else wanted
    if not _is_list(measures) or not all(isinstance(m, str) for m in measures):
        raise BadInput(f"{where}: “measure” is no name and no list of names.", "Leave it out for the usual measures.")
    for measure in measures:
        if measure not in MEASURES:
            raise BadInput(f"{where}: “{measure}” is no known measure.", f"Use some of: {', '.join(MEASURES)}.")
    if mark.get("shape") is None:
        raise BadInput(f"{where} has no shape.", 'Give "shape" with "type" and "points".')
    return MarkWish(
        id=name,
        component=_enum(Component, mark.get("component"), f"{where}: component"),
        category=_enum(Category, mark.get("category"), f"{where}: category"),
        shape=_shape(mark["shape"], f"{where}: shape"),
        measures=tuple(measures),
        edge=_optional(mark, "edge", where, _line),
        other_edge=_optional(mark, "other_edge", where, _line),
        region=_optional(mark, "region", where, _shape),
        reference=_optional(mark, "reference", where, _shape),
        second=_optional(mark, "second", where, _shape),
    )


_T = TypeVar("_T")


def _optional(mark: Mapping[str, Any], key: str, where: str, read: Callable[[Any, str], _T]) -> _T | None:
    return None if mark.get(key) is None else read(mark[key], f"{where}: {key}")


def _enum(kind: Callable[[Any], _T], value: Any, where: str) -> _T:
    try:
        return kind(value)
    except ValueError:
        known = ", ".join(member.value for member in kind)  # type: ignore[attr-defined]
        raise BadInput(f"{where} “{value}” is not known.", f"Use one of: {known}.") from None


def _shape(value: Any, where: str) -> Shape:
    shape = _mapping(value, where, {"type", "points"})
    points = shape.get("points")
    if not _is_list(points):
        raise BadInput(f"{where} has no points.", "Give them as [[x, y], …].")
    try:
        return Shape.of(str(shape.get("type")), points or [])
    except BadInput as fault:
        raise BadInput(f"{where}: {fault.problem}", fault.remedy) from None


def _line(value: Any, where: str) -> Array:
    try:
        line = np.array([[float(x), float(y)] for x, y in value])
    except (TypeError, ValueError):
        raise BadInput(f"{where} are not pairs of numbers.", "Give them as [[x, y], [x, y]].") from None
    if line.shape != (2, 2):
        raise BadInput(f"{where} must be two points and are {len(line)}.", "Give them as [[x, y], [x, y]].")
    if not np.isfinite(line).all() or not np.hypot(*(line[1] - line[0])) > 0:
        raise BadInput(f"{where} must be two different places.", "Draw the line from one end to the other.")
    return line


def _mapping(value: Any, where: str, known: set[str]) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise BadInput(f"{where} is no object with named values.", "Compare it with the example in the help.")
    unknown = sorted(str(key) for key in value if key not in known)
    if unknown:
        raise BadInput(f"{where} has the unknown key “{unknown[0]}”.", f"Known keys: {', '.join(sorted(known))}.")
    return value


def _number(
    value: Mapping[str, Any], key: str, where: str, *, least: float, most: float, above: bool = False
) -> float | None:
    """A number or None where it was left out. Raises BadInput out of bounds."""
    found = value.get(key)
    if found is None:
        return None
    if isinstance(found, bool) or not isinstance(found, int | float) or not math.isfinite(found):
        raise BadInput(f"{where}: “{key}” is not a number.", "Give a plain number, or leave it out.")
    if not least <= found <= most or (above and found == least):
        bound = f"above {least:g}" if above else f"at least {least:g}"
        raise BadInput(f"{where}: “{key}” is {found:g}; it must be {bound} and at most {most:g}.", "Check its unit.")
    return float(found)


def _is_list(value: Any) -> TypeGuard[Sequence[Any]]:
    return isinstance(value, Sequence) and not isinstance(value, str | bytes)
