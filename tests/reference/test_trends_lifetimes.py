"""The 6-MP trial, rows D01 and D02 of the facts table.

Remission times in weeks of leukaemia patients, 21 on 6-mercaptopurine and 21 on placebo: Freireich et al. 1963, Blood
21:699. The table marks both rows as recomputed from the published data, so the figures were computed again, not read
in print. The same data also go through scipy (D01, D02) and statsmodels.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import CensoredData, ecdf, logrank
from statsmodels.duration.survfunc import CumIncidenceRight, SurvfuncRight

from inspect_core.domain.gear import Kind
from inspect_core.trends.causes import Incidences, incidences
from inspect_core.trends.lifetimes import Survival, survival
from inspect_core.trends.log_rank import LogRank, log_rank
from inspect_core.trends.watched import Lifetime

SIX_MP = [6, 6, 6, 7, 10, 13, 16, 22, 23]
SIX_MP_CENSORED = [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35]
PLACEBO = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]


def lives(group: str, events: list[int], censored: list[int] | None = None) -> list[Lifetime]:
    rows = [(week, True) for week in events] + [(week, False) for week in censored or []]
    return [
        Lifetime(f"{group}{n}", Kind.HARNESS, "", group, 0, week, gone, ("relapse",) if gone else ())
        for n, (week, gone) in enumerate(rows)
    ]


TREATED, CONTROL = lives("6-MP", SIX_MP, SIX_MP_CENSORED), lives("placebo", PLACEBO)


def curve(rows: list[Lifetime]) -> Survival:
    found = survival(rows)
    assert isinstance(found, Survival)
    return found


def test_d01_kaplan_meier_of_the_6_mp_group():
    found = curve(TREATED)
    assert found.ages == (6, 7, 10, 13, 16, 22, 23)
    assert found.at_risk == (21, 17, 15, 12, 11, 7, 6)
    assert found.withdrawn == (3, 1, 1, 1, 1, 1, 1)
    assert found.share == pytest.approx((0.8571, 0.8067, 0.7529, 0.6902, 0.6275, 0.5378, 0.4482), abs=5e-5)


def test_d01_standard_errors_stand_behind_the_interval():
    """SE .0764 .0869 .0963 .1068 .1141 .1282 .1346, turned into the interval on the log(−log) scale by hand."""
    found = curve(TREATED)
    errors = (0.0764, 0.0869, 0.0963, 0.1068, 0.1141, 0.1282, 0.1346)
    for share, low, high, error in zip(found.share, found.low, found.high, errors, strict=True):
        theta = math.exp(1.959964 * error / (share * math.log(share)))
        assert (low, high) == pytest.approx((share ** (1 / theta), share**theta), abs=2e-4)


def test_d01_median_of_the_6_mp_group_is_23_weeks_and_of_placebo_8():
    """From the curve: .4482 at week 23; 8 of 21 left at week 8."""
    assert curve(TREATED).median == 23
    assert curve(CONTROL).median == 8


def test_d01_median_interval_as_statsmodels_inverts_it():
    gone = [1] * len(SIX_MP) + [0] * len(SIX_MP_CENSORED)
    low, high = SurvfuncRight(SIX_MP + SIX_MP_CENSORED, gone).quantile_ci(0.5, method="cloglog")
    assert math.isinf(high)
    assert (curve(TREATED).median_low, curve(TREATED).median_high) == (low, None)
    with np.errstate(all="ignore"):  # statsmodels takes the logarithm of the last share, 0
        low, high = SurvfuncRight(PLACEBO, [1] * 21).quantile_ci(0.5, method="cloglog")
    assert (curve(CONTROL).median_low, curve(CONTROL).median_high) == (low, high)


def test_d01_as_scipy_draws_it():
    theirs = ecdf(CensoredData(uncensored=SIX_MP, right=SIX_MP_CENSORED)).sf
    band = theirs.confidence_interval(0.95, method="log-log")
    ours = curve(TREATED)
    assert theirs.evaluate(np.array(ours.ages)) == pytest.approx(np.array(ours.share))
    assert band.low.evaluate(np.array(ours.ages)) == pytest.approx(np.array(ours.low))
    assert band.high.evaluate(np.array(ours.ages)) == pytest.approx(np.array(ours.high))


def test_d02_log_rank_of_6_mp_against_placebo():
    """χ² 16.793, O = 9, E = 19.25, V = 6.257, so (O − E)² / V = χ²."""
    found = log_rank(TREATED + CONTROL, "site")
    assert isinstance(found, LogRank)
    treated = found.groups[0]
    assert (treated.label, treated.observed) == ("6-MP", 9)
    assert treated.expected == pytest.approx(19.25, abs=5e-3)
    assert found.chi_square == pytest.approx(16.793, abs=5e-4)
    assert (treated.observed - treated.expected) ** 2 / found.chi_square == pytest.approx(6.257, abs=5e-4)
    assert found.degrees == 1


def test_d02_as_scipy_tests_it():
    theirs = logrank(CensoredData(SIX_MP, right=SIX_MP_CENSORED), CensoredData(PLACEBO))
    found = log_rank(TREATED + CONTROL, "site")
    assert isinstance(found, LogRank)
    assert found.chi_square == pytest.approx(theirs.statistic**2)
    assert found.p_value == pytest.approx(theirs.pvalue, rel=1e-6)


def test_incidences_without_delayed_entry_are_those_of_statsmodels():
    """The 6-MP weeks with invented causes; share and interval from the standard error of CumIncidenceRight."""
    causes = [1, 2, 1, 1, 2, 1, 2, 1, 1] + [0] * len(SIX_MP_CENSORED)
    weeks = SIX_MP + SIX_MP_CENSORED
    rows = [
        Lifetime(f"{n}", Kind.HARNESS, "", "", 0, week, cause > 0, (f"cause {cause}",) if cause else ())
        for n, (week, cause) in enumerate(zip(weeks, causes, strict=True))
    ]
    ours = incidences(rows, least_events=3)
    assert isinstance(ours, Incidences)
    theirs = CumIncidenceRight(np.array(weeks), np.array(causes))
    for number, name in enumerate(("cause 1", "cause 2")):
        one = next(c for c in ours.curves if c.reason == name)
        at = np.searchsorted(theirs.times, one.ages)
        share, error = theirs.cinc[number][at], theirs.cinc_se[number][at]
        assert np.array(one.share) == pytest.approx(share)
        theta = np.exp(1.959964 * error / (share * np.log(share)))
        assert np.array(one.low) == pytest.approx(share ** (1 / theta), abs=1e-6)
        assert np.array(one.high) == pytest.approx(share**theta, abs=1e-6)
