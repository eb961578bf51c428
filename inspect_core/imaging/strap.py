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
#: Strap and ground must differ by this many of their own scatters for the edge to be followed.
LEAST_APART = 1.0


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
            shown, level, apart = _parted(band[:, half + half // 2 :], band[:, : half - half // 2], band)
            if apart < LEAST_APART:
                yield side, np.zeros(len(band))
                continue
            is_strap = shown > level
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
        """For each side: share of the strip just beyond the edge that has the strap's colour, per row."""
        for side, band in self._bands():
            half = band.shape[1] // 2
            soft = cv2.GaussianBlur(band, (0, 0), 0.8)
            shown, level, apart = _parted(soft[:, half + half // 4 :], soft[:, : half - half // 2], soft)
            strip = shown[:, max(0, half - round(0.09 * self.width)) : half - max(3, round(0.02 * self.width))]
            if strip.shape[1] < 3 or apart < LEAST_APART:
                yield side, np.zeros(len(band))
                continue
            fibres = strip > level
            # A shadow or a stain of the ground keeps its colour all along; fibres come and go.
            yield side, (fibres & ~(fibres.mean(axis=0) > 0.5)).mean(axis=1)

    def slits(self) -> Iterator[tuple[int, Array]]:
        """For each side: how much darker the strip just inside the edge is than usual there, per row (log of light)."""
        light = np.log(cv2.GaussianBlur(self.pixels.astype(np.float32).mean(axis=2), (0, 0), 1.2) + 8)
        low, high, wide = round(self.low), round(self.high), max(4, round(0.035 * self.width))
        inset = max(2, round(0.008 * self.width))
        for side, strip in ((-1, light[:, low + inset : low + wide]), (1, light[:, high - wide : high - inset])):
            usual = cv2.medianBlur(np.ascontiguousarray(np.median(strip, axis=1)[:, None].astype(np.float32)), 5)
            slow = cv2.blur(usual, (1, max(3, round(0.5 * self.width))))
            yield side, np.asarray(slow[:, 0] - strip.mean(axis=1), float)

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
    """(band seen along the colour direction that parts strap and ground, level half-way, distance over scatter)."""
    first, second = strap.reshape(-1, 3), ground.reshape(-1, 3)
    spread = np.cov(first.T) + np.cov(second.T) + 4 * np.eye(3)
    direction = np.linalg.solve(spread, first.mean(axis=0) - second.mean(axis=0))
    levels = [np.median(part @ direction) for part in (first, second)]
    scatter = (first @ direction).std() + (second @ direction).std()
    return (
        np.asarray(band @ direction, float),
        float(sum(levels) / 2),
        float((levels[0] - levels[1]) / (scatter + 1e-9)),
    )


def straightened(rgb: NDArray[np.uint8], part: Shape) -> Strap:
    """The strap inside a drawn outline of roughly four sides. Raises BadInput for an outline that is no strap."""
    if not part.closed:
        raise BadInput("The strap must be drawn as an outline, not as a line.", "Draw round the webbing.")
    outline = _clipped(points_of(part), rgb.shape[1], rgb.shape[0])
    corners = _four_corners(outline)
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    wide, tall = float(sides[0] + sides[2]) / 2, float(sides[1] + sides[3]) / 2
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
