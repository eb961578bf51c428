"""The sheet on which a scene is painted: linear light over the millimetre plane."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np

from sample_images.spec import Array

#: Sub-pixel bits of OpenCV's polygon filling.
_SHIFT = 6


@dataclass(frozen=True, slots=True)
class Window:
    """A rectangle of canvas pixels, right and bottom excluded."""

    top: int
    bottom: int
    left: int
    right: int

    @property
    def shape(self) -> tuple[int, int]:
        """(rows, columns)."""
        return self.bottom - self.top, self.right - self.left

    @property
    def slices(self) -> tuple[slice, slice]:
        """For indexing an array of the whole canvas."""
        return slice(self.top, self.bottom), slice(self.left, self.right)


def linear(colour: tuple[float, float, float]) -> Array:
    """Linear light, (3, 1, 1) float32, of an sRGB colour given in 0 to 255 (IEC 61966-2-1)."""
    c = np.asarray(colour, np.float32).reshape(3, 1, 1) / 255
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4).astype(np.float32)


def hue(red: float, green: float, blue: float) -> Array:
    """A colour of that linear light, (3, 1, 1) float32, that spreads over planes of red, green and blue."""
    return np.array([red, green, blue], np.float32).reshape(3, 1, 1)


class Canvas:
    """`light` is 3xHxW linear float32; `k` pixels per mm; (x0, y0) the plane position of the upper left corner.

    Colours lie in planes because arithmetic over whole planes is several times faster than over triples.
    """

    def __init__(self, x0: float, y0: float, x1: float, y1: float, k: float, sun: tuple[float, float, float]) -> None:
        self.x0, self.y0, self.k = x0, y0, k
        self.columns, self.rows = math.ceil((x1 - x0) * k), math.ceil((y1 - y0) * k)
        self.light: Array = np.zeros((3, self.rows, self.columns), np.float32)
        norm = math.sqrt(sum(s * s for s in sun))
        self.sun = tuple(s / norm for s in sun)

    @property
    def whole(self) -> Window:
        """All of it."""
        return Window(0, self.rows, 0, self.columns)

    def window(self, points: Array, margin: float) -> Window | None:
        """Pixels around some plane points, `margin` in mm; None when nothing of it is on the canvas."""
        low, high = points.min(axis=0) - margin, points.max(axis=0) + margin
        left, top = math.floor((low[0] - self.x0) * self.k), math.floor((low[1] - self.y0) * self.k)
        right, bottom = math.ceil((high[0] - self.x0) * self.k), math.ceil((high[1] - self.y0) * self.k)
        left, top, right, bottom = max(left, 0), max(top, 0), min(right, self.columns), min(bottom, self.rows)
        return Window(top, bottom, left, right) if right > left and bottom > top else None

    def grid(self, window: Window) -> tuple[Array, Array]:
        """Plane x (1, columns) and y (rows, 1) of the pixel centres, float32."""
        x = self.x0 + (np.arange(window.left, window.right, dtype=np.float32) + np.float32(0.5)) / np.float32(self.k)
        y = self.y0 + (np.arange(window.top, window.bottom, dtype=np.float32) + np.float32(0.5)) / np.float32(self.k)
        return x[None, :].astype(np.float32), y[:, None].astype(np.float32)

    def pixels(self, points: Array, window: Window) -> Array:
        """Plane points as continuous pixel places inside a window, pixel centres at whole numbers (OpenCV's frame)."""
        places = (np.asarray(points, np.float64) - (self.x0, self.y0)) * self.k - 0.5
        return places - (window.left, window.top)

    def polygon(self, outline: Array, window: Window, soften_mm: float = 0.0) -> Array:
        """Coverage 0 to 1 of a closed outline in mm, (rows, columns) float32, edges smoothed."""
        big = 2
        rows, columns = window.shape
        mask = np.zeros((rows * big, columns * big), np.uint8)
        places = (self.pixels(outline, window) + 0.5) * big - 0.5
        cv2.fillPoly(mask, [np.round(places * (1 << _SHIFT)).astype(np.int32)], 255, cv2.LINE_AA, _SHIFT)
        small = cv2.resize(mask, (columns, rows), interpolation=cv2.INTER_AREA).astype(np.float32) / 255
        if soften_mm > 0:
            small = self.blur(small, soften_mm)
        return np.asarray(small)

    def blur(self, plane: Array, sigma_mm: float) -> Array:
        """Gaussian blur; wide ones are done on a reduced copy, because their fine detail is gone anyway."""
        sigma = sigma_mm * self.k
        if sigma < 0.3:
            return plane
        shrink = 4 if sigma > 10 else 2 if sigma > 4 else 1
        rows, columns = plane.shape[:2]
        if shrink == 1 or min(rows, columns) < 8 * shrink:
            return np.asarray(cv2.GaussianBlur(plane, (0, 0), sigma, borderType=cv2.BORDER_REPLICATE))
        small = cv2.resize(plane, (columns // shrink, rows // shrink), interpolation=cv2.INTER_AREA)
        small = cv2.GaussianBlur(small, (0, 0), sigma / shrink, borderType=cv2.BORDER_REPLICATE)
        return np.asarray(cv2.resize(small, (columns, rows), interpolation=cv2.INTER_LINEAR))

    def slopes(self, height: Array) -> tuple[Array, Array]:
        """d height / dx and / dy of a height in mm, unitless."""
        gain = np.float32(self.k / 2)
        gx = cv2.filter2D(height, cv2.CV_32F, np.array([[-1, 0, 1]], np.float32), borderType=cv2.BORDER_REPLICATE)
        gy = cv2.filter2D(height, cv2.CV_32F, np.array([[-1], [0], [1]], np.float32), borderType=cv2.BORDER_REPLICATE)
        return gx * gain, gy * gain

    def matte(self, height: Array, ambient: float = 0.42) -> Array:
        """Brightness factor of a matt surface of that height in mm: 1 for a level one."""
        gx, gy = self.slopes(height)
        sx, sy, sz = (np.float32(s) for s in self.sun)
        facing = (sz - sx * gx - sy * gy) / np.sqrt(1 + gx * gx + gy * gy)
        return np.asarray(np.float32(ambient) + np.float32(1 - ambient) * np.maximum(facing, 0) / sz)

    def moved(self, body: Array, height_mm: float) -> Array:
        """A coverage moved to where its shadow falls from that height, mm."""
        sx, sy, sz = self.sun
        move = np.array([[1, 0, -sx / sz * height_mm * self.k], [0, 1, -sy / sz * height_mm * self.k]], np.float32)
        return np.asarray(cv2.warpAffine(body, move, (body.shape[1], body.shape[0]), flags=cv2.INTER_LINEAR))

    def shadow(self, alpha: Array, window: Window, height_mm: float, strength: float = 0.6) -> None:
        """Darken what lies under a body of that coverage standing `height_mm` above the ground."""
        margin = int((height_mm * 2.2 + 1.5) * self.k) + 2
        wide = Window(
            max(window.top - margin, 0),
            min(window.bottom + margin, self.rows),
            max(window.left - margin, 0),
            min(window.right + margin, self.columns),
        )
        body = np.zeros(wide.shape, np.float32)
        top, left = window.top - wide.top, window.left - wide.left
        body[top : top + alpha.shape[0], left : left + alpha.shape[1]] = alpha
        cast = self.moved(body, height_mm)
        cast = self.blur(cast, 0.35 * height_mm + 0.15)
        close = self.blur(body, 0.5 * height_mm + 0.2)
        shade = (1 - np.float32(strength) * cast) * (1 - np.float32(0.45 * strength) * close)
        self.light[:, *wide.slices] *= shade

    def lay(self, alpha: Array, colour: Array, window: Window) -> None:
        """Paint linear colour, (3, rows, columns) or (3, 1, 1), with coverage alpha (rows, columns)."""
        below = self.light[:, *window.slices]
        below += alpha * (colour - below)

    def tint(self, alpha: Array, factor: Array | float, window: Window) -> None:
        """Multiply what is there by a factor where alpha is 1."""
        below = self.light[:, *window.slices]
        below *= 1 + alpha * (np.asarray(factor, np.float32) - 1)

    def threads(
        self,
        lines: list[Array],
        width_mm: float,
        colour: Array,
        window: Window,
        opacity: float = 1.0,
        lift: float = 0.0,
    ) -> None:
        """Draw fine threads, each (N, 2) in mm, with a small shadow when lifted by `lift` mm."""
        if not lines:
            return
        mask = np.zeros(window.shape, np.uint8)
        wide = width_mm * self.k
        places = [np.round(self.pixels(line, window) * 16).astype(np.int32) for line in lines]
        cv2.polylines(mask, places, False, 255, max(1, round(wide)), cv2.LINE_AA, 4)
        alpha = mask.astype(np.float32) * np.float32(min(1.0, wide) * opacity / 255)
        if lift > 0:
            self.shadow(alpha, window, lift, 0.35)
        self.lay(alpha, colour, window)
