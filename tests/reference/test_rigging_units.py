"""Unit conversions against the definitions of the units, never against a page.

International foot 0.3048 m and pound 0.45359237 kg (1959 agreement; NIST SP 811, appendix B); pound-force = pound ×
standard gravity 9.80665 m/s² (same source), computed here in exact fractions.
"""

from fractions import Fraction

import pytest

from inspect_core.rigging.units import Dimension, from_base, show_force, show_length, to_base

LBF_IN_NEWTONS = Fraction("0.45359237") * Fraction("9.80665")


def test_1800_lbf_are_8_007_kn() -> None:
    exact = 1800 * LBF_IN_NEWTONS / 1000
    assert to_base(1800, "lbf", Dimension.FORCE) == float(exact)
    assert round(to_base(1800, "lbf", Dimension.FORCE), 3) == 8.007
    assert show_force(to_base(1800, "lbf", Dimension.FORCE)) == "8.007 kN (1800 lbf)"


def test_3_5_ft_are_1_0668_m_and_not_the_1_08_m_that_a_page_prints() -> None:
    # Row C22: one state code prints 1.08 m beside 3.5 ft.
    assert to_base(3.5, "ft", Dimension.LENGTH) == 1.0668
    assert show_length(1.0668) == "1.07 m (3 ft 6.0 in)"


def test_6_kn_are_1349_lbf_and_not_the_1800_lbf_that_a_page_prints() -> None:
    # Row C33: a code guide prints 6 kN as 1800 lbf.
    assert round(from_base(6, "lbf", Dimension.FORCE)) == 1349


@pytest.mark.parametrize(
    ("value", "unit", "dimension", "exact"),
    [
        (310, "lb", Dimension.MASS, Fraction("0.45359237") * 310),
        (5000, "lbf", Dimension.FORCE, 5000 * LBF_IN_NEWTONS / 1000),
        (42, "in", Dimension.LENGTH, Fraction("0.0254") * 42),
        (1, "ft", Dimension.LENGTH, Fraction("0.3048")),
        (675, "N", Dimension.FORCE, Fraction(675, 1000)),
        (89, "mm", Dimension.LENGTH, Fraction(89, 1000)),
    ],
)
def test_each_conversion_is_the_nearest_double_to_the_exact_value(
    value: float, unit: str, dimension: Dimension, exact: Fraction
) -> None:
    assert to_base(value, unit, dimension) == float(exact)
    assert from_base(to_base(value, unit, dimension), unit, dimension) == pytest.approx(value, rel=1e-15)
