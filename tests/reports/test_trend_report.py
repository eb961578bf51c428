"""The report of why gear was withdrawn."""

from __future__ import annotations

from datetime import date

import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.marks import Category
from inspect_core.domain.record import Retirement
from inspect_core.reports.trend_report import LIMITS, MOST_BARS, TrendReportData, trend_report
from inspect_core.trends.reasons import Share, shares
from tests.reports.reading import pages, reader, rightmost, words
from tests.reports.records import PRINTED

GROUPS = [{"cut"}] * 15 + [{"burn"}] * 4 + [{"rust", "cut"}]


def report(rows: tuple[Share, ...] | None = None, **more: object) -> bytes:
    values: dict[str, object] = {
        "split": "category",
        "shares": shares(GROUPS) if rows is None else rows,
        "since": date(2023, 1, 1),
        "until": date(2025, 6, 1),
        "printed_on": PRINTED,
    }
    return trend_report(TrendReportData(**(values | more)))  # type: ignore[arg-type]


def test_counts_shares_and_intervals_stand_in_the_table() -> None:
    text = words(report())
    assert "20 items withdrawn in this period" in text
    assert "cut 16 of 20 0.800 0.584 to 0.919" in text  # Wilson, 16 of 20, by hand from the formula
    assert "burn 4 of 20 0.200 0.081 to 0.416" in text
    assert "rust 1 of 20 0.050 0.009 to 0.236" in text


def test_the_chart_carries_the_same_numbers() -> None:
    text = words(report())
    assert "16: 0.80 (0.58 to 0.92)" in text
    assert "1: 0.05 (0.01 to 0.24)" in text


def test_period_scope_definition_and_limits_are_printed() -> None:
    text = words(report(scope="North Quay, harness"))
    assert "2023-01-01 to 2025-06-01, North Quay, harness" in text
    assert "over all items withdrawn in the period" in text
    assert "95 % interval after Wilson" in text
    for limit in LIMITS:
        assert limit in text
    assert "maker's instructions" in text


def test_an_open_start_is_said() -> None:
    assert "the first record to 2025-06-01" in words(report(since=None))


def test_nothing_withdrawn_makes_a_paper_that_says_so() -> None:
    text = words(report(()))
    assert "0 items withdrawn" in text
    assert "nothing to compare" in text


def test_one_item_prints_its_wide_interval() -> None:
    # Wilson with z = 1.95996 and 1 of 1: lower bound 1 / (1 + z²) = 0.2065.
    assert "1 of 1 1.000 0.207 to 1.000" in words(report(shares([{"cut"}])))


def test_more_rows_than_bars_are_all_in_the_table() -> None:
    rows = shares([{f"Maker {n} with a long name that runs on and on and on"} for n in range(40)])
    pdf = report(rows, split="model")
    text = words(pdf)
    assert all(f"Maker {n} with a long name that runs on and on and on" in text for n in range(40))
    assert f"The {MOST_BARS} most frequent of 40" in text
    assert rightmost(pdf) < 210 / 25.4 * 72 - 40


def test_the_items_behind_the_figures_are_listed_newest_first() -> None:
    reasons = ((Category.CUT, Component.WEBBING, "webbing-edge-cut"), (None, None, "age-over-maker-limit"))
    items = tuple(
        Retirement(f"i{n}", f"QL-{n}", Kind.HARNESS, "", "", "North Quay", date(2024, n, 1), None, reasons, None)
        for n in (1, 2, 3)
    )
    text = words(report(items=items))
    assert text.index("QL-3") < text.index("QL-2") < text.index("QL-1")
    assert "age-over-maker-limit; cut on webbing" in text


def test_the_report_repeats_byte_for_byte_and_names_itself() -> None:
    assert report() == report()
    document = reader(report())
    assert document.metadata is not None
    assert document.metadata.title == "Why gear was withdrawn"
    assert document.trailer["/Root"]["/Lang"] == "en-GB"
    assert all(f"page {n} of {len(pages(report()))}" in text for n, text in enumerate(pages(report()), start=1))


def test_rows_of_different_totals_and_dates_the_wrong_way_round_are_refused() -> None:
    with pytest.raises(BadInput, match="totals"):
        report((Share("a", 1, 2, 0.5, 0.1, 0.9), Share("b", 1, 3, 1 / 3, 0.1, 0.9)))
    with pytest.raises(BadInput, match="first day"):
        report(since=date(2026, 1, 1))
