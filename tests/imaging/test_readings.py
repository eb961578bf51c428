"""Sizes of drawn shapes: right on what can be worked out by hand, and their uncertainty checked by drawing."""

from __future__ import annotations

import math

import numpy as np
import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.domain.geometry import Shape
from inspect_core.imaging import readings
from inspect_core.imaging.known_length import known_length
from inspect_core.imaging.measure import (
    Quantity,
    depth_from_edge,
    depth_share,
    enclosed_area,
    line_angle,
    monte_carlo,
    path_length,
    propagate,
    turn_angle,
)
from inspect_core.imaging.scale import Scale

SIZE = (2000, 1500)


def _square() -> Scale:
    """Ten pixels to the millimetre, seen squarely and known to be so."""
    ends = np.array([[800.0, 500], [800, 950]])
    return known_length(ends, 45.0, SIZE, length_sd_mm=0.1, widest_tilt_deg=0.0, height_sd_mm=0.0)


def _loose() -> Scale:
    return known_length(np.array([[800.0, 500], [800, 950]]), 45.0, SIZE, length_sd_mm=0.2, widest_tilt_deg=15.0)


def _circle(radius: float, count: int = 200) -> Shape:
    turns = np.linspace(0, 2 * math.pi, count, endpoint=False)
    return Shape.of("freehand", [[900 + radius * math.cos(t), 700 + radius * math.sin(t)] for t in turns])


def test_a_circle_has_its_area_and_its_diameter() -> None:
    circle = _circle(100)
    area = readings.area(circle, _square())
    assert area.value == pytest.approx(math.pi * 100, rel=0.001)
    assert readings.length(circle, _square()).value == pytest.approx(20, abs=0.4)
    assert readings.width(circle, _square()).value == pytest.approx(20, abs=0.4)
    assert "outline drawn inside or outside" in area.budget


def test_more_points_on_an_outline_do_not_make_its_area_certain() -> None:
    few, many = readings.area(_circle(100, 40), _square()), readings.area(_circle(100, 2000), _square())
    assert many.standard > 0.5 * few.standard


def test_a_wobbly_drawn_line_is_hardly_made_longer_by_its_wobble() -> None:
    chance = np.random.default_rng(3)
    x = np.linspace(600, 1000, 300)
    wobbly = Shape.of("polyline", np.stack([x, 700 + chance.normal(0, 0.4, 300)], axis=1).tolist())
    assert readings.length(wobbly, _square()).value == pytest.approx(40, abs=0.3)


def test_a_box_is_as_long_and_wide_as_drawn_turned_or_not() -> None:
    for angle in (0, 20, 45, 77):
        c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        corners = [[900 + c * x - s * y, 700 + s * x + c * y] for x, y in ((0, 0), (300, 0), (300, 80), (0, 80))]
        shape = Shape.of("polygon", corners)
        assert readings.length(shape, _square()).value == pytest.approx(30, abs=0.3)
        assert readings.width(shape, _square()).value == pytest.approx(8, abs=0.3)


def test_most_of_what_pointing_errors_add_to_extents_is_taken_out() -> None:
    chance = np.random.default_rng(8)
    corners = np.array([[850.0, 650], [1050, 650], [1050, 710], [850, 710]])
    found = [
        readings.width(Shape.of("polygon", (corners + chance.normal(0, 1.5, (4, 2))).tolist()), _square())
        for _ in range(200)
    ]
    errors = np.array([f.value - 6.0 for f in found])
    # Uncorrected, two points on each side at 0.15 mm make a width 0.17 mm too large on average.
    assert abs(errors.mean()) < 0.11
    assert np.mean(np.abs(errors) <= [f.expanded for f in found]) >= 0.93


def test_depth_is_square_to_the_edge_and_its_share_is_of_the_distance_of_both_edges() -> None:
    edge, other = np.array([[600.0, 500], [1000, 500]]), np.array([[600.0, 950], [1000, 950]])
    cut = Shape.of("line", [[700, 500], [780, 560]])
    assert readings.depth(cut, edge, _square()).value == pytest.approx(6.0)
    for scale in (_square(), None):
        assert readings.depth_by_share(cut, edge, other, scale, SIZE).value == pytest.approx(60 / 450, rel=1e-6)


def test_angles_are_those_drawn() -> None:
    corner = Shape.of("polyline", [[700, 700], [900, 700], [900 + 100 * math.cos(0.5), 700 + 100 * math.sin(0.5)]])
    assert readings.angle(corner, _square(), SIZE).value == pytest.approx(180 - math.degrees(0.5))
    first, second = np.array([[0.0, 0], [200, 0]]), np.array([[300.0, 50], [500, 50 + 200 * math.tan(0.2)]])
    assert readings.twist(first, second, None, SIZE).value == pytest.approx(math.degrees(0.2), abs=1e-6)


@pytest.mark.parametrize(
    ("quantity", "points"),
    [
        (path_length, [[700, 600], [900, 650], [1000, 800]]),
        (enclosed_area, [[700, 600], [950, 620], [980, 800], [720, 780]]),
        (depth_from_edge, [[600, 520], [1000, 530], [700, 580], [760, 640]]),
        (depth_share, [[600, 520], [1000, 530], [600, 960], [1000, 970], [700, 560], [760, 640]]),
        (turn_angle, [[600, 520], [800, 530], [900, 700]]),
        (line_angle, [[600, 520], [900, 530], [600, 600], [900, 760]]),
    ],
    ids=["length", "area", "depth", "depth share", "angle", "twist"],
)
def test_propagated_and_drawn_uncertainty_agree_within_five_per_cent(
    quantity: Quantity, points: list[list[float]]
) -> None:
    place = np.array(points, float)
    first = propagate(quantity, place, _loose())
    drawn = monte_carlo(quantity, place, _loose(), np.random.default_rng(11), draws=12_000)
    assert first.standard == pytest.approx(drawn.standard, rel=0.05)


def test_a_depth_or_angle_of_next_to_nothing_is_not_stated_as_sure() -> None:
    """Folded at zero, these quantities hardly change with pointing there; their uncertainty must not vanish."""
    edge = np.array([[600.0, 520], [1000, 520]])
    shallow, deep = (readings.depth(Shape.of("line", [[800, 520], [800, 520 + d]]), edge, _loose()) for d in (0.2, 60))
    assert shallow.value < 0.05 and shallow.standard > 0.6 * deep.standard
    other = edge + np.array([0, 450])
    flat, far = (
        readings.depth_by_share(Shape.of("line", [[800, 520], [800, 520 + d]]), edge, other, _loose(), SIZE)
        for d in (0.2, 60)
    )
    assert flat.standard > 0.6 * far.standard
    straight, bent = (
        readings.angle(Shape.of("polyline", [[600, 520], [800, 520], [1000, 520 + d]]), _loose(), SIZE)
        for d in (0.1, 60)
    )
    assert straight.value > 179.9 and straight.standard > 0.6 * bent.standard
    level, leaning = (readings.twist(edge, edge + np.array([[0, 90], [0, 90 + d]]), _loose(), SIZE) for d in (0.1, 60))
    assert level.value < 0.1 and level.standard > 0.6 * leaning.standard


def test_shapes_that_cannot_have_a_size_are_refused() -> None:
    line = Shape.of("line", [[700, 700], [800, 700]])
    box = Shape.of("box", [[700, 700], [800, 800]])
    for call, words in (
        (lambda: readings.area(line, _square()), "no area"),
        (lambda: readings.width(line, _square()), "no width"),
        (lambda: readings.area_share(line, box, None, SIZE), "two closed outlines"),
        (lambda: readings.area_share(Shape.of("box", [[0, 0], [900, 900]]), box, None, SIZE), "larger than"),
        (lambda: readings.angle(line, None, SIZE), "three points"),
        (lambda: readings.depth(line, np.array([[1.0, 1], [1, 1]]), _square()), "lie apart"),
    ):
        with pytest.raises(BadInput, match=words):
            call()


def test_a_ratio_to_a_nominal_value_carries_the_nominal_values_uncertainty() -> None:
    throat = readings.length(Shape.of("line", [[700, 700], [932, 700]]), _square())
    grown = throat.over(20.0, 0.25, share_of=True)
    assert grown.value == pytest.approx(0.16)
    assert grown.standard == pytest.approx(math.hypot(throat.standard / 20, 1.16 * 0.25 / 20))
