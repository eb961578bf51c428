"""Marks drawn on a copy of a photo, and close-ups of single marks. Originals are never drawn on.

Every mark is told apart three ways: colour, line pattern, and a label with its number and its category as a word.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import lru_cache
from importlib.resources import as_file, files
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from inspect_core.domain.errors import BadInput, BadPhoto
from inspect_core.domain.geometry import Shape
from inspect_core.domain.marks import Mark
from inspect_core.domain.palette import PATTERN_WIDTH, STROKES, Stroke

Pixels = NDArray[np.uint8]
Box = tuple[float, float, float, float]

_FRACTION_BITS = 4  # OpenCV draws at sixteenths of a pixel
_QUALITY = 88


def draw_marks(
    image_rgb: Pixels | bytes,
    marks: Sequence[Mark],
    *,
    size: tuple[int, int],
    longest: int = 1600,
    show_labels: bool = True,
    numbers: Mapping[str, int] | None = None,
) -> bytes:
    """A JPEG without metadata of the photo with its marks.

    Parameters
    ----------
    image_rgb: upright picture at any resolution: uint8 (height, width, 3) in RGB, or the bytes of a stored copy.
    marks: geometry in pixels of the full-resolution frame.
    size: (width, height) of that frame in pixels.
    longest: longer side of the result in pixels; a smaller picture is not enlarged.
    numbers: number printed for each mark id; without it marks count from 1 in the order given.

    Raises BadPhoto where the bytes are no picture, BadInput where picture and frame differ in proportion.
    """
    picture = open_copy(image_rgb, size)
    height, width = picture.shape[:2]
    shrink = min(1.0, longest / max(width, height))
    if shrink < 1:
        target = (max(1, round(width * shrink)), max(1, round(height * shrink)))
        picture = cv2.resize(picture, target, interpolation=cv2.INTER_AREA)
    elif picture is image_rgb:
        picture = picture.copy()  # the caller's array stays as it is
    height, width = picture.shape[:2]
    scale = (width / size[0], height / size[1])
    return _jpeg(_with_marks(picture, marks, scale, (0.0, 0.0), show_labels, numbers))


def crop_around(
    mark: Mark,
    image_rgb: Pixels | bytes,
    *,
    size: tuple[int, int],
    longest: int = 800,
    show_mark: bool = True,
    show_label: bool = True,
    number: int | None = None,
) -> bytes:
    """A JPEG close-up of one mark with a margin of half its size round it; parameters and errors as in `draw_marks`.

    `show_mark` off leaves the patch bare, because a line drawn along a cut hides the cut. A small patch is enlarged at
    most fourfold, because more shows blur and not detail.
    """
    picture = open_copy(image_rgb, size)
    height, width = picture.shape[:2]
    scale = (width / size[0], height / size[1])
    left, top, right, bottom = _patch(mark.shape, scale, (width, height))
    patch = np.ascontiguousarray(picture[top:bottom, left:right])
    zoom = min(4.0, longest / max(patch.shape[:2]))
    target = (max(1, round(patch.shape[1] * zoom)), max(1, round(patch.shape[0] * zoom)))
    patch = cv2.resize(patch, target, interpolation=cv2.INTER_CUBIC if zoom > 1 else cv2.INTER_AREA)
    if not show_mark:
        return _jpeg(patch)
    zooms = (target[0] / (right - left), target[1] / (bottom - top))
    numbers = {mark.id: number} if number is not None else None
    return _jpeg(
        _with_marks(
            patch,
            [mark],
            (scale[0] * zooms[0], scale[1] * zooms[1]),
            (left * zooms[0], top * zooms[1]),
            show_label,
            numbers,
        )
    )


def open_copy(image: Pixels | bytes, size: tuple[int, int]) -> Pixels:
    """The picture as an RGB array, for those who draw on it more than once.

    Raises BadPhoto where the bytes are no picture, BadInput where it has not the proportions of its frame.
    """
    if isinstance(image, bytes):
        decoded = cv2.imdecode(np.frombuffer(image, np.uint8), cv2.IMREAD_COLOR_RGB) if image else None
        if decoded is None:
            raise BadPhoto("The copy of this photo cannot be opened.", "Make the copies anew from the stored original.")
        image = np.asarray(decoded, np.uint8)
    if image.dtype != np.uint8 or image.ndim != 3 or image.shape[2] != 3 or 0 in image.shape:
        raise BadInput("The picture is not an 8-bit RGB array.", "Pass height × width × 3 values of 0 to 255.")
    height, width = image.shape[:2]
    if min(size) < 1:
        raise BadInput("The photo's size is not known.", "Give the width and height of the upright original.")
    # A copy's sides are rounded to whole pixels, which moves the proportion a little.
    if abs(width * size[1] - height * size[0]) > 1.01 * max(size[0], size[1]) + 0.005 * width * size[1]:
        raise BadInput(
            f"A picture of {width} × {height} pixels is no copy of one of {size[0]} × {size[1]}.",
            "Use the upright copy of the photo that the marks were drawn on.",
        )
    return image


def _patch(shape: Shape, scale: tuple[float, float], within: tuple[int, int]) -> tuple[int, int, int, int]:
    """(left, top, right, bottom) in whole pixels of the picture: the shape with its margin, kept inside."""
    left, top, right, bottom = shape.bounds()
    left, right, top, bottom = left * scale[0], right * scale[0], top * scale[1], bottom * scale[1]
    span = max(right - left, bottom - top)
    margin = max(0.5 * span, 0.02 * max(within))
    edges = []
    for low, high, most in ((left, right, within[0]), (top, bottom, within[1])):
        # Marks are held inside the photo when drawn; one that strays still gets a patch at the border.
        start = min(max(0, math.floor(low - margin)), max(0, most - 16))
        edges.append((start, max(min(most, math.ceil(high + margin)), min(most, start + 16))))
    return edges[0][0], edges[1][0], edges[0][1], edges[1][1]


def _with_marks(
    picture: Pixels,
    marks: Sequence[Mark],
    scale: tuple[float, float],
    offset: tuple[float, float],
    show_labels: bool,
    numbers: Mapping[str, int] | None,
) -> Pixels:
    longest = max(picture.shape[:2])
    width = max(2, round(longest / 400))
    paths = [_path(mark.shape, scale, offset) for mark in marks]
    for mark, path in zip(marks, paths, strict=True):
        _stroke(picture, path, mark.shape.closed, STROKES[mark.category], width)
    if not show_labels or not marks:
        return picture
    canvas = Image.fromarray(picture)
    taken: list[Box] = []
    for order, (mark, path) in enumerate(zip(marks, paths, strict=True), start=1):
        number = numbers.get(mark.id, order) if numbers else order
        _label(canvas, f"{number} {mark.category.value}", path, STROKES[mark.category], max(11, longest // 52), taken)
    return np.asarray(canvas)


def _path(shape: Shape, scale: tuple[float, float], offset: tuple[float, float]) -> NDArray[np.float64]:
    """Points of the outline in pixels of the copy, (n, 2) as x, y; a closed shape repeats its first point."""
    points = [(p.x * scale[0] - offset[0], p.y * scale[1] - offset[1]) for p in shape.outline()]
    if shape.closed:
        points.append(points[0])
    return np.asarray(points, np.float64)


def _stroke(picture: Pixels, path: NDArray[np.float64], closed: bool, stroke: Stroke, width: int) -> None:
    for colour, thickness in ((stroke.edge, width + 4), (stroke.halo, width + 2)):
        _lines(picture, [path], colour, thickness)
    pieces = (
        [path] if not stroke.dash else dashes(path, [length * width / PATTERN_WIDTH for length in stroke.dash], width)
    )
    _lines(picture, pieces, stroke.colour, width)
    if not closed:
        # Round ends show where an open line was measured from and to.
        for x, y in (path[0], path[-1]):
            for colour, radius in ((stroke.edge, width + 3), (stroke.halo, width + 2), (stroke.colour, width + 1)):
                cv2.circle(
                    picture, _fixed(x, y), radius << _FRACTION_BITS, _rgb(colour), -1, cv2.LINE_AA, _FRACTION_BITS
                )


def dashes(path: NDArray[np.float64], pattern: Sequence[float], width: float) -> list[NDArray[np.float64]]:
    """The drawn pieces of a dashed path.

    `path` is (n, 2); `pattern` holds drawn and blank lengths in turn, in pixels. Each drawn piece is shortened by the
    line's width because its round ends give that length back.
    """
    steps = np.hypot(*np.diff(path, axis=0).T)
    along = np.concatenate(([0.0], np.cumsum(steps)))
    total = float(along[-1])
    if total <= 0 or sum(pattern) <= 0:
        return [path]
    pieces: list[NDArray[np.float64]] = []
    start, part = 0.0, 0
    while start < total:
        end = min(total, start + pattern[part % len(pattern)])
        if part % 2 == 0:
            last = max(start, end - width)
            inside = along[(along > start) & (along < last)]
            where = np.concatenate(([start], inside, [last]))
            pieces.append(np.stack([np.interp(where, along, path[:, axis]) for axis in (0, 1)], axis=1))
        start, part = end, part + 1
    return pieces


def _lines(picture: Pixels, pieces: Sequence[NDArray[np.float64]], colour: str, thickness: int) -> None:
    fixed = [np.clip(np.round(piece * (1 << _FRACTION_BITS)), -(2**24), 2**24).astype(np.int32) for piece in pieces]
    cv2.polylines(picture, fixed, False, _rgb(colour), thickness, cv2.LINE_AA, _FRACTION_BITS)


def _fixed(x: float, y: float) -> tuple[int, int]:
    one = 1 << _FRACTION_BITS
    return round(x * one), round(y * one)


def _rgb(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def _label(
    canvas: Image.Image, text: str, path: NDArray[np.float64], stroke: Stroke, points: int, taken: list[Box]
) -> None:
    """A plate with the text beside the mark: over it where there is room, else under it, clear of other plates."""
    draw = ImageDraw.Draw(canvas)
    font = _font(points)
    _, rise, length, drop = draw.textbbox((0, 0), text, font=font)
    pad = max(3, points // 4)
    bar = max(4, points // 3)
    wide, high = length + bar + 3 * pad, drop - rise + 2 * pad
    (left, top), (_, bottom) = path.min(axis=0), path.max(axis=0)
    x = min(max(2.0, left), max(2.0, canvas.width - wide - 2))
    gap = points * 0.5
    choices = [top - high - gap, bottom + gap]
    choices += [c for n in range(1, 12) for c in (top - gap - high - n * (high + 3), bottom + gap + n * (high + 3))]
    fits = [y for y in choices if 2 <= y <= canvas.height - high - 2]
    free = [y for y in fits if not any(_overlap((x, y, x + wide, y + high), other) for other in taken)]
    y = (free or fits or [2.0])[0]
    taken.append((x, y, x + wide, y + high))
    anchor = (min(max(left, x), x + wide), top if y < top else bottom)
    side = (anchor[0], y + high if y < top else y)
    if abs(side[1] - anchor[1]) > 1.5 * gap:
        draw.line([side, anchor], fill="#FFFFFF", width=max(3, points // 6))
        draw.line([side, anchor], fill="#000000", width=max(1, points // 12))
    draw.rectangle((x - 2, y - 2, x + wide + 1, y + high + 1), fill="#FFFFFF")
    draw.rectangle((x, y, x + wide - 1, y + high - 1), fill="#16191D")
    draw.rectangle((x + pad / 2, y + pad / 2, x + pad / 2 + bar, y + high - 1 - pad / 2), fill=stroke.colour)
    draw.rectangle((x + pad / 2, y + pad / 2, x + pad / 2 + bar, y + high - 1 - pad / 2), outline="#FFFFFF")
    draw.text((x + bar + 2 * pad, y + pad - rise), text, font=font, fill="#FFFFFF")


def _overlap(one: Box, other: Box) -> bool:
    return one[0] < other[2] + 3 and other[0] < one[2] + 3 and one[1] < other[3] + 3 and other[1] < one[3] + 3


@lru_cache(maxsize=16)
def _font(points: int) -> ImageFont.FreeTypeFont:
    """The typeface that comes with reportlab under a free licence, so that every machine draws the same letters."""
    with as_file(files("reportlab") / "fonts" / "VeraBd.ttf") as path:
        return ImageFont.truetype(path, points, layout_engine=ImageFont.Layout.BASIC)


def _jpeg(picture: Pixels) -> bytes:
    done, encoded = cv2.imencode(".jpg", _bgr(picture), [cv2.IMWRITE_JPEG_QUALITY, _QUALITY])
    if not done:
        raise BadPhoto("The marked copy could not be written.", "Make the copies anew from the stored original.")
    return bytes(encoded)


def _bgr(picture: Pixels) -> Any:
    return cv2.cvtColor(picture, cv2.COLOR_RGB2BGR)
