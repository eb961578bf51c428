"""Things drawn as vectors: safety signs after ISO 3864-1 and QR symbols."""

from __future__ import annotations

from typing import Any

import segno
from reportlab.lib.colors import HexColor
from reportlab.platypus import Flowable

from inspect_core.domain.palette import SafetySign, SignShape


def draw_sign(canvas: Any, sign: SafetySign, x: float, y: float, side: float) -> None:
    """Draw a sign into the square with lower left corner (x, y), lengths in points.

    Safe condition: green square with a tick. Warning: yellow triangle with a black border and an exclamation mark.
    Prohibition: red ring with a bar from upper left to lower right, white inside.
    """
    canvas.saveState()
    canvas.translate(x, y)
    canvas.scale(side / 100, side / 100)
    canvas.setLineJoin(1)
    {
        SignShape.SQUARE: _square,
        SignShape.TRIANGLE: _triangle,
        SignShape.PROHIBITION: _prohibition,
    }[sign.shape](canvas, HexColor(sign.colour), HexColor(sign.contrast))
    canvas.restoreState()


def _square(canvas: Any, colour: HexColor, contrast: HexColor) -> None:
    canvas.setFillColor(colour)
    canvas.rect(2, 2, 96, 96, stroke=0, fill=1)
    canvas.setStrokeColor(contrast)
    canvas.setLineWidth(13)
    canvas.setLineCap(1)
    tick = canvas.beginPath()
    tick.moveTo(23, 50)
    tick.lineTo(42, 29)
    tick.lineTo(78, 72)
    canvas.drawPath(tick, stroke=1, fill=0)


def _triangle(canvas: Any, colour: HexColor, contrast: HexColor) -> None:
    # An equilateral triangle of side 96 is 83 high.
    outline = canvas.beginPath()
    outline.moveTo(5, 11)
    outline.lineTo(95, 11)
    outline.lineTo(50, 89)
    outline.close()
    canvas.setStrokeColor(contrast)
    canvas.setFillColor(colour)
    canvas.setLineWidth(8)
    canvas.drawPath(outline, stroke=1, fill=1)
    canvas.setFillColor(contrast)
    stem = canvas.beginPath()
    stem.moveTo(44.5, 64)
    stem.lineTo(55.5, 64)
    stem.lineTo(53, 36)
    stem.lineTo(47, 36)
    stem.close()
    canvas.drawPath(stem, stroke=0, fill=1)
    canvas.circle(50, 26, 5.5, stroke=0, fill=1)


def _prohibition(canvas: Any, colour: HexColor, contrast: HexColor) -> None:
    # Ring a tenth of the diameter wide, bar 8 %: proportions of ISO 3864-1, from memory.
    canvas.setFillColor(contrast)
    canvas.setStrokeColor(colour)
    canvas.setLineWidth(10)
    canvas.circle(50, 50, 43, stroke=1, fill=1)
    canvas.setLineWidth(8)
    reach = 43 / 2**0.5
    canvas.line(50 - reach, 50 + reach, 50 + reach, 50 - reach)


class Sign(Flowable):  # type: ignore[misc]
    """A safety sign in the run of a page; `side` in points."""

    def __init__(self, sign: SafetySign, side: float) -> None:
        super().__init__()
        self.sign = sign
        self.width = self.height = side

    def wrap(self, *_: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        draw_sign(self.canv, self.sign, 0, 0, self.width)


def draw_qr(canvas: Any, payload: str, x: float, y: float, side: float) -> None:
    """Draw a QR symbol (error correction level M or better) with its quiet zone of four modules into a square."""
    symbol = segno.make_qr(payload, error="m")
    rows = [bytes(row) for row in symbol.matrix_iter(scale=1, border=4)]
    module = side / len(rows)
    canvas.saveState()
    canvas.setFillColor(HexColor("#FFFFFF"))
    canvas.rect(x, y, side, side, stroke=0, fill=1)
    canvas.setFillColor(HexColor("#000000"))
    path = canvas.beginPath()
    for line, row in enumerate(rows):
        start = 0
        while (dark := row.find(1, start)) >= 0:
            light = row.find(0, dark)
            start = light if light >= 0 else len(row)
            path.rect(x + dark * module, y + side - (line + 1) * module, (start - dark) * module, module)
    canvas.drawPath(path, stroke=0, fill=1)
    canvas.restoreState()


class QrCode(Flowable):  # type: ignore[misc]
    """A QR symbol in the run of a page; `side` in points, quiet zone included."""

    def __init__(self, payload: str, side: float) -> None:
        super().__init__()
        self.payload = payload
        self.width = self.height = side

    def wrap(self, *_: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        draw_qr(self.canv, self.payload, 0, 0, self.width)
