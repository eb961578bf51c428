"""A strap of webbing straightened from its drawn outline, with its two long edges.

Frame of the straightened picture: rows run along the strap, columns across it, one pixel about one photo pixel;
a margin on both sides shows what lies beside the strap.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from inspect_core.domain.errors import BadInput
from inspect_core.domain.geometry import Shape
from inspect_core.imaging.plane import Array, through
from inspect_core.imaging.readings import points_of

#: Margin beside the strap, over its width.
_MARGIN = 0.22


@dataclass(frozen=True, slots=True, eq=False)
class Strap:
    """A straightened strap.

    Parameters
    ----------
    pixels: (along, across, 3) RGB.
    inside: (along, across), True within the drawn outline.
    width: of the strap in pixels.
    back: (3, 3) homography from straightened (x = across, y = along) to photo pixels.
    low, high: columns of the two drawn edges.
    """

    pixels: NDArray[np.uint8]
    inside: NDArray[np.bool_]
    width: float
    back: Array
    low: float
    high: float

    @property
    def rim(self) -> int:
        """Columns from the picture's border to just inside the drawn edge."""
        return round(self.low + 0.03 * self.width)

    def to_photo(self, places: Array) -> Array:
        """(n, 2) places (along, across) to photo points (x, y)."""
        return through(self.back, np.asarray(places, float)[:, ::-1])

    def box(self, side: int, start: int, end: int, outer: float, inner: float) -> Shape:
        """Photo outline of a stretch along one edge, from `outer` (negative: beyond the edge) to `inner`, px."""
        low, high = (self.low + outer, self.low + inner), (self.high - outer, self.high - inner)
        columns = low if side < 0 else high
        corners = [(start, columns[0]), (end, columns[0]), (end, columns[1]), (start, columns[1])]
        return Shape.of("polygon", self.to_photo(np.array(corners)).tolist())

    def edges(self) -> Iterator[tuple[int, Array]]:
        """For each side (−1, 1): how far the strap's edge lies inside its own straight line, per row, in px.

        Strap and ground are told apart by their colours beside the drawn edge (Fisher's discriminant, per side).
        """
        for side, band in self._bands():
            reach = band.shape[1]
            half = reach // 2
            shown, level, sign = _parted(band[:, half + half // 2 :], band[:, : half - half // 2], band)
            is_strap = (shown - level) * sign > 0
            # From inside outwards: the strap ends where two pixels in a row are ground.
            solid = cv2.blur(is_strap.astype(np.float32), (3, 1)) > 0.5
            ground = ~solid
            # Columns of the band run from the ground (0) to the strap (reach − 1).
            last = np.where(ground.any(axis=1), reach - 1 - ground[:, ::-1].argmax(axis=1), 0)
            offset = last.astype(float)
            rows = np.arange(len(offset))
            keep = np.abs(offset - np.median(offset)) < 0.1 * self.width
            for _ in range(3):
                shape = np.polyfit(rows[keep], offset[keep], 2)
                rest = offset - np.polyval(shape, rows)
                spread = 1.4826 * float(np.median(np.abs(rest[keep]))) + 0.5
                keep = np.abs(rest) < 2.5 * spread
                if keep.sum() < 20:
                    break
            yield side, rest

    def fuzz(self) -> Iterator[tuple[int, Array]]:
        """For each side: share of the strip just beyond the edge that looks like the strap's fibres, per row."""
        for side, band in self._bands():
            reach = band.shape[1]
            half = reach // 2
            strip = band[:, max(0, half - round(0.12 * self.width)) : half - max(2, round(0.02 * self.width))]
            if strip.shape[1] < 3:
                yield side, np.zeros(len(band))
                continue
            quiet = cv2.GaussianBlur(strip, (0, 0), 0.8)
            usual = np.median(quiet, axis=0, keepdims=True)
            apart = np.sqrt(((quiet - usual) ** 2).sum(axis=2))
            noise = 1.4826 * np.median(np.abs(apart - np.median(apart))) + 2.0
            yield side, (apart > np.median(apart) + 4 * noise).mean(axis=1)

    def _bands(self) -> Iterator[tuple[int, NDArray[np.float32]]]:
        """For each side the strip around its edge, ground first, strap last."""
        half = round(0.16 * self.width)
        pixels = self.pixels.astype(np.float32)
        low, high = round(self.low), round(self.high)
        yield -1, pixels[:, max(0, low - half) : low + half]
        yield 1, pixels[:, high - half : high + half][:, ::-1]


def _parted(
    strap: NDArray[np.float32], ground: NDArray[np.float32], band: NDArray[np.float32]
) -> tuple[Array, float, float]:
    first, second = strap.reshape(-1, 3), ground.reshape(-1, 3)
    spread = np.cov(first.T) + np.cov(second.T) + 4 * np.eye(3)
    direction = np.linalg.solve(spread, first.mean(axis=0) - second.mean(axis=0))
    level = float((np.median(first @ direction) + np.median(second @ direction)) / 2)
    return np.asarray(band @ direction, float), level, 1.0


def straightened(rgb: NDArray[np.uint8], part: Shape) -> Strap:
    """The strap inside a drawn outline of roughly four sides. Raises BadInput for an outline that is no strap."""
    if not part.closed:
        raise BadInput("The strap must be drawn as an outline, not as a line.", "Draw round the webbing.")
    outline = _clipped(points_of(part), rgb.shape[1], rgb.shape[0])
    corners = _four_corners(outline)
    long_a, long_b = (np.hypot(*(corners[i] - corners[i - 3])) for i in (0, 2))
    wide = (float(np.hypot(*(corners[1] - corners[0]))) + float(np.hypot(*(corners[2] - corners[3])))) / 2
    tall = float(long_a + long_b) / 2
    if wide > tall:
        corners = np.roll(corners, -1, axis=0)
        wide, tall = tall, wide
    if wide < 30 or tall < 40:
        raise BadInput("The strap is too small in the photo to be judged.", "Move closer.")
    margin = _MARGIN * wide
    columns, rows = round(wide + 2 * margin), round(tall)
    target = np.array([[margin, 0], [margin + wide, 0], [margin + wide, tall], [margin, tall]])
    forward = cv2.getPerspectiveTransform(corners.astype(np.float32), target.astype(np.float32)).astype(float)
    half = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1.0]])
    matrix = half @ forward @ np.linalg.inv(half)
    pixels = cv2.warpPerspective(rgb, matrix, (columns, rows), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    inside = np.zeros((rows, columns), bool)
    inside[:, round(margin) : round(margin + wide)] = True
    return Strap(np.asarray(pixels, np.uint8), inside, wide, np.linalg.inv(forward), margin, margin + wide)


def _clipped(outline: Array, width: int, height: int) -> Array:
    """The outline cut at the photo's borders (Sutherland and Hodgman); components run out of the picture."""
    points = [tuple(p) for p in outline]
    for axis, limit, sign in ((0, 0.0, 1), (0, float(width), -1), (1, 0.0, 1), (1, float(height), -1)):
        kept: list[tuple[float, ...]] = []
        for first, second in zip(points, points[1:] + points[:1], strict=True):
            inside, follows = sign * (first[axis] - limit) >= 0, sign * (second[axis] - limit) >= 0
            if inside:
                kept.append(first)
            if inside != follows:
                share = (limit - first[axis]) / (second[axis] - first[axis])
                kept.append(tuple(f + share * (s - f) for f, s in zip(first, second, strict=True)))
        points = kept
        if len(points) < 3:
            raise BadInput("The outline lies outside the photo.", "Draw round the part on the photo.")
    return np.array(points)


def _four_corners(outline: Array) -> Array:
    """(4, 2) corners in order round the outline: its thinned shape when that has four, else the tightest rectangle."""
    line = outline.astype(np.float32)
    perimeter = float(cv2.arcLength(line, True))
    for share in (0.005, 0.01, 0.02, 0.04):
        thin = cv2.approxPolyDP(line, share * perimeter, True).reshape(-1, 2)
        if len(thin) == 4 and cv2.isContourConvex(thin.reshape(-1, 1, 2)):
            return np.asarray(thin, float)
    return np.asarray(cv2.boxPoints(cv2.minAreaRect(line)), float)
