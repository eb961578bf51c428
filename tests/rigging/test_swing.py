from __future__ import annotations

import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.rigging.result import Answer, Line
from inspect_core.rigging.swing import SwingCase, check_swing, swing_drop
from inspect_core.rigging.units import Quantity

Q = Quantity
GOOD = SwingCase("common", Q(4.0), Q(3.0), Q(5.0), Q(3.5))


def line(case: SwingCase, topic: str) -> Line:
    return next(one for one in check_swing(case).lines if one.topic == topic)


def test_a_clear_swing_within_the_makers_offset_is_a_go() -> None:
    result = check_swing(GOOD)
    assert result.answer is Answer.GO
    # The 3-4-5 triangle: the line is 5 m, the drop 1 m.
    assert result.numbers["swing_drop_m"] == pytest.approx(1.0)
    assert result.numbers["hit_distance_m"] == 3.0


def test_the_uncertainty_of_the_drop_takes_least_height_and_greatest_offset() -> None:
    drop = swing_drop(Q(4.0, 0.5), Q(3.0, 0.5))
    assert drop.high == pytest.approx((3.5**2 + 3.5**2) ** 0.5 - 3.5)


@pytest.mark.parametrize(
    ("clear", "expected"),
    [(Q(2.9), Answer.NO), (Q(3.0), Answer.NO), (Q(3.01), Answer.GO), (Q(3.1, 0.1), Answer.ASK), (None, Answer.ASK)],
    ids=["inside", "at the end", "beyond", "uncertain", "not known"],
)
def test_something_within_the_swing_is_a_no(clear: Quantity | None, expected: Answer) -> None:
    assert line(SwingCase("common", Q(4.0), Q(3.0), clear, Q(3.5)), "things to hit").answer is expected


@pytest.mark.parametrize(
    ("maker", "expected"),
    [(Q(3.0), Answer.GO), (Q(2.9), Answer.NO), (Q(3.05, 0.1), Answer.NO), (None, Answer.ASK)],
)
def test_only_the_maker_says_how_much_offset_is_allowed(maker: Quantity | None, expected: Answer) -> None:
    assert line(SwingCase("common", Q(4.0), Q(3.0), Q(9.0), maker), "offset").answer is expected


def test_straight_below_the_anchor_there_is_no_swing() -> None:
    result = check_swing(SwingCase("common", Q(4.0), Q(0.0), None, None))
    assert result.answer is Answer.GO
    assert result.numbers["swing_drop_m"] == 0.0


@pytest.mark.parametrize("height", [Q(0.0), Q(-1.0), Q(0.1, 0.1)], ids=["level", "below", "uncertain"])
def test_an_anchor_not_certainly_overhead_asks(height: Quantity) -> None:
    assert check_swing(SwingCase("common", height, Q(1.0), Q(9.0), Q(3.0))).answer is Answer.ASK
    assert check_swing(SwingCase("common", height, Q(1.0), Q(0.5), Q(3.0))).answer is Answer.NO


@pytest.mark.parametrize(("height", "offset"), [(None, Q(1.0)), (Q(1.0), None), (None, None)])
def test_an_unknown_height_or_offset_asks(height: Quantity | None, offset: Quantity | None) -> None:
    assert check_swing(SwingCase("common", height, offset, Q(9.0), Q(3.0))).answer is Answer.ASK


def test_impossible_lengths_are_refused() -> None:
    with pytest.raises(BadInput, match="below zero"):
        check_swing(SwingCase("common", Q(4.0), Q(-1.0), None))
    with pytest.raises(BadInput, match="below zero"):
        swing_drop(Q(4.0), Q(-1.0))
