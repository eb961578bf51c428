"""On simulated fleets with known hazards, how often 95 % intervals cover the truth."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from inspect_core.trends.causes import Incidences, incidences
from inspect_core.trends.lifetimes import Survival, survival
from tests.trends.fleet import HAZARDS, simulated_fleet, true_incidence, true_median, true_survival

RUNS, ITEMS, AGE, SEED = 1000, 200, 1500.0, 20
MEDIAN = true_median()
INCIDENCE = {cause: true_incidence(cause, AGE) for cause in HAZARDS}
ESTIMATES = {"median", "survival", *HAZARDS}


def covered(runs: int, items: int) -> tuple[Counter[str], Counter[str]]:
    """How often each estimate's interval held the truth, and how often it was drawn and reached AGE.

    An end that is not known (None) bounds nothing.
    """
    generator, hits, tries = np.random.default_rng(SEED), Counter[str](), Counter[str]()

    def count(what: str, low: float | None, truth: float, high: float | None) -> None:
        tries[what] += 1
        hits[what] += (low is None or low <= truth) and (high is None or truth <= high)

    for _ in range(runs):
        lives = simulated_fleet(generator, items)
        curve, causes = survival(lives), incidences(lives)
        if isinstance(curve, Survival):
            count("median", curve.median_low, MEDIAN, curve.median_high)
            if curve.ends_at_days >= AGE:
                _, low, high = curve.at(AGE)
                count("survival", low, true_survival(AGE), high)
        if isinstance(causes, Incidences):
            for one in causes.curves:
                if one.ends_at_days >= AGE:
                    _, least, most = one.at(AGE)
                    count(one.reason, least, INCIDENCE[one.reason], most)
    print(items, {what: f"{hits[what]} of {tries[what]}" for what in sorted(tries)})
    return hits, tries


@pytest.mark.slow
def test_95_percent_intervals_cover_the_truth_in_93_to_97_percent_of_1000_fleets():
    hits, tries = covered(RUNS, ITEMS)
    assert dict(tries) == dict.fromkeys(ESTIMATES, RUNS)
    for what, count in hits.items():
        assert 0.93 <= count / RUNS <= 0.97, f"{what}: {count} of {RUNS}"


@pytest.mark.slow
@pytest.mark.parametrize("items", [20, 40])
def test_small_fleets_are_covered_nearly_as_often(items: int):
    """The median and the curve; reasons are drawn only in fleets with five withdrawals for them, which is a choice."""
    hits, tries = covered(RUNS, items)
    for what in ("median", "survival"):
        assert 0.92 <= hits[what] / tries[what] <= 0.98, f"{what}: {hits[what]} of {tries[what]}"


def test_the_true_curves_add_up():
    """Incidences of all causes and the survival integrate to one."""
    assert sum(INCIDENCE.values()) + true_survival(AGE) == pytest.approx(1, abs=1e-8)
    assert true_survival(MEDIAN) == pytest.approx(0.5)


def test_a_few_fleets_are_covered_as_often_as_chance_allows():
    """The quick form: 40 fleets; fewer than 32 of 40 covered has a probability below 0.001 at 95 %."""
    hits, tries = covered(40, ITEMS)
    assert set(tries) == ESTIMATES
    assert all(count >= 32 for count in hits.values())
