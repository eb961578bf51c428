from __future__ import annotations

import math
from dataclasses import replace

import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.domain.geometry import Point
from inspect_core.rigging.direction import DirectionCase, PullTest, angle_between, check_direction
from inspect_core.rigging.result import Answer


def marked(degrees: float, length: float = 400.0, sd: float = 1.0) -> DirectionCase:
    """An arrow turned by `degrees` against a rope that runs up the photo toward the anchor."""
    turn = math.radians(degrees)
    head = Point(500 + length * math.sin(turn), 900 - length * math.cos(turn))
    return DirectionCase(
        "common", Point(500, 900), head, Point(500, 880), Point(500, 80), sd, PullTest.LOCKED, True, True, True
    )


@pytest.mark.parametrize(
    ("degrees", "expected"),
    [
        (0, Answer.GO),
        (-40, Answer.GO),
        (46, Answer.ASK),
        (89, Answer.ASK),
        (91, Answer.NO),
        (180, Answer.NO),
        (-170, Answer.NO),
    ],
)
def test_the_arrow_must_point_along_the_rope_to_the_anchor(degrees: float, expected: Answer) -> None:
    assert check_direction(marked(degrees)).answer is expected


def test_the_angle_does_not_depend_on_how_the_photo_is_turned() -> None:
    case = marked(30)

    def turned(point: Point | None) -> Point:
        assert point is not None
        return Point(-point.y, point.x)

    other = replace(
        case,
        arrow_tail=turned(case.arrow_tail),
        arrow_head=turned(case.arrow_head),
        rope_at_grab=turned(case.rope_at_grab),
        rope_toward_anchor=turned(case.rope_toward_anchor),
    )
    here, there = angle_between(case), angle_between(other)
    assert here is not None
    assert there is not None
    assert here[0] == pytest.approx(30.0)
    assert there == pytest.approx(here)


def test_an_arrow_of_a_few_pixels_shows_no_direction() -> None:
    assert check_direction(marked(0, length=4.0, sd=2.0)).answer is Answer.ASK


def test_a_reversed_arrow_stays_a_no_however_unsure_the_marks_are() -> None:
    assert check_direction(marked(180, length=4.0, sd=2.0)).answer is Answer.NO


def test_without_marks_the_direction_is_not_known() -> None:
    assert check_direction(replace(marked(0), arrow_head=None)).answer is Answer.ASK


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({"pull_test": PullTest.SLIPPED}, Answer.NO),
        ({"pull_test": PullTest.NOT_DONE}, Answer.ASK),
        ({"back_ring_between_shoulder_blades": False}, Answer.NO),
        ({"back_ring_between_shoulder_blades": None}, Answer.ASK),
        ({"chest_strap_mid_chest": False}, Answer.NO),
        ({"chest_strap_mid_chest": None}, Answer.ASK),
        ({"leg_straps_snug": False}, Answer.NO),
        ({"leg_straps_snug": None}, Answer.ASK),
    ],
)
def test_pull_test_and_harness_fit_are_answered_one_by_one(change: dict[str, object], expected: Answer) -> None:
    assert check_direction(replace(marked(0), **change)).answer is expected  # type: ignore[arg-type]


def test_marks_without_length_or_pointing_error_are_refused() -> None:
    with pytest.raises(BadInput, match="no length"):
        check_direction(replace(marked(0), arrow_head=Point(500, 900)))
    with pytest.raises(BadInput, match="above zero"):
        replace(marked(0), point_sd_px=0.0)
