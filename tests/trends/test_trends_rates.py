"""Defect rates, control charts, before and after, funnel plots."""

from __future__ import annotations

import math
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import poisson

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Kind
from inspect_core.trends.before_after import CAUTION, BeforeAfter, before_after, clopper_pearson
from inspect_core.trends.control_charts import RUN, ControlChart, Signal, c_chart, p_chart, u_chart
from inspect_core.trends.few import TooFew
from inspect_core.trends.funnel import Funnel, Place, funnel
from inspect_core.trends.rates import InspectionCount, Rate, counts_by, garwood, more_than_poisson, rate, rates_by

# Rates -------------------------------------------------------------------------------------------------------------


def row(site: str, on: date, inspections: int, defects: int, kind: Kind = Kind.HARNESS) -> InspectionCount:
    return InspectionCount(kind, site, on, inspections, defects)


ROWS = [
    row("dock", date(2025, 1, 3), 100, 5),
    row("dock", date(2025, 2, 3), 100, 15, Kind.CONNECTOR),
    row("mast", date(2025, 12, 31), 4, 1),
    row("", date(2026, 1, 1), 50, 0),
]


def test_a_rate_is_per_100_inspections_with_the_exact_interval():
    """20 in 200; Garwood for 20: 12.2165 to 30.8884 (row D05)."""
    dock = rates_by(ROWS, "site")[0]
    assert isinstance(dock, Rate)
    assert (dock.per_100, dock.low, dock.high) == pytest.approx((10, 6.10825, 15.4442), abs=1e-4)
    assert dock.in_words == "dock: 10.0 defects per 100 inspections (95 % interval 6.1 to 15.4; 20 in 200)."


def test_no_defect_still_has_an_upper_end():
    clean = rate("x", 0, 100)
    assert isinstance(clean, Rate)
    assert (clean.low, clean.high) == (0, pytest.approx(3.6889, abs=1e-4))


@pytest.mark.parametrize(
    ("by", "expected"),
    [
        ("all", {"all": (21, 254)}),
        ("kind", {"connector": (15, 100), "harness": (6, 154)}),
        ("site", {"dock": (20, 200), "mast": (1, 4), "no site": (0, 50)}),
        ("month", {"2025-01": (5, 100), "2025-02": (15, 100), "2025-12": (1, 4), "2026-01": (0, 50)}),
        ("quarter", {"2025-Q1": (20, 200), "2025-Q4": (1, 4), "2026-Q1": (0, 50)}),
        ("year", {"2025": (21, 204), "2026": (0, 50)}),
    ],
)
def test_counts_are_split(by: str, expected: dict[str, tuple[int, int]]):
    assert counts_by(ROWS, by) == expected
    assert list(counts_by(reversed(ROWS), by)) == list(expected)


def test_few_inspections_are_told():
    assert isinstance(rate("mast", 1, 9), TooFew) and isinstance(rate("mast", 1, 10), Rate)
    assert isinstance(rate("mast", 0, 0, least_inspections=0), TooFew)


def test_counts_that_cannot_be_are_refused():
    for inspections, defects in ((-1, 0), (1, -1), (0, 1)):
        with pytest.raises(BadInput):
            row("x", date(2025, 1, 1), inspections, defects)
    with pytest.raises(BadInput):
        garwood(-1)
    with pytest.raises(BadInput):
        garwood(1, 95)


def test_scatter_beyond_poisson_is_measured():
    assert more_than_poisson([5, 5, 5], [10, 10, 10]) == 0
    assert more_than_poisson([0, 10], [10, 10]) == pytest.approx(10)
    assert math.isnan(more_than_poisson([0, 0], [10, 10])) and math.isnan(more_than_poisson([3], [10]))


@settings(max_examples=100, deadline=None)
@given(st.integers(0, 2000), st.sampled_from([0.8, 0.95, 0.998]))
def test_the_exact_interval_holds_its_count_and_leaves_the_stated_tails(count: int, confidence: float):
    low, high = garwood(count, confidence)
    assert low <= count <= high
    assert poisson.cdf(count, high) == pytest.approx((1 - confidence) / 2, rel=1e-6)
    if count:
        assert poisson.sf(count - 1, low) == pytest.approx((1 - confidence) / 2, rel=1e-6)


# Control charts ----------------------------------------------------------------------------------------------------


def chart(*counts: int, size: int = 100) -> ControlChart:
    found = u_chart([(f"m{n}", count, size) for n, count in enumerate(counts)])
    assert isinstance(found, ControlChart)
    return found


def test_a_month_above_its_limit_is_named():
    found = chart(9, 11, 10, 9, 11, 10, 10, 30, 10, 10)
    assert [(point.label, point.signals) for point in found.signals] == [("m7", (Signal.ABOVE,))]
    assert found.in_words == "M7 above the upper limit (u-chart, 10 periods)."


def test_a_month_below_its_limit_is_named():
    found = chart(30, 31, 29, 30, 32, 28, 30, 5, 31, 29)
    assert [(point.label, point.signals) for point in found.signals] == [("m7", (Signal.BELOW,))]


def test_a_point_on_its_limit_is_no_signal():
    """c̄ = 16, limits 4 and 28: 28 and 4 lie on them, 29 and 3 beyond."""
    found = c_chart([(str(n), c) for n, c in enumerate([28, 4, 16, 16, 16, 16, 16, 16])])
    assert isinstance(found, ControlChart) and found.signals == ()
    beyond = c_chart([(str(n), c) for n, c in enumerate([29, 3, 16, 16, 16, 16, 16, 16])])
    assert isinstance(beyond, ControlChart)
    assert [point.signals for point in beyond.signals] == [(Signal.ABOVE,), (Signal.BELOW,)]


def test_eight_months_on_one_side_are_a_signal_from_the_eighth_on_and_seven_are_none():
    low_then_high = [9] * RUN + [11] * RUN
    assert [(p.label, p.signals) for p in chart(*low_then_high).signals] == [
        ("m7", (Signal.RUN_BELOW,)),
        ("m15", (Signal.RUN_ABOVE,)),
    ]
    assert chart(*([9] * (RUN - 1) + [11] * (RUN - 1))).signals == ()


def test_a_month_on_the_mean_breaks_a_run():
    assert chart(9, 9, 9, 9, 10, 9, 9, 9, 9, 18).signals == ()


def test_nothing_outside_is_told_as_chance():
    assert "no more than chance" in chart(9, 11, 10, 9, 11, 10, 10, 10).in_words


def test_months_without_inspections_are_left_out_and_told():
    found = u_chart([("empty", 0, 0), *((f"m{n}", 5, 50) for n in range(8))])
    assert isinstance(found, ControlChart)
    assert found.left_out == ("empty",) and len(found.points) == 8


def test_few_months_are_told_not_drawn():
    assert isinstance(u_chart([(str(n), 5, 50) for n in range(7)]), TooFew)
    assert isinstance(u_chart([], least_periods=0), TooFew)


def test_months_in_which_few_are_expected_are_marked():
    assert all(point.coarse for point in chart(*[1] * 8, size=10).points)
    assert not any(point.coarse for point in chart(*[5] * 8).points)


def test_chart_input_that_cannot_be_is_refused():
    for periods in ([("a", -1, 5)], [("a", 1, 0)], [("a", 1, -2)]):
        with pytest.raises(BadInput):
            u_chart(periods)
    with pytest.raises(BadInput, match="u-chart"):
        p_chart([("a", 6, 5)])


def test_a_p_chart_that_is_all_or_nothing_has_no_width():
    found = p_chart([(str(n), 0, 10) for n in range(8)])
    assert isinstance(found, ControlChart)
    assert {(p.lower, p.upper, p.signals) for p in found.points} == {(0.0, 0.0, ())}


# Before and after --------------------------------------------------------------------------------------------------


def ratio(before: tuple[int, int], after: tuple[int, int]) -> BeforeAfter:
    found = before_after("cut", before, after)
    assert isinstance(found, BeforeAfter)
    return found


def test_a_clear_change_is_told_with_its_caution():
    found = ratio((60, 1000), (20, 1000))
    assert found.ratio == pytest.approx(1 / 3) and found.clear and found.p_value < 0.001
    assert "Rarer after than chance alone makes likely." in found.in_words and CAUTION in found.in_words


def test_a_difference_that_chance_can_make_is_told_so():
    found = ratio((6, 1000), (4, 1000))
    assert not found.clear
    assert "Chance alone can make this difference." in found.in_words and CAUTION in found.in_words


def test_a_change_for_the_worse_is_told():
    assert "More frequent after" in ratio((10, 1000), (60, 1000)).in_words


def test_no_defect_on_one_side_has_an_open_ratio():
    assert ratio((0, 500), (8, 500)).ratio == ratio((0, 500), (8, 500)).high == math.inf
    assert (ratio((8, 500), (0, 500)).ratio, ratio((8, 500), (0, 500)).low) == (0, 0)


def test_few_defects_before_and_after_are_told():
    assert isinstance(before_after("cut", (2, 100), (2, 100)), TooFew)
    assert isinstance(before_after("cut", (0, 100), (0, 100), least_events=0), TooFew)


def test_a_side_without_inspections_is_refused():
    with pytest.raises(BadInput, match="Nothing was inspected"):
        before_after("cut", (0, 0), (5, 100))
    with pytest.raises(BadInput):
        before_after("cut", (-1, 10), (5, 100))
    with pytest.raises(BadInput):
        clopper_pearson(3, 2)


@settings(max_examples=80, deadline=None)
@given(st.integers(0, 200), st.integers(0, 200), st.integers(1, 5000), st.integers(1, 5000))
def test_the_interval_holds_the_ratio_and_turns_with_it(first: int, second: int, before: int, after: int):
    found, turned = (
        before_after("x", (first, before), (second, after)),
        before_after("x", (second, after), (first, before)),
    )
    if isinstance(found, TooFew) or isinstance(turned, TooFew):
        assert first + second < 5
        return
    assert found.low <= found.ratio * (1 + 1e-9) and found.ratio <= found.high * (1 + 1e-9)
    if found.low > 0:
        assert turned.high == pytest.approx(1 / found.low, rel=1e-6)


# Funnel ------------------------------------------------------------------------------------------------------------


def test_inspectors_beyond_the_limits_are_placed():
    """Rate 10 per 100 together is near; limits for 100 inspections are Poisson quantiles, found here by counting."""
    counts = {f"p{n}": (10, 100) for n in range(20)} | {"high": (25, 100), "low": (1, 100), "edge": (18, 100)}
    found = funnel(counts)
    assert isinstance(found, Funnel)
    mean = sum(d for d, _ in counts.values()) / len(counts)
    place = {point.label: point for point in found.points}
    for level, limits in zip((0.95, 0.998), place["p0"].limits, strict=True):
        tail = (1 - level) / 2
        low = next(k for k in range(100) if poisson.cdf(k, mean) >= tail)
        high = next(k for k in range(100) if poisson.cdf(k, mean) >= 1 - tail)
        assert limits == (low, high)
    assert place["high"].place is Place.ABOVE_998
    assert place["low"].place is Place.BELOW_998
    assert place["edge"].place is Place.ABOVE_95
    assert place["p0"].place is Place.WITHIN
    assert "not a mark of skill" in found.in_words


def test_an_inspector_on_a_limit_is_not_beyond_it():
    """Each count in turn for one inspector among many: it lies outside exactly where its own limits say so."""
    places = set()
    for count in range(31):
        found = funnel({f"p{n}": (10, 100) for n in range(40)} | {"one": (count, 100)})
        assert isinstance(found, Funnel)
        one = next(point for point in found.points if point.label == "one")
        (low, high), (lower, upper) = one.limits
        expected = (
            Place.BELOW_998
            if count < lower
            else Place.ABOVE_998
            if count > upper
            else Place.BELOW_95
            if count < low
            else Place.ABOVE_95
            if count > high
            else Place.WITHIN
        )
        assert one.place is expected
        places.add(one.place)
    assert places == set(Place)


def test_limits_narrow_with_more_inspections():
    found = funnel({"a": (5, 50), "b": (50, 500), "c": (200, 2000)})
    assert isinstance(found, Funnel)
    widths = [high - low for _, low, high, _, _ in found.curve]
    assert widths[0] > widths[-1] and found.curve[0][0] == 50 and found.curve[-1][0] == 2000
    assert all(outer_low <= low and high <= outer_high for _, low, high, outer_low, outer_high in found.curve)


def test_few_inspectors_or_defects_are_told():
    assert isinstance(funnel({"a": (50, 100), "b": (5, 100)}), TooFew)
    assert isinstance(funnel({"a": (3, 100), "b": (3, 100), "c": (3, 100)}), TooFew)


def test_an_inspector_without_inspections_is_refused():
    with pytest.raises(BadInput, match="counts of b"):
        funnel({"a": (5, 100), "b": (0, 0)})
