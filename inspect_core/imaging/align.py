"""Lay today's photo over an earlier one of the same part.

Features are found in both, matched, and joined by a homography that most of them agree on. A homography is
right for flat things and distant cameras; bent webbing follows it only in part, so the result says how well it
fits, and fails loudly rather than guess.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from inspect_core.domain.errors import BadInput
from inspect_core.domain.geometry import Shape, ShapeType
from inspect_core.imaging.colour import mask_of
from inspect_core.imaging.plane import Array, through
from inspect_core.imaging.readings import points_of

METHOD = "ORB or SIFT features, USAC MAGSAC homography, version 1"
SIDE = 1600
#: Fewest matches that must agree, and their least share of all matches (common practice, no source; repeating
#: weave gives many wrong matches that agree by fewer).
FEWEST_INLIERS, LEAST_INLIER_SHARE = 30, 0.15
#: The agreeing matches must span this share of the picture's area, else the homography is a guess elsewhere.
LEAST_SPAN = 0.03
#: Grey pictures, smoothed, must correlate at least this well where they overlap.
LEAST_LIKENESS = 0.35
LEAST_OVERLAP = 0.2
_REACH_PX = 3.0
_MOST_FEATURES = 4000
_CANNOT = "Compare the two photos by eye; next time take the photo from the same side and distance."


@dataclass(frozen=True, slots=True, eq=False)
class Alignment:
    """Where a place of the earlier photo lies in today's.

    Parameters
    ----------
    matrix: (3, 3) homography, earlier full-resolution pixels to today's.
    inliers, matches: features that agree, of all that were paired.
    misfit_px: root mean square distance of the agreeing ones, in today's full-resolution pixels.
    likeness: correlation of both pictures where they overlap, −1 to 1.
    overlap: share of the earlier photo that today's shows.
    method: which features were used.
    """

    matrix: Array
    inliers: int
    matches: int
    misfit_px: float
    likeness: float
    overlap: float
    method: str

    @property
    def note(self) -> str:
        """What a person must know before believing it."""
        return (
            f"{self.inliers} of {self.matches} features agree within {self.misfit_px:.1f} px; "
            f"{self.overlap:.0%} of the earlier photo is seen again. Check by blinking: bent parts shift."
        )


def align(
    earlier: NDArray[np.uint8],
    today: NDArray[np.uint8],
    *,
    earlier_size: tuple[int, int],
    today_size: tuple[int, int],
    earlier_part: Shape | None = None,
    today_part: Shape | None = None,
) -> Alignment:
    """Register two photos. Raises BadInput when they cannot be laid over each other.

    Parameters
    ----------
    earlier, today: RGB copies (rows, columns, 3), longest side about 1600 px.
    earlier_size, today_size: (width, height) of the full-resolution photos the shapes refer to.
    earlier_part, today_part: outline of the part in each photo, full-resolution pixels; keeps a bench or a
        wall in the background from being aligned instead of the gear.
    """
    pictures = []
    for rgb, size, part in ((earlier, earlier_size, earlier_part), (today, today_size, today_part)):
        grey = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
        shrink = min(1.0, SIDE / max(grey.shape))
        if shrink < 1:
            grey = cv2.resize(grey, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
        scale = grey.shape[1] / size[0]
        pictures.append((grey, scale, _part_mask(part, grey.shape[:2], scale)))
    (first, first_scale, first_mask), (second, second_scale, second_mask) = pictures
    reason = "nothing to match was found"
    for name in ("ORB", "SIFT"):
        pairs = _matches(name, first, first_mask, second, second_mask)
        if len(pairs) < FEWEST_INLIERS:
            reason = f"only {len(pairs)} features of one are found in the other"
            continue
        found = _agreed(pairs)
        if found is None:
            reason = "their features do not agree on one view"
            continue
        matrix, inside = found
        problem, likeness, overlap = _doubt(matrix, inside, pairs, first, second, first_mask)
        if problem:
            reason = problem
            continue
        full = np.diag([1 / second_scale, 1 / second_scale, 1.0]) @ matrix @ np.diag([first_scale, first_scale, 1.0])
        misses = through(matrix, pairs[inside, :2]) - pairs[inside, 2:]
        return Alignment(
            matrix=full / full[2, 2],
            inliers=int(inside.sum()),
            matches=len(pairs),
            misfit_px=float(np.sqrt((misses**2).sum(axis=1).mean())) / second_scale,
            likeness=likeness,
            overlap=overlap,
            method=f"{name} features, {METHOD}",
        )
    raise BadInput(f"The two photos cannot be laid over each other: {reason}.", _CANNOT)


def _part_mask(part: Shape | None, shape: tuple[int, ...], scale: float) -> NDArray[np.uint8] | None:
    if part is None:
        return None
    small = Shape.of(ShapeType.POLYGON.value, (points_of(part) * scale).tolist())
    window, (top, left) = mask_of(small, shape)
    mask = np.zeros(shape[:2], np.uint8)
    mask[top : top + window.shape[0], left : left + window.shape[1]] = window * 255
    # Edges of the part are its best features; a little of what lies beyond comes along.
    return np.asarray(cv2.dilate(mask, np.ones((15, 15), np.uint8)), np.uint8)


def _matches(
    name: str,
    first: NDArray[np.uint8],
    first_mask: NDArray[np.uint8] | None,
    second: NDArray[np.uint8],
    second_mask: NDArray[np.uint8] | None,
) -> Array:
    """(n, 4) pairs x, y in the first and x, y in the second picture, by the ratio test."""
    orb = name == "ORB"
    finder: Any = (
        cv2.ORB.create(nfeatures=_MOST_FEATURES, fastThreshold=10) if orb else cv2.SIFT.create(nfeatures=_MOST_FEATURES)
    )
    (points, features), (others, other_features) = (
        finder.detectAndCompute(grey, mask) for grey, mask in ((first, first_mask), (second, second_mask))
    )
    if features is None or other_features is None or min(len(points), len(others)) < FEWEST_INLIERS:
        return np.empty((0, 4))
    matcher = cv2.BFMatcher(cv2.NORM_HAMMING if orb else cv2.NORM_L2)
    ratio = 0.8 if orb else 0.75
    pairs = [
        (*points[best.queryIdx].pt, *others[best.trainIdx].pt)
        for best, second_best in (m for m in matcher.knnMatch(features, other_features, k=2) if len(m) == 2)
        if best.distance < ratio * second_best.distance
    ]
    # Our frame puts the centre of the first pixel at (0.5, 0.5).
    return np.array(pairs).reshape(-1, 4) + 0.5


def _agreed(pairs: Array) -> tuple[Array, NDArray[np.bool_]] | None:
    matrix, inside = cv2.findHomography(
        pairs[:, :2], pairs[:, 2:], cv2.USAC_MAGSAC, _REACH_PX, maxIters=5000, confidence=0.999
    )
    if matrix is None or inside is None:
        return None
    agreed = inside.ravel().astype(bool)
    if agreed.sum() < 8:
        return None
    refined, _ = cv2.findHomography(pairs[agreed, :2], pairs[agreed, 2:], 0)
    return (np.asarray(refined if refined is not None else matrix, float), agreed)


def _doubt(
    matrix: Array,
    inside: NDArray[np.bool_],
    pairs: Array,
    first: NDArray[np.uint8],
    second: NDArray[np.uint8],
    part: NDArray[np.uint8] | None,
) -> tuple[str, float, float]:
    """(why the homography is not believed, "" when it is; likeness; overlap), asked of the part where one is drawn."""
    if inside.sum() < FEWEST_INLIERS or inside.mean() < LEAST_INLIER_SHARE:
        return f"only {int(inside.sum())} of {len(pairs)} features agree on one view", 0.0, 0.0
    wanted = np.full_like(first, 255) if part is None else part
    span = cv2.contourArea(cv2.convexHull(pairs[inside, :2].astype(np.float32))) / float((wanted > 0).sum())
    if span < LEAST_SPAN:
        return "the features that agree cover too small a part of the photo", 0.0, 0.0
    rows, columns = first.shape
    corners = np.array([[0, 0], [columns, 0], [columns, rows], [0, rows]], float)
    weights = corners @ matrix[2, :2] + matrix[2, 2]
    if weights.min() <= 0 < weights.max():
        return "they were taken from too different directions", 0.0, 0.0
    moved = through(matrix, corners)
    growth = _signed_area(moved) / _signed_area(corners)
    if growth < 0:
        return "one would have to be a mirror image of the other", 0.0, 0.0
    if not 1 / 16 < growth < 16:
        return "their distances to the gear differ too much", 0.0, 0.0
    small = 400 / max(first.shape)
    shrink = np.diag([small, small, 1.0])
    size = (round(second.shape[1] * small), round(second.shape[0] * small))
    quiet = [cv2.resize(p, None, fx=small, fy=small, interpolation=cv2.INTER_AREA) for p in (first, wanted)]
    target = cv2.resize(second, size, interpolation=cv2.INTER_AREA)
    laid = cv2.warpPerspective(quiet[0], shrink @ matrix @ np.linalg.inv(shrink), size)
    seen = cv2.warpPerspective(quiet[1], shrink @ matrix @ np.linalg.inv(shrink), size) > 127
    overlap = float(seen.sum() / max(1, (quiet[1] > 127).sum()) / growth)
    if overlap < LEAST_OVERLAP:
        return "hardly any of the earlier photo is seen again", 0.0, overlap
    pair = np.stack([cv2.GaussianBlur(p, (0, 0), 1.5)[seen].astype(float) for p in (laid, target)])
    likeness = float(np.corrcoef(pair)[0, 1]) if pair.std(axis=1).min() > 1 else 0.0
    if likeness < LEAST_LIKENESS:
        return "laid over each other they do not look alike", likeness, overlap
    return "", likeness, min(1.0, overlap)


def _signed_area(corners: Array) -> float:
    x, y = corners.T
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2)


def transfer(shape: Shape, alignment: Alignment) -> Shape:
    """An earlier mark where it lies in today's photo; a box becomes a polygon because it turns."""
    moved = through(alignment.matrix, points_of(shape))
    kind = ShapeType.POLYGON if shape.type is ShapeType.BOX else shape.type
    return Shape.of(kind.value, moved.tolist())


def laid_over(
    earlier: NDArray[np.uint8], alignment: Alignment, *, scales: tuple[float, float], size: tuple[int, int]
) -> NDArray[np.uint8]:
    """The earlier photo as today's camera would have seen it, for wipe and blink; black where it shows nothing.

    `scales`: copy pixels per full-resolution pixel of (the earlier copy given, the wanted copy);
    `size`: (width, height) of the wanted copy.
    """
    first, second = scales
    half = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1.0]])
    matrix = half @ np.diag([second, second, 1.0]) @ alignment.matrix @ np.diag([1 / first, 1 / first, 1.0])
    return np.asarray(
        cv2.warpPerspective(earlier, matrix @ np.linalg.inv(half), size, flags=cv2.INTER_LINEAR), np.uint8
    )
