"""Growth of a reading: real, or cannot tell."""

from __future__ import annotations

import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.domain.marks import Reading
from inspect_core.imaging.growth import Change, growth


def _reading(value: float, uncertainty: float, measure: str = "length", unit: str = "mm") -> Reading:
    return Reading(measure, value, unit, uncertainty)


@pytest.mark.parametrize(
    ("earlier", "later", "change", "sentence"),
    [
        ((4.0, 0.4), (6.1, 0.45), Change.MORE, "2.1 ± 0.6 mm more: real"),
        ((4.0, 0.5), (4.3, 0.6), Change.CANNOT_TELL, "0.3 ± 0.8 mm: cannot tell"),
        ((20.0, 2.0), (30.0, 3.0), Change.MORE, "10 ± 4 mm more: real"),
        ((1.00, 0.03), (1.10, 0.04), Change.MORE, "0.10 ± 0.05 mm more: real"),
    ],
)
def test_a_difference_is_real_when_it_passes_its_uncertainty(
    earlier: tuple[float, float], later: tuple[float, float], change: Change, sentence: str
) -> None:
    found = growth(_reading(*earlier), _reading(*later))
    assert (found.change, found.sentence) == (change, sentence)


def test_damage_that_shrank_asks_for_a_second_look() -> None:
    found = growth(_reading(8, 0.5), _reading(6, 0.5))
    assert found.change is Change.LESS and "damage does not heal" in found.sentence
    # A rope that is thinner than before is no healing.
    thinner = growth(_reading(12, 0.2, "rope diameter"), _reading(11, 0.2, "rope diameter"))
    assert thinner.change is Change.LESS and "heal" not in thinner.sentence


def test_exactly_at_the_uncertainty_nothing_is_claimed() -> None:
    assert growth(_reading(1, 0.3), _reading(1.5, 0.4)).change is Change.CANNOT_TELL


def test_unlike_readings_are_not_compared() -> None:
    with pytest.raises(BadInput, match="cannot be compared"):
        growth(_reading(1, 0.1), _reading(1, 0.1, "width"))
