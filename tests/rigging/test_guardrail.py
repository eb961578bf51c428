from __future__ import annotations

from dataclasses import replace

import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.rigging.guardrail import GuardrailCase, RailMaterial, check_guardrail, heights_from_photo
from inspect_core.rigging.result import Answer, Line
from inspect_core.rigging.roof_input import SketchScale
from inspect_core.rigging.units import Dimension, Quantity, to_base

Q = Quantity
ONTARIO = GuardrailCase(
    "canada ontario",
    (Q(1.0), Q(1.05)),
    mid_rail=Q(0.55),
    toe_board=Q(0.1),
    edge_distance=Q(0.2),
    post_spacing=Q(2.4),
    material=RailMaterial.TIMBER,
    timber=(Q(0.038), Q(0.089)),
    strength_accepted=True,
)


def inches(value: float) -> Quantity:
    return Q(to_base(value, "in", Dimension.LENGTH))


def pounds(value: float) -> Quantity:
    return Q(to_base(value, "lbf", Dimension.FORCE))


OSHA = GuardrailCase(
    "us construction",
    (inches(42),),
    mid_rail=inches(21),
    toe_board=inches(3.5),
    toe_gap=inches(0.25),
    material=RailMaterial.OTHER,
    top_load=pounds(200),
    mid_load=pounds(150),
    toe_load=pounds(50),
)
EUROPE = GuardrailCase(
    "uk europe",
    (Q(1.0),),
    mid_rail=Q(0.55),
    toe_board=Q(0.15),
    material=RailMaterial.OTHER,
    strength_accepted=True,
)


def line(case: GuardrailCase, topic: str) -> Line:
    return next(one for one in check_guardrail(case).lines if one.topic.startswith(topic))


@pytest.mark.parametrize("case", [ONTARIO, OSHA, EUROPE], ids=lambda case: case.profile)
def test_a_guardrail_in_order_is_a_go(case: GuardrailCase) -> None:
    result = check_guardrail(case)
    assert result.answer is Answer.GO, [one for one in result.lines if one.answer is not Answer.GO]


@pytest.mark.parametrize(
    ("case", "change", "topic", "expected"),
    [
        (ONTARIO, {"top_rail": (Q(1.0), Q(1.2))}, "top rail height, place 2", Answer.NO),
        (ONTARIO, {"top_rail": ()}, "top rail height", Answer.ASK),
        (ONTARIO, {"mid_rail": Q(0.45)}, "mid rail", Answer.NO),
        (ONTARIO, {"mid_rail": Q(0.0)}, "mid rail", Answer.NO),
        (ONTARIO, {"mid_rail": None}, "mid rail", Answer.ASK),
        (ONTARIO, {"toe_board": Q(0.088)}, "toe board height", Answer.NO),
        (ONTARIO, {"toe_board": Q(0.0)}, "toe board height", Answer.NO),
        (ONTARIO, {"toe_board": None}, "toe board height", Answer.ASK),
        (ONTARIO, {"edge_distance": Q(0.301)}, "guardrail from the edge", Answer.NO),
        (ONTARIO, {"edge_distance": None}, "guardrail from the edge", Answer.ASK),
        (ONTARIO, {"post_spacing": Q(2.401)}, "post spacing", Answer.NO),
        (ONTARIO, {"post_spacing": Q(2.39, 0.02)}, "post spacing", Answer.ASK),
        (ONTARIO, {"post_spacing": None}, "post spacing", Answer.ASK),
        (ONTARIO, {"timber": (Q(0.089), Q(0.037))}, "timber thickness", Answer.NO),
        (ONTARIO, {"timber": (Q(0.04), Q(0.088))}, "timber depth", Answer.NO),
        (ONTARIO, {"timber": None}, "timber section", Answer.ASK),
        (ONTARIO, {"material": None}, "material", Answer.ASK),
        (ONTARIO, {"strength_accepted": False}, "strength", Answer.NO),
        (ONTARIO, {"strength_accepted": None}, "strength", Answer.ASK),
        (ONTARIO, {"top_load": Q(0.6)}, "top rail load", Answer.NO),
        (ONTARIO, {"top_load_down": Q(0.4)}, "top rail downward load", Answer.NO),
        (ONTARIO, {"material": RailMaterial.WIRE_ROPE}, "wire rope rail diameter", Answer.ASK),
        (OSHA, {"mid_rail": inches(19.4)}, "mid rail", Answer.NO),
        (OSHA, {"mid_rail": inches(19.6)}, "mid rail", Answer.GO),
        (OSHA, {"toe_board": inches(3.4)}, "toe board height", Answer.NO),
        (OSHA, {"toe_gap": inches(0.3)}, "toe board gap", Answer.NO),
        (OSHA, {"toe_gap": None}, "toe board gap", Answer.ASK),
        (OSHA, {"top_load": pounds(199)}, "top rail load", Answer.NO),
        (OSHA, {"mid_load": pounds(149)}, "mid rail load", Answer.NO),
        (OSHA, {"toe_load": None}, "strength", Answer.ASK),
        (EUROPE, {"mid_rail": Q(0.5)}, "gap above the mid rail", Answer.NO),
        (EUROPE, {"mid_rail": Q(0.63)}, "gap below the mid rail", Answer.NO),
        (EUROPE, {"toe_board": Q(0.149)}, "toe board height", Answer.NO),
    ],
)
def test_each_fault_of_a_guardrail_is_told(
    case: GuardrailCase, change: dict[str, object], topic: str, expected: Answer
) -> None:
    changed = replace(case, **change)  # type: ignore[arg-type]
    assert line(changed, topic).answer is expected
    if expected is not Answer.GO:
        assert check_guardrail(changed).answer is not Answer.GO


def test_a_taut_wire_rope_rail_has_its_own_figures() -> None:
    wire = replace(ONTARIO, material=RailMaterial.WIRE_ROPE, timber=None, post_spacing=Q(9.0), separators=Q(2.4))
    good = replace(wire, rope_diameter=Q(0.010))
    assert check_guardrail(good).answer is Answer.GO
    for change in ({"rope_diameter": Q(0.0099)}, {"separators": Q(2.41)}, {"post_spacing": Q(9.01)}):
        assert check_guardrail(replace(good, **change)).answer is Answer.NO  # type: ignore[arg-type]


def test_a_profile_without_figures_asks_for_every_height() -> None:
    result = check_guardrail(replace(ONTARIO, profile="common"))
    assert result.answer is Answer.ASK
    asked = {one.topic for one in result.lines if one.answer is Answer.ASK}
    assert asked == {"top rail height", "mid rail height", "toe board height"}


def test_half_way_says_that_its_tolerance_is_our_reading() -> None:
    assert "our reading" in line(OSHA, "mid rail").cite.caution


def test_heights_on_a_photo_carry_pointing_and_scale() -> None:
    # 1000 px for 1 m: 1 mm to the pixel. Pointing 2·√2·2 px = 5.66 mm; scale share √((5.66/1000)² + 0.004²) of 1 m.
    scale = SketchScale((0, 0), (0, 1000), Quantity(1.0, 0.004), 2.0)
    (height,) = heights_from_photo((300, 1500), [(300, 500)], scale)
    assert height.value == pytest.approx(1.0)
    pointing = 2 * 2**0.5 * 2 / 1000
    assert height.uncertainty == pytest.approx((2 * pointing**2 + 0.004**2) ** 0.5)


@pytest.mark.parametrize(
    ("scale", "words"),
    [
        (SketchScale((0, 0), (0, 10), Quantity(1.0), 2.0), "too short"),
        (SketchScale((0, 0), (0, 900), Quantity(0.0), 2.0), "above zero"),
        (SketchScale((0, 0), (0, 900), Quantity(1.0), 0.0), "above zero"),
    ],
)
def test_a_scale_that_cannot_be_trusted_gives_no_heights(scale: SketchScale, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        heights_from_photo((0, 0), [(0, 100)], scale)


def test_a_height_below_zero_is_refused() -> None:
    with pytest.raises(BadInput, match="below zero"):
        replace(ONTARIO, top_rail=(Q(-0.1),))
