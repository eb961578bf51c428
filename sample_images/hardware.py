"""Shapes of hooks, rings, buckles, connectors, thimbles and tensioners, in mm about their own middle."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sample_images.canvas import Canvas
from sample_images.metal import Body, start
from sample_images.spec import Array
from sample_images.strip import Path, arc, curve

Points = list[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a shape lies in the plane: its middle, its turn in degrees, mirrored or not."""

    x: float = 0.0
    y: float = 0.0
    turn_deg: float = 0.0
    mirror: bool = False

    def put(self, points: Array | Points) -> Array:
        """Own coordinates to plane coordinates, (N, 2)."""
        p = np.array(points, np.float64).reshape(-1, 2)
        if self.mirror:
            p[:, 1] *= -1
        a = math.radians(self.turn_deg)
        spin = np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]])
        return p @ spin.T + (self.x, self.y)  # type: ignore[no-any-return]

    def path(self, points: Array | Points) -> Path:
        """A polyline as placed."""
        return Path(self.put(points))

    def smooth(self, points: Points, closed: bool = False) -> Path:
        """A smooth path through placed points."""
        return curve([(float(x), float(y)) for x, y in self.put(points)], closed=closed)


@dataclass(slots=True)
class Part:
    """A metal body with the places harm may sit: `spots` plane points, `headings` in radians."""

    body: Body
    spots: dict[str, Array]
    headings: dict[str, float]


def at_x(points: Points, x: float) -> float:
    """Own y of a smooth path at own x, where it first gets there."""
    line = curve(points, step=0.2).points
    return float(line[int(np.abs(line[:, 0] - x).argmin()), 1])


def rounded_box(width: float, height: float, radius: float) -> Array:
    """Outline of a rectangle with rounded corners about the origin, (N, 2)."""
    w, h = width / 2 - radius, height / 2 - radius
    corners = [(w, h, 0.0), (-w, h, 90.0), (-w, -h, 180.0), (w, -h, 270.0)]
    return np.vstack([arc(x, y, radius, a, a + 90, 0.8) for x, y, a in corners])


def softened(outline: Array | Points, times: int = 2) -> Array:
    """A closed outline with its corners cut off again and again (Chaikin's scheme), (N, 2)."""
    p = np.asarray(outline, np.float64)
    for _ in range(times):
        following = np.roll(p, -1, axis=0)
        p = np.stack([0.75 * p + 0.25 * following, 0.25 * p + 0.75 * following], axis=1).reshape(-1, 2)
    return p


def circle(x: float, y: float, radius: float) -> Array:
    """Outline of a circle, (N, 2)."""
    return arc(x, y, radius, 0, 355, max(0.5, radius / 10))


def snap_hook(
    canvas: Canvas, place: Placement, eye_width: float, open_deg: float = 0.0, bent: float = 0.0
) -> Part | None:
    """A double-action snap hook, 130 mm long, eye to the left, nose to the right. `bent` mm opens its nose."""
    body = start(canvas, place.put([(-75, -40), (75, -40), (75, 45), (-75, 45)]), 4, 5.0)
    if body is None:
        return None
    eye = eye_width / 2 + 4
    ring: Points = [
        (-62, -eye),
        (-66, -eye + 5),
        (-66, eye - 5),
        (-62, eye),
        (-46, min(eye, 15)),
        (-38, 8),
        (-38, -8),
        (-46, -min(eye, 15)),
    ]
    hinge, tip = np.array([-21.0, 13.0]), np.array([33.0, 20.0])
    angle = math.radians(-open_deg)
    spin = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    end = hinge + spin @ (tip - hinge)
    body.tube(canvas, place.smooth(ring, closed=True), 4.4)
    body.plate(
        canvas,
        place.put([(-44, -8), (-30, -15), (-14, -20), (-13, -9), (-15, 9), (-18, 18), (-28, 18), (-36, 10), (-44, 8)]),
        3.2,
    )
    spine: Points = [
        (-26, -12),
        (-8, -17),
        (20, -18.5),
        (44, -14),
        (57, 2),
        (53, 19 + bent),
        (41, 25 + 1.6 * bent),
        (31, 23.5 + 2 * bent),
    ]
    path = place.smooth(spine)
    long = path.length

    def thick(u: Array) -> Array:
        swell = 6.1 + 1.5 * np.sin(np.pi * np.clip(u / long, 0, 1))
        return np.asarray(swell - 8.8 * np.clip(u / long - 0.82, 0, 1))

    body.tube(canvas, path, thick, drop=1.0)
    gate = place.path(np.stack([hinge, end]))
    body.tube(canvas, gate, 4.6, flat=0.6, drop=1.2)
    body.plate(canvas, place.put(circle(float(end[0]), float(end[1]), 5.0)), 2.0, drop=0.4)
    lever: Points = [(-22, -15), (-16, -23), (6, -27.5), (16, -25.5), (12, -22), (-6, -19), (-16, -9)]
    body.plate(canvas, place.put(softened(lever)), 1.6, drop=1.0)
    body.plate(canvas, place.put(circle(-21, 13, 4.4)), 2.2, drop=0.7)
    body.plate(canvas, place.put(circle(-17, -14, 3.4)), 1.8, drop=0.7)
    spots = {
        "rust": place.put([(50.0, 4.0)])[0],
        "wear": place.put([(54.0, -1.0)])[0],
        "crack": place.put([(42.0, -13.5)])[0],
        "gate": place.put(end)[0],
        "nose": place.put([(33.0, 23.5 + 2 * bent)])[0],
        "throat a": place.put([(12.0, at_x(spine, 12.0) + float(thick(np.array(40.0))))])[0],
        "throat b": place.put([(12.0, 17.28 - 4.63)])[0],
        "eye": place.put([(-66.0, 0.0)])[0],
    }
    return Part(body, spots, {"crack": math.radians(place.turn_deg + (62 if not place.mirror else -62))})


def connector(canvas: Canvas, place: Placement, open_deg: float = 0.0, bent: float = 0.0) -> Part | None:
    """An offset-D connector with a screw sleeve on its gate, 112 mm long."""
    body = start(canvas, place.put([(-64, -44), (64, -44), (64, 44), (-64, 44)]), 4, 5.0)
    if body is None:
        return None
    hinge, tip = np.array([-30.0, 17.5]), np.array([36.0, 24.5])
    frame: Points = [
        (-29, 18.0),
        (-43, 15),
        (-50.5, 3),
        (-46, -14),
        (-26, -22),
        (10, -27 - bent),
        (38, -30),
        (50, -20),
        (51, 6),
        (46, 21),
        (34, 25),
    ]
    body.tube(canvas, place.smooth(frame), 5.6, flat=0.85)
    line = curve(frame, step=0.2).points
    angle = math.radians(-open_deg)
    spin = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    end = hinge + spin @ (tip - hinge)
    way = (end - hinge) / np.hypot(*(end - hinge))
    body.tube(canvas, place.path(np.stack([hinge, end - way * 2])), 4.7, drop=1.0)
    sleeve = place.path(np.stack([hinge + way * 20, end - way * 9]))
    body.tube(canvas, sleeve, 7.4, flat=0.7, drop=1.2)
    for s in np.linspace(24, 57, 12):
        a, side = hinge + way * s, np.array([-way[1], way[0]])
        body.tube(canvas, place.path(np.stack([a - side * 6.6, a + side * 6.6])), 0.8, drop=0.3)
    body.plate(canvas, place.put(circle(float(hinge[0]), float(hinge[1]), 3.2)), 1.6, drop=0.5)
    spots = {
        "rust": place.put([(44.0, -24.0)])[0],
        "wear": place.put([(50.0, -8.0)])[0],
        "crack": place.put([(-44.0, -14.0)])[0],
        "gate": place.put(end)[0],
        "nose": place.put(tip)[0],
        "bend": place.put([(10.0, -27.0 - bent)])[0],
        "a": place.put(line[line[:, 0].argmin()] - (5.6, 0.0))[0],
        "b": place.put(line[line[:, 0].argmax()] + (5.6, 0.0))[0],
    }
    return Part(body, spots, {"crack": math.radians(place.turn_deg + (50 if not place.mirror else -50))})


def d_ring(canvas: Canvas, place: Placement, inside: float, bent: float = 0.0) -> Part | None:
    """A D-ring, its bar on the left at x = 0; `inside` the clear width along the bar, `bent` mm pushes the bow in."""
    body = start(canvas, place.put([(-12, -50), (75, -50), (75, 50), (-12, 50)]), 4, 4.0)
    if body is None:
        return None
    r = 4.0
    h = inside / 2 + r
    bow: Points = [
        (0, -h + 4),
        (5, -h),
        (24, -h + 1.5),
        (42 - 0.3 * bent, -h * 0.62),
        (51 - bent, 0),
        (42 + 0.25 * bent, h * 0.62),
        (24, h - 1.5),
        (5, h),
        (0, h - 4),
    ]
    body.tube(canvas, place.path([(0.0, -h + 3), (0.0, h - 3)]), r, drop=0.0)
    body.tube(canvas, place.smooth(bow), r, drop=0.2)
    spots = {
        "rust": place.put([(40.0, h * 0.6)])[0],
        "wear": place.put([(50.5 - bent, 1.0)])[0],
        "crack": place.put([(22.0, -h + 1.5)])[0],
        "bend": place.put([(51.0 - bent, 0.0)])[0],
        "a": place.put([(14.0, at_x(bow[:5], 14.0) + r)])[0],
        "b": place.put([(14.0, at_x(bow[:3:-1], 14.0) - r)])[0],
    }
    return Part(body, spots, {"crack": math.radians(place.turn_deg + 84)})


def buckle(canvas: Canvas, place: Placement, inside: float, bent: float = 0.0) -> Part | None:
    """A pass-through buckle: frame with a knurled middle bar."""
    h, w, r = inside / 2 + 4, 29.0, 3.6
    body = start(canvas, place.put([(-45, -45), (45, -45), (45, 45), (-45, 45)]), 4, 3.5)
    if body is None:
        return None
    frame: Points = [
        (-w, 0),
        (-w, -h + 5),
        (-w + 4, -h),
        (0, -h - 0.3 - bent),
        (w - 4, -h),
        (w, -h + 5),
        (w, 0),
        (w, h - 5),
        (w - 4, h),
        (0, h + 0.3),
        (-w + 4, h),
        (-w, h - 5),
    ]
    body.tube(canvas, place.smooth(frame, closed=True), r, flat=0.75)
    bar = rounded_box(13, inside + 10, 3)
    body.plate(canvas, place.put(bar), 2.0)
    for s in np.linspace(-4.2, 4.2, 5):
        body.tube(canvas, place.path([(s, -inside / 2 + 1), (s, inside / 2 - 1)]), 0.75, drop=0.25)
    spots = {
        "rust": place.put([(w - 3, -h + 2)])[0],
        "wear": place.put([(0.0, 3.0)])[0],
        "crack": place.put([(12.0, -h)])[0],
        "bend": place.put([(0.0, -h - bent)])[0],
        "a": place.put([(w - 8, -h + r)])[0],
        "b": place.put([(w - 8, h - r)])[0],
    }
    return Part(body, spots, {"crack": math.radians(place.turn_deg + 88)})


def tensioner(canvas: Canvas, place: Placement, out_mm: float) -> Part | None:
    """A turnbuckle: frame of two bars, threaded eyes drawn out by `out_mm` on each side."""
    body = start(canvas, place.put([(-125, -25), (125, -25), (125, 25), (-125, 25)]), 4, 6.0)
    if body is None:
        return None
    for side in (-1.0, 1.0):
        reach = 45 + out_mm
        body.tube(canvas, place.path([(side * 24, 0.0), (side * reach, 0.0)]), 4.6, drop=0.3)
        for s in np.arange(26, reach - 1, 1.75):
            body.tube(canvas, place.path([(side * s - 0.3, -4.4), (side * s + 0.3, 4.4)]), 0.62, drop=0.15)
        body.tube(canvas, place.path(arc(side * (reach + 11), 0, 11.5, 0, 360)), 4.2, drop=0.3)
    for y in (-10.0, 10.0):
        body.tube(canvas, place.path([(-46.0, y), (46.0, y)]), 3.6, drop=0.8)
    for x in (-44.0, 44.0):
        body.plate(canvas, place.put(rounded_box(14, 28, 5) + np.array([x, 0.0])), 3.5, drop=0.8)
    spots = {
        "rust": place.put([(44.0, 4.0)])[0],
        "wear": place.put([(0.0, 10.0)])[0],
        "gate": place.put([(44.0 + out_mm, 0.0)])[0],
        "a": place.put([(-51.0, 0.0)])[0],
        "b": place.put([(51.0, 0.0)])[0],
        "left": place.put([(-56.0 - out_mm, 0.0)])[0],
        "right": place.put([(56.0 + out_mm, 0.0)])[0],
    }
    return Part(body, spots, {})


def thimble(canvas: Canvas, place: Placement, gap: float, bent: float = 0.0) -> Part | None:
    """A teardrop thimble about its eye; `gap` mm narrower than the rope loop around it."""
    body = start(canvas, place.put([(-45, -28), (30, -28), (30, 28), (-45, 28)]), 3, 3.0)
    if body is None:
        return None
    g = gap
    drop: Points = [
        (-33, 0),
        (-24, -(9.5 - g)),
        (-6, -(18.5 - g)),
        (10, -(16.5 - g) + bent),
        (19 - g - bent, 0),
        (10, 16.5 - g),
        (-6, 18.5 - g),
        (-24, 9.5 - g),
    ]
    body.tube(canvas, place.smooth(drop, closed=True), 2.7, flat=0.8, drop=0.8)
    spots = {
        "rust": place.put([(12.0, 9.0)])[0],
        "wear": place.put([(18.0 - g, 0.0)])[0],
        "bend": place.put([(14.0, -9.0)])[0],
    }
    return Part(body, spots, {})
