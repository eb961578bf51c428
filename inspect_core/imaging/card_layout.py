"""The printable scale card: where everything on it lies, and its two printed forms.

Frame: millimetres from the card's upper left corner, x right, y down. One list of primitives is painted twice,
as PDF (true size) and as pixels (for rendering tests), so both show the same card.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from inspect_core.imaging.plane import Array

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

#: Version of this layout; the marker numbers belong to it.
CARD_VERSION = 1
WIDTH_MM, HEIGHT_MM = 150.0, 66.0
MARKER_MM = 14.0
_DICTIONARY = cv2.aruco.DICT_5X5_50
_COLUMNS = (4.0, 46.0, 90.0, 132.0)
_TOP, _BOTTOM = 4.0, 38.0
#: Marker number to its upper left corner on the card, in mm.
MARKERS = MappingProxyType(
    {10 + i: (x, _TOP) for i, x in enumerate(_COLUMNS)} | {14 + i: (x, _BOTTOM) for i, x in enumerate(_COLUMNS)}
)
#: The printed rule that is checked with a steel rule: from (x, y), this long, to the right.
RULE_FROM, RULE_MM = (5.0, HEIGHT_MM), 140.0

Colour = tuple[int, int, int]
#: Nominal sRGB of the patches, left to right: six greys, then six colours spread around the hue circle.
PATCHES: tuple[tuple[str, Colour], ...] = (
    ("white", (243, 243, 243)),
    ("light grey", (200, 200, 200)),
    ("grey", (160, 160, 160)),
    ("mid grey", (122, 122, 122)),
    ("dark grey", (85, 85, 85)),
    ("black", (50, 50, 50)),
    ("red", (176, 54, 60)),
    ("orange", (215, 123, 42)),
    ("yellow", (232, 200, 34)),
    ("green", (70, 148, 73)),
    ("cyan", (20, 134, 162)),
    ("blue", (58, 66, 148)),
)
_PATCH_TOP, _PATCH_WIDE, _PATCH_HIGH, _PATCH_STEP = 21.0, 10.5, 14.0, 11.7


def dictionary() -> cv2.aruco.Dictionary:
    """The marker dictionary of the card."""
    return cv2.aruco.getPredefinedDictionary(_DICTIONARY)


def marker_corners(number: int) -> Array:
    """(4, 2) card millimetres: upper left, upper right, lower right, lower left."""
    x, y = MARKERS[number]
    side = MARKER_MM
    return np.array([[x, y], [x + side, y], [x + side, y + side], [x, y + side]])


def patch_box(index: int) -> tuple[float, float, float, float]:
    """(left, top, right, bottom) of a colour patch in card millimetres."""
    left = 5.0 + index * _PATCH_STEP
    return left, _PATCH_TOP, left + _PATCH_WIDE, _PATCH_TOP + _PATCH_HIGH


@dataclass(frozen=True, slots=True)
class _Block:
    """A filled rectangle in card millimetres."""

    left: float
    top: float
    wide: float
    high: float
    colour: Colour = (0, 0, 0)


@dataclass(frozen=True, slots=True)
class _Words:
    """Text with its baseline's left end in card millimetres and its height in mm."""

    left: float
    base: float
    high: float
    text: str


def _blocks() -> list[_Block]:
    blocks = [_Block(0, 0, WIDTH_MM, HEIGHT_MM, (255, 255, 255))]
    cell = MARKER_MM / 7
    for number, (x, y) in MARKERS.items():
        bits = cv2.aruco.generateImageMarker(dictionary(), number, 7, borderBits=1)
        blocks.append(_Block(x, y, MARKER_MM, MARKER_MM))
        blocks += [
            _Block(x + column * cell, y + row * cell, cell, cell, (255, 255, 255))
            for row, column in zip(*np.nonzero(bits), strict=True)
        ]
    for index, (_, colour) in enumerate(PATCHES):
        left, top, right, bottom = patch_box(index)
        blocks.append(_Block(left, top, right - left, bottom - top, colour))
    for tick in range(int(RULE_MM) + 1):
        high = 6.0 if tick % 10 == 0 else 4.5 if tick % 5 == 0 else 3.0
        wide = 0.2
        blocks.append(_Block(RULE_FROM[0] + tick - wide / 2, HEIGHT_MM - high, wide, high))
    return blocks


def _words() -> list[_Words]:
    numbers = [
        _Words(RULE_FROM[0] + tick + 0.4, HEIGHT_MM - 6.6, 2.2, str(tick)) for tick in range(0, int(RULE_MM), 10)
    ]
    note = "Print at 100 %. Check 0 to 140 with a steel rule. Lay flat, level with the mark."
    return [
        *numbers,
        _Words(RULE_FROM[0] + RULE_MM - 6.0, HEIGHT_MM - 6.6, 2.2, f"{RULE_MM:.0f}"),
        _Words(20.0, 46.5, 2.2, f"Scale card {CARD_VERSION}"),
        _Words(62.0, 46.5, 2.2, "millimetres"),
        _Words(20.0, 2.8, 1.8, note),
    ]


def card_png_pixels(px_per_mm: float = 12.0) -> NDArray[np.uint8]:
    """The card as (rows, columns, 3) RGB, its size WIDTH_MM × HEIGHT_MM times `px_per_mm`."""
    over = 4  # lines finer than a pixel come from oversampling
    scale = px_per_mm * over
    picture = np.full((round(HEIGHT_MM * scale), round(WIDTH_MM * scale), 3), 255, np.uint8)
    for block in _blocks():
        left, top = round(block.left * scale), round(block.top * scale)
        right, bottom = round((block.left + block.wide) * scale), round((block.top + block.high) * scale)
        picture[top : max(bottom, top + 1), left : max(right, left + 1)] = block.colour
    for words in _words():
        place = (round(words.left * scale), round(words.base * scale))
        size = words.high * scale / 21  # OpenCV's plain font stands 21 px high at size 1
        thick = max(1, round(size * 1.6))
        cv2.putText(picture, words.text, place, cv2.FONT_HERSHEY_SIMPLEX, size, (0, 0, 0), thick, cv2.LINE_AA, False)
    small = (round(WIDTH_MM * px_per_mm), round(HEIGHT_MM * px_per_mm))
    return np.asarray(cv2.resize(picture, small, interpolation=cv2.INTER_AREA), np.uint8)


def card_png(px_per_mm: float = 12.0) -> bytes:
    """The card as a PNG file."""
    done, encoded = cv2.imencode(".png", card_png_pixels(px_per_mm)[..., ::-1])
    if not done:
        raise RuntimeError("the card could not be encoded as PNG")
    return bytes(encoded)


def card_pdf() -> bytes:
    """One page with two cards at true size, cutting lines and what to do; fits A4 and Letter, same bytes each time."""
    from reportlab import rl_config  # loaded only where a card is printed
    from reportlab.lib.units import mm
    from reportlab.pdfgen.canvas import Canvas

    page_wide, page_high = 210 * mm, 279 * mm  # the narrower and the shorter of both sheets
    rl_config.invariant = 1
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=(page_wide, page_high), invariant=1)
    canvas.setTitle("Scale card")
    for top in (40 * mm, 130 * mm):
        _paint(canvas, 30 * mm, page_high - top)
    canvas.setFillColorRGB(0, 0, 0)
    canvas.setFont("Helvetica", 10)
    lines = (
        "Print at 100 % (no “fit to page”) on matt paper. Cut along the thin frame. Keep it flat and clean.",
        "Before first use lay a steel rule on it: the printed rule from 0 to 140 must measure 140 mm.",
        "Enter what you read, to half a millimetre, as the card's rule length; Bartack then allows for the printer.",
        "In use: lay the card level with the mark and right beside it, photograph both as squarely as you can.",
        "The patches make photos comparable with each other. A home printer's colours are not exact.",
    )
    for index, line in enumerate(lines):
        canvas.drawString(15 * mm, page_high - (215 + 6 * index) * mm, line)
    canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def _paint(canvas: Canvas, left: float, top: float) -> None:
    from reportlab.lib.units import mm

    for block in _blocks():
        canvas.setFillColorRGB(*(level / 255 for level in block.colour))
        x, y = left + block.left * mm, top - (block.top + block.high) * mm
        canvas.rect(x, y, block.wide * mm, block.high * mm, stroke=0, fill=1)
    canvas.setFillColorRGB(0, 0, 0)
    for words in _words():
        canvas.setFont("Helvetica", words.high * mm / 0.72)  # Helvetica's capitals stand 0.72 of its size
        canvas.drawString(left + words.left * mm, top - words.base * mm, words.text)
    canvas.setLineWidth(0.2)
    canvas.rect(left, top - HEIGHT_MM * mm, WIDTH_MM * mm, HEIGHT_MM * mm, stroke=1, fill=0)
