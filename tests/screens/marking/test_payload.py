"""What the browser sends is checked like a file from a stranger."""

from __future__ import annotations

import copy
import json
import math
from collections.abc import Callable
from typing import Any

import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import MOST_POINTS, ShapeType
from inspect_core.domain.marks import Category
from inspect_core.screens.marking.payload import DrawnMark, payload_rev, validate_payload

PHOTO = "photo-1"
WIDTH, HEIGHT = 4000, 3000
COMPONENTS = (Component.WEBBING, Component.STITCHING)
CATEGORIES = (Category.CUT, Category.BURN)


def a_mark(**changes: Any) -> dict[str, Any]:
    mark = {
        "id": "m-1",
        "component": "webbing",
        "category": "cut",
        "note": "",
        "shape": {"type": "line", "points": [[10, 20.5], [300, 40]]},
    }
    return {**mark, **changes}


def a_payload(*marks: dict[str, Any], **changes: Any) -> dict[str, Any]:
    return {"photo_id": PHOTO, "rev": 3, "marks": list(marks or (a_mark(),)), **changes}


def shaped(type: Any, points: Any) -> dict[str, Any]:
    return a_payload(a_mark(shape={"type": type, "points": points}))


def without(mapping: dict[str, Any], name: str) -> dict[str, Any]:
    return {key: value for key, value in mapping.items() if key != name}


def check(payload: object, **changes: Any) -> tuple[DrawnMark, ...]:
    settings = {"photo_id": PHOTO, "width": WIDTH, "height": HEIGHT, "components": COMPONENTS, "categories": CATEGORIES}
    return validate_payload(payload, **{**settings, **changes})


@pytest.mark.parametrize(
    ("type", "points"),
    [
        ("line", [[0, 0], [WIDTH, HEIGHT]]),
        ("polyline", [[1, 1], [2, 9], [3, 1]]),
        ("box", [[1.25, 1], [20, 30]]),
        ("polygon", [[1, 1], [50, 1], [25, 60]]),
        ("freehand", [[1, 1], [50, 1], [25, 60], [3, 30]]),
        ("line", [[-0.5, 0], [WIDTH + 0.5, 10]]),
    ],
)
def test_every_shape_comes_through_with_its_points_unchanged(type: str, points: list[list[float]]) -> None:
    (mark,) = check(shaped(type, points))
    assert mark.shape.type is ShapeType(type)
    assert [[p.x, p.y] for p in mark.shape.points] == points


def test_a_good_payload_gives_the_marks_in_order_with_their_words() -> None:
    marks = check(a_payload(a_mark(), a_mark(id="m-2", component="stitching", category="burn", note="near the label")))
    assert [(m.id, m.component, m.category, m.note) for m in marks] == [
        ("m-1", Component.WEBBING, Category.CUT, ""),
        ("m-2", Component.STITCHING, Category.BURN, "near the label"),
    ]


def test_no_marks_are_a_good_payload() -> None:
    assert check(a_payload(marks=[])) == ()


def test_plain_values_go_out_and_come_back_the_same_through_json() -> None:
    marks = check(a_payload(a_mark(note="ünïcode")))
    again = json.loads(json.dumps([mark.as_plain() for mark in marks]))
    assert check(a_payload(*again)) == marks


def test_a_drawn_mark_becomes_a_mark_with_its_maker() -> None:
    (drawn,) = check(a_payload())
    mark = drawn.as_mark(photo_id=PHOTO, made_by="inspector 7")
    assert (mark.id, mark.photo_id, mark.made_by, mark.shape) == ("m-1", PHOTO, "inspector 7", drawn.shape)


MANY = [[i % 4000, i % 3000] for i in range(MOST_POINTS + 1)]
LONG_OUTLINE = {"type": "freehand", "points": [[i % 4000, i % 3000] for i in range(MOST_POINTS)]}
BAD: list[tuple[str, object, str]] = [
    ("nothing", None, "expected form"),
    ("a text", "marks", "expected form"),
    ("a list", [a_mark()], "expected form"),
    ("an unknown entry", a_payload(admin=True), "unknown entries: admin"),
    ("no marks entry", without(a_payload(), "marks"), "lacks: marks"),
    ("another photo", a_payload(photo_id="photo-2"), "another photo"),
    ("a photo id that is a list", a_payload(photo_id=[PHOTO]), "another photo"),
    ("a change count that is a text", a_payload(rev="3"), "change count"),
    ("a change count that is true", a_payload(rev=True), "change count"),
    ("a negative change count", a_payload(rev=-1), "change count"),
    ("a fractional change count", a_payload(rev=1.5), "change count"),
    ("marks that are a mapping", a_payload(marks={"0": a_mark()}), "not given as a list"),
    ("marks that are a text", a_payload(marks="[]"), "not given as a list"),
    ("a mark that is a text", a_payload(marks=["line"]), "expected form"),
    ("an unknown entry of a mark", a_payload(a_mark(onload="x")), "unknown entries: onload"),
    ("a mark without category", a_payload(without(a_mark(), "category")), "lacks: category"),
    ("an empty id", a_payload(a_mark(id="")), "no valid id"),
    ("an id with a path in it", a_payload(a_mark(id="../m")), "no valid id"),
    ("an id with markup in it", a_payload(a_mark(id="<b>")), "no valid id"),
    ("an id that ends in a newline", a_payload(a_mark(id="m-1\n")), "no valid id"),
    ("an id of 65 characters", a_payload(a_mark(id="m" * 65)), "no valid id"),
    ("an id that is a number", a_payload(a_mark(id=7)), "no valid id"),
    ("one id twice", a_payload(a_mark(), a_mark()), "same id"),
    ("a note that is no text", a_payload(a_mark(note=None)), "no text"),
    ("a note of 501 characters", a_payload(a_mark(note="n" * 501)), "501 characters"),
    ("an unknown category", a_payload(a_mark(category="scratch")), "“scratch”, cannot be chosen"),
    ("a category not offered", a_payload(a_mark(category="rust")), "“rust”, cannot be chosen"),
    ("a category that is a list", a_payload(a_mark(category=["cut"])), "no text"),
    ("an unknown component", a_payload(a_mark(component="wing")), "“wing”, cannot be chosen"),
    ("a component of another kind", a_payload(a_mark(component="cam")), "“cam”, cannot be chosen"),
    ("a shape that is a text", a_payload(a_mark(shape="line")), "expected form"),
    ("a shape with an unknown entry", a_payload(a_mark(shape={"type": "line", "points": [], "fill": 1})), "fill"),
    ("an unknown shape", shaped("star", [[1, 1], [2, 2]]), "“star” is no shape"),
    ("a shape type that is a number", shaped(1, [[1, 1], [2, 2]]), "shape type"),
    ("points that are a text", shaped("line", "1,1 2,2"), "not given as a list"),
    ("a point that is a number", shaped("line", [1, 2]), "not given as a list"),
    ("a point with three numbers", shaped("line", [[1, 1, 1], [2, 2, 2]]), "no pair of numbers"),
    ("a point made of texts", shaped("line", [["1", "1"], ["2", "2"]]), "no pair of numbers"),
    ("a point made of truths", shaped("line", [[True, False], [2, 2]]), "no pair of numbers"),
    ("a point that is nothing", shaped("line", [[None, 1], [2, 2]]), "no pair of numbers"),
    ("not a number", shaped("line", [[math.nan, 1], [2, 2]]), "not on the photo"),
    ("infinity", shaped("line", [[math.inf, 1], [2, 2]]), "not on the photo"),
    ("minus infinity", shaped("line", [[1, -math.inf], [2, 2]]), "not on the photo"),
    ("a number too large for a float", shaped("line", [[10**400, 1], [2, 2]]), "not on the photo"),
    ("a point left of the photo", shaped("line", [[-1.01, 1], [2, 2]]), "not on the photo"),
    ("a point below the photo", shaped("line", [[1, 1], [2, HEIGHT + 1.01]]), "not on the photo"),
    ("a line of one point", shaped("line", [[1, 1]]), "needs exactly 2 points"),
    ("a line of three points", shaped("line", [[1, 1], [2, 2], [3, 3]]), "needs exactly 2 points"),
    ("a polygon of two points", shaped("polygon", [[1, 1], [2, 2]]), "needs 3 to"),
    ("no points at all", shaped("polyline", []), "needs 2 to"),
    ("too many points in one mark", shaped("polyline", MANY), "5001 points"),
    ("a mark without size", shaped("line", [[5, 5], [5.2, 5.1]]), "has no size"),
    ("too many marks", a_payload(*(a_mark(id=f"m-{i}") for i in range(201))), "201 marks"),
    (
        "too many points together",
        a_payload(*(a_mark(id=f"m-{i}", shape=LONG_OUTLINE) for i in range(11))),
        "55000 points together",
    ),
]


@pytest.mark.parametrize(("payload", "words"), [case[1:] for case in BAD], ids=[case[0] for case in BAD])
def test_a_bad_payload_is_refused_with_what_is_wrong_and_what_to_do(payload: object, words: str) -> None:
    with pytest.raises(BadInput) as refusal:
        check(payload)
    assert words in str(refusal.value)
    assert refusal.value.problem.endswith(".") and refusal.value.remedy.endswith(".")


def test_a_refusal_never_repeats_more_than_a_line_of_what_was_sent() -> None:
    with pytest.raises(BadInput) as refusal:
        check(a_payload(a_mark(category="x" * 10_000), **{}))
    assert len(str(refusal.value)) < 400
    with pytest.raises(BadInput) as refusal:
        check(a_payload(**{"y" * 10_000: 1}))
    assert len(str(refusal.value)) < 400


@pytest.mark.parametrize("edit", [lambda p: p["marks"][0]["shape"]["points"].append([1, 1]), lambda p: p.clear()])
def test_checked_marks_do_not_hang_on_the_payload(edit: Callable[[dict[str, Any]], None]) -> None:
    payload = a_payload()
    marks = check(payload)
    kept = copy.deepcopy([mark.as_plain() for mark in marks])
    edit(payload)
    assert [mark.as_plain() for mark in marks] == kept


def test_the_largest_number_of_marks_can_be_set() -> None:
    with pytest.raises(BadInput, match="2 marks on one photo; 1 are the most"):
        check(a_payload(a_mark(), a_mark(id="m-2")), most_marks=1)


def test_the_change_count_is_read_from_a_good_payload() -> None:
    assert payload_rev(a_payload(rev=12)) == 12
