"""Worked sums of fall clearance, rows C40 to C43 of the facts table, and swing, rows C50 and C51.

C40: public fall-protection handbook, worked example (common practice). C41 to C43: common practice, no published
source; the rows give the terms without all their names, so the names here are ours and only the sums are checked.
C44 (OSHA Technical Manual V:4, III.A, total 18.5 ft) is not reproduced: its split was not confirmed.
"""

from __future__ import annotations

import math

import pytest

from inspect_core.rigging.clearance import ClearanceCase, Datum, check_clearance, terms_of, total
from inspect_core.rigging.swing import swing_drop
from inspect_core.rigging.units import Dimension, Quantity, from_base, to_base


def feet(value: float) -> Quantity:
    return Quantity(to_base(value, "ft", Dimension.LENGTH))


def in_feet(quantity: Quantity) -> float:
    return from_base(quantity.value, "ft", Dimension.LENGTH)


NONE = Quantity(0.0)
C40 = ClearanceCase(
    "us construction",
    Datum.ANCHOR,
    None,
    lanyard=feet(6),
    locking=NONE,
    harness_stretch=NONE,
    rope_stretch=NONE,
    ring_height=feet(5),
    margin=feet(2),
)
C41 = ClearanceCase(
    "common",
    Datum.SURFACE,
    None,
    free_fall=feet(4),
    deceleration=feet(3),
    harness_stretch=feet(1),
    rope_stretch=feet(3),
    margin=feet(1),
)
C42 = ClearanceCase(
    "common",
    Datum.ANCHOR,
    None,
    arrest_distance=feet(10),
    harness_stretch=feet(1),
    rope_stretch=NONE,
    ring_height=feet(5),
    margin=feet(1.5),
)
C43 = ClearanceCase(
    "common",
    Datum.ANCHOR,
    None,
    arrest_distance=feet(8.5),
    harness_stretch=feet(1.6),
    rope_stretch=NONE,
    ring_height=feet(5),
    margin=feet(1.6),
)


@pytest.mark.parametrize(
    ("case", "expected_ft"), [(C40, 16.5), (C41, 12.0), (C42, 17.5), (C43, 16.7)], ids=["C40", "C41", "C42", "C43"]
)
def test_the_handbook_sums_come_out(case: ClearanceCase, expected_ft: float) -> None:
    terms = terms_of(case)
    assert all(term.length is not None for term in terms)
    assert in_feet(total(terms)) == pytest.approx(expected_ft, abs=1e-7)


def test_c40_takes_its_3_5_ft_from_the_cap_on_deceleration_of_row_c22() -> None:
    deceleration = next(term for term in terms_of(C40) if term.name == "deceleration")
    assert deceleration.cite.row == "C22"
    assert deceleration.length == Quantity(1.0668)


def test_c43_in_metres_agrees_with_the_printed_5_1_to_a_centimetre() -> None:
    # Row C43 prints 2.6 + 0.5 + 1.5 + 0.5 = 5.1 m for 16.7 ft; the exact value is 5.090 m.
    assert total(terms_of(C43)).value == pytest.approx(5.0902, abs=5e-5)
    assert round(total(terms_of(C43)).value, 1) == 5.1


def test_both_ways_of_adding_lead_to_the_same_place() -> None:
    # Anchor 3 ft above the ring, ring 5 ft above the feet: from the anchor the sum is larger by those 8 ft.
    shared = {
        "lanyard": feet(6),
        "attachment_above_ring": feet(3),
        "locking": feet(1),
        "deceleration": feet(3),
        "harness_stretch": feet(1),
        "rope_stretch": feet(0.5),
        "margin": feet(2),
    }
    above = ClearanceCase("common", Datum.ANCHOR, None, ring_height=feet(5), **shared)
    below = ClearanceCase("common", Datum.SURFACE, None, **shared)
    assert in_feet(total(terms_of(above))) - in_feet(total(terms_of(below))) == pytest.approx(8.0, abs=1e-7)


def test_a_room_of_exactly_the_sum_is_enough_and_a_millimetre_less_is_not() -> None:
    def room(metres: float) -> str:
        case = ClearanceCase(**{**_fields(C40), "available": Quantity(metres)})
        return next(line.answer.value for line in check_clearance(case).lines if line.topic == "room below")

    exact = to_base(16.5, "ft", Dimension.LENGTH)
    assert room(exact) == "go"
    assert room(exact - 0.001) == "do not go"


def _fields(case: ClearanceCase) -> dict[str, object]:
    return {name: getattr(case, name) for name in ClearanceCase.__dataclass_fields__}


@pytest.mark.parametrize(
    ("height", "offset", "printed", "exact"),
    [(35, 18, 4, 4.36), (50, 20, 4, 3.85)],
    ids=["C50", "C51"],
)
def test_swing_drops_round_to_the_printed_chart(height: float, offset: float, printed: int, exact: float) -> None:
    drop = in_feet(swing_drop(feet(height), feet(offset)))
    assert round(drop) == printed
    assert drop == pytest.approx(exact, abs=0.005)
    # Independent: the drop is one minus the cosine of the swing's angle, times the line.
    line = math.sqrt(height**2 + offset**2)
    assert drop == pytest.approx(line * (1 - math.cos(math.atan2(offset, height))), rel=1e-12)
