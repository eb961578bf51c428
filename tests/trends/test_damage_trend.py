"""Growth of damage used on one component, and when it reaches its limit."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from statistics import median

import numpy as np
import pytest

from inspect_core.domain.decision import Basis, Decision, Finding, FindingOutcome, Outcome, RulesStamp
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.inspection import Inspection, InspectionType
from inspect_core.trends.damage_trend import DamagePoint, damage_points, damage_trend

START = date(2024, 1, 1)


def points(*pairs: tuple[int, float]) -> list[DamagePoint]:
    return [DamagePoint(START + timedelta(days=day), damage) for day, damage in pairs]


def test_a_straight_line_reaches_its_limit_on_the_day_computed_by_hand():
    """0.2 at day 0 and 0.1 more each 100 days: 1.0 at day 800."""
    trend = damage_trend(points(*((day, 0.2 + day / 1000) for day in range(0, 501, 100))))
    assert trend is not None
    assert trend.slope == pytest.approx(0.36525)
    assert trend.reaches_on == trend.earliest == trend.latest == START + timedelta(days=800)
    assert trend.grows


def test_the_slope_is_the_median_of_all_pairwise_slopes():
    """Theil (1950); the outlier in the middle moves it little."""
    given = points((0, 0.10), (100, 0.22), (200, 0.90), (300, 0.41), (400, 0.52))
    trend = damage_trend(given)
    by_hand = median((b.damage - a.damage) / (b.on - a.on).days for a, b in itertools.combinations(given, 2))
    assert trend is not None
    assert trend.slope == pytest.approx(by_hand * 365.25)
    assert trend.slope_low < trend.slope < trend.slope_high
    assert trend.earliest is not None and trend.reaches_on is not None
    assert trend.earliest <= trend.reaches_on


def test_fewer_than_three_days_give_no_trend():
    assert damage_trend(points((0, 0.1), (100, 0.2))) is None
    assert damage_trend([]) is None
    assert damage_trend(points((0, 0.1), (0, 0.15), (100, 0.2))) is None


def test_few_inspections_claim_no_more_confidence_than_they_give():
    """All slopes of n values in random order point one way in 2 of n! orders (Kendall's exact distribution)."""
    three = damage_trend(points((0, 0.1), (100, 0.2), (200, 0.3)))
    four = damage_trend(points((0, 0.1), (100, 0.2), (200, 0.3), (300, 0.35)))
    five = damage_trend(points((0, 0.1), (100, 0.2), (200, 0.3), (300, 0.35), (400, 0.5)))
    assert three is not None and four is not None and five is not None
    assert three.confidence == pytest.approx(2 / 3)
    assert four.confidence == pytest.approx(22 / 24)
    assert five.confidence == 0.95


def test_damage_that_stands_still_reaches_nothing():
    trend = damage_trend(points((0, 0.4), (100, 0.4), (200, 0.4), (300, 0.4)))
    assert trend is not None
    assert (trend.slope, trend.reaches_on, trend.earliest, trend.latest, trend.grows) == (0, None, None, None, False)
    assert "No growth can be told from 4 inspections" in trend.in_words


def test_an_interval_that_holds_standing_still_has_no_latest_day():
    trend = damage_trend(points((0, 0.30), (100, 0.28), (200, 0.36), (300, 0.33), (400, 0.41)))
    assert trend is not None
    assert trend.slope_low < 0 < trend.slope_high
    assert trend.latest is None and trend.earliest is not None


def test_growth_is_told_with_interval_and_count():
    trend = damage_trend(points(*((day, 0.2 + day / 1000) for day in range(0, 501, 100))))
    assert trend is not None
    assert trend.in_words == (
        "Grows by 0.37 of its limit a year (0.37 to 0.37 at 95 % confidence, 6 inspections); "
        "at the limit between 2026-03-11 and 2026-03-11."
    )


def test_a_limit_beyond_fifty_years_is_no_forecast():
    trend = damage_trend(points((0, 0.100), (100, 0.101), (200, 0.102)))
    assert trend is not None
    assert trend.grows and trend.reaches_on is None
    assert "not within 50 years" in trend.in_words


def test_the_interval_covers_a_known_growth_as_often_as_it_says():
    """Simulated: true growth 0.2 a year with noise, 12 inspections, 400 items; 95 % within binomial play."""
    generator = np.random.default_rng(7)
    days = np.arange(12) * 90
    covered = 0
    for _ in range(400):
        damage = 0.1 + 0.2 * days / 365.25 + generator.normal(0, 0.05, len(days))
        trend = damage_trend(points(*zip(days.tolist(), damage.tolist(), strict=True)))
        assert trend is not None
        covered += trend.slope_low <= 0.2 <= trend.slope_high
    assert 0.92 <= covered / 400 <= 0.99


@pytest.mark.parametrize("confidence", [0.5, 1.0, 0, 95])
def test_a_confidence_that_is_none_is_refused(confidence: float):
    with pytest.raises(BadInput, match="confidence"):
        damage_trend(points((0, 0.1)), confidence)


def test_a_damage_that_is_no_number_is_refused():
    with pytest.raises(BadInput, match="not a number"):
        damage_trend(points((0, 0.1), (1, float("nan")), (2, 0.2)))


# Points of an item -----------------------------------------------------------------------------------------------


def finding(component: Component, value: float | None) -> Finding:
    return Finding(
        "r", FindingOutcome.CLEARED, "", "", Basis.PUBLISHED, "m", component, "section loss", value, 0.01, 0.1, "share"
    )


def inspection(id_: str, day: int, *found: Finding, corrects: str | None = None) -> Inspection:
    decision = Decision(Outcome.IN_SERVICE, 0.0, found, RulesStamp("1", "0" * 64))
    at = datetime(2024, 1, 1, 8, tzinfo=UTC) + timedelta(days=day)
    sound = Inspection(id_, "i", InspectionType.PERIODIC, at, "p", "", "common", {}, {}, (), (), decision)
    return replace(sound, corrects=corrects)


def test_points_are_the_largest_damage_a_day_on_that_component_oldest_first():
    hook, ring = Component.SNAP_HOOK, Component.D_RING
    inspections = [
        inspection("c", 200, finding(hook, 0.05)),
        inspection("a", 0, finding(hook, 0.02), finding(hook, 0.03), finding(ring, 0.09)),
        inspection("b", 100, finding(hook, None)),
    ]
    assert damage_points(inspections, hook) == (
        DamagePoint(date(2024, 1, 1), pytest.approx(0.4)),
        DamagePoint(date(2024, 7, 19), pytest.approx(0.6)),
    )


def test_a_corrected_inspection_is_left_out():
    hook = Component.SNAP_HOOK
    wrong, right = inspection("a", 0, finding(hook, 0.09)), inspection("b", 1, finding(hook, 0.02), corrects="a")
    assert [point.on for point in damage_points([wrong, right], hook)] == [date(2024, 1, 2)]
