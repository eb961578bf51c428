"""Anchors against rows C24 (OSHA), C29 (Ontario, from memory) and C32 (common practice)."""

from __future__ import annotations

import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.rigging.anchors import AnchorCase, AnchorUse, RatedBy, check_anchor_strength
from inspect_core.rigging.result import Answer, Line
from inspect_core.rigging.units import Dimension, Quantity, to_base

ARREST, BARE, RESTRAINT = AnchorUse.ARREST, AnchorUse.ARREST_NO_ABSORBER, AnchorUse.RESTRAINT
OSHA = to_base(5000, "lbf", Dimension.FORCE)


def strength(profile: str, use: AnchorUse, kilonewtons: float | None, persons: int = 1, doubt: float = 0.0) -> Line:
    rating = None if kilonewtons is None else Quantity(kilonewtons, doubt)
    case = AnchorCase(profile, use, rating, RatedBy.MAKER, persons, True)
    return check_anchor_strength(case).lines[0]


@pytest.mark.parametrize(
    ("profile", "use", "needed", "row"),
    [
        ("us construction", ARREST, OSHA, "C24"),
        ("us construction", BARE, OSHA, "C24"),
        ("canada ontario", BARE, 8.0, "C29"),
        ("canada ontario", ARREST, 6.0, "C29"),
        ("canada ontario", RESTRAINT, 2.0, "C29"),
        ("uk europe", ARREST, 12.0, "C32"),
    ],
)
def test_each_profile_and_use_has_its_strength_just_below_at_and_above(
    profile: str, use: AnchorUse, needed: float, row: str
) -> None:
    assert strength(profile, use, needed - 0.01).answer is Answer.NO
    assert strength(profile, use, needed).answer is Answer.GO
    assert strength(profile, use, needed + 1, doubt=1.5).answer is Answer.ASK
    assert strength(profile, use, needed).cite.row == row


@pytest.mark.parametrize(
    ("profile", "use"),
    [
        ("common", ARREST),
        ("common", RESTRAINT),
        ("us construction", RESTRAINT),
        ("us general industry", ARREST),
        ("uk europe", RESTRAINT),
    ],
)
def test_where_no_figure_exists_even_a_strong_anchor_asks(profile: str, use: AnchorUse) -> None:
    assert strength(profile, use, 100.0).answer is Answer.ASK


def test_osha_counts_per_person() -> None:
    assert strength("us construction", ARREST, 2 * OSHA, persons=2).answer is Answer.GO
    assert strength("us construction", ARREST, 2 * OSHA - 0.01, persons=2).answer is Answer.NO


def test_a_figure_that_does_not_count_persons_asks_for_two() -> None:
    assert strength("canada ontario", ARREST, 50.0, persons=2).answer is Answer.ASK
    assert strength("canada ontario", ARREST, 5.0, persons=2).answer is Answer.NO


def test_an_unknown_rating_is_on_hold() -> None:
    line = strength("us construction", ARREST, None)
    assert line.answer is Answer.ASK
    assert "on hold" in line.reason


@pytest.mark.parametrize("rated_by", [None, RatedBy.NOBODY])
def test_a_rating_nobody_answers_for_is_no_rating(rated_by: RatedBy | None) -> None:
    case = AnchorCase("us construction", ARREST, Quantity(30.0), rated_by, 1, True)
    assert check_anchor_strength(case).answer is Answer.ASK


@pytest.mark.parametrize(("seen", "expected"), [(True, Answer.GO), (False, Answer.NO), (None, Answer.ASK)])
def test_the_anchor_must_have_been_looked_over(seen: bool | None, expected: Answer) -> None:
    case = AnchorCase("us construction", ARREST, Quantity(30.0), RatedBy.ENGINEER, 1, seen)
    assert check_anchor_strength(case).answer is expected


def test_impossible_anchors_are_refused() -> None:
    with pytest.raises(BadInput, match="1 to 100"):
        AnchorCase("common", ARREST, None, persons=0)
    with pytest.raises(BadInput, match="below zero"):
        AnchorCase("common", ARREST, Quantity(-1.0))
