"""A figure taken away: spreadsheets are given no formula, pictures are drawn from the chart's own data alone."""

from __future__ import annotations

import csv
import io

import pandas as pd
import pytest
from PIL import Image

from inspect_core.reports import trend_charts
from inspect_core.reports.figure import WIDTH, Figure, Table, as_png, as_svg

SHARES = pd.DataFrame(
    {"label": ["cut", "burn"], "value": [0.4, 0.2], "low": [0.2, 0.1], "high": [0.6, 0.4], "together": [0.4, 0.6]}
)
SIDES = ("before 2026-01-01", "from 2026-01-01 on")


def figure(chart: object = None, drawing: str = "", rows: tuple[tuple[str, ...], ...] = ()) -> Figure:
    table = Table(("Group", "Share"), rows)
    return Figure("f", "t", "s.", table, "c", "p", "m.", "x.", chart=chart, drawing=drawing)


CHARTS = {
    "ranked": trend_charts.ranked(SHARES, "Share", share=True),
    "sides": trend_charts.sides(
        pd.DataFrame(
            [("cut", side, 0.4, 0.2, 0.6) for side in SIDES], columns=["label", "side", "value", "low", "high"]
        ),
        "Share",
        SIDES,
        share=True,
    ),
    "bars": trend_charts.bars(SHARES, "Cost"),
    "stacked": trend_charts.stacked(
        pd.DataFrame([("2026-01", "due", 3, 0), ("2026-01", "age", 1, 1)], columns=["label", "part", "value", "order"]),
        "Items",
        ("due", "age"),
    ),
    "steps": trend_charts.steps(
        pd.DataFrame(
            {"group": ["a", "a", "b", "b"], "years": [0, 1, 0, 2], "share": [1.0, 0.5, 1.0, 0.7]},
        ),
        ["a", "b"],
        "Share",
    ),
    "control": trend_charts.control(
        pd.DataFrame(
            {
                "month": pd.to_datetime(["2026-01-01", "2026-02-01"]),
                "value": [0.1, 0.9],
                "centre": 0.2,
                "lower": 0.0,
                "upper": 0.5,
                "signal": ["", "above the upper limit"],
            }
        ),
        "Defects",
    ),
    "funnel": trend_charts.funnel(
        pd.DataFrame({"label": ["one"], "inspections": [100], "per_100": [4.0], "outside": [True], "found": ["4"]}),
        pd.DataFrame({"inspections": [50, 150], "per_100": [1.0, 2.0], "limit": ["95 % low", "95 % low"]}),
        3.0,
    ),
}


@pytest.mark.parametrize("start", ["=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx", "\uff1d1"])
def test_no_cell_is_a_formula_to_a_spreadsheet(start: str) -> None:
    """The signs are those of OWASP's page on CSV injection."""
    rows = list(csv.reader(io.StringIO(Table.of(("Group", start), [(start, 3)]).csv().decode(), newline="")))
    assert rows[0] == ["Group", f"'{start}"]
    assert rows[1] == [f"'{start}", "3"]


def test_cells_with_commas_quotes_and_letters_come_back_as_they_were() -> None:
    cells = ("a, b", 'say "cut"', "Übung – 5 %")
    assert list(csv.reader(io.StringIO(Table.of(cells, [cells]).csv().decode()))) == [list(cells)] * 2


@pytest.mark.parametrize("name", CHARTS)
def test_every_chart_is_drawn_as_svg_and_png(name: str) -> None:
    one = figure(CHARTS[name])
    svg = as_svg(one).decode()
    assert svg.startswith("<svg") and "http://www.w3.org/2000/svg" in svg
    image = Image.open(io.BytesIO(as_png(one, 1.0)))
    assert image.format == "PNG" and image.width >= WIDTH
    assert as_png(one, 1.0) == as_png(one, 1.0)
    assert len(image.convert("L").getcolors() or []) > 20  # something is drawn on the white


def test_an_outline_drawing_is_taken_away_as_it_is() -> None:
    drawing = '<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20"><rect width="40" height="20"/></svg>'
    one = figure(drawing=drawing)
    assert as_svg(one).decode() == drawing
    assert Image.open(io.BytesIO(as_png(one, 2.0))).size == (80, 40)


def test_a_figure_without_a_picture_has_none_to_give() -> None:
    assert not figure().drawn
    with pytest.raises(ValueError, match="no chart"):
        as_svg(figure())


def test_the_shades_of_what_stands_beside_each_other_differ_in_grey() -> None:
    """Luma after ITU-R BT.601, of 255; forty apart is a choice that prints."""

    def luma(colour: str) -> float:
        red, green, blue = (int(colour[place : place + 2], 16) for place in (1, 3, 5))
        return 0.299 * red + 0.587 * green + 0.114 * blue

    assert abs(luma(trend_charts.BAR) - luma(trend_charts.INTERVAL)) > 40
    shades = sorted(luma(colour) for colour in trend_charts.STACK)
    assert all(high - low > 40 for low, high in zip(shades, shades[1:], strict=False))
