"""Labels that tie a piece of gear to its record: a QR code, the tag in large letters, kind and serial."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType

from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Item
from inspect_core.languages import ENGLISH, Language
from inspect_core.reports.paper import INK, LABEL, RULE, SMALL, Sheet
from inspect_core.reports.signs import draw_qr
from inspect_core.reports.typeface import BOLD


@dataclass(frozen=True, slots=True)
class Grid:
    """How labels lie on a page; lengths in millimetres, margins at the left and the top, gaps between labels."""

    page: tuple[float, float]
    columns: int
    rows: int
    width: float
    height: float
    left: float = 0.0
    top: float = 0.0
    gap: float = 0.0

    @property
    def per_page(self) -> int:
        return self.columns * self.rows


_A4 = (210.0, 297.0)
#: Sheets and rolls that stationers sell everywhere (common practice, no source).
GRIDS: Mapping[str, Grid] = MappingProxyType(
    {
        "A4, 21 labels of 63.5 × 38.1 mm": Grid(_A4, 3, 7, 63.5, 38.1, 7.25, 15.15, 2.5),
        "A4, 14 labels of 99.1 × 38.1 mm": Grid(_A4, 2, 7, 99.1, 38.1, 4.65, 15.15, 2.5),
        "A4, 24 labels of 70 × 37 mm": Grid(_A4, 3, 8, 70.0, 37.0, 0.0, 0.5),
        "roll, 62 × 32 mm": Grid((62.0, 32.0), 1, 1, 62.0, 32.0),
    }
)
SHEET = next(iter(GRIDS))
ROLL = "roll, 62 × 32 mm"
_PAD = 2.0 * mm
_TINY = ParagraphStyle("tiny", parent=LABEL, fontSize=6.6, leading=8.2)


def item_payload(tag: str) -> str:
    """What the QR code of an item's label holds."""
    return f"bartack:item:{tag}"


def item_labels(
    items: Sequence[Item], *, printed_on: date, grid: str = SHEET, skip: int = 0, language: Language = ENGLISH
) -> bytes:
    """A PDF of labels, one for each item in the order given; the same input gives the same bytes.

    `grid`: a key of GRIDS. `skip`: places already used up on the first sheet. Raises BadInput where there is nothing
    to print, the grid is unknown, or `skip` does not fit on one sheet.
    """
    layout = GRIDS.get(grid)
    if layout is None:
        raise BadInput(f"“{grid}” is no known label sheet.", f"Use one of: {'; '.join(GRIDS)}.")
    if not items:
        raise BadInput("There is no item to print a label for.", "Pick at least one item.")
    if not 0 <= skip < layout.per_page:
        raise BadInput(
            f"{skip} used places do not fit on a sheet of {layout.per_page}.",
            f"Give a number from 0 to {layout.per_page - 1}.",
        )
    page = (layout.page[0] * mm, layout.page[1] * mm)
    sheet = Sheet(page, "Item labels", f"{len(items)} labels", printed_on, language)
    for place, item in enumerate(items, start=skip):
        at = place % layout.per_page
        if at == 0 and place > skip:
            sheet.canvas.showPage()
        column, row = at % layout.columns, at // layout.columns
        x = (layout.left + column * (layout.width + layout.gap)) * mm
        y = page[1] - (layout.top + (row + 1) * layout.height) * mm
        _draw(sheet, item, x, y, layout.width * mm, layout.height * mm, outline=page == A4)
    sheet.canvas.showPage()
    return sheet.pdf()


def _draw(sheet: Sheet, item: Item, x: float, y: float, width: float, height: float, *, outline: bool) -> None:
    canvas = sheet.canvas
    canvas.saveState()
    if outline:
        canvas.setStrokeColor(RULE)
        canvas.setLineWidth(0.2)
        canvas.roundRect(x, y, width, height, 4, stroke=1, fill=0)
    side = min(height - 2 * _PAD, 0.44 * width)
    draw_qr(canvas, item_payload(item.tag), x + _PAD, y + (height - side) / 2, side)
    left = x + _PAD + side + 1.0 * mm
    room = x + width - _PAD - left
    top = y + height - 3.5 * mm
    lines = _tag_lines(sheet, item.tag, room)
    size = min(sheet.fitted(line, BOLD, 20, 0, room) for line in lines)
    canvas.setFillColor(INK)
    canvas.setFont(BOLD, size)
    for line in lines:
        top -= size
        canvas.drawString(left, top, line)
        top -= 0.15 * size
    top -= 1.2 * mm
    bottom = y + _PAD
    for text, style in (
        (item.kind.value, SMALL),
        (f"Serial {sheet.language.written(item.serial)}" if item.serial else "", SMALL),
    ):
        if text:
            top -= sheet.block(text, style, left, top, room, max(10.0, (top - bottom) / 2))
    if top - bottom > 18:
        sheet.block("Check before every use.", _TINY, left, bottom + 9.5, room, 18)
    canvas.restoreState()


def _tag_lines(sheet: Sheet, tag: str, room: float) -> list[str]:
    """The tag in as few lines (at most three) as let it be read from arm's length, parted after a sign if it can be."""
    for parts in (1, 2, 3):
        lines = _parted(tag, parts)
        if min(sheet.fitted(line, BOLD, 20, 0, room) for line in lines) >= 11:
            break
    return lines


def _parted(tag: str, parts: int) -> list[str]:
    """The tag cut into about equal parts; a sign within two places of a cut draws the cut to itself."""
    lines, rest = [], tag
    for left in range(parts, 1, -1):
        cut = max(1, round(len(rest) / left))
        near = [match.end() for match in re.finditer(r"[-._/]", rest) if abs(match.end() - cut) <= 2]
        cut = min(near, key=lambda place: abs(place - cut), default=cut)
        lines.append(rest[:cut])
        rest = rest[cut:]
    return [line for line in (*lines, rest) if line]
