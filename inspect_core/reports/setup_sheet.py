"""A set-up check on one page: the answer, every line with its source, the drawings, and room to sign.

The sheet is made from results as plain values, so an old record prints as it was decided.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from reportlab.lib.colors import HexColor, white
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Paragraph

from inspect_core.domain.decision import FindingOutcome
from inspect_core.domain.errors import BadInput
from inspect_core.domain.palette import FINDING_SIGNS, SafetySign
from inspect_core.languages import ENGLISH, Language
from inspect_core.reports.drawn_shapes import draw_shapes
from inspect_core.reports.paper import BODY, FAINT, INK, RULE, SMALL, Sheet
from inspect_core.reports.signs import draw_sign
from inspect_core.reports.typeface import BOLD, REGULAR

MARGIN = 13 * mm
GUTTER = 5 * mm
_WIDTH, _HEIGHT = A4
_INNER = _WIDTH - 2 * MARGIN
#: Text sizes tried in turn, points; below the last one the sheet refuses rather than print what nobody can read.
SIZES = (8.0, 7.5, 7.0, 6.5, 6.0)
#: Shares of the width that the lines may take beside drawings, tried in turn.
SHARES = (0.42, 0.5, 0.56)

_NO, _ASK, _GO = "do not go", "ask a competent person", "go"
_SIGNS: Mapping[str, SafetySign] = {
    _GO: FINDING_SIGNS[FindingOutcome.CLEARED],
    _ASK: FINDING_SIGNS[FindingOutcome.HOLD],
    _NO: FINDING_SIGNS[FindingOutcome.WITHDRAW],
}
_ORDER = (_NO, _ASK, _GO)


@dataclass(frozen=True, slots=True)
class SheetHead:
    """What stands on top: `place` at the site, the gear's tags, who checked, and the day of the check."""

    site: str
    place: str
    checked_by: str
    on: date
    tags: tuple[str, ...] = ()
    photo_ids: tuple[str, ...] = field(default=())


def setup_sheet(head: SheetHead, results: Sequence[Mapping[str, Any]], language: Language = ENGLISH) -> bytes:
    """One A4 page as PDF; the same input gives the same bytes.

    `results` are set-up results as plain values (check, profile, answer, lines, cautions, drawings with their shapes).
    Raises BadInput when there are none, when one is unreadable, or when they do not fit on a page.
    """
    if not results:
        raise BadInput("There is no set-up check to print.", "Run a check first.")
    try:
        answers = [str(result["answer"]) for result in results]
        worst = next(word for word in _ORDER if word in answers)
        sheet = Sheet(A4, f"Set-up check: {worst}", f"{head.site} {head.place}", head.on, language)
        top = _banner(sheet, head, results, worst)
        floor = _foot(sheet, results)
        drawings = [drawing for result in results for drawing in result["drawings"]]
        wide = _lines(sheet, results, top, top - floor, bool(drawings))
        if drawings:
            _pictures(sheet, drawings, MARGIN + wide + GUTTER, top, _INNER - wide - GUTTER, top - floor)
    except (KeyError, TypeError, ValueError, StopIteration):
        raise BadInput("A set-up result cannot be read.", "Run the check again and print its new result.") from None
    sheet.canvas.showPage()
    return sheet.pdf()


def _banner(sheet: Sheet, head: SheetHead, results: Sequence[Mapping[str, Any]], worst: str) -> float:
    """Answer and head; gives the height at which the body starts."""
    canvas, y = sheet.canvas, _HEIGHT - MARGIN
    sign = _SIGNS[worst]
    canvas.setFillColor(INK)
    checks = " + ".join(dict.fromkeys(str(result["check"]) for result in results))
    canvas.setFont(REGULAR, 9)
    canvas.drawString(MARGIN, y - 7, sheet.told(f"Set-up check: {checks}"))
    canvas.drawRightString(_WIDTH - MARGIN, y - 7, sheet.told(head.on.isoformat()))
    y -= 13
    canvas.setStrokeColor(HexColor(sign.colour))
    canvas.setLineWidth(2)
    canvas.rect(MARGIN, y - 40, _INNER, 40, stroke=1, fill=0)
    draw_sign(canvas, sign, MARGIN + 6, y - 36, 32)
    canvas.setFont(BOLD, 24)
    canvas.drawString(MARGIN + 48, y - 28, sheet.told(worst.capitalize()))
    y -= 46
    profiles = ", ".join(dict.fromkeys(str(result["profile"]) for result in results))
    facts = [f"Site {head.site}", f"place {head.place}", f"profile {profiles}", f"checked by {head.checked_by}"]
    if head.tags:
        facts.append("gear " + ", ".join(head.tags))
    if head.photo_ids:
        facts.append("photos on record " + ", ".join(name[:12] for name in head.photo_ids))
    style = ParagraphStyle("facts", parent=BODY, fontSize=8, leading=10.5)
    used = sheet.block("; ".join(facts) + ".", style, MARGIN, y, _INNER, 34)
    y -= used + 4
    canvas.setStrokeColor(RULE)
    canvas.setLineWidth(0.5)
    canvas.line(MARGIN, y, _WIDTH - MARGIN, y)
    return float(y - 5)


def _foot(sheet: Sheet, results: Sequence[Mapping[str, Any]]) -> float:
    """Cautions and signature lines at the bottom; gives the height where the body must end."""
    canvas = sheet.canvas
    cautions = dict.fromkeys(str(caution) for result in results for caution in result["cautions"])
    style = ParagraphStyle("cautions", parent=SMALL, fontSize=6.6, leading=8.4)
    paragraph = Paragraph(sheet.words.markup(sheet.told("Cautions. " + " ".join(cautions))), style)
    _, height = paragraph.wrap(_INNER, _HEIGHT)
    base = MARGIN + 22
    paragraph.drawOn(canvas, MARGIN, base)
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(0.6)
    canvas.setFillColor(FAINT)
    canvas.setFont(REGULAR, 6.6)
    third = _INNER / 3
    for place, words in enumerate(("worker", "competent person", "time")):
        x = MARGIN + place * third
        canvas.line(x, MARGIN + 9, x + third - 10, MARGIN + 9)
        canvas.drawString(x, MARGIN + 1, sheet.told(words))
    top = base + height + 4
    canvas.setStrokeColor(RULE)
    canvas.line(MARGIN, top, _WIDTH - MARGIN, top)
    return float(top + 4)


def _lines(sheet: Sheet, results: Sequence[Mapping[str, Any]], top: float, height: float, beside: bool) -> float:
    """Every line, worst first, in the largest letters that fit; gives the width used.

    With drawings `beside` them the lines take less of the width where few of them leave room for larger drawings. "Go"
    lines are shortened before letters get too small.
    """
    lines = [(str(result["check"]), line) for result in results for line in result["lines"]]
    lines.sort(key=lambda pair: _ORDER.index(str(pair[1]["answer"])))
    attempts: tuple[Callable[[float], list[tuple[str, Paragraph]]], ...] = (
        lambda size: [(str(line["answer"]), _full(sheet, check, line, size)) for check, line in lines],
        lambda size: _shortened(sheet, lines, size),
    )
    for attempt in attempts:
        for size in SIZES:
            for share in SHARES if beside else (1.0,):
                width = _INNER * share
                blocks = attempt(size)
                if sum(block.wrap(width - 14, height)[1] + 3 for _, block in blocks) <= height:
                    _place(sheet, blocks, MARGIN, top, width)
                    return float(width)
    raise BadInput("The set-up results do not fit on one page.", "Print fewer checks on one sheet.")


def _place(sheet: Sheet, blocks: Iterable[tuple[str, Paragraph]], x: float, top: float, width: float) -> None:
    y = top
    for answer, block in blocks:
        _, used = block.wrap(width - 14, _HEIGHT)
        draw_sign(sheet.canvas, _SIGNS[answer], x, y - 10, 10)
        block.drawOn(sheet.canvas, x + 14, y - used)
        y -= used + 3


def _marked_up(sheet: Sheet) -> Callable[[str], str]:
    return lambda text: sheet.words.markup(sheet.language.tell(text))


def _full(sheet: Sheet, check: str, line: Mapping[str, Any], size: float) -> Paragraph:
    mark = _marked_up(sheet)
    parts = [f"<b>{mark(str(line['topic']))}</b> <i>({mark(check)})</i>: {mark(str(line['reason']))}"]
    if line["answer"] != _GO:
        parts.append(f"<b>{mark(str(line['answer']).capitalize())}.</b> {mark(str(line['remedy']))}")
    parts.append(f'<font color="#4A525C">{mark(_source(line))}</font>')
    return Paragraph(" ".join(parts), _style(size))


def _shortened(sheet: Sheet, lines: list[tuple[str, Mapping[str, Any]]], size: float) -> list[tuple[str, Paragraph]]:
    """Lines that stop the work stay whole; those in order become one run of topics with their sources."""
    blocks = [(str(line["answer"]), _full(sheet, check, line, size)) for check, line in lines if line["answer"] != _GO]
    fine = [f"{line['topic']} [{_source(line)}]" for _, line in lines if line["answer"] == _GO]
    if fine:
        words = _marked_up(sheet)("; ".join(fine) + ".")
        start = f"<b>{sheet.told('In order')}</b> ({sheet.told('full text in the record')})"
        blocks.append((_GO, Paragraph(f"{start}: {words}", _style(size))))
    return blocks


def _source(line: Mapping[str, Any]) -> str:
    source = " ".join(str(line[key]) for key in ("source", "section") if line[key])
    basis = "" if str(line["basis"]) in source else f", {line['basis']}"
    row = f" (row {line['row']})" if line["row"] else ""
    caution = f" {line['caution']}" if line["caution"] and line["answer"] != _GO else ""
    if line["caution"] and line["answer"] == _GO and line["basis"] == "from memory":
        caution = "; check the printed text"
    return f"{source}{basis}{row}{caution}"


def _style(size: float) -> ParagraphStyle:
    return ParagraphStyle("line", parent=BODY, fontSize=size, leading=size * 1.24)


def _pictures(
    sheet: Sheet, drawings: Sequence[Mapping[str, Any]], x: float, top: float, width: float, height: float
) -> None:
    """Drawings one under the other, all at one size, as large as the column allows."""
    gaps = 6 * (len(drawings) - 1)
    tall = sum(float(drawing["height"]) for drawing in drawings)
    wide = max(float(drawing["width"]) for drawing in drawings)
    scale = min(width / wide, (height - gaps) / tall)
    if scale * wide < 40 * mm:
        raise BadInput("The drawings do not fit on one page.", "Print fewer checks on one sheet.")
    y = top
    for drawing in drawings:
        high = float(drawing["height"]) * scale
        sheet.canvas.saveState()
        sheet.canvas.setFillColor(white)
        sheet.canvas.translate(x + (width - wide * scale) / 2, y)
        sheet.canvas.scale(scale, -scale)
        draw_shapes(sheet, drawing["shapes"])
        sheet.canvas.restoreState()
        y -= high + 6
