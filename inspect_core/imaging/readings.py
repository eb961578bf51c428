"""Sizes of drawn shapes: from a mark's points and a scale to estimates in the trade's measures."""

from __future__ import annotations

import math

import cv2
import numpy as np

from inspect_core.domain.errors import BadInput
from inspect_core.domain.geometry import Shape, ShapeType
from inspect_core.imaging.known_length import known_length
from inspect_core.imaging.measure import (
    PIXEL_SD,
    POINT_SD_PX,
    Estimate,
    check_reach,
    deepest,
    deepest_share,
    enclosed_area,
    extent_along,
    extents,
    line_angle,
    path_length,
    propagate,
    signed_lean,
    signed_turn,
    turn_angle,
    unfolded,
)
from inspect_core.imaging.plane import Array
from inspect_core.imaging.scale import Scale

#: Outlines with more points than this are thinned before their derivatives are taken; values use every point.
_MOST_VERTICES = 60
#: A person draws a whole outline a little inside or outside of what it surrounds: this share of the pointing
#: uncertainty is common to all of its points (common practice, no source).
OUTLINE_SHARE = 0.5
_SCATTERS = 200
#: Shift of an outermost point over what scattering it anew adds: mostly 0.6 to 2.8 for triangles, rectangles, ellipses
#: and ragged outlines (simulated); and the standard uncertainty of taking the middle.
OUTERMOST, OUTERMOST_SD = 1.5, 1.25
#: Taking a drawn width for square to the webbing, standard uncertainty in degrees.
SQUARE_SD_DEG = 1.5


def points_of(shape: Shape) -> Array:
    """(n, 2) photo points of a shape; a box gives its four corners."""
    return np.array([[p.x, p.y] for p in shape.outline()])


def length(shape: Shape, scale: Scale, *, point_sd_px: float = POINT_SD_PX) -> Estimate:
    """Length along a line or polyline; of a closed shape the long side of its tightest rectangle. In mm."""
    if shape.closed:
        return _extent(shape, scale, point_sd_px, long=True)
    # Wobble of a drawn line only ever lengthens it, so a polyline is first thinned to what pointing can tell.
    points = _thin(points_of(shape), closed=False, tolerance=max(0.5, point_sd_px))
    check_reach(points, scale)
    return propagate(path_length, points, scale, point_sd_px=point_sd_px)


def width(shape: Shape, scale: Scale, *, point_sd_px: float = POINT_SD_PX) -> Estimate:
    """Short side of a closed shape's tightest rectangle, in mm."""
    if not shape.closed:
        raise BadInput("A line has no width.", "Draw a box or an outline round the damage.")
    return _extent(shape, scale, point_sd_px, long=False)


def _extent(shape: Shape, scale: Scale, point_sd_px: float, *, long: bool) -> Estimate:
    points = _thin(points_of(shape), closed=True)
    check_reach(points, scale)
    plane = scale.map.to_mm(points)
    estimate = propagate(extent_along(extents(plane)[0 if long else 1]), points, scale, point_sd_px=point_sd_px)
    # Pointing errors push the outermost point of each side outwards more often than inwards. Scattering the drawn
    # points once more tells how much, too little: what was scattered once before gives way less. Always the same
    # scatter, so that a mark has one size.
    chance = np.random.default_rng(0)
    scatter = chance.normal(0, math.hypot(point_sd_px, PIXEL_SD), (_SCATTERS, *points.shape))
    steps = np.einsum("nij,snj->sni", scale.map.jacobian(points), scatter)
    sizes = np.array([_sides(plane + step)[0 if long else 1] for step in steps])
    excess = float(sizes.mean()) - _sides(plane)[0 if long else 1]
    budget = {**estimate.budget, "pointing": max(estimate.budget["pointing"], float(sizes.std()))}
    standard = math.sqrt(sum(part**2 for part in budget.values()))
    corrected = Estimate(max(0.0, _sides(plane)[0 if long else 1] - OUTERMOST * excess), standard, budget)
    return corrected.with_cause("outermost points", OUTERMOST_SD * abs(excess))


def _sides(plane: Array) -> tuple[float, float]:
    """(long, short) side of the tightest rectangle round plane points, in mm."""
    _, sides, _ = cv2.minAreaRect(plane.astype(np.float32))
    return max(sides), min(sides)


def area(shape: Shape, scale: Scale, *, point_sd_px: float = POINT_SD_PX) -> Estimate:
    """Area inside a closed shape, in mm²."""
    if not shape.closed:
        raise BadInput("A line encloses no area.", "Draw a box or an outline round the damage.")
    points = points_of(shape)
    check_reach(points, scale)
    thin = propagate(enclosed_area, _thin(points, closed=True), scale, point_sd_px=point_sd_px)
    plane = scale.map.to_mm(points)
    outline = float(path_length(np.concatenate([plane, plane[:1]])))
    estimate = Estimate(float(enclosed_area(plane)), thin.standard, thin.budget)
    offset = OUTLINE_SHARE * point_sd_px * scale.map.mm_per_px(points)
    return estimate.with_cause("outline drawn inside or outside", outline * offset)


def area_share(
    shape: Shape, region: Shape, scale: Scale | None, size: tuple[int, int], *, point_sd_px: float = POINT_SD_PX
) -> Estimate:
    """Area of a closed shape over that of the component's visible outline, 0 to 1.

    A share needs no millimetres; without a scale only the camera's unknown tilt makes it uncertain.
    """
    if not (shape.closed and region.closed):
        raise BadInput("A share of area needs two closed outlines.", "Draw the damage and the component as outlines.")
    scale = scale or without_millimetres(region, size)
    part, whole = _thin(points_of(shape), closed=True), _thin(points_of(region), closed=True)
    count = len(part)

    def share(points: Array) -> Array:
        return np.asarray(enclosed_area(points[..., :count, :]) / enclosed_area(points[..., count:, :]))

    estimate = propagate(share, np.concatenate([part, whole]), scale, point_sd_px=point_sd_px)
    if not 0 < estimate.value <= 1.02:
        raise BadInput(
            "The damage is drawn larger than the component it lies on.", "Draw the component's whole visible outline."
        )
    plane, base = scale.map.to_mm(part), scale.map.to_mm(whole)
    offset = OUTLINE_SHARE * point_sd_px * scale.map.mm_per_px(part)
    outline = float(path_length(np.concatenate([plane, plane[:1]])))
    return estimate.with_cause("outline drawn inside or outside", outline * offset / float(enclosed_area(base)))


def without_millimetres(shape: Shape, size: tuple[int, int]) -> Scale:
    """A scale of unknown size, fit for shares, ratios and angles only: 1 "mm" is one pixel at the shape."""
    left, top, right, bottom = shape.bounds()
    if right - left >= bottom - top:
        ends = np.array([[left, (top + bottom) / 2], [right, (top + bottom) / 2]])
    else:
        ends = np.array([[(left + right) / 2, top], [(left + right) / 2, bottom]])
    span = float(np.hypot(*(ends[1] - ends[0])))
    return known_length(ends, span, size, length_sd_mm=0.0, point_sd_px=0.0, height_sd_mm=0.0)


def depth(damage: Shape, edge: Array, scale: Scale, *, point_sd_px: float = POINT_SD_PX) -> Estimate:
    """Greatest reach of the damage from the webbing's edge, square to it, in mm. `edge`: (2, 2) photo points."""
    points = np.concatenate([_edge_line(edge), _thin(points_of(damage), closed=damage.closed)])
    check_reach(points[2:], scale)
    return propagate(deepest(scale.map.to_mm(points)), points, scale, point_sd_px=point_sd_px)


def depth_by_share(
    damage: Shape,
    edge: Array,
    other_edge: Array,
    scale: Scale | None,
    size: tuple[int, int],
    *,
    point_sd_px: float = POINT_SD_PX,
) -> Estimate:
    """Depth from the edge over the webbing's width, both edges drawn; needs no millimetres."""
    scale = scale or without_millimetres(damage, size)
    points = np.concatenate([_edge_line(edge), _edge_line(other_edge), _thin(points_of(damage), closed=damage.closed)])
    return propagate(deepest_share(scale.map.to_mm(points)), points, scale, point_sd_px=point_sd_px)


def depth_by_width_line(
    damage: Shape, across: Array, scale: Scale, *, point_sd_px: float = POINT_SD_PX
) -> tuple[Estimate, Estimate]:
    """(depth in mm, its share of the width) where only a line across the webbing, edge to edge, was drawn.

    The line is taken for square to the webbing; how far it may be off counts with the distance of the damage.
    """
    damage_points = _thin(points_of(damage), closed=damage.closed)
    check_reach(damage_points, scale)
    points = np.concatenate([_edge_line(across), damage_points])
    plane = scale.map.to_mm(points)
    from_start = float(_reach(plane))
    flipped = np.concatenate([points[[1, 0]], damage_points])
    if float(_reach(scale.map.to_mm(flipped))) < from_start:
        points, plane = flipped, scale.map.to_mm(flipped)
    unit = (plane[1] - plane[0]) / np.hypot(*(plane[1] - plane[0]))
    away = float(np.abs((plane[2:] - plane[0]) @ np.array([-unit[1], unit[0]])).max())
    askew = away * math.radians(SQUARE_SD_DEG)
    whole = float(np.hypot(*(plane[1] - plane[0])))
    deep = propagate(_reach, points, scale, point_sd_px=point_sd_px).with_cause("line not square to the webbing", askew)
    share = propagate(_reach_share, points, scale, point_sd_px=point_sd_px)
    return deep, share.with_cause("line not square to the webbing", askew / whole)


def _reach(points: Array) -> Array:
    """Greatest distance of points 2… from point 0 along the direction to point 1."""
    along = points[..., 1, :] - points[..., 0, :]
    unit = along / np.hypot(along[..., 0], along[..., 1])[..., None]
    return np.asarray(((points[..., 2:, :] - points[..., :1, :]) * unit[..., None, :]).sum(axis=-1).max(axis=-1))


def _reach_share(points: Array) -> Array:
    along = points[..., 1, :] - points[..., 0, :]
    return np.asarray(_reach(points) / np.hypot(along[..., 0], along[..., 1]))


def angle(shape: Shape, scale: Scale | None, size: tuple[int, int], *, point_sd_px: float = POINT_SD_PX) -> Estimate:
    """Angle at the middle of three points, in degrees."""
    points = points_of(shape)
    if shape.type is not ShapeType.POLYLINE or len(points) != 3:
        raise BadInput("An angle needs a polyline of three points.", "Draw one leg, the corner, and the other leg.")
    scale = scale or without_millimetres(shape, size)
    quantity = unfolded(turn_angle, signed_turn, scale.map.to_mm(points))
    return propagate(quantity, points, scale, point_sd_px=point_sd_px)


def twist(
    first: Array, second: Array, scale: Scale | None, size: tuple[int, int], *, point_sd_px: float = POINT_SD_PX
) -> Estimate:
    """Angle between two drawn lines, 0 to 90 degrees: a hook seen on edge, its tip against its shank."""
    points = np.concatenate([_edge_line(first), _edge_line(second)])
    if scale is None:
        shape = Shape.of("polyline", points.tolist())
        scale = without_millimetres(shape, size)
    quantity = unfolded(line_angle, signed_lean, scale.map.to_mm(points))
    return propagate(quantity, points, scale, point_sd_px=point_sd_px)


def _edge_line(points: Array) -> Array:
    line = np.asarray(points, float)
    if line.shape != (2, 2) or not np.isfinite(line).all() or np.hypot(*(line[1] - line[0])) < 2:
        raise BadInput("An edge needs two points that lie apart.", "Draw the line along the edge again.")
    return line


def _thin(points: Array, *, closed: bool, tolerance: float = 0.5) -> Array:
    """Fewer points for the same shape: pointing errors of neighbouring points of a drawn line are not independent."""
    if len(points) <= (12 if closed else 2):
        return points
    line = points.astype(np.float32)
    while True:
        thin = cv2.approxPolyDP(line, tolerance, closed).reshape(-1, 2).astype(float)
        if len(thin) <= _MOST_VERTICES:
            return thin if len(thin) >= (3 if closed else 2) else points
        tolerance *= 1.6
