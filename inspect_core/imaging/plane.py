"""From photo pixels to millimetres in a plane: the map, its spread, and its fit to known points.

Frames. Photo: pixels of the upright original, x right, y down. Plane: millimetres, axes of the reference that
was used. A map first takes out a weak radial lens error, then applies a homography.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from inspect_core.domain.errors import BadInput

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class PlaneMap:
    """Photo pixels to plane millimetres.

    Parameters
    ----------
    matrix: (3, 3) homography, applied to column vectors (x, y, 1).
    bend: relative radial shift at the photo's corner, taken out before the homography; 0 for none.
    centre, reach: middle of the photo and half its diagonal, in pixels; used by `bend` only.
    """

    matrix: Array
    bend: float = 0.0
    centre: tuple[float, float] = (0.0, 0.0)
    reach: float = 1.0

    def straight(self, points: Array) -> Array:
        """Points (…, 2) with the lens error taken out."""
        if self.bend == 0:
            return np.asarray(points, float)
        out = np.asarray(points, float) - self.centre
        moved: Array = self.centre + out * (1 + self.bend * (out**2).sum(-1, keepdims=True) / self.reach**2)
        return moved

    def to_mm(self, points: Array) -> Array:
        """Points (…, 2) in pixels to (…, 2) in millimetres. Raises BadInput beyond the plane's horizon."""
        return through(self.matrix, self.straight(points))

    def to_px(self, plane: Array) -> Array:
        """Points (…, 2) in millimetres to photo pixels, the inverse of `to_mm`."""
        straight = through(np.asarray(np.linalg.inv(self.matrix), float), np.asarray(plane, float))
        if self.bend == 0:
            return straight
        photo = straight
        for _ in range(8):
            out = photo - self.centre
            photo = self.centre + (straight - self.centre) / (
                1 + self.bend * (out**2).sum(-1, keepdims=True) / self.reach**2
            )
        return photo

    def stretched(self, across: float, down: float) -> PlaneMap:
        """The same map with plane axes multiplied by these factors."""
        return PlaneMap(np.diag([across, down, 1.0]) @ self.matrix, self.bend, self.centre, self.reach)

    def jacobian(self, points: Array) -> Array:
        """Derivatives d(mm)/d(px) at points (n, 2), as (n, 2, 2), by central differences of half a pixel."""
        points = np.asarray(points, float)
        steps = np.array([[0.5, 0.0], [-0.5, 0.0], [0.0, 0.5], [0.0, -0.5]])
        moved = self.to_mm(points[:, None, :] + steps)
        return np.stack([moved[:, 0] - moved[:, 1], moved[:, 2] - moved[:, 3]], axis=-1)

    def mm_per_px(self, points: Array) -> float:
        """Local scale at the middle of points (n, 2): geometric mean of both directions, mm per px."""
        middle = np.asarray(points, float).mean(axis=0, keepdims=True)
        return float(np.sqrt(abs(np.linalg.det(self.jacobian(middle)[0]))))

    def tilt_deg(self, at: Array) -> float:
        """How far from square the plane is seen at a photo point (2,), in degrees, from the local foreshortening."""
        sizes = np.linalg.svd(self.jacobian(np.asarray(at, float)[None])[0], compute_uv=False)
        return float(np.degrees(np.arccos(np.clip(sizes[1] / sizes[0], 0, 1))))


def through(matrix: Array, points: Array) -> Array:
    """Points (…, 2) through a homography (3, 3). Raises BadInput where a point lies on or beyond the horizon."""
    points = np.asarray(points, float)
    weights = points @ matrix[2, :2] + matrix[2, 2]
    if weights.size and (weights.min() <= 0 <= weights.max() or not np.isfinite(weights).all()):
        raise BadInput(
            "Part of the mark lies beyond the horizon of the plane that the scale was taken from.",
            "Mark only what lies on that surface, or take the photo more squarely.",
        )
    mapped: Array = (points @ matrix[:2, :2].T + matrix[:2, 2]) / weights[..., None]
    return mapped


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """A map fitted to known points.

    Parameters
    ----------
    map: photo px to plane mm.
    directions: (8, 3, 3) homographies px to mm, each one standard deviation along one of eight independent
        directions of the fit's covariance; with `map.matrix` as the middle.
    residual_px: root mean square distance of the points from their fitted places, in photo pixels.
    residual_mm: the largest such distance, in millimetres.
    """

    map: PlaneMap
    directions: Array
    residual_px: float
    residual_mm: float


#: Corners found in a photo are never better than this, in pixels (sub-pixel refinement on noisy photos,
#: common practice, no source); it keeps a lucky fit of few points from claiming no uncertainty.
_LEAST_CORNER_SD = 0.12


def fit(photo: Array, plane: Array, size: tuple[int, int], bend: float = 0.0) -> Fit:
    """Homography from plane to photo by least squares in the photo, returned the other way round.

    Parameters
    ----------
    photo, plane: (n, 2) pixels and millimetres of the same points, n at least 5, not all on a line.
    size: (width, height) of the photo in pixels.
    bend: lens error to take out first, see PlaneMap.
    """
    centre, reach = (size[0] / 2, size[1] / 2), float(np.hypot(*size)) / 2
    straight = PlaneMap(np.eye(3), bend, centre, reach).straight(photo)
    # Conditioning: plane millimetres are centred and scaled so that all eight parameters are of one order.
    middle, spread = plane.mean(axis=0), float(np.abs(plane - plane.mean(axis=0)).max())
    norm = np.array([[1 / spread, 0, -middle[0] / spread], [0, 1 / spread, -middle[1] / spread], [0, 0, 1.0]])
    unit = through(norm, plane)
    flat = [np.linalg.svd(points - points.mean(axis=0), compute_uv=False) for points in (unit, straight)]
    if any(sizes[1] < 0.01 * sizes[0] for sizes in flat):
        raise BadInput("The scale's points lie on one line.", "Show more of the card in the photo.")
    found, _ = cv2.findHomography(unit, straight, 0)
    if found is None or not np.isfinite(found).all() or abs(np.linalg.det(found)) < 1e-12:
        raise BadInput("The scale's points lie on one line.", "Show more of the card in the photo.")
    forward = np.asarray(found / found[2, 2], float)
    fitted = through(forward, unit)
    misses = straight - fitted
    freedom = max(1, misses.size - 8)
    variance = max(float((misses**2).sum()) / freedom, _LEAST_CORNER_SD**2)
    design = _design(forward, unit, fitted)
    values, vectors = np.linalg.eigh(np.linalg.inv(design.T @ design) * variance)
    directions = []
    for value, vector in zip(values, vectors.T, strict=True):
        moved = np.append(forward.ravel()[:8] + np.sqrt(max(value, 0.0)) * vector, 1.0).reshape(3, 3)
        directions.append(_toward(np.linalg.inv(moved @ norm), straight))
    map_ = PlaneMap(_toward(np.linalg.inv(forward @ norm), straight), bend, centre, reach)
    off = np.linalg.norm(map_.to_mm(photo) - plane, axis=1)
    return Fit(map_, np.array(directions), float(np.sqrt((misses**2).sum(axis=1).mean())), float(off.max()))


def _toward(matrix: Array, points: Array) -> Array:
    """The same homography, scaled so that its weight is 1 at the middle of the points: alike ones can be compared."""
    middle = points.mean(axis=0)
    scaled: Array = matrix / (middle @ matrix[2, :2] + matrix[2, 2])
    return scaled


def _design(forward: Array, unit: Array, fitted: Array) -> Array:
    """Derivatives (2n, 8) of the projected points by the first eight entries of the homography."""
    ones, zeros = np.ones(len(unit)), np.zeros(len(unit))
    weights = unit @ forward[2, :2] + 1.0
    x, y = unit.T
    u, v = fitted.T
    across = np.stack([x, y, ones, zeros, zeros, zeros, -u * x, -u * y], axis=1) / weights[:, None]
    down = np.stack([zeros, zeros, zeros, x, y, ones, -v * x, -v * y], axis=1) / weights[:, None]
    return np.concatenate([across, down])


def fitted_bend(photo: Array, plane: Array, size: tuple[int, int]) -> float:
    """Lens error that explains the points best, by golden section over ±0.5.

    Meaningful only for many points over much of the photo; three or more points a side are needed at least.
    """
    low, high, ratio = -0.5, 0.5, (np.sqrt(5) - 1) / 2
    for _ in range(30):
        left, right = high - ratio * (high - low), low + ratio * (high - low)
        if fit(photo, plane, size, left).residual_px < fit(photo, plane, size, right).residual_px:
            high = right
        else:
            low = left
    return (low + high) / 2
