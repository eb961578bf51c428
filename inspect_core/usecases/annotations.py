"""Marks as W3C Web Annotations, out and in.

Web Annotation Data Model (W3C Recommendation, 23 February 2017): boxes as fragment selectors (Media Fragments 1.0,
`xywh=pixel:`), every other shape as an SVG selector. Frame: pixels of the upright original, x right, y down. The photo
is named by its SHA-256 (`ni:///sha-256;…` of RFC 6920 would carry base64url; here plain hex stands in a URN of ours,
as stored). Readings travel as a body of purpose "describing" in JSON.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any
from xml.etree import ElementTree

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import Shape, ShapeType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.usecases.plain import reading_plain

CONTEXT = "http://www.w3.org/ns/anno.jsonld"
_SVG = "http://www.w3.org/2000/svg"
_PHOTO = "urn:sha256:"
_MOST_SVG = 200_000
#: A mark has a few readings; a longer text is none.
_MOST_READINGS = 50_000
_FAULTS = (LookupError, TypeError, ValueError, AttributeError, StopIteration, ElementTree.ParseError)
_ELEMENTS = {
    ShapeType.LINE: "line",
    ShapeType.POLYLINE: "polyline",
    ShapeType.POLYGON: "polygon",
    ShapeType.FREEHAND: "path",
}


def annotation(mark: Mark) -> dict[str, Any]:
    """One mark as a Web Annotation (JSON-LD)."""
    bodies: list[dict[str, Any]] = [
        {"type": "TextualBody", "purpose": "classifying", "value": mark.category.value},
        {"type": "TextualBody", "purpose": "tagging", "value": mark.component.value},
    ]
    if mark.note:
        bodies.append({"type": "TextualBody", "purpose": "commenting", "value": mark.note})
    if mark.readings:
        value = json.dumps([reading_plain(r) for r in mark.readings], ensure_ascii=False)
        bodies.append({"type": "TextualBody", "purpose": "describing", "format": "application/json", "value": value})
    return {
        "@context": CONTEXT,
        "id": f"urn:bartack:mark:{mark.id}",
        "type": "Annotation",
        "creator": mark.made_by or None,
        "body": bodies,
        "target": {"source": _PHOTO + mark.photo_id, "selector": _selector(mark.shape)},
    }


def mark_from(data: Mapping[str, Any]) -> Mark:
    """The mark that an annotation of this form stands for. Raises BadInput naming what is wrong."""
    try:
        target = data["target"]
        source, selector = str(target["source"]), target["selector"]
        bodies = {str(body["purpose"]): body["value"] for body in data["body"]}
        identity = str(data["id"]).removeprefix("urn:bartack:mark:")
        said = bodies.get("describing", "[]")
        if len(said) > _MOST_READINGS:
            raise BadInput("The readings of an annotation are too long.", "Export the marks again.")
        readings = json.loads(said)
        return Mark(
            id=identity,
            photo_id=source.removeprefix(_PHOTO),
            component=Component(bodies["tagging"]),
            category=Category(bodies["classifying"]),
            shape=_shape(selector),
            readings=tuple(
                Reading(str(r["measure"]), float(r["value"]), str(r["unit"]), float(r["uncertainty"]), str(r["method"]))
                for r in readings
            ),
            note=str(bodies.get("commenting", "")),
            made_by=str(data.get("creator") or ""),
        )
    except BadInput:
        raise
    except (*_FAULTS, RecursionError) as fault:
        raise BadInput(
            f"This annotation is none that Bartack can read: {type(fault).__name__} at {fault}.",
            "Export the marks again; each needs its category, its component, its photo and its shape.",
        ) from None


def _number(value: float) -> str:
    return repr(float(value)).removesuffix(".0")


def _selector(shape: Shape) -> dict[str, str]:
    if shape.type is ShapeType.BOX:
        left, top, right, bottom = shape.bounds()
        numbers = ",".join(map(_number, (left, top, right - left, bottom - top)))
        return {
            "type": "FragmentSelector",
            "conformsTo": "http://www.w3.org/TR/media-frags/",
            "value": f"xywh=pixel:{numbers}",
        }
    points = [(_number(p.x), _number(p.y)) for p in shape.points]
    name = _ELEMENTS[shape.type]
    if shape.type is ShapeType.LINE:
        (x1, y1), (x2, y2) = points
        inside = f'x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}"'
    elif shape.type is ShapeType.FREEHAND:
        inside = 'd="M ' + " L ".join(f"{x},{y}" for x, y in points) + ' Z"'
    else:
        inside = 'points="' + " ".join(f"{x},{y}" for x, y in points) + '"'
    return {"type": "SvgSelector", "value": f'<svg xmlns="{_SVG}"><{name} {inside}/></svg>'}


def _shape(selector: Mapping[str, str]) -> Shape:
    value = selector["value"]
    if selector["type"] == "FragmentSelector":
        left, top, width, height = (float(n) for n in value.removeprefix("xywh=pixel:").split(","))
        return Shape.of("box", [[left, top], [left + width, top + height]])
    if len(value) > _MOST_SVG or "<!" in value or "<?" in value:  # no entities, no declarations: nothing to expand
        raise BadInput("The shape of an annotation is too large or not plain SVG.", "Export the marks again.")
    drawn = ElementTree.fromstring(value)[0]  # noqa: S314 - declarations and size are refused above
    name = drawn.tag.removeprefix(f"{{{_SVG}}}")
    kind = next(shape for shape, element in _ELEMENTS.items() if element == name)
    if kind is ShapeType.LINE:
        a = drawn.attrib
        return Shape.of("line", [[float(a["x1"]), float(a["y1"])], [float(a["x2"]), float(a["y2"])]])
    text = drawn.attrib["d" if kind is ShapeType.FREEHAND else "points"]
    numbers = [float(n) for n in re.findall(r"[-+0-9.eE]+", re.sub(r"[MLZ]", " ", text))]
    return Shape.of(kind.value, list(zip(numbers[::2], numbers[1::2], strict=True)))
