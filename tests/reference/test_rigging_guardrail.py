"""Guardrail bands of the sources.

OSHA 29 CFR 1926.502(b)(1): 39 in to 45 in (row C01). O. Reg. 213/91 s.26.3(4): 0.9 m to 1.1 m (row C06). OSHA 29 CFR
1910.29(b)(1): from 39 in (row C18). EN 13374 class A: from 1000 mm (row C15, from memory).
"""

from __future__ import annotations

import pytest

from inspect_core.rigging.guardrail import GuardrailCase, check_guardrail
from inspect_core.rigging.units import Dimension, Quantity, to_base


def top_rail(profile: str, metres: float, doubt: float = 0.0) -> str:
    lines = check_guardrail(GuardrailCase(profile, (Quantity(metres, doubt),))).lines
    return next(line.answer.value for line in lines if line.topic == "top rail height")


def inches(value: float) -> float:
    return to_base(value, "in", Dimension.LENGTH)


@pytest.mark.parametrize(
    ("profile", "metres", "expected"),
    [
        ("us construction", inches(39) - 0.001, "do not go"),
        ("us construction", inches(39), "go"),
        ("us construction", inches(42), "go"),
        ("us construction", inches(45), "go"),
        ("us construction", inches(45) + 0.001, "do not go"),
        ("canada ontario", 0.899, "do not go"),
        ("canada ontario", 0.9, "go"),
        ("canada ontario", 1.1, "go"),
        ("canada ontario", 1.101, "do not go"),
        ("us general industry", inches(39) - 0.001, "do not go"),
        ("us general industry", inches(39), "go"),
        ("uk europe", 0.999, "do not go"),
        ("uk europe", 1.0, "go"),
        ("common", 1.0, "ask a competent person"),
    ],
)
def test_the_band_of_each_profile_just_below_at_and_just_above(profile: str, metres: float, expected: str) -> None:
    assert top_rail(profile, metres) == expected


def test_1_12_m_passes_osha_and_fails_ontario() -> None:
    assert top_rail("us construction", 1.12) == "go"
    assert top_rail("canada ontario", 1.12) == "do not go"


def test_0_95_m_passes_ontario_and_fails_osha() -> None:
    assert top_rail("canada ontario", 0.95) == "go"
    assert top_rail("us construction", 0.95) == "do not go"


def test_a_reading_whose_uncertainty_crosses_the_limit_is_measured_by_hand() -> None:
    assert top_rail("canada ontario", 1.09, 0.005) == "go"
    assert top_rail("canada ontario", 1.09, 0.02) == "ask a competent person"
    assert top_rail("canada ontario", 1.11, 0.02) == "do not go"
