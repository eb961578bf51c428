"""The same data through lifelines 0.30.3 (MIT): Kaplan–Meier, log-rank, delayed entry and cumulative incidence.

lifelines is no test dependency: it asks for pandas below 3, which this project is past, and brings matplotlib and ten
more packages. The figures below were computed once with lifelines 0.30.3 and pandas 2.3.3 in an environment of their
own and are written down as printed, six digits; nobody read them in print. scipy and statsmodels, which are installed,
are asked in the tests beside this one at every run; neither of them has delayed entry for cumulative incidence, so
lifelines is the outside check of that sum.
"""

from __future__ import annotations

import pytest

from inspect_core.domain.gear import Kind
from inspect_core.trends.causes import Incidences, incidences
from inspect_core.trends.lifetimes import Survival, survival
from inspect_core.trends.log_rank import LogRank, log_rank
from inspect_core.trends.watched import Lifetime
from tests.reference.test_trends_lifetimes import CONTROL, SIX_MP, SIX_MP_CENSORED, TREATED

#: `KaplanMeierFitter().fit(T, E)`: week → share, low, high.
SIX_MP_CURVE = {
    6: (0.857143, 0.619718, 0.951552),
    7: (0.806723, 0.563147, 0.922809),
    10: (0.752941, 0.5032, 0.889362),
    13: (0.690196, 0.43161, 0.849066),
    16: (0.627451, 0.367511, 0.804912),
    22: (0.537815, 0.267779, 0.746791),
    23: (0.448179, 0.188052, 0.680143),
}
#: Weeks at which the 21 patients enter, invented; two enter in the week of an event and are not at risk in it.
ENTRY = [0, 2, 4, 6, 8, 12, 15, 20, 21, 0, 3, 8, 9, 16, 5, 19, 24, 30, 2, 33, 10]
#: `KaplanMeierFitter().fit(T, E, entry=ENTRY)`.
LATE_CURVE = {
    6: (0.571429, 0.171866, 0.837083),
    7: (0.428571, 0.097752, 0.734373),
    10: (0.342857, 0.072273, 0.646534),
    13: (0.257143, 0.045623, 0.55022),
    16: (0.192857, 0.029636, 0.463113),
    22: (0.144643, 0.019596, 0.386488),
    23: (0.096429, 0.009917, 0.305504),
}
#: Twelve items without ties, invented: lifelines moves tied ages apart at random. Age, cause (0: censored).
CAUSES = [(5, 1), (8, 0), (11, 2), (14, 1), (17, 1), (20, 0), (23, 2), (26, 1), (29, 2), (32, 0), (35, 1), (38, 0)]
#: `AalenJohansenFitter().fit(T, C, event_of_interest=cause)`: age → share, low, high.
INCIDENCE = {
    "1": {
        5: (0.083333, 0.005053, 0.31107),
        14: (0.175, 0.02739, 0.429799),
        17: (0.266667, 0.063339, 0.530913),
        26: (0.373611, 0.111899, 0.642377),
        35: (0.534028, 0.181188, 0.794244),
    },
    "2": {
        11: (0.091667, 0.005407, 0.334911),
        23: (0.198611, 0.030431, 0.47324),
        29: (0.305556, 0.072524, 0.585234),
    },
}
#: Ages at which the twelve enter, invented, and the same with `entry=LATE_ENTRY`.
LATE_ENTRY = [0, 3, 0, 6, 9, 0, 12, 15, 2, 21, 0, 30]
LATE_INCIDENCE = {
    "1": {
        5: (0.166667, 0.007723, 0.516802),
        14: (0.282407, 0.040432, 0.607542),
        17: (0.378858, 0.087312, 0.679524),
        26: (0.475309, 0.144535, 0.751249),
        35: (0.571759, 0.208229, 0.81941),
    },
    "2": {
        11: (0.138889, 0.00691, 0.456878),
        23: (0.23534, 0.033825, 0.539),
        29: (0.33179, 0.074062, 0.626487),
    },
}


def steps(curve: Survival) -> dict[int, tuple[float, float, float]]:
    return {
        int(age): (share, low, high)
        for age, share, low, high in zip(curve.ages, curve.share, curve.low, curve.high, strict=True)
    }


def test_d01_kaplan_meier_and_its_band_are_those_of_lifelines() -> None:
    found = survival(TREATED)
    assert isinstance(found, Survival)
    assert steps(found) == {age: pytest.approx(row, abs=1e-6) for age, row in SIX_MP_CURVE.items()}
    assert (found.median, found.median_low, found.median_high) == (23, 13, None)


def test_d02_log_rank_is_that_of_lifelines() -> None:
    found = log_rank(TREATED + CONTROL, "site")
    assert isinstance(found, LogRank)
    assert found.chi_square == pytest.approx(16.792940989216547)
    assert found.p_value == pytest.approx(4.168809109334511e-05)


def test_delayed_entry_gives_the_curve_and_the_band_of_lifelines() -> None:
    weeks = [*((week, True) for week in SIX_MP), *((week, False) for week in SIX_MP_CENSORED)]
    rows = [
        Lifetime(f"{n}", Kind.HARNESS, "", "", entry, week, gone)
        for n, ((week, gone), entry) in enumerate(zip(weeks, ENTRY, strict=True))
    ]
    found = survival(rows)
    assert isinstance(found, Survival)
    assert steps(found) == {age: pytest.approx(row, abs=1e-6) for age, row in LATE_CURVE.items()}


@pytest.mark.parametrize(("entry", "theirs"), [([0] * 12, INCIDENCE), (LATE_ENTRY, LATE_INCIDENCE)])
def test_cumulative_incidence_and_its_band_are_those_of_lifelines(
    entry: list[int], theirs: dict[str, dict[int, tuple[float, float, float]]]
) -> None:
    rows = [
        Lifetime(f"{n}", Kind.HARNESS, "", "", entry[n], age, cause > 0, (str(cause),) if cause else ())
        for n, (age, cause) in enumerate(CAUSES)
    ]
    found = incidences(rows, least_events=3)
    assert isinstance(found, Incidences)
    assert [curve.reason for curve in found.curves] == list(theirs)
    for curve in found.curves:
        seen = zip(curve.ages, curve.share, curve.low, curve.high, strict=True)
        assert {int(age): row for age, *row in seen} == {
            age: pytest.approx(list(row), abs=1e-6) for age, row in theirs[curve.reason].items()
        }
