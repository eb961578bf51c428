"""The measuring case: the contract of the command line, and the refusal of every bad input."""

from __future__ import annotations

import copy
import json
import math
from typing import Any

import numpy as np
import pytest

from inspect_core.domain.errors import BadInput, BadPhoto
from inspect_core.imaging.card_layout import HEIGHT_MM, WIDTH_MM, card_png_pixels
from inspect_core.imaging.measure_case import measure_case
from tests.imaging.drawn import seam
from tests.imaging.photos import encoded, woven

#: Ten pixels to the millimetre: a 45 mm reference is 450 px long.
LINE = {"type": "line", "points": [[400, 300], [400, 400]]}
CASE: dict[str, Any] = {
    "photo": "strap.jpg",
    "scale": {
        "method": "known_length",
        "points": [[300, 200], [300, 650]],
        "length_mm": 45,
        "length_sd_mm": 0.2,
        "point_sd_px": 1.5,
    },
    "marks": [{"id": "m1", "component": "webbing", "category": "cut", "shape": LINE}],
}
PHOTO = encoded(woven(1600, 1200), quality=85)


def _measured(**changes: Any) -> dict[str, Any]:
    return measure_case({**copy.deepcopy(CASE), **changes}, lambda _: PHOTO)


def _mark(**changes: Any) -> list[dict[str, Any]]:
    return [{**copy.deepcopy(CASE["marks"][0]), **changes}]


def _scale(**changes: Any) -> dict[str, Any]:
    return {**copy.deepcopy(CASE["scale"]), **changes}


def _values(result: dict[str, Any]) -> dict[str, float]:
    return {reading["measure"]: reading["value"] for reading in result["readings"]}


def test_the_answer_has_the_contracts_shape_and_goes_into_json() -> None:
    result = _measured()
    assert set(result) == {"scale", "readings", "not_measured", "quality"}
    assert result["scale"]["mm_per_px"] == pytest.approx(0.1)
    reading = result["readings"][0]
    assert set(reading) == {"mark", "measure", "value", "unit", "uncertainty", "method"}
    assert (reading["mark"], reading["measure"], reading["unit"]) == ("m1", "length", "mm")
    assert reading["value"] == pytest.approx(10.0) and 0.3 < reading["uncertainty"] < 2
    assert json.loads(json.dumps(result)) == result
    assert result["quality"]["megapixels"] == pytest.approx(1.92)


def test_the_same_case_gives_the_same_bytes() -> None:
    assert json.dumps(_measured()) == json.dumps(_measured())


def test_without_a_scale_there_are_no_millimetres() -> None:
    result = _measured(scale={"method": "none"})
    assert result["scale"]["mm_per_px"] is None
    assert all(reading["unit"] not in ("mm", "mm2") for reading in result["readings"])
    asked = _measured(scale={"method": "none"}, marks=_mark(measure="length"))
    assert asked["readings"] == [] and "Without a scale" in asked["not_measured"][0]["problem"]


def test_a_share_needs_no_millimetres() -> None:
    region = {"type": "box", "points": [[300, 200], [700, 600]]}
    damage = {"type": "box", "points": [[400, 300], [500, 400]]}
    result = _measured(scale={"method": "none"}, marks=_mark(shape=damage, region=region, category="burn"))
    assert _values(result) == {"area share": pytest.approx(1 / 16)}


@pytest.mark.parametrize("start", [200, 650])
def test_depth_from_either_edge_by_the_drawn_webbing_width(start: int) -> None:
    tip = start + (30 if start == 200 else -30)
    slanted = {"type": "line", "points": [[340, start], [380, tip]]}
    values = _values(_measured(scale=_scale(of="webbing width"), marks=_mark(shape=slanted)))
    # Slanted 40 px along and 30 px inwards: 5 mm long, 3 mm deep.
    assert values["length"] == pytest.approx(5.0)
    assert values["depth from edge"] == pytest.approx(3.0)
    assert values["depth share"] == pytest.approx(3 / 45)


def test_a_mark_along_the_webbing_has_no_depth_by_its_drawn_width() -> None:
    # 70 degrees off the drawn width, and 50 degrees off it.
    for sideways, measured in ((82.0, set()), (35.7, {"depth from edge", "depth share"})):
        slanted = {"type": "line", "points": [[400, 200], [400 + sideways, 230]]}
        result = _measured(scale=_scale(of="webbing width"), marks=_mark(shape=slanted))
        assert set(_values(result)) - {"length"} == measured
        told = {missed["measure"] for missed in result["not_measured"]}
        assert told == {"depth from edge", "depth share"} - measured
        assert all("runs along the webbing" in missed["problem"] for missed in result["not_measured"])


def test_far_from_the_drawn_width_a_cut_is_at_most_as_deep_as_it_is_long() -> None:
    far = {"type": "line", "points": [[700, 200], [700, 230]]}
    result = _measured(scale=_scale(of="webbing width"), marks=_mark(shape=far))
    found = {reading["measure"]: reading for reading in result["readings"]}
    for measure in ("depth from edge", "depth share"):
        assert "at most this" in found[measure]["method"]
    assert found["depth from edge"]["uncertainty"] == found["length"]["uncertainty"]
    # The width of the webbing is known from the scale itself.
    assert found["depth share"]["value"] == pytest.approx(found["length"]["value"] / 45, rel=1e-3)


def test_who_does_not_say_how_points_were_drawn_drew_them_on_the_whole_photo() -> None:
    def uncertainty(**scale: Any) -> float:
        return float(_measured(scale=_scale(**scale), marks=_mark(measure="length"))["readings"][0]["uncertainty"])

    left_out = {key: value for key, value in CASE["scale"].items() if key != "point_sd_px"}
    unsaid = _measured(scale=left_out, marks=_mark(measure="length"))["readings"][0]["uncertainty"]
    # 1600 px of photo on about 400 of a phone.
    assert unsaid == uncertainty(point_sd_px=4.0) > uncertainty(point_sd_px=2.0) > uncertainty(point_sd_px=1.5)


def test_depth_square_to_a_drawn_edge() -> None:
    mark = _mark(edge=[[200, 300], [600, 300]], other_edge=[[200, 750], [600, 750]])
    values = _values(_measured(marks=mark))
    assert values["depth from edge"] == pytest.approx(10.0) and values["depth share"] == pytest.approx(10 / 45)


def test_without_an_edge_the_drawn_length_stands_for_the_depth_and_says_so() -> None:
    result = _measured(item={"webbing_width_mm": 45})
    depth = next(r for r in result["readings"] if r["measure"] == "depth from edge")
    assert depth["value"] == pytest.approx(10.0) and "at most this" in depth["method"]
    assert _values(result)["depth share"] == pytest.approx(10 / 45)


@pytest.mark.parametrize(
    ("mark", "item", "expected"),
    [
        ({"component": "energy absorber", "category": "deployed absorber"}, {}, {"pull-out": 10.0}),
        (
            {"component": "energy absorber", "category": "deployed absorber"},
            {"packed_length_mm": 8.0},
            {"pack length": 10.0, "pack length increase": 2.0},
        ),
        (
            {"component": "snap hook", "category": "deformation"},
            {"throat_mm": 8.0},
            {"throat": 10.0, "throat increase": 0.25},
        ),
        ({"component": "rope", "category": "wear", "measure": "rope diameter"}, {}, {"rope diameter": 10.0}),
        (
            {"component": "rope", "category": "wear", "measure": ["diameter loss"]},
            {"rope_diameter_mm": 12.5},
            {"diameter loss": 0.2},
        ),
        (
            {"category": "burn", "shape": {"type": "box", "points": [[400, 300], [600, 400]]}},
            {},
            {"length": 20.0, "width": 10.0, "area": 200.0},
        ),
        (
            {
                "category": "deformation",
                "measure": "angle",
                "shape": {"type": "polyline", "points": [[400, 300], [400, 400], [500, 400]]},
            },
            {},
            {"angle": 90.0},
        ),
        (
            {
                "component": "snap hook",
                "category": "deformation",
                "measure": "twist",
                "second": {"type": "line", "points": [[300, 300], [400, 400]]},
            },
            {},
            {"twist": 45.0},
        ),
    ],
)
def test_every_kind_of_mark_gets_its_measures(
    mark: dict[str, Any], item: dict[str, float], expected: dict[str, float]
) -> None:
    result = _measured(marks=_mark(**mark), item=item)
    assert result["not_measured"] == []
    # A closed outline's extents are corrected for pointing, by a little.
    assert _values(result) == {k: pytest.approx(v, rel=0.03, abs=1e-6) for k, v in expected.items()}
    assert all(reading["uncertainty"] > 0 for reading in result["readings"])


def test_a_mark_that_cannot_be_measured_is_told_and_not_zero() -> None:
    result = _measured(marks=_mark(measure=["missing stitches", "section loss", "colour difference", "length"]))
    assert set(_values(result)) == {"length"}
    told = {entry["measure"]: entry for entry in result["not_measured"]}
    assert set(told) == {"missing stitches", "section loss", "colour difference"}
    assert "by hand" in told["section loss"]["remedy"] and "reference" in told["colour difference"]["remedy"]


def test_the_scale_card_is_found_and_measured_by() -> None:
    picture = woven(2000, 1500)
    card = card_png_pixels(10.0)
    picture[700 : 700 + card.shape[0], 250 : 250 + card.shape[1]] = card
    shape = {"type": "line", "points": [[800, 500], [800, 600]]}
    scale = {"method": "card", "rule_mm": 140.0, "point_sd_px": 1.5}
    case = {"photo": "a.jpg", "scale": scale, "marks": _mark(shape=shape)}
    result = measure_case(case, lambda _: encoded(picture, quality=92))
    assert (card.shape[1], card.shape[0]) == (round(WIDTH_MM * 10), round(HEIGHT_MM * 10))
    assert result["scale"]["mm_per_px"] == pytest.approx(0.1, rel=0.002)
    assert _values(result)["length"] == pytest.approx(10.0, abs=0.05)
    assert result["readings"][0]["uncertainty"] < 0.7


def test_no_card_in_the_photo_is_said() -> None:
    with pytest.raises(BadInput, match="No scale card"):
        _measured(scale={"method": "card"})


NAN = float("nan")
BAD: dict[str, tuple[dict[str, Any], str]] = {
    "unknown key": ({"extra": 1}, "unknown key “extra”"),
    "no photo": ({"photo": ""}, "names no photo"),
    "photo is no text": ({"photo": 7}, "names no photo"),
    "scale is no object": ({"scale": [1]}, "is no object"),
    "unknown key in scale": ({"scale": _scale(unit="mm")}, "unknown key “unit”"),
    "unknown scale method": ({"scale": _scale(method="guess")}, "no way to take a scale"),
    "known length of the unknown": ({"scale": _scale(of="thumb")}, "“thumb” is not known"),
    "no points": ({"scale": _scale(points=None)}, "needs its two points"),
    "three points": ({"scale": _scale(points=[[1, 1], [2, 2], [3, 3]])}, "must be two points"),
    "one place twice": ({"scale": _scale(points=[[5, 5], [5, 5]])}, "two different places"),
    "points are words": ({"scale": _scale(points=[["a", "b"], [1, 2]])}, "not pairs of numbers"),
    "no length": ({"scale": _scale(length_mm=None)}, "needs its length"),
    "length zero": ({"scale": _scale(length_mm=0)}, "must be above 0"),
    "length negative": ({"scale": _scale(length_mm=-45)}, "must be above 0"),
    "length not a number": ({"scale": _scale(length_mm=NAN)}, "is not a number"),
    "length a word": ({"scale": _scale(length_mm="45")}, "is not a number"),
    "length true": ({"scale": _scale(length_mm=True)}, "is not a number"),
    "length too uncertain": ({"scale": _scale(length_sd_mm=20)}, "too uncertain"),
    "pointing negative": ({"scale": _scale(point_sd_px=-1)}, "at least 0"),
    "reference too short": ({"scale": _scale(points=[[10, 10], [20, 10]])}, "only 10 pixels long"),
    "rule absurd": ({"scale": {"method": "card", "rule_mm": 30}}, "No scale card|printed rule"),
    "tilt absurd": ({"scale": _scale(widest_tilt_deg=80)}, "at most 60"),
    "height beyond the camera": ({"scale": _scale(height_mm=900)}, "above a reference"),
    "marks no list": ({"marks": {"id": "a"}}, "is not a list"),
    "mark no object": ({"marks": ["cut"]}, "Mark 1 is no object"),
    "mark without id": ({"marks": _mark(id="")}, "has no id"),
    "two marks alike": ({"marks": _mark() + _mark()}, "Two marks are called “m1”"),
    "unknown component": ({"marks": _mark(component="strap")}, "“strap” is not known"),
    "unknown category": ({"marks": _mark(category="hole")}, "“hole” is not known"),
    "unknown measure": ({"marks": _mark(measure="strength")}, "no known measure"),
    "measure no name": ({"marks": _mark(measure=[1])}, "no name"),
    "no shape": ({"marks": _mark(shape=None)}, "has no shape"),
    "unknown shape": ({"marks": _mark(shape={"type": "circle", "points": [[1, 1], [2, 2]]})}, "is no shape"),
    "line of three": ({"marks": _mark(shape={"type": "line", "points": [[1, 1], [2, 2], [3, 3]]})}, "exactly 2"),
    "shape with NaN": ({"marks": _mark(shape={"type": "line", "points": [[1, NAN], [2, 2]]})}, "is not a number"),
    "shape without points": ({"marks": _mark(shape={"type": "line"})}, "has no points"),
    "mark outside": ({"marks": _mark(shape={"type": "line", "points": [[10, 10], [9000, 10]]})}, "outside the photo"),
    "edge of three": ({"marks": _mark(edge=[[1, 1], [2, 2], [3, 3]])}, "must be two points"),
    "unknown item key": ({"item": {"width": 45}}, "unknown key “width”"),
    "item size zero": ({"item": {"throat_mm": 0}}, "must be above 0"),
    "too many marks": ({"marks": [{**_mark()[0], "id": str(i)} for i in range(201)]}, "the most is 200"),
}


@pytest.mark.parametrize(("changes", "words"), BAD.values(), ids=BAD.keys())
def test_bad_input_is_refused_with_a_sentence_and_a_remedy(changes: dict[str, Any], words: str) -> None:
    with pytest.raises(BadInput, match=words) as refusal:
        _measured(**changes)
    assert refusal.value.problem.endswith(".") and refusal.value.remedy.endswith(".")


def test_a_case_that_is_no_object_is_refused() -> None:
    with pytest.raises(BadInput, match="is no object"):
        measure_case([1, 2], lambda _: PHOTO)  # type: ignore[arg-type]


def test_a_bad_photo_is_refused() -> None:
    with pytest.raises(BadPhoto, match="empty"):
        measure_case(CASE, lambda _: b"")


def test_a_shape_far_from_its_reference_is_not_measured_by_it() -> None:
    far = {"type": "line", "points": [[1500, 1100], [1510, 1100]]}
    short = _scale(points=[[20, 20], [20, 80]], length_mm=6, length_sd_mm=0.2)
    result = _measured(scale=short, marks=_mark(shape=far, category="wear"))
    wide = [r for r in result["readings"] if r["uncertainty"] > 0.4 * r["value"]]
    assert wide or "too far" in result["not_measured"][0]["problem"]


def test_readings_do_not_depend_on_where_the_photo_origin_lies() -> None:
    def moved(points: list[list[float]], by: float) -> list[list[float]]:
        return [[x + by, y + by / 2] for x, y in points]

    first = _measured()
    shape = {"type": "line", "points": moved(LINE["points"], 60)}  # type: ignore[arg-type]
    second = _measured(scale=_scale(points=moved(CASE["scale"]["points"], 60)), marks=_mark(shape=shape))
    assert _values(first)["length"] == pytest.approx(_values(second)["length"])
    assert math.isclose(first["readings"][0]["uncertainty"], second["readings"][0]["uncertainty"], rel_tol=0.05)
    assert np.isfinite([r["uncertainty"] for r in first["readings"]]).all()


def _two_sided_seam(**mark: Any) -> dict[str, Any]:
    """Two rows of 20 stitches 2.4 mm apart, on 200 px each; the second misses numbers 8 to 10."""
    whole, line = seam(seed=1)
    broken, _ = seam(gone=(8, 9, 10), seed=2)
    photo = encoded(np.concatenate([whole, broken]), quality=92)
    case = {
        "photo": "seam.jpg",
        "scale": {"method": "known_length", "points": [[60, 20], [510, 20]], "length_mm": 45, "length_sd_mm": 0.2},
        "marks": [
            {
                "id": "s1",
                "component": "stitching",
                "category": "broken stitch",
                "shape": {"type": "line", "points": line.tolist()},
                "second": {"type": "line", "points": (line + np.array([0, 200])).tolist()},
                **mark,
            }
        ],
    }
    return measure_case(case, lambda _: photo)


def test_of_a_seam_the_worse_side_speaks_and_it_is_said_where_the_sides_differ() -> None:
    result = _two_sided_seam()
    values = _values(result)
    assert result["not_measured"] == []
    assert values["missing stitches"] == 3 and values["stitch count"] == pytest.approx(17, abs=1)
    assert values["stitch side difference"] == pytest.approx(3, abs=1)
    assert values["stitch spacing"] == pytest.approx(2.4, rel=0.03)
    assert all("the worse side" in r["method"] for r in result["readings"] if r["measure"] == "missing stitches")
    (compared,) = result["seams"]
    assert compared["mark"] == "s1" and not compared["alike"]
    assert "the second side misses 3 from" in compared["sentence"]
    (gap,) = compared["gaps"]
    assert (gap["side"], gap["missing"]) == ("second", 3)
    assert 60 + 7 * 24 < gap["from"][0] < 60 + 8 * 24 and 60 + 11 * 24 < gap["to"][0] < 60 + 12 * 24


def test_one_line_of_stitches_compares_no_sides() -> None:
    result = _two_sided_seam(second=None)
    assert "seams" not in result and _values(result)["missing stitches"] == 0


def test_a_side_that_cannot_be_read_is_not_said_by_the_other() -> None:
    plain = {"type": "line", "points": [[60, 150], [540, 150]]}
    result = _two_sided_seam(second=plain)
    assert result["readings"] == [] and "seams" not in result
    assert {missed["measure"] for missed in result["not_measured"]} >= {"stitch count", "missing stitches"}
