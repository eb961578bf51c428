from __future__ import annotations

from dataclasses import replace

import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.rigging.arrest import AbsorberClass
from inspect_core.rigging.clearance import ClearanceCase, Datum, check_clearance, free_fall_of
from inspect_core.rigging.result import Answer, Line
from inspect_core.rigging.units import Dimension, Quantity, to_base

Q = Quantity
#: A fall that is in order under the federal construction profile.
GOOD = ClearanceCase(
    "us construction",
    Datum.SURFACE,
    available=Q(5.0),
    user_mass=Q(95),
    lanyard=Q(1.8),
    attachment_above_ring=Q(0.3),
    locking=Q(0.0),
    deceleration=Q(1.0),
    harness_stretch=Q(0.3),
    rope_stretch=Q(0.2),
    margin=Q(0.6),
    arrest_force=Q(4.0),
    mass_range=(59.0, 140.0),
)


def line(case: ClearanceCase, topic: str) -> Line:
    return next(one for one in check_clearance(case).lines if one.topic == topic)


def test_a_fall_with_everything_known_and_in_order_is_a_go() -> None:
    result = check_clearance(GOOD)
    assert result.answer is Answer.GO, [one for one in result.lines if one.answer is not Answer.GO]
    assert result.numbers["required_m"] == pytest.approx(1.5 + 1.0 + 0.3 + 0.2 + 0.6)
    assert result.numbers["spare_m"] == pytest.approx(1.4)


@pytest.mark.parametrize(
    "gap",
    ["available", "user_mass", "lanyard", "locking", "harness_stretch", "rope_stretch", "margin", "arrest_force"],
)
def test_anything_not_known_asks(gap: str) -> None:
    assert check_clearance(replace(GOOD, **{gap: None})).answer is Answer.ASK


def test_known_parts_that_already_fill_the_room_forbid_whatever_is_missing() -> None:
    result = check_clearance(replace(GOOD, available=Q(2.0), margin=None))
    assert line(replace(GOOD, available=Q(2.0), margin=None), "room below").answer is Answer.NO
    assert result.numbers["required_m"] is None


def test_uncertainties_add_up_one_to_one() -> None:
    tight = replace(GOOD, available=Q(3.7, 0.05), harness_stretch=Q(0.3, 0.04))
    assert line(tight, "room below").answer is Answer.GO
    assert line(replace(tight, rope_stretch=Q(0.2, 0.02)), "room below").answer is Answer.ASK


@pytest.mark.parametrize(("above", "expected"), [(0.3, 1.5), (0.0, 1.8), (-0.9, 2.7), (1.8, 0.0), (2.5, 0.0)], ids=str)
def test_free_fall_grows_as_the_attachment_sinks_and_is_never_below_zero(above: float, expected: float) -> None:
    fall = free_fall_of(replace(GOOD, attachment_above_ring=Q(above)))
    assert fall is not None
    assert fall.value == pytest.approx(expected)


def test_a_slack_line_that_may_be_taut_still_carries_its_uncertainty() -> None:
    fall = free_fall_of(replace(GOOD, lanyard=Q(1.8, 0.1), attachment_above_ring=Q(1.85, 0.05)))
    assert fall is not None
    assert fall.value == 0.0
    assert fall.high == pytest.approx(0.1)


def test_what_a_rope_grab_travels_before_it_locks_is_free_fall() -> None:
    fall = free_fall_of(replace(GOOD, locking=Q(0.4)))
    assert fall is not None
    assert fall.value == pytest.approx(1.9)


@pytest.mark.parametrize(
    ("feet", "expected"), [(5.99, Answer.GO), (6.0, Answer.GO), (6.01, Answer.NO)], ids=["below", "at", "above"]
)
def test_free_fall_is_capped_at_6_ft_in_federal_construction(feet: float, expected: Answer) -> None:
    case = replace(GOOD, free_fall=Q(to_base(feet, "ft", Dimension.LENGTH)))
    assert line(case, "permitted free fall").answer is expected


def test_a_profile_without_a_free_fall_figure_takes_the_makers_or_asks() -> None:
    ontario = replace(GOOD, profile="canada ontario")
    assert line(ontario, "permitted free fall").answer is Answer.ASK
    assert line(replace(ontario, max_free_fall=Q(1.8)), "permitted free fall, maker").answer is Answer.GO
    assert line(replace(ontario, max_free_fall=Q(1.4)), "permitted free fall, maker").answer is Answer.NO


@pytest.mark.parametrize(
    ("lbf", "expected"), [(1799, Answer.GO), (1800, Answer.GO), (1801, Answer.NO)], ids=["below", "at", "above"]
)
def test_arrest_force_is_capped_at_1800_lbf(lbf: float, expected: Answer) -> None:
    case = replace(GOOD, arrest_force=Q(to_base(lbf, "lbf", Dimension.FORCE)))
    assert line(case, "arrest force").answer is expected


def test_the_class_of_an_absorber_gives_its_greatest_extension_and_force() -> None:
    case = replace(GOOD, profile="uk europe", absorber=AbsorberClass.EN_355, deceleration=None, arrest_force=None)
    extension, force = line(case, "deceleration"), line(case, "arrest force")
    assert (extension.value, extension.cite.row, extension.answer) == (1.75, "B70", Answer.GO)
    assert (force.value, force.cite.row, force.cite.basis) == (6.0, "B71", "from memory")


def test_an_extension_beyond_its_own_class_is_a_no() -> None:
    case = replace(GOOD, profile="canada ontario", absorber=AbsorberClass.E4, deceleration=Q(1.3))
    assert line(case, "absorber extension").answer is Answer.NO


def test_a_class_that_may_extend_beyond_the_profiles_cap_asks() -> None:
    # 48 in (row B77) against 3.5 ft (row C22).
    case = replace(GOOD, absorber=AbsorberClass.Z359_6_FT, deceleration=None)
    assert line(case, "deceleration limit").answer is Answer.ASK


def test_without_label_or_class_the_profiles_cap_is_counted_but_asks() -> None:
    case = replace(GOOD, deceleration=None)
    counted = line(case, "deceleration")
    assert (counted.answer, counted.cite.row, counted.value) == (Answer.ASK, "C22", 1.0668)


def test_without_label_class_or_cap_the_deceleration_is_not_known() -> None:
    case = replace(GOOD, profile="common", deceleration=None)
    assert line(case, "deceleration").value is None
    assert check_clearance(case).numbers["required_m"] is None


@pytest.mark.parametrize(
    ("absorber", "kilograms", "expected"),
    [
        (AbsorberClass.E4, 44.9, Answer.NO),
        (AbsorberClass.E4, 45, Answer.GO),
        (AbsorberClass.E4, 115, Answer.GO),
        (AbsorberClass.E4, 115.1, Answer.NO),
        (AbsorberClass.E6, 89.9, Answer.NO),
        (AbsorberClass.E6, 90, Answer.GO),
        (AbsorberClass.E6, 175.1, Answer.NO),
    ],
)
def test_each_absorber_class_has_its_range_of_users(
    absorber: AbsorberClass, kilograms: float, expected: Answer
) -> None:
    case = replace(GOOD, absorber=absorber, user_mass=Q(kilograms), mass_range=None)
    assert line(case, f"user mass, class {absorber.value}").answer is expected


def test_above_310_lb_the_presumption_ends_and_a_competent_person_is_asked() -> None:
    limit = to_base(310, "lb", Dimension.MASS)
    wide = replace(GOOD, mass_range=(59.0, 200.0))
    assert line(replace(wide, user_mass=Q(limit)), "user mass, presumption").answer is Answer.GO
    assert line(replace(wide, user_mass=Q(limit + 0.1)), "user mass, presumption").answer is Answer.ASK
    assert line(replace(GOOD, user_mass=Q(141)), "user mass, maker").answer is Answer.NO


def test_no_range_of_user_mass_asks() -> None:
    assert line(replace(GOOD, mass_range=None), "user mass, maker").answer is Answer.ASK


def test_a_thin_margin_asks_and_the_usual_one_goes() -> None:
    assert line(replace(GOOD, margin=Q(0.45)), "size of the margin").answer is Answer.ASK
    assert line(replace(GOOD, margin=Q(0.46)), "size of the margin").answer is Answer.GO


def test_a_self_retracting_line_counts_its_makers_arrest_distance_once() -> None:
    case = replace(GOOD, arrest_distance=Q(1.4), free_fall=Q(0.5), lanyard=None, deceleration=None)
    topics = [one.topic for one in check_clearance(case).lines]
    assert "arrest distance" in topics
    assert "deceleration" not in topics
    assert check_clearance(case).numbers["required_m"] == pytest.approx(1.4 + 0.3 + 0.2 + 0.6)
    assert check_clearance(case).answer is Answer.GO


def test_a_swing_adds_its_drop() -> None:
    plain = check_clearance(GOOD).numbers["required_m"]
    swung = check_clearance(replace(GOOD, swing_height=Q(4.0), swing_offset=Q(3.0))).numbers["required_m"]
    assert plain is not None
    assert swung == pytest.approx(plain + 1.0)


def test_a_swing_from_an_anchor_not_overhead_is_counted_but_asks() -> None:
    case = replace(GOOD, swing_height=Q(0.2, 0.3), swing_offset=Q(0.5))
    assert line(case, "swing").answer is Answer.ASK
    assert line(replace(case, available=Q(3.0)), "room below").answer is Answer.NO


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"lanyard": Q(-1.0)}, "lanyard is below zero"),
        ({"mass_range": (140.0, 59.0)}, "upside down"),
        ({"swing_height": Q(3.0)}, "both a height and an offset"),
    ],
)
def test_a_case_that_makes_no_sense_is_refused(change: dict[str, object], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        replace(GOOD, **change)  # type: ignore[arg-type]
