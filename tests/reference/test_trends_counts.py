"""Shares, counts, charts and kappa against rows D03 to D08 and D10 of the facts table, and against libraries.

Each test says what the table says of its figures: read in print, recomputed from the published definition or data,
or from memory.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import poisson
from scipy.stats.contingency import odds_ratio
from statsmodels.stats.inter_rater import fleiss_kappa
from statsmodels.stats.proportion import proportion_confint
from statsmodels.stats.rates import confint_poisson
from statsmodels.stats.rates import test_poisson_2indep as compare_rates

from inspect_core.trends.agreement import Agreement, SecondReading, cohen, fleiss
from inspect_core.trends.before_after import BeforeAfter, before_after, clopper_pearson
from inspect_core.trends.control_charts import ControlChart, c_chart, p_chart, u_chart
from inspect_core.trends.rates import garwood
from inspect_core.trends.reasons import wilson


@pytest.mark.parametrize(
    ("count", "total", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (1, 29, 0.0061, 0.1718), (0, 10, 0.0, 0.2775)],
)
def test_d03_wilson(count: int, total: int, low: float, high: float):
    """Newcombe 1998, Stat. Med. 17:857, table I (first three); figures from memory; statsmodels beside them."""
    assert wilson(count, total) == pytest.approx((low, high), abs=5e-5)
    assert wilson(count, total) == pytest.approx(proportion_confint(count, total, method="wilson"), abs=1e-9)


def test_d04_clopper_pearson():
    """Newcombe 1998, table I; figures from memory; statsmodels (beta quantiles) beside them."""
    assert clopper_pearson(81, 263) == pytest.approx((0.2527, 0.3676), abs=5e-5)
    for count, total in ((81, 263), (0, 10), (10, 10), (1, 29)):
        theirs = proportion_confint(count, total, method="beta")
        assert clopper_pearson(count, total) == pytest.approx(tuple(np.nan_to_num(theirs, nan=0.0)), abs=1e-8)


@pytest.mark.parametrize(
    ("count", "low", "high"),
    [
        (0, 0.0, 3.6889),
        (1, 0.0253, 5.5716),
        (2, 0.2422, 7.2247),
        (5, 1.6235, 11.6683),
        (10, 4.7954, 18.3904),
        (20, 12.2165, 30.8884),
    ],
)
def test_d05_exact_poisson(count: int, low: float, high: float):
    """Garwood 1936, Biometrika 28:437; recomputed from its definition, and that definition checked by tail sums."""
    assert garwood(count) == pytest.approx((low, high), abs=5e-5)
    assert poisson.cdf(count, garwood(count)[1]) == pytest.approx(0.025)
    if count:
        assert poisson.sf(count - 1, garwood(count)[0]) == pytest.approx(0.025)
        assert garwood(count) == pytest.approx(confint_poisson(count, 1, method="exact-c"))


def test_d06_c_chart():
    """NIST/SEMATECH e-Handbook 6.3.3.1: 25 wafers, c̄ = 16, limits 4 and 28; seen in part, rest from memory. The 25
    counts are invented to have that mean; the limits depend on the mean alone."""
    counts = [16, 14, 18, 11, 21, 15, 17, 12, 20, 16, 13, 19, 16, 10, 22, 16, 15, 17, 14, 18, 16, 9, 23, 16, 16]
    chart = c_chart([(str(n), count) for n, count in enumerate(counts)])
    assert isinstance(chart, ControlChart)
    assert chart.centre == 16
    assert {(point.lower, point.upper) for point in chart.points} == {(4.0, 28.0)}
    assert chart.signals == ()


def test_d07_u_chart():
    """ū ± 3 √(ū / n_i), not below 0; from memory. It equals the c-chart where every n_i is one unit."""
    sizes, defects = [50, 100, 200, 50, 100, 200, 50, 100], [4, 9, 22, 6, 11, 20, 5, 8]
    chart = u_chart([(str(n), d, s) for n, (d, s) in enumerate(zip(defects, sizes, strict=True))])
    assert isinstance(chart, ControlChart)
    mean = sum(defects) / sum(sizes)
    for point, size in zip(chart.points, sizes, strict=True):
        assert point.upper == pytest.approx(mean + 3 * math.sqrt(mean / size))
        assert point.lower == pytest.approx(max(0, mean - 3 * math.sqrt(mean / size)))
    unit, same = u_chart([(str(d), d, 1) for d in defects]), c_chart([(str(d), d) for d in defects])
    assert isinstance(unit, ControlChart) and isinstance(same, ControlChart)
    assert unit.points == same.points


def test_d08_p_chart():
    """NIST/SEMATECH e-Handbook 6.3.3.2: p̄ = .2313 over 30 wafers of 50 chips, limits .0524 and .4102; limits
    recomputed from p̄. 347 of 1500 is the only count that rounds to it; how it falls on the wafers is invented."""
    chart = p_chart([(str(n), 12 if n < 17 else 11, 50) for n in range(30)])
    assert isinstance(chart, ControlChart)
    assert round(chart.centre, 4) == 0.2313
    assert chart.points[0].lower == pytest.approx(0.0524, abs=1e-4)
    assert chart.points[0].upper == pytest.approx(0.4102, abs=1e-4)


def test_d10_cohens_kappa():
    """[[20, 5], [10, 15]]: p_o .70, p_e .50, κ .40; a common textbook example of Cohen 1960, from memory."""
    first = ["yes"] * 25 + ["no"] * 25
    second = ["yes"] * 20 + ["no"] * 5 + ["yes"] * 10 + ["no"] * 15
    found = cohen(first, second)
    assert isinstance(found, Agreement)
    assert (found.agreed, found.photos, found.same) == (35, 50, pytest.approx(0.70))
    assert found.kappa == pytest.approx(0.40)


def test_cohens_interval_follows_the_formula_of_fleiss_cohen_and_everitt():
    """Fleiss, Cohen and Everitt 1969, formula 13, written out for the table of D10."""
    p = np.array([[20, 5], [10, 15]]) / 50
    rows, columns, kappa, chance = p.sum(1), p.sum(0), 0.40, 0.50
    a = sum(p[i, i] * (1 - (rows[i] + columns[i]) * (1 - kappa)) ** 2 for i in range(2))
    b = (1 - kappa) ** 2 * sum(p[i, j] * (columns[i] + rows[j]) ** 2 for i in range(2) for j in range(2) if i != j)
    error = math.sqrt((a + b - (kappa - chance * (1 - kappa)) ** 2) / (50 * (1 - chance) ** 2))
    found = cohen(["y"] * 25 + ["n"] * 25, ["y"] * 20 + ["n"] * 5 + ["y"] * 10 + ["n"] * 15)
    assert isinstance(found, Agreement)
    assert (found.kappa_low, found.kappa_high) == pytest.approx((0.4 - 1.959964 * error, 0.4 + 1.959964 * error))


#: Ten subjects, fourteen raters, five categories: the worked table commonly shown for Fleiss 1971, κ = .210; from
#: memory, so statsmodels' figure stands beside it.
FLEISS = [
    (0, 0, 0, 0, 14),
    (0, 2, 6, 4, 2),
    (0, 0, 3, 5, 6),
    (0, 3, 9, 2, 0),
    (2, 2, 8, 1, 1),
    (7, 7, 0, 0, 0),
    (3, 2, 6, 3, 0),
    (2, 5, 3, 2, 2),
    (6, 5, 2, 1, 0),
    (0, 2, 2, 3, 7),
]


def test_fleiss_kappa_of_the_worked_table():
    readings = [
        SecondReading(f"photo {photo}", f"reader {reader}", answer)
        for photo, row in enumerate(FLEISS)
        for reader, answer in enumerate(a for a, count in zip("abcde", row, strict=True) for _ in range(count))
    ]
    found = fleiss(readings)
    assert isinstance(found, Agreement)
    assert found.kappa == pytest.approx(0.210, abs=5e-4)
    assert found.kappa == pytest.approx(fleiss_kappa(np.array(FLEISS)))
    assert (found.readers, found.photos, found.agreed) == (14, 10, 1)


def test_a_rate_ratio_has_the_p_value_and_the_interval_of_other_libraries():
    """p: statsmodels' exact conditional test. Interval: for rates, scipy's exact conditional odds ratio of defects
    against very many inspections without one comes close to it."""
    found = before_after("cuts", (40, 1000), (18, 900))
    assert isinstance(found, BeforeAfter)
    assert found.p_value == pytest.approx(compare_rates(18, 900, 40, 1000, method="exact-cond").pvalue)
    big = 10_000_000
    close = odds_ratio([[18, 900 * big // 1000], [40, big]], kind="conditional").confidence_interval(0.95)
    assert (found.low, found.high) == pytest.approx((close.low, close.high), rel=2e-3)
