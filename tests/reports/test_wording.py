"""Numbers, dates and readings as people read them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest

from inspect_core.domain.marks import Reading
from inspect_core.domain.measures import Unit
from inspect_core.reports import wording


@pytest.mark.parametrize(
    ("value", "uncertainty", "unit", "text"),
    [
        # JCGM 100:2008, 7.2.6: at most two significant digits in the uncertainty, the value to the same place; its own
        # example 10,047 mΩ, rounded up to 11 mΩ, is the third line.
        (3.2, 0.42, "mm", "3.20 ± 0.42 mm (k = 2)"),
        (12.444, 0.8, "mm", "12.44 ± 0.80 mm (k = 2)"),
        (100.0, 10.47, "mm", "100 ± 11 mm (k = 2)"),
        (12345.6, 321.0, "mm2", "12350 ± 330 mm² (k = 2)"),
        (0.181, 0.034, "share", "0.181 ± 0.034 share (k = 2)"),
        (7.0, 0.0, "count", "7 ± 0 count (k = 2)"),
        (-1.23, 0.5, "mm", "−1.23 ± 0.50 mm (k = 2)"),
        (10.0, 0.0996, "deg", "10.00 ± 0.10 ° (k = 2)"),
        (61.0, 2.0, "degC", "61.0 ± 2.0 °C (k = 2)"),
        (4.5, 0.3, "dE00", "4.50 ± 0.30 (CIEDE2000) (k = 2)"),
        (5.0, None, "mm", "5 mm (uncertainty not recorded)"),
    ],
)
def test_a_value_is_printed_with_its_uncertainty_and_unit(
    value: float, uncertainty: float | None, unit: str, text: str
) -> None:
    assert wording.measured(value, uncertainty, unit) == text


@pytest.mark.parametrize(
    "uncertainty", [0.0991, 0.0999, 0.1, 0.101, 0.99, 0.991, 1.0, 9.96, 99.1, 101.0, 1e-7, 12345.0]
)
def test_a_printed_uncertainty_is_never_smaller_than_the_real_one(uncertainty: float) -> None:
    printed = float(wording.measured(50.0, uncertainty, "mm").split("±")[1].split()[0])
    assert uncertainty <= printed <= 1.11 * uncertainty


@pytest.mark.parametrize("unit", list(Unit), ids=lambda u: u.value)
def test_every_unit_is_printed(unit: Unit) -> None:
    assert wording.unit_word(unit.value)
    assert wording.unit_word(unit.value) in wording.measured(1.0, 0.1, unit.value)
    assert wording.unit_word(unit.value) in wording.quantity(1.0, unit.value)


@pytest.mark.parametrize(
    ("score", "text"),
    [(0, "0"), (0.5, "0.50"), (0.98765, "0.99"), (0.9999, "0.9999"), (1.0, "1.00"), (1.004, "1.00"), (3.62, "3.62")],
)
def test_damage_used_below_the_limit_is_never_printed_as_at_the_limit(score: float, text: str) -> None:
    assert wording.damage_used(score) == text


def test_damage_used_without_bound_says_so() -> None:
    assert wording.damage_used(float("inf")) == "without bound"


def test_a_reading_names_its_measure_and_method() -> None:
    whole = Reading("pull-out", 12.0, "mm", 1.5, "by hand, steel rule")
    assert wording.reading(whole) == "pull-out: 12.0 ± 1.5 mm (k = 2), by hand, steel rule"
    assert wording.reading(Reading("pull-out", 12.0, "mm", 1.5)).endswith("method not recorded")


def test_a_moment_carries_its_zone() -> None:
    assert wording.moment(datetime(2025, 3, 4, 14, 5, tzinfo=UTC)) == "2025-03-04 14:05 UTC+00:00"
    west = timezone(-timedelta(hours=3, minutes=30))
    assert wording.moment(datetime(2025, 3, 4, 14, 5, tzinfo=west)) == "2025-03-04 14:05 UTC-03:30"


def test_counts_take_the_plural() -> None:
    assert wording.count(1, "mark") == "1 mark"
    assert wording.count(0, "mark") == "0 marks"
