import math

import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.domain.geometry import MOST_POINTS, Shape


@pytest.mark.parametrize(
    ("type", "points", "length", "area"),
    [  # each by hand: 3-4-5 triangles and a 10 by 20 box
        ("line", [[0, 0], [3, 4]], 5, 0),
        ("polyline", [[0, 0], [3, 4], [3, 10]], 11, 0),
        ("box", [[30, 40], [20, 20]], 60, 200),
        ("polygon", [[0, 0], [4, 0], [4, 3]], 12, 6),
        ("freehand", [[0, 0], [0, 3], [4, 3]], 12, 6),
    ],
)
def test_length_and_area_of_each_shape(type, points, length, area):
    shape = Shape.of(type, points)
    assert shape.length() == pytest.approx(length, abs=1e-12)
    assert shape.area() == pytest.approx(area, abs=1e-12)
    assert shape.closed is (area > 0)


def test_area_of_a_many_sided_polygon_nears_the_circle():
    points = [[100 * math.cos(2 * math.pi * i / 2000), 100 * math.sin(2 * math.pi * i / 2000)] for i in range(2000)]
    assert Shape.of("polygon", points).area() == pytest.approx(math.pi * 100**2, rel=1e-5)


def test_a_box_gives_its_corners_in_order_whichever_corner_was_drawn_first():
    corners = [(20, 20), (30, 20), (30, 40), (20, 40)]
    for points in ([[30, 40], [20, 20]], [[20, 40], [30, 20]]):
        assert [(p.x, p.y) for p in Shape.of("box", points).outline()] == corners


@pytest.mark.parametrize(
    ("type", "points", "said"),
    [
        ("circle", [[0, 0], [1, 1]], "no shape"),
        ("line", [[0, 0]], "exactly 2 points"),
        ("line", [[0, 0], [1, 1], [2, 2]], "exactly 2 points"),
        ("box", [[0, 0]], "exactly 2 points"),
        ("polyline", [[0, 0]], "2 to"),
        ("polygon", [[0, 0], [1, 1]], "3 to"),
        ("freehand", [[0, 0]] * (MOST_POINTS + 1), "3 to"),
        ("line", [[0, 0], [1]], "pairs of numbers"),
        ("line", [[0, 0], ["a", 1]], "pairs of numbers"),
        ("line", [[0, 0], [float("nan"), 1]], "not a number"),
        ("line", [[0, 0], [float("inf"), 1]], "not a number"),
        ("line", None, "pairs of numbers"),
    ],
)
def test_a_shape_that_is_none_is_refused_with_the_reason(type, points, said):
    with pytest.raises(BadInput, match=said) as refused:
        Shape.of(type, points)
    assert refused.value.remedy


def test_a_shape_knows_whether_it_lies_on_the_photo():
    shape = Shape.of("line", [[0, 0], [100, 50]])
    assert shape.within(100, 50)
    assert not shape.within(98, 50)
    assert not Shape.of("line", [[-3, 0], [10, 10]]).within(100, 50)
