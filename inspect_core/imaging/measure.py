"""Readings from points on a photo, with expanded uncertainty.

A `Quantity` turns plane points into one number. `propagate` carries the uncertainty of pointing, of the pixel
grid and of every cause in the scale through it to first order (GUM, JCGM 100, 5.1.2); `monte_carlo` draws from
the full model instead (JCGM 101) and is the check on the first.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import cv2
import numpy as np

from inspect_core.domain.errors import BadInput
from inspect_core.domain.marks import Reading
from inspect_core.domain.measures import measure_named
from inspect_core.imaging.plane import Array
from inspect_core.imaging.scale import Scale

#: Plane points (…, n, 2) in mm to a value (…): vectorised over leading axes.
Quantity = Callable[[Array], Array]

#: Standard uncertainty of pointing with the loupe, per coordinate, in photo pixels (common practice, no source).
POINT_SD_PX = 1.5
#: The same where nobody says how the points were drawn: about one pixel of a phone's screen some 400 wide that shows
#: the whole photo, which is many pixels of the photo, and never less than two (common practice, no source).
SCREEN_SD_PX, SCREEN_PX = 2.0, 400.0
#: Rounding of a continuous place to the pixel grid: rectangular, one pixel wide.
PIXEL_SD = 1 / math.sqrt(12)
COVERAGE_FACTOR = 2.0
#: Where the scale itself is more uncertain than this share (k = 2), nothing is measured.
_WIDEST_SCALE = 0.6


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with its standard uncertainty (k = 1) and what it is made of, all in the value's unit."""

    value: float
    standard: float
    budget: Mapping[str, float]

    @property
    def expanded(self) -> float:
        """k = 2, about 95 %."""
        return COVERAGE_FACTOR * self.standard

    def with_cause(self, cause: str, standard: float) -> Estimate:
        """The same with one more independent cause."""
        budget = dict(self.budget)
        budget[cause] = math.hypot(budget.get(cause, 0.0), standard)
        return Estimate(self.value, math.hypot(self.standard, standard), MappingProxyType(budget))

    def over(self, other: float, other_standard: float, *, share_of: bool = False) -> Estimate:
        """This over a nominal value that has a standard uncertainty of its own (`share_of`: (this − other) / other)."""
        ratio = self.value / other
        relative = ratio * other_standard / other
        value = ratio - 1 if share_of else ratio
        budget = {cause: part / other for cause, part in self.budget.items()}
        scaled = Estimate(value, self.standard / other, MappingProxyType(budget))
        return scaled.with_cause("nominal value", relative)

    def reading(self, measure: str, method: str) -> Reading:
        """As a reading of a known measure, in that measure's unit."""
        return Reading(measure, self.value, measure_named(measure).unit.value, self.expanded, method)


def propagate(quantity: Quantity, points: Array, scale: Scale, *, point_sd_px: float = POINT_SD_PX) -> Estimate:
    """First-order uncertainty of a quantity of photo points (n, 2), each pointed at independently.

    Raises BadInput where the scale does not reach the mark.
    """
    points = np.asarray(points, float)
    plane = scale.map.to_mm(points)
    value = float(quantity(plane))
    budget: dict[str, float] = {}
    # One step per coordinate through the local derivative of the map; half a pixel keeps it linear.
    moves = scale.map.jacobian(points) * 0.5
    count = len(points)
    offsets = np.zeros((count, 2, count, 2))
    index = np.arange(count)
    offsets[index, :, index, :] = np.swapaxes(moves, 1, 2)
    slopes = quantity(plane + offsets) - quantity(plane - offsets)
    steepness = float(np.sqrt((slopes**2).sum()))
    budget["pointing"] = steepness * point_sd_px
    budget["pixel size"] = steepness * PIXEL_SD
    for spread in scale.spreads:
        change = float(quantity(spread.plus.to_mm(points)) - quantity(spread.minus.to_mm(points))) / 2
        budget[spread.cause] = math.hypot(budget.get(spread.cause, 0.0), change)
    return Estimate(value, math.sqrt(sum(part**2 for part in budget.values())), MappingProxyType(budget))


@dataclass(frozen=True, slots=True)
class Drawn:
    """What a Monte Carlo run found: mean, standard deviation and the shortest-tailed 95 % interval."""

    mean: float
    standard: float
    low: float
    high: float


def monte_carlo(
    quantity: Quantity,
    points: Array,
    scale: Scale,
    chance: np.random.Generator,
    *,
    point_sd_px: float = POINT_SD_PX,
    draws: int = 20_000,
) -> Drawn:
    """Distribution of the quantity by random draws of every input (JCGM 101, clause 7)."""
    points = np.asarray(points, float)
    maps = scale.draw(chance, draws)
    moved = (
        points
        + chance.normal(0, point_sd_px, (draws, *points.shape))
        + chance.uniform(-0.5, 0.5, (draws, *points.shape))
    )
    values = np.array([float(quantity(map_.to_mm(place))) for map_, place in zip(maps, moved, strict=True)])
    low, high = np.quantile(values, (0.025, 0.975))
    return Drawn(float(values.mean()), float(values.std(ddof=1)), float(low), float(high))


def check_reach(points: Array, scale: Scale) -> None:
    """Refuse marks for which the scale says too little. Raises BadInput.

    Asked of a short length at the middle of the mark, along both directions, so that a small mark is not
    refused for being small.
    """
    middle = np.asarray(points, float).mean(axis=0)
    for step in ((8.0, 0.0), (0.0, 8.0)):
        probe = propagate(path_length, np.array([middle - step, middle + step]), scale, point_sd_px=0.0)
        wide = math.sqrt(sum(part**2 for cause, part in probe.budget.items() if cause != "pixel size"))
        if COVERAGE_FACTOR * wide > _WIDEST_SCALE * probe.value:
            raise BadInput(
                f"The mark lies too far from the {scale.method} to be measured with it.",
                "Lay the scale beside the mark and take the photo again.",
            )


# Quantities. Every one takes (…, n, 2) and gives (…).


def path_length(points: Array) -> Array:
    """Length along the points, in mm."""
    steps = points[..., 1:, :] - points[..., :-1, :]
    return np.asarray(np.hypot(steps[..., 0], steps[..., 1]).sum(axis=-1))


def enclosed_area(points: Array) -> Array:
    """Area inside the closed outline by the shoelace formula, in mm²."""
    # Centred first: the plane's origin may be far away and the products would lose digits.
    p = points - points[..., :1, :]
    q = np.roll(p, -1, axis=-2)
    twice = (p[..., 0] * q[..., 1] - q[..., 0] * p[..., 1]).sum(axis=-1)
    return np.asarray(np.abs(twice) / 2)


def extents(plane: Array) -> tuple[Array, Array]:
    """Unit vectors (2,), (2,) along the long and the short side of the tightest rectangle round the points."""
    corners = cv2.boxPoints(cv2.minAreaRect(plane.astype(np.float32))).astype(float)
    first, second = corners[1] - corners[0], corners[2] - corners[1]
    along = first if np.hypot(*first) >= np.hypot(*second) else second
    size = float(np.hypot(*along))
    if size <= 0:
        raise BadInput("The mark has no size.", "Draw it again, larger.")
    along = along / size
    return along, np.array([-along[1], along[0]])


def extent_along(direction: Array) -> Quantity:
    """How far the points reach along a fixed plane direction, in mm."""

    def quantity(points: Array) -> Array:
        shadow = points @ direction
        return np.asarray(shadow.max(axis=-1) - shadow.min(axis=-1))

    return quantity


def depth_from_edge(points: Array) -> Array:
    """Greatest distance of points 2… from the line through points 0 and 1, square to it, in mm."""
    return np.asarray(np.abs(_off_edge(points)).max(axis=-1))


def _off_edge(points: Array) -> Array:
    """Signed distances of points 2… from the line through points 0 and 1."""
    start, edge = points[..., 0, :], points[..., 1, :] - points[..., 0, :]
    out = points[..., 2:, :] - start[..., None, :]
    across = out[..., 0] * edge[..., 1, None] - out[..., 1] * edge[..., 0, None]
    return np.asarray(across / np.hypot(edge[..., 0], edge[..., 1])[..., None])


def deepest(plane: Array) -> Quantity:
    """`depth_from_edge` of these plane points, made straight around them for propagation.

    Distances are folded at the edge: where a drawn tip comes to lie almost on it, the folded quantity hardly changes
    with pointing, and a depth of next to nothing would be stated as sure.
    """
    off = _off_edge(plane)
    index = int(np.abs(off).argmax())
    sign = 1.0 if off[index] >= 0 else -1.0
    return lambda points: np.asarray(sign * _off_edge(points)[..., index])


def depth_share(points: Array) -> Array:
    """Depth from edge over the distance of the opposite edge: points 0, 1 edge; 2, 3 other edge; 4… the damage."""
    return np.asarray(depth_from_edge(_without_other_edge(points)) / _edge_distance(points[..., :4, :]))


def deepest_share(plane: Array) -> Quantity:
    """`depth_share` made straight around these plane points, as `deepest`."""
    depth = deepest(_without_other_edge(plane))
    return lambda points: np.asarray(depth(_without_other_edge(points)) / _edge_distance(points[..., :4, :]))


def _without_other_edge(points: Array) -> Array:
    return np.concatenate([points[..., :2, :], points[..., 4:, :]], axis=-2)


def _edge_distance(points: Array) -> Array:
    """Mean distance of points 2, 3 from the line through points 0, 1, in mm."""
    return np.asarray(np.abs(_off_edge(points)).mean(axis=-1))


def turn_angle(points: Array) -> Array:
    """Angle at the middle of three points, 0 to 180 degrees, 180 for a straight line."""
    return np.asarray(np.abs(signed_turn(points)))


def signed_turn(points: Array) -> Array:
    """The same, -180 to 180 degrees."""
    first, second = points[..., 0, :] - points[..., 1, :], points[..., 2, :] - points[..., 1, :]
    return _between(first, second)


def line_angle(points: Array) -> Array:
    """Angle between the line through points 0, 1 and that through 2, 3: 0 to 90 degrees."""
    lean = np.abs(signed_lean(points))
    return np.asarray(np.minimum(lean, 180 - lean))


def signed_lean(points: Array) -> Array:
    """Angle from the way 0 to 1 to the way 2 to 3: -180 to 180 degrees."""
    return _between(points[..., 1, :] - points[..., 0, :], points[..., 3, :] - points[..., 2, :])


def _between(first: Array, second: Array) -> Array:
    cross = first[..., 0] * second[..., 1] - first[..., 1] * second[..., 0]
    return np.asarray(np.degrees(np.arctan2(cross, (first * second).sum(axis=-1))))


def unfolded(angle: Quantity, signed: Quantity, plane: Array) -> Quantity:
    """A folded angle made straight around these plane points for propagation, for the reason told at `deepest`."""
    value, base = float(angle(plane)), float(signed(plane))
    return lambda points: np.asarray(value + (signed(points) - base + 180.0) % 360.0 - 180.0)
