"""The trends page as PDF: a summary, then every question with its charts and tables, and what they cannot say."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.platypus import Image

from inspect_core.domain.palette import SAFETY_YELLOW
from inspect_core.domain.record import Retirement
from inspect_core.languages import ENGLISH, Language
from inspect_core.reports.figure import Figure, as_png
from inspect_core.reports.paper import BODY_WIDTH, SMALL, STRONG, SUBTITLE, TITLE, Paper
from inspect_core.reports.typeface import SUBSTITUTED_NOTE

LIMITS = (
    "These are counts of what was found here. They do not tell how often gear fails in use, or what was missed.",
    "An item withdrawn for several reasons counts under each of them, so the shares may add up to more than 1.",
    "Intervals treat items as independent of each other. A batch withdrawn together makes them too narrow.",
    "With few items the intervals are wide. Where two intervals overlap, their order may be chance.",
    "Of twenty comparisons, about one differs by chance alone. A figure names no cause.",
    "A photo shows no hidden damage, and no reading proves strength: what nobody could see is in none of these counts.",
    "A trend lets no item back into use: the maker's instructions, local codes and a competent person come first.",
)
#: Charts and outline drawings are no larger than this on paper, so that two figures fit on a page.
_TALLEST, _DRAWING_TALLEST = 100 * mm, 62 * mm
_WIDEST = 0.72 * BODY_WIDTH
_SCALE = 2.0


@dataclass(frozen=True, slots=True)
class Section:
    """One question with the figures that answer it."""

    question: str
    figures: tuple[Figure, ...]


@dataclass(frozen=True, slots=True)
class TrendReportData:
    """What the report prints. `gear`, `period`: what was looked at, in words. `change`: the day that divides before
    and after. `head`: number and digest of the account's last entry. `items`: the withdrawals, for the last pages."""

    gear: str
    period: str
    printed_on: date
    summary: str
    sections: tuple[Section, ...]
    change: date | None = None
    head: tuple[int, str] | None = None
    items: tuple[Retirement, ...] = ()


def trend_report(data: TrendReportData, language: Language = ENGLISH) -> bytes:
    """The report as PDF bytes; the same input gives the same bytes."""
    change = f", before and after {data.change}" if data.change else ""
    paper = Paper("Trends", f"{data.gear}, {data.period}{change}", data.printed_on, language=language)
    paper.add(paper.text("Trends", TITLE), paper.text(f"{data.gear}, {data.period}{change}", SUBTITLE))
    paper.gap(6)
    paper.heading("Summary")
    paper.add(paper.text(data.summary))
    paper.heading("What these figures cannot say")
    paper.box([paper.text(f"• {limit}") for limit in LIMITS], HexColor(SAFETY_YELLOW))
    if data.head is not None:
        number, digest = data.head
        paper.gap(4)
        paper.add(
            paper.text(f"Made from the record as it stood at entry {number} of the account, SHA-256 {digest}.", SMALL)
        )
    for section in data.sections:
        paper.heading(section.question, room=70 * mm)
        for figure in section.figures:
            _figure(paper, figure)
    _items(paper, data.items)
    if paper.words.substituted:
        paper.gap(4)
        paper.add(paper.text(SUBSTITUTED_NOTE, SMALL))
    return paper.pdf(subject=f"Trends, {data.gear}, {data.period}{change}")


def _figure(paper: Paper, figure: Figure) -> None:
    paper.gap(4)
    picture = _picture(figure, paper.language)
    if picture is not None:
        paper.room(picture.drawHeight + 34 * mm)
    paper.add(paper.text(figure.title, STRONG), paper.text(figure.says))
    if picture is not None:
        paper.gap(3)
        paper.add(picture)
    paper.gap(2)
    if figure.table.rows:
        paper.table(figure.table.head, figure.table.rows, _widths(figure))
    few = (f"Too few to draw: {figure.few}",) if figure.few else ()
    told = (
        f"Counted: {figure.counted}. Period: {figure.period}. Means: {figure.means} Method: {figure.method}",
        *few,
        *figure.notes,
    )
    paper.gap(2)
    paper.add(*(paper.text(line, SMALL) for line in told))
    paper.gap(4)


def _picture(figure: Figure, language: Language) -> Image | None:
    """The chart as wide as the page has room for, or as tall."""
    if not figure.drawn:
        return None
    data = as_png(figure, _SCALE, language)
    width, height = ImageReader(io.BytesIO(data)).getSize()
    scale = min(_WIDEST / width, (_DRAWING_TALLEST if figure.drawing else _TALLEST) / height)
    return Image(io.BytesIO(data), width=width * scale, height=height * scale)


def _widths(figure: Figure) -> list[float]:
    """Shares of the page that follow the longest word of each column."""
    rows = [figure.table.head, *figure.table.rows]
    longest = [max(len(row[place]) for row in rows) for place in range(len(figure.table.head))]
    return [float(min(46, max(9, length))) for length in longest]


def _items(paper: Paper, items: Sequence[Retirement]) -> None:
    if not items:
        return
    paper.heading("The withdrawn items")
    rows = []
    for item in sorted(items, key=lambda one: (one.on, one.tag), reverse=True):
        found = {
            " on ".join(part.value for part in (category, where) if part) or rule
            for category, where, rule in item.reasons
        }
        rows.append(
            (
                item.on.isoformat(),
                paper.language.written(item.tag),
                item.kind.value,
                paper.language.written(item.site) or "no site",
                "; ".join(sorted(found)) or "not recorded",
            )
        )
    paper.table(("Withdrawn on", "Tag", "Kind", "Site", "Reasons"), rows, [14, 18, 21, 15, 32])
