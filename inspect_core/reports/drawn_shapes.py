"""Draws the plain shapes of a set-up drawing on paper: the same geometry that the screen shows as SVG."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from reportlab.lib.colors import HexColor, white
from reportlab.pdfbase.pdfmetrics import stringWidth

from inspect_core.reports.paper import Sheet
from inspect_core.reports.typeface import BOLD, REGULAR

_EVEN_ODD = 0


def draw_shapes(sheet: Sheet, shapes: Iterable[Mapping[str, Any]]) -> None:
    """Paint shapes in order on the sheet's canvas, whose frame must already be x right, y down."""
    for shape in shapes:
        sheet.canvas.saveState()
        _DRAW[str(shape["type"])](sheet, shape)
        sheet.canvas.restoreState()


def _ink(sheet: Sheet, shape: Mapping[str, Any]) -> tuple[int, int]:
    """Set colours and widths; gives (stroke, fill) as reportlab's flags."""
    canvas = sheet.canvas
    stroke, fill = shape["stroke"] != "none", shape["fill"] != "none"
    if stroke:
        canvas.setStrokeColor(HexColor(str(shape["stroke"])))
        canvas.setLineWidth(float(shape["width"]))
        canvas.setDash(list(shape["dash"]))
    if fill:
        canvas.setFillColor(HexColor(str(shape["fill"])))
        canvas.setFillAlpha(float(shape["opacity"]))
    return int(stroke), int(fill)


def _path(sheet: Sheet, shape: Mapping[str, Any]) -> None:
    stroke, fill = _ink(sheet, shape)
    path = sheet.canvas.beginPath()
    for ring in shape["rings"]:
        for place, (x, y) in enumerate(ring):
            (path.lineTo if place else path.moveTo)(float(x), float(y))
        if shape["closed"] and ring:
            path.close()
    sheet.canvas.drawPath(path, stroke=stroke, fill=fill, fillMode=_EVEN_ODD)


def _disc(sheet: Sheet, shape: Mapping[str, Any]) -> None:
    stroke, fill = _ink(sheet, shape)
    sheet.canvas.circle(float(shape["x"]), float(shape["y"]), float(shape["r"]), stroke=stroke, fill=fill)


def _text(sheet: Sheet, shape: Mapping[str, Any]) -> None:
    """Lettering with a white rim, turned upright again: the frame's y runs down."""
    canvas, size = sheet.canvas, float(shape["size"])
    font = BOLD if shape["bold"] else REGULAR
    words = sheet.told(str(shape["text"]))
    # The paper's face runs wider than a screen's, and drawings leave room for the screen's.
    size *= 0.88
    shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[str(shape["at"])] * stringWidth(words, font, size)
    canvas.translate(float(shape["x"]) - shift, float(shape["y"]))
    canvas.scale(1, -1)
    canvas.setFont(font, size)
    canvas.setStrokeColor(white)
    canvas.setFillColor(white)
    canvas.setLineWidth(2.4)
    canvas.setLineJoin(1)
    canvas.drawString(0, 0, words, mode=2)
    canvas.setFillColor(HexColor(str(shape["colour"])))
    canvas.drawString(0, 0, words, mode=0)


_DRAW = {"path": _path, "disc": _disc, "text": _text}
