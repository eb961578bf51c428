"""The trends page as a paper: summary, every question with chart and table, limits, and the record it was made from."""

from __future__ import annotations

from datetime import date

import pandas as pd

from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.marks import Category
from inspect_core.domain.record import Retirement
from inspect_core.reports import trend_charts
from inspect_core.reports.figure import Figure, Table
from inspect_core.reports.trend_report import LIMITS, Section, TrendReportData, trend_report
from tests.reports.reading import pages, reader, rightmost, words
from tests.reports.records import PRINTED

HEAD = (412, "ab" * 32)


def figure(rows: int = 2, *, drawn: bool = True, **more: object) -> Figure:
    labels = [f"Group {n} with a long name that runs on and on" for n in range(rows)]
    table = Table.of(("Group", "Items", "95 % interval"), [(label, "16 of 20", "58% to 92%") for label in labels])
    frame = pd.DataFrame({"label": labels, "value": 0.8, "low": 0.58, "high": 0.92})
    values: dict[str, object] = {
        "name": "withdrawals",
        "title": "Share of withdrawn items",
        "says": "Cut: 16 of 20 withdrawn items.",
        "table": table,
        "counted": "20 withdrawals, every site",
        "period": "2023-01-01 to 2025-06-01",
        "means": "bar: share.",
        "method": "Wilson's score interval.",
        "chart": trend_charts.ranked(frame, "Share", share=True) if drawn else None,
    }
    return Figure(**(values | more))  # type: ignore[arg-type]


def report(*figures: Figure, **more: object) -> bytes:
    values: dict[str, object] = {
        "gear": "every kind, North Quay",
        "period": "2023-01-01 to 2025-06-01",
        "printed_on": PRINTED,
        "summary": "20 items were withdrawn. Cut leads.",
        "sections": (Section("Why is gear withdrawn?", figures or (figure(),)),),
        "head": HEAD,
    }
    return trend_report(TrendReportData(**(values | more)))  # type: ignore[arg-type]


def images(pdf: bytes) -> int:
    return sum(len(page.images) for page in reader(pdf).pages)


def test_summary_scope_limits_and_the_head_of_the_account_stand_first() -> None:
    first = pages(report(change=date(2024, 5, 1)))[0]
    assert "20 items were withdrawn. Cut leads." in first
    assert "every kind, North Quay, 2023-01-01 to 2025-06-01, before and after 2024-05-01" in first
    assert all(limit in first for limit in LIMITS)
    assert "A photo shows no hidden damage" in first
    assert "entry 412 of the account" in first and "ab" * 8 in first.replace(" ", "")


def test_every_figure_has_its_sentence_picture_table_and_source() -> None:
    text = words(report())
    assert "Why is gear withdrawn?" in text and "Cut: 16 of 20 withdrawn items." in text
    assert "Group 0 with a long name that runs on and on 16 of 20 58% to 92%" in text
    assert "Counted: 20 withdrawals, every site. Period: 2023-01-01 to 2025-06-01." in text
    assert "Method: Wilson's score interval." in text
    assert images(report()) == 1


def test_what_is_told_and_not_drawn_has_no_picture() -> None:
    pdf = report(figure(drawn=False, few="harness (3, 1). At least 10 items are needed.", notes=("Few items.",)))
    assert images(pdf) == 0
    assert "Too few to draw: harness (3, 1)." in words(pdf) and "Few items." in words(pdf)


def test_long_tables_are_whole_and_stay_on_the_page() -> None:
    pdf = report(figure(90))
    assert all(f"Group {n} with a long name" in words(pdf) for n in range(90))
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
    assert document.metadata.title == "Trends"
    assert document.trailer["/Root"]["/Lang"] == "en-GB"
    assert all(f"page {n} of {len(pages(report()))}" in text for n, text in enumerate(pages(report()), start=1))
