"""The tag that is hung on gear which must not be used: A6, with a hole, readable from some steps away."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from reportlab.lib.colors import HexColor, white
from reportlab.lib.pagesizes import A6
from reportlab.lib.units import mm

from inspect_core.domain.custody import Standing, State
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Item
from inspect_core.domain.palette import STATE_SIGNS, SafetySign
from inspect_core.languages import ENGLISH, Language
from inspect_core.reports.item_labels import item_payload
from inspect_core.reports.paper import BODY, INK, LABEL, RULE, SMALL, Sheet
from inspect_core.reports.signs import draw_qr, draw_sign
from inspect_core.reports.typeface import BOLD

_WIDTH, _HEIGHT = A6
_EDGE = 7 * mm
_BAND = 58 * mm
_NEXT = {
    State.ON_HOLD: "Only a competent person takes this tag off, after an inspection in detail.",
    State.WITHDRAWN: "Do not mend it, do not lend it. It stays out until it is destroyed in front of a witness.",
}


@dataclass(frozen=True, slots=True)
class TagData:
    """What a tag prints. `by`: name of who put the item there. `inspection_id`: the inspection behind it, if any."""

    item: Item
    standing: Standing
    by: str
    inspection_id: str | None = None


def withdrawal_tag(data: TagData, language: Language = ENGLISH) -> bytes:
    """The tag as a one-page PDF in A6; the same input gives the same bytes.

    Raises BadInput where the item is neither on hold nor withdrawn, or the standing is another item's.
    """
    state = data.standing.state
    if state not in _NEXT:
        raise BadInput(
            f"{data.item.tag} is {state.value}, so it needs no such tag.", "Put it on hold or withdraw it first."
        )
    if data.standing.item_id != data.item.id:
        raise BadInput("The standing belongs to another item.", "Read the item and its standing anew.")
    sign = STATE_SIGNS[state]
    since = data.standing.since
    tag = language.written(data.item.tag)
    title, subject = f"{sign.word} – do not use: {tag}", f"{data.item.kind.value} {tag}"
    sheet = Sheet(A6, title, subject, since.date(), language)
    _band(sheet, sign)
    _body(sheet, data)
    sheet.canvas.showPage()
    return sheet.pdf()


def _band(sheet: Sheet, sign: SafetySign) -> None:
    """Safety colour with the hole, the sign on white, and the words in the contrast colour."""
    canvas: Any = sheet.canvas
    canvas.setFillColor(HexColor(sign.colour))
    canvas.rect(0, _HEIGHT - _BAND, _WIDTH, _BAND, stroke=0, fill=1)
    canvas.setFillColor(white)
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(0.6)
    canvas.setDash(2, 2)
    canvas.circle(_WIDTH / 2, _HEIGHT - 9 * mm, 3.5 * mm, stroke=1, fill=1)
    canvas.setDash()
    canvas.roundRect(_EDGE, _HEIGHT - 46 * mm, 29 * mm, 29 * mm, 4, stroke=0, fill=1)
    draw_sign(canvas, sign, _EDGE + 2 * mm, _HEIGHT - 44 * mm, 25 * mm)
    canvas.setFillColor(HexColor(sign.contrast))
    left, room = _EDGE + 33 * mm, _WIDTH - 2 * _EDGE - 33 * mm
    for words, y in ((sheet.told(sign.word), 29 * mm), (sheet.told("do not use"), 41 * mm)):
        canvas.setFont(BOLD, sheet.fitted(words, BOLD, 26, 10, room))
        canvas.drawString(left, _HEIGHT - y, words)
    canvas.setFont(BOLD, 7.4)
    canvas.drawCentredString(_WIDTH / 2, _HEIGHT - 53.5 * mm, sheet.told("Leave this tag on the gear"))


def _body(sheet: Sheet, data: TagData) -> None:
    canvas: Any = sheet.canvas
    item, standing = data.item, data.standing
    qr = 30 * mm
    room = _WIDTH - 2 * _EDGE
    y = _HEIGHT - _BAND - 9.5 * mm
    canvas.setFillColor(INK)
    canvas.setFont(BOLD, sheet.fitted(item.tag, BOLD, 20, 0, room))
    canvas.drawString(_EDGE, y, item.tag)
    y -= 2 * mm
    serial = f", serial {sheet.language.written(item.serial)}" if item.serial else ""
    y -= sheet.block(f"{item.kind.value}{serial}", BODY, _EDGE, y, room, 24)
    y -= 2 * mm
    y -= sheet.block("Reason", LABEL, _EDGE, y, room, 12)
    sheet.block(sheet.language.mixed(standing.reason) or "not recorded", BODY, _EDGE, y, room, y - 47 * mm)
    _line(canvas, 46 * mm)
    sheet.block(_NEXT[standing.state], SMALL, _EDGE, 44.5 * mm, room, 22)
    lines = (
        ("Since", f"{standing.since:%Y-%m-%d}"),
        ("By", sheet.language.written(data.by) or "not recorded"),
        ("Inspection", data.inspection_id or "none"),
    )
    y = 36 * mm
    for label, text in lines:
        y -= sheet.block(label, LABEL, _EDGE, y, room - qr, 12)
        y -= sheet.block(text, SMALL, _EDGE, y, room - qr - 2 * mm, 20) + 1.2 * mm
    # The same code as on the item's label, so that a photo of either opens the item.
    draw_qr(canvas, item_payload(item.tag), _WIDTH - _EDGE - qr + 2 * mm, 6 * mm, qr)


def _line(canvas: Any, y: float) -> None:
    canvas.setStrokeColor(RULE)
    canvas.setLineWidth(0.6)
    canvas.line(_EDGE, y, _WIDTH - _EDGE, y)
