"""One answer of the trends page as a figure: its sentence, chart, table and where its numbers come from.

The page and the PDF report print the same figures. Charts are turned into pictures by vl-convert, which carries its own
renderer; it is allowed no address to fetch from, and every chart holds its data.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import as_file, files
from typing import Any

import vl_convert

from inspect_core.domain.cells import guarded
from inspect_core.languages import ENGLISH, Language
from inspect_core.languages.charts import told_spec
from inspect_core.reports.trend_charts import inked

#: Width of a chart taken away, in pixels of its own plot; labels come on top.
WIDTH = 620
#: Pixels per unit of a picture: sharp on paper at the width of a page.
SCALE = 2.0


@dataclass(frozen=True, slots=True)
class Table:
    """Figures as text, one row per line of the chart."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    @classmethod
    def of(cls, head: Sequence[str], rows: Sequence[Sequence[object]]) -> Table:
        """A table from cells of any kind, written as text."""
        return cls(tuple(head), tuple(tuple(str(cell) for cell in row) for row in rows))

    def csv(self) -> bytes:
        """The table as UTF-8 CSV. A cell that a spreadsheet would take for a formula begins with an apostrophe."""
        out = io.StringIO()
        writer = csv.writer(out)
        for row in (self.head, *self.rows):
            writer.writerow([guarded(cell) for cell in row])
        return out.getvalue().encode()


@dataclass(frozen=True, slots=True)
class Figure:
    """One chart with everything that belongs to it.

    `name`: short, for files. `says`: the sentence it answers with. `chart`: an Altair chart, or None where there is
    only the table; `drawing`: an SVG in its place. `words`: the chart for those who cannot see it. `counted`,
    `period`, `means`, `method`: what the figures stand on. `few`: groups that are told and not drawn. `notes`: what
    else a reader must know.
    """

    name: str
    title: str
    says: str
    table: Table
    counted: str
    period: str
    means: str
    method: str
    chart: Any = None
    drawing: str = ""
    words: str = ""
    few: str = ""
    notes: tuple[str, ...] = ()

    @property
    def drawn(self) -> bool:
        """Whether there is a picture beside the table."""
        return self.chart is not None or bool(self.drawing)


def as_svg(figure: Figure, language: Language = ENGLISH) -> bytes:
    """The chart as SVG, dark on white. Raises ValueError where the figure has none."""
    if figure.drawing:
        return language.tell_html(figure.drawing).encode()
    _fonts()
    return str(vl_convert.vegalite_to_svg(_spec(figure, language), allowed_base_urls=[])).encode()


def as_png(figure: Figure, scale: float = SCALE, language: Language = ENGLISH) -> bytes:
    """The chart as PNG, dark on white, `scale` pixels to the unit. Raises ValueError where the figure has none."""
    _fonts()
    if figure.drawing:
        return bytes(vl_convert.svg_to_png(language.tell_html(figure.drawing), scale=scale))
    return bytes(vl_convert.vegalite_to_png(_spec(figure, language), scale=scale, allowed_base_urls=[]))


def _spec(figure: Figure, language: Language) -> dict[str, Any]:
    if figure.chart is None:
        raise ValueError("this figure has no chart")
    spec: dict[str, Any] = inked(figure.chart.properties(width=WIDTH), dark=False).to_dict()
    spec["config"] |= {"font": _FONT, "background": "white", "padding": 12}
    return told_spec(spec, language)


_FONT = "Bitstream Vera Sans"


@cache
def _fonts() -> None:
    """The typeface of our papers, so that a picture has its words on a machine without any font."""
    with as_file(files("reportlab") / "fonts") as folder:
        vl_convert.register_font_directory(str(folder))
