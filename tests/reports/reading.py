"""Reading a finished paper back: its words, its pictures, its QR codes."""

from __future__ import annotations

import io
import re
from functools import lru_cache
from typing import Any

import numpy as np
import pypdf
import zxingcpp


def reader(pdf: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(pdf))


@lru_cache(maxsize=8)
def pages(pdf: bytes) -> tuple[str, ...]:
    """The words of each page, white space and line ends as single spaces."""
    return tuple(re.sub(r"\s+", " ", page.extract_text()) for page in reader(pdf).pages)


def words(pdf: bytes) -> str:
    return " ".join(pages(pdf))


def dense(pdf: bytes) -> str:
    """All characters without white space, for words that were broken over lines."""
    return re.sub(r"\s+", "", words(pdf))


def rightmost(pdf: bytes) -> float:
    """The largest x in points at which a piece of text starts, over all pages."""
    found = [0.0]

    def visit(text: str, cm: Any, tm: Any, *_: Any) -> None:
        if text.strip():
            found.append(cm[0] * tm[4] + cm[2] * tm[5] + cm[4])

    for page in reader(pdf).pages:
        page.extract_text(visitor_text=visit)
    return max(found)


def qr_texts(pdf: bytes) -> list[str]:
    """What a scanner reads from the QR codes: the filled squares of each page painted on a raster and read."""
    return [code for page in reader(pdf).pages for code in _codes(page)]


def _codes(page: pypdf.PageObject) -> list[str]:
    scale = 4.0
    height = float(page.mediabox.height)
    raster = np.full((int(height * scale), int(float(page.mediabox.width) * scale)), 255, np.uint8)
    matrix, stack, black = np.eye(3), [], False
    rectangles: list[np.ndarray] = []
    for operands, operator in page.get_contents().operations:  # type: ignore[union-attr]
        if operator == b"q":
            stack.append((matrix, black))
        elif operator == b"Q":
            matrix, black = stack.pop()
        elif operator == b"cm":
            a, b, c, d, e, f = map(float, operands)
            matrix = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ matrix
        elif operator == b"rg":
            black = max(map(float, operands)) < 0.05
        elif operator == b"re":
            x, y, w, h = map(float, operands)
            rectangles.append(np.array([[x, y, 1], [x + w, y + h, 1]]) @ matrix)
        elif operator == b"n":
            rectangles = []
        elif operator in (b"f", b"f*"):
            for rectangle in rectangles if black else ():
                x0, y0, x1, y1 = (round(v * scale) for v in (*rectangle[0, :2], *rectangle[1, :2]))
                raster[raster.shape[0] - y1 : raster.shape[0] - y0, x0:x1] = 0
            rectangles = []
    return [code.text for code in zxingcpp.read_barcodes(raster)]
