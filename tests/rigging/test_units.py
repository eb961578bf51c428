from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspect_core.domain.errors import BadInput
from inspect_core.rigging.units import Dimension, Quantity, parse, show_length, show_mass, show_spread


@pytest.mark.parametrize(
    ("raw", "system", "metres"),
    [
        ("3.5 ft", None, 1.0668),
        ("3 ft 6 in", None, 1.0668),
        ("3 ft 6.5 in", None, 1.0795),
        ("1067mm", None, 1.067),
        (3.5, "feet", 1.0668),
        (3, "SI", 3.0),
        ({"value": 42, "unit": "in"}, None, 1.0668),
        ({"value": 1}, "SI", 1.0),
        (" 2 m ", None, 2.0),
        ("-0.5 m", None, -0.5),
    ],
)
def test_lengths_are_read_as_people_write_them(raw: object, system: str | None, metres: float) -> None:
    assert parse(raw, Dimension.LENGTH, system).value == pytest.approx(metres, rel=1e-15)


def test_an_uncertainty_is_in_the_unit_of_its_value() -> None:
    assert parse({"value": 42, "unit": "in", "uncertainty": 0.5}, Dimension.LENGTH, None) == Quantity(1.0668, 0.0127)


@pytest.mark.parametrize(
    "raw",
    [
        3.5,
        "3.5",
        "3.5 furlongs",
        "about 3 m",
        "3 m 5 in",
        "1e3 m",
        "3 kg",
        True,
        None,
        [],
        float("nan"),
        {"value": 1, "unit": "m", "colour": 2},
        {"value": "1", "unit": "m"},
        {"unit": "m"},
        {"value": 1},
        {"value": 1, "unit": 5},
        {"value": 1, "unit": "m", "uncertainty": -1},
        "99999999 m",
        {"value": 10**400, "unit": "m"},
    ],
    ids=str,
)
def test_anything_that_leaves_the_length_in_doubt_is_refused(raw: object) -> None:
    with pytest.raises(BadInput):
        parse(raw, Dimension.LENGTH, None)


@pytest.mark.parametrize(
    ("metres", "words"),
    [
        (1.0668, "1.07 m (3 ft 6.0 in)"),
        (0.9144 - 1e-9, "0.91 m (3 ft 0.0 in)"),
        (0.089, "89 mm (3.5 in)"),
        (0.00635, "6.3 mm (0.25 in)"),
        (0.0, "0.00 m (0 ft 0.0 in)"),
        (-0.3, "−0.30 m (−0 ft 11.8 in)"),
        (-0.05, "−50 mm (−2.0 in)"),
    ],
)
def test_lengths_are_shown_in_both_systems(metres: float, words: str) -> None:
    assert show_length(metres) == words


def test_masses_and_spreads_are_shown_with_their_units() -> None:
    assert show_mass(140.6) == "140.6 kg (310 lb)"
    assert show_spread(0.0) == ""
    assert show_spread(0.012) == " ± 12 mm"


@given(st.floats(-1e4, 1e4))
def test_inches_shown_never_reach_twelve(metres: float) -> None:
    assert " 12.0 in" not in show_length(metres)


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_a_quantity_must_be_a_number(value: float) -> None:
    with pytest.raises(BadInput, match="not a number"):
        Quantity(value)
