"""Plain plots for the docs, drawn with Pillow so that no plotting library is needed."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

_INK, _GRID, _HIT, _MISS = (30, 34, 40), (214, 218, 224), (0, 114, 178), (213, 94, 0)


def coverage_plot(
    table: Sequence[tuple[str, str, int, int, float, float, float, float]], photos: int, path: Path
) -> None:
    """One row per measure and scale: the share of readings whose interval holds the truth, with its Wilson bound."""
    font, small = ImageFont.load_default(15), ImageFont.load_default(13)
    left, right, top, step = 330, 900, 70, 26
    height = top + step * len(table) + 60
    picture = Image.new("RGB", (1040, height), "white")
    pen = ImageDraw.Draw(picture)
    low, high = 0.88, 1.0

    def at(share: float) -> float:
        return left + (max(share, low) - low) / (high - low) * (right - left)

    title = f"Readings whose stated k = 2 interval holds the truth, {photos} drawn photos"
    pen.text((20, 18), title, fill=_INK, font=ImageFont.load_default(17))
    for share in (0.88, 0.90, 0.92, 0.94, 0.95, 0.96, 0.98, 1.0):
        wide = 2 if share == 0.95 else 1
        pen.line([(at(share), top - 8), (at(share), height - 44)], fill=_INK if wide == 2 else _GRID, width=wide)
        pen.text((at(share), height - 38), f"{share:.0%}", fill=_INK, font=small, anchor="ma")
    for index, (measure, scale, count, _, coverage, bound, _, _) in enumerate(table):
        y = top + step * index + step / 2
        colour = _HIT if coverage >= 0.95 else _MISS
        pen.text((20, y), f"{measure}, {scale}", fill=_INK, font=font, anchor="lm")
        pen.line([(at(bound), y), (at(coverage), y)], fill=colour, width=3)
        pen.ellipse([at(coverage) - 5, y - 5, at(coverage) + 5, y + 5], fill=colour)
        pen.text((right + 20, y), f"{coverage:.1%} of {count}", fill=_INK, font=small, anchor="lm")
    pen.text((20, height - 18), "Line: lower end of the 95 % Wilson interval.", fill=_INK, font=small, anchor="lm")
    picture.save(path, optimize=True)
