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


def covered(runs: int) -> Counter[str]:
    generator, hits = np.random.default_rng(SEED), Counter[str]()
    for _ in range(runs):
        lives = simulated_fleet(generator, ITEMS)
        curve, causes = survival(lives), incidences(lives)
        assert isinstance(curve, Survival) and isinstance(causes, Incidences)
        assert curve.median_low is not None
        hits["median"] += curve.median_low <= MEDIAN and (curve.median_high is None or curve.median_high >= MEDIAN)
        _, low, high = curve.at(AGE)
        assert low is not None
        hits["survival"] += low <= true_survival(AGE) <= high
        for one in causes.curves:
            _, low, top = one.at(AGE)
            assert top is not None
            hits[one.reason] += low <= INCIDENCE[one.reason] <= top
    return hits


@pytest.mark.slow
def test_95_percent_intervals_cover_the_truth_in_93_to_97_percent_of_1000_fleets():
    hits = covered(RUNS)
    print(dict(hits))
    assert set(hits) == {"median", "survival", *HAZARDS}
    for what, count in hits.items():
        assert 0.93 <= count / RUNS <= 0.97, f"{what}: {count} of {RUNS}"


def test_the_true_curves_add_up():
    """Incidences of all causes and the survival integrate to one."""
    assert sum(INCIDENCE.values()) + true_survival(AGE) == pytest.approx(1, abs=1e-8)
    assert true_survival(MEDIAN) == pytest.approx(0.5)


def test_a_few_fleets_are_covered_as_often_as_chance_allows():
    """The quick form: 40 fleets; fewer than 32 of 40 covered has a probability below 0.001 at 95 %."""
    hits = covered(40)
    assert set(hits) == {"median", "survival", *HAZARDS}
    assert all(count >= 32 for count in hits.values())
