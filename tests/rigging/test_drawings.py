"""The drawings are well-formed, to scale, inside their frame, and say in words what they show."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from typing import Any

import pytest

from inspect_core.rigging.drawing import WIDTH, Board, Style, lettering_width, scale_bar
from inspect_core.rigging.restraint import Tether, check_restraint
from inspect_core.rigging.rig_case import rig_case
from inspect_core.rigging.roof import Roof
from inspect_core.rigging.units import Quantity
from tests.rigging.test_rig_case import EXAMPLES

DRAWN = [case for case in EXAMPLES if case["check"] in ("restraint", "clearance", "swing", "guardrail")]
SVG = "{http://www.w3.org/2000/svg}"


def parsed(svg: str) -> ET.Element:
    return ET.fromstring(svg)  # noqa: S314 - our own text


def drawing(case: dict[str, Any]) -> dict[str, Any]:
    (only,) = rig_case(case)["drawings"]
    return only


@pytest.mark.parametrize("case", DRAWN, ids=lambda case: case["check"])
def test_every_drawing_is_well_formed_named_and_described(case: dict[str, Any]) -> None:
    picture = drawing(case)
    root = parsed(picture["svg"])
    assert root.attrib["role"] == "img"
    assert root.findtext(f"{SVG}title") == picture["title"]
    assert root.findtext(f"{SVG}desc") == picture["words"]
    assert root.attrib["viewBox"] == f"0 0 360 {picture['height']:g}"


@pytest.mark.parametrize("case", DRAWN, ids=lambda case: case["check"])
def test_nothing_but_rims_and_half_lines_leaves_the_frame(case: dict[str, Any]) -> None:
    picture = drawing(case)
    for shape in picture["shapes"]:
        if shape["type"] == "path":
            for ring in shape["rings"]:
                for x, y in ring:
                    assert -1 <= x <= WIDTH + 1
                    assert -1 <= y <= picture["height"] + 1
        elif shape["type"] == "text":
            wide = lettering_width(shape["text"], shape["size"])
            left = shape["x"] - {"start": 0.0, "middle": 0.5, "end": 1.0}[shape["at"]] * wide
            assert left >= -1, shape["text"]
            assert left + wide <= WIDTH + 6, shape["text"]
            assert 0 < shape["y"] <= picture["height"]


@pytest.mark.parametrize("case", DRAWN, ids=lambda case: case["check"])
def test_lettering_is_never_smaller_than_nine_units(case: dict[str, Any]) -> None:
    sizes = [shape["size"] for shape in drawing(case)["shapes"] if shape["type"] == "text"]
    assert min(sizes) >= 9


def test_the_plan_is_to_scale() -> None:
    tether = Tether(Quantity(2.0), Quantity(0.0), 0.0, Quantity(0.0), Quantity(0.0))
    roof = Roof(((0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (0.0, 10.0)))
    (picture,) = check_restraint(roof, (6.0, 5.0), tether, "common").drawings
    paths = [shape for shape in picture.as_dict()["shapes"] if shape["type"] == "path"]  # type: ignore[attr-defined]
    surface = paths[0]["rings"][0]
    per_metre = (surface[1][0] - surface[0][0]) / 20
    reached = paths[1]["rings"][0]
    radius = (max(x for x, _ in reached) - min(x for x, _ in reached)) / 2
    assert radius / per_metre == pytest.approx(2.0, abs=0.01)
    assert surface[0][1] - surface[2][1] == pytest.approx(10 * per_metre, abs=0.02)


def test_the_stack_is_to_scale() -> None:
    case = next(case for case in EXAMPLES if case["check"] == "clearance")
    boxes = [
        shape["rings"][0]
        for shape in drawing(case)["shapes"]
        if shape["type"] == "path" and shape["closed"] and shape["stroke"] != "none"
    ]
    talls = [ring[2][1] - ring[0][1] for ring in boxes]
    # 6 ft of lanyard, 3.5 ft of deceleration, 1 ft of harness, 5 ft to the feet, 2 ft of margin.
    assert [tall / talls[0] * 6 for tall in talls] == pytest.approx([6, 3.5, 1, 5, 2], abs=0.01)


def test_text_from_outside_cannot_become_markup() -> None:
    board = Board()
    board.text(0, 10, '<script>alert(1)</script> & "quoted"')
    svg = board.done("x", 'A "title" <b>', "words", 20).svg()
    assert "<script>" not in svg
    assert parsed(svg).attrib["aria-label"] == 'A "title" <b>. words'


@pytest.mark.parametrize(("per_metre", "metres"), [(20.0, "2 m"), (300.0, "0.2 m"), (0.5, "100 m"), (8.0, "10 m")])
def test_the_scale_bar_is_the_longest_round_length_that_fits(per_metre: float, metres: str) -> None:
    board = Board()
    scale_bar(board, 0, 0, per_metre)
    assert str(board.shapes[-1]["text"]).startswith(metres)


@pytest.mark.parametrize(
    ("roof", "anchor"),
    [
        (((0.0, 0.0), (0.01, 0.0), (0.0, 0.01)), (0.001, 0.001)),
        (((0.0, 0.0), (9000.0, 0.0), (9000.0, 1.0), (0.0, 1.0)), (5.0, 0.5)),
        (((0.0, 0.0), (1.0, 0.0), (1.0, 900.0), (0.0, 900.0)), (0.5, 5.0)),
    ],
    ids=["tiny", "very wide", "very long"],
)
def test_roofs_of_any_proportion_can_be_drawn(
    roof: tuple[tuple[float, float], ...], anchor: tuple[float, float]
) -> None:
    tether = Tether(Quantity(30.0, 5.0), None, None, None, None)
    (picture,) = check_restraint(Roof(roof), anchor, tether, "common").drawings
    parsed(picture.svg())
    json.dumps(picture.as_dict(), allow_nan=False)
    assert picture.height < 500


def test_a_style_without_stroke_paints_none() -> None:
    board = Board()
    board.box(0, 0, 5, 5, Style(fill="#000000"))
    assert "stroke=" not in board.done("x", "t", "w", 9).svg()
