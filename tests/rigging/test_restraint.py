from __future__ import annotations

import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.rigging.restraint import Tether, check_restraint, nearest_edges
from inspect_core.rigging.result import Answer
from inspect_core.rigging.roof import Roof
from inspect_core.rigging.units import Quantity

SQUARE = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
L_SHAPE = ((0.0, 0.0), (10.0, 0.0), (10.0, 4.0), (4.0, 4.0), (4.0, 10.0), (0.0, 10.0))
OPENING = ((6.0, 6.0), (7.0, 6.0), (7.0, 7.0), (6.0, 7.0))


def tether(rope: float, doubt: float = 0.0) -> Tether:
    """Stretch 0, so that rope 1 m + lanyard 0.5 m + shift 0.1 m + body 0.4 m reach 2 m."""
    return Tether(Quantity(rope, doubt), Quantity(0.5), 0.0, Quantity(0.1), Quantity(0.4))


def answer(roof: Roof, anchor: tuple[float, float], rope: float, doubt: float = 0.0) -> Answer:
    return check_restraint(roof, anchor, tether(rope, doubt), "common").answer


@pytest.mark.parametrize(
    ("rope", "expected"),
    [(3.99, Answer.GO), (4.0, Answer.NO), (4.01, Answer.NO)],
    ids=["just short of the edge", "exactly at the edge", "just over"],
)
def test_reaching_the_edge_counts_as_getting_over_it(rope: float, expected: Answer) -> None:
    # The anchor stands 5 m from every edge; rope + 1 m is the reach.
    assert answer(Roof(SQUARE), (5.0, 5.0), rope) is expected


def test_a_rope_whose_uncertainty_meets_the_edge_is_to_be_measured() -> None:
    assert answer(Roof(SQUARE), (5.0, 5.0), 3.9, 0.05) is Answer.GO
    assert answer(Roof(SQUARE), (5.0, 5.0), 3.9, 0.1) is Answer.ASK


def test_uncertain_points_of_the_plan_count_for_both_anchor_and_edge() -> None:
    assert answer(Roof(SQUARE, point_uncertainty=0.04), (5.0, 5.0), 3.9) is Answer.GO
    assert answer(Roof(SQUARE, point_uncertainty=0.05), (5.0, 5.0), 3.9) is Answer.ASK


def test_an_uncertain_scale_counts_by_the_distance() -> None:
    # 2 % of 5 m is 0.1 m: just what is left.
    assert answer(Roof(SQUARE, scale_share=0.019), (5.0, 5.0), 3.9) is Answer.GO
    assert answer(Roof(SQUARE, scale_share=0.02), (5.0, 5.0), 3.9) is Answer.ASK


def test_the_inner_corner_of_a_concave_roof_is_the_nearest_edge() -> None:
    # From (2, 2) the inner corner (4, 4) is 2.83 m away, farther than the outer edges at 2 m.
    near = nearest_edges(Roof(L_SHAPE), (3.0, 3.0))
    assert near[0].distance == pytest.approx(2**0.5)
    assert near[0].point == pytest.approx((4.0, 4.0))


def test_stretch_counts_on_rope_and_lanyard_but_not_on_the_body() -> None:
    one = Tether(Quantity(4.0), Quantity(1.0), 0.1, Quantity(0.2), Quantity(0.5))
    assert one.known().value == pytest.approx(5.0 * 1.1 + 0.7)


def test_an_opening_is_an_edge_like_any_other() -> None:
    roof = Roof(SQUARE, (OPENING,))
    assert answer(roof, (5.0, 6.5), 0.0) is Answer.NO
    assert answer(Roof(SQUARE), (5.0, 6.5), 0.0) is Answer.GO


def test_an_edge_declared_closed_does_not_limit_the_rope() -> None:
    anchor = (5.0, 1.5)
    assert answer(Roof(SQUARE), anchor, 1.0) is Answer.NO
    assert answer(Roof(SQUARE, closed_edges=frozenset({(0, 0)})), anchor, 1.0) is Answer.GO


def test_a_roof_closed_all_round_is_for_a_competent_person() -> None:
    roof = Roof(SQUARE, closed_edges=frozenset((0, i) for i in range(4)))
    assert answer(roof, (5.0, 5.0), 1.0) is Answer.ASK


def test_an_anchor_on_an_open_edge_allows_no_rope() -> None:
    result = check_restraint(Roof(SQUARE), (5.0, 0.0), tether(1.0), "common")
    assert result.answer is Answer.NO
    assert result.numbers["longest_safe_rope_m"] == 0.0


def test_an_anchor_on_a_wall_is_allowed() -> None:
    roof = Roof(SQUARE, closed_edges=frozenset({(0, 0)}))
    assert answer(roof, (5.0, 0.0), 3.5) is Answer.GO


def test_the_longest_safe_rope_is_safe_and_two_centimetres_more_are_not() -> None:
    # 5 m less 1 m of lanyard, shift and body leaves 4 m, and touching is over: 3.99 m.
    longest = check_restraint(Roof(SQUARE), (5.0, 5.0), tether(9.0), "common").numbers["longest_safe_rope_m"]
    assert longest == pytest.approx(3.99)
    assert answer(Roof(SQUARE), (5.0, 5.0), 3.99) is Answer.GO
    assert answer(Roof(SQUARE), (5.0, 5.0), 4.01) is Answer.NO


@pytest.mark.parametrize("gap", range(5), ids=["rope", "lanyard", "stretch", "harness shift", "body reach"])
def test_any_unknown_part_of_the_tether_asks(gap: int) -> None:
    parts: list[object] = [Quantity(0.5), Quantity(0.5), 0.05, Quantity(0.1), Quantity(0.4)]
    parts[gap] = None
    result = check_restraint(Roof(SQUARE), (5.0, 5.0), Tether(*parts), "common")  # type: ignore[arg-type]
    assert result.answer is Answer.ASK
    assert "not known" in result.lines[0].reason


def test_known_parts_that_already_reach_the_edge_forbid_whatever_is_missing() -> None:
    result = check_restraint(Roof(SQUARE), (5.0, 5.0), Tether(Quantity(6.0), None, None, None, None), "common")
    assert result.answer is Answer.NO
    assert result.numbers["longest_safe_rope_m"] is None


REFUSED_ROOFS = {
    "two corners": (((0.0, 0.0), (1.0, 0.0)), ()),
    "crossing itself": (((0.0, 0.0), (4.0, 4.0), (4.0, 0.0), (0.0, 4.0)), ()),
    "no area": (((0.0, 0.0), (4.0, 0.0), (8.0, 0.0)), ()),
    "doubled corner": (((0.0, 0.0), (0.0, 0.0), (4.0, 0.0), (4.0, 4.0)), ()),
    "not a number": (((0.0, 0.0), (float("nan"), 0.0), (4.0, 4.0)), ()),
    "beyond any roof": (((0.0, 0.0), (1e9, 0.0), (4.0, 4.0)), ()),
    "opening outside": (SQUARE, (((20.0, 20.0), (21.0, 20.0), (21.0, 21.0)),)),
    "opening across the edge": (SQUARE, (((9.0, 4.0), (12.0, 4.0), (12.0, 6.0), (9.0, 6.0)),)),
    "opening along the edge": (SQUARE, (((0.0, 4.0), (2.0, 4.0), (2.0, 6.0), (0.0, 6.0)),)),
    "openings overlap": (SQUARE, (OPENING, ((6.5, 6.5), (8.0, 6.5), (8.0, 8.0)))),
    "too many openings": (
        SQUARE,
        tuple(((i / 100, 1.0), (i / 100 + 0.001, 1.0), (i / 100, 1.001)) for i in range(1, 203)),
    ),
    "too many corners": (tuple((float(i), float(i * i)) for i in range(2001)), ()),
}


@pytest.mark.parametrize("name", REFUSED_ROOFS)
def test_a_roof_that_makes_no_sense_is_refused_with_a_remedy(name: str) -> None:
    outer, openings = REFUSED_ROOFS[name]
    with pytest.raises(BadInput) as refusal:
        Roof(outer, openings)
    assert refusal.value.problem.endswith(".")
    assert refusal.value.remedy.endswith(".")


@pytest.mark.parametrize(
    ("anchor", "words"),
    [((20.0, 5.0), "outside the roof"), ((6.5, 6.5), "in an opening"), ((float("inf"), 0.0), "not a number")],
)
def test_an_anchor_off_the_surface_is_refused(anchor: tuple[float, float], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        check_restraint(Roof(SQUARE, (OPENING,)), anchor, tether(1.0), "common")


def test_a_closed_edge_that_does_not_exist_is_refused() -> None:
    with pytest.raises(BadInput, match="no edge 5"):
        Roof(SQUARE, closed_edges=frozenset({(0, 4)}))


@pytest.mark.parametrize("share", [-0.1, 1.5])
def test_a_stretch_that_is_no_share_is_refused(share: float) -> None:
    with pytest.raises(BadInput, match="share from 0 to 1"):
        Tether(None, None, share, None, None)


def test_lengths_and_uncertainties_below_zero_are_refused() -> None:
    with pytest.raises(BadInput, match="below zero"):
        Tether(Quantity(-1.0), None, None, None, None)
    with pytest.raises(BadInput, match="zero or more"):
        Roof(SQUARE, point_uncertainty=-0.1)
