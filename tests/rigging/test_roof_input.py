from __future__ import annotations

import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.rigging.restraint import Tether, check_restraint
from inspect_core.rigging.roof_input import SketchScale, plan_from_csv, plan_from_sketch
from inspect_core.rigging.units import Quantity

CSV = """ring,x,y,edge
roof,0,0,closed
roof,40,0,
roof,40,25,
roof,0,25,
roof,0,0,
opening 2,5,5,
opening 2,6,5,
opening 2,6,6,
opening 1,30,10,
opening 1,34,10,closed
opening 1,34,14,
anchor,15,12,
"""


def test_points_in_feet_become_metres_and_openings_keep_their_numbers() -> None:
    plan = plan_from_csv(CSV, "ft")
    assert plan.anchor == (pytest.approx(4.572), pytest.approx(3.6576))
    assert plan.roof.outer[1] == (pytest.approx(12.192), 0.0)
    assert plan.roof.openings[0][0] == (pytest.approx(9.144), pytest.approx(3.048))
    assert plan.roof.closed_edges == {(0, 0), (1, 1)}


def test_a_ring_closed_by_repeating_its_first_corner_has_no_extra_corner() -> None:
    assert len(plan_from_csv(CSV, "m").roof.outer) == 4


def test_semicolons_bring_decimal_commas_and_a_byte_order_mark_is_ignored() -> None:
    text = "\ufeffring;x;y\nroof;0;0\nroof;4,5;0\nroof;4,5;3,25\n\n"
    plan = plan_from_csv(text, "m")
    assert plan.roof.outer == ((0.0, 0.0), (4.5, 0.0), (4.5, 3.25))
    assert plan.anchor is None


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is empty"),
        ("x,y\n1,2\n", "no header"),
        ("ring,x,y\n", "has no roof"),
        ("ring,x,y\nroof,0\n", "Row 2 has 2 fields"),
        ("ring,x,y\nroof,0,zero\n", "Row 2: “zero” is no number"),
        ("ring,x,y\nroof,0,nan\n", "not a number"),
        ("ring,x,y\nchimney,0,0\n", "Row 2 names the ring “chimney”"),
        ("ring,x,y\nanchor,0,0\nanchor,1,1\n", "second anchor"),
        ("ring,x,y,edge\nroof,0,0,maybe\n", "calls its edge “maybe”"),
        ("ring,x,y\n" + "roof,0,0\n" * 30_000, "too long"),
    ],
)
def test_a_list_that_cannot_be_read_is_refused_by_row(text: str, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        plan_from_csv(text, "m")


SCALE = SketchScale((100, 900), (1500, 900), Quantity(14.0, 0.02), 2.0)
OUTLINE = [(100.0, 900.0), (1500.0, 900.0), (1500.0, 100.0), (100.0, 100.0)]


def test_a_sketch_comes_out_in_metres_with_y_up_and_both_uncertainties() -> None:
    plan = plan_from_sketch(OUTLINE, [], (800, 500), SCALE)
    assert plan.roof.outer[2] == (pytest.approx(15.0), pytest.approx(-1.0))
    assert plan.anchor == (pytest.approx(8.0), pytest.approx(-5.0))
    assert plan.roof.point_uncertainty == pytest.approx(2 * 2**0.5 * 2 * 0.01)
    pointing = 2 * 2**0.5 * 2 / 1400
    assert plan.roof.scale_share == pytest.approx((pointing**2 + (0.02 / 14) ** 2) ** 0.5)


def test_a_sketch_never_allows_more_rope_than_the_same_roof_typed_in() -> None:
    plan = plan_from_sketch(OUTLINE, [], (800, 500), SCALE)
    assert plan.anchor is not None
    parts = Tether(Quantity(1.0), Quantity(0.5), 0.05, Quantity(0.1), Quantity(0.9))
    sketched = check_restraint(plan.roof, plan.anchor, parts, "common").numbers["longest_safe_rope_m"]
    typed = plan_from_csv("ring,x,y\nroof,0,0\nroof,14,0\nroof,14,8\nroof,0,8\n", "m")
    sure = check_restraint(typed.roof, (7.0, 4.0), parts, "common").numbers["longest_safe_rope_m"]
    assert sketched is not None
    assert sure is not None
    assert sketched < sure
