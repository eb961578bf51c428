"""Curves in the plane and the pixels along them: every strap, rope, ring and rod is a strip along a path."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sample_images.canvas import Canvas, Window
from sample_images.spec import Array


class Path:
    """A polyline in mm, (N, 2), measured by its length. u runs along it, v to its right-hand side (y down)."""

    def __init__(self, points: Array) -> None:
        self.points = np.asarray(points, np.float64)
        steps = np.diff(self.points, axis=0)
        self.lengths = np.hypot(steps[:, 0], steps[:, 1])
        self.directions = steps / self.lengths[:, None]
        self.starts = np.concatenate([[0.0], np.cumsum(self.lengths)])

    @property
    def length(self) -> float:
        """Length in mm."""
        return float(self.starts[-1])

    def at(self, u: Array | float, v: Array | float = 0.0) -> Array:
        """Plane position(s) of (u, v), shape (..., 2). Beyond the ends the last direction goes on."""
        u_, v_ = np.broadcast_arrays(np.asarray(u, np.float64), np.asarray(v, np.float64))
        index = np.clip(np.searchsorted(self.starts, u_, side="right") - 1, 0, len(self.lengths) - 1)
        direction = self.directions[index]
        normal = np.stack([-direction[..., 1], direction[..., 0]], axis=-1)
        along = (u_ - self.starts[index])[..., None]
        return self.points[index] + along * direction + v_[..., None] * normal  # type: ignore[no-any-return]

    def direction(self, u: float) -> Array:
        """Unit direction at u, shape (2,)."""
        index = int(np.clip(np.searchsorted(self.starts, u, side="right") - 1, 0, len(self.lengths) - 1))
        return self.directions[index]  # type: ignore[no-any-return]

    def part(self, u0: float, u1: float) -> Path:
        """The stretch between two lengths."""
        inside = self.points[(self.starts > u0 + 1e-6) & (self.starts < u1 - 1e-6)]
        return Path(np.vstack([self.at(u0), inside, self.at(u1)]))


def straight(x: float, y: float, angle_deg: float, length: float) -> Path:
    """A straight path centred at (x, y)."""
    angle = np.deg2rad(angle_deg)
    half = np.array([np.cos(angle), np.sin(angle)]) * length / 2
    middle = np.array([x, y])
    return Path(np.stack([middle - half, middle + half]))


def curve(controls: list[tuple[float, float]], step: float = 1.5, closed: bool = False) -> Path:
    """A smooth (centripetal-free Catmull-Rom) path through the control points, resampled every `step` mm."""
    knots = np.asarray(controls, np.float64)
    knots = np.vstack([knots[-1], knots, knots[0], knots[1]]) if closed else np.vstack([knots[0], knots, knots[-1]])
    pieces = []
    for p0, p1, p2, p3 in zip(knots, knots[1:], knots[2:], knots[3:], strict=False):
        count = max(3, int(np.hypot(*(p2 - p1)) / step))
        t = np.linspace(0, 1, count, endpoint=False)[:, None]
        pieces.append(
            0.5 * (2 * p1 + (p2 - p0) * t + (2 * p0 - 5 * p1 + 4 * p2 - p3) * t**2 + (3 * p1 - p0 - 3 * p2 + p3) * t**3)
        )
    return Path(np.vstack([*pieces, knots[-2][None]]))


def arc(x: float, y: float, radius: float, from_deg: float, to_deg: float, step: float = 1.5) -> Array:
    """Points on a circle, (N, 2), both ends included."""
    count = max(4, int(abs(np.deg2rad(to_deg - from_deg)) * radius / step))
    angle = np.deg2rad(np.linspace(from_deg, to_deg, count))
    return np.stack([x + radius * np.cos(angle), y + radius * np.sin(angle)], axis=1)


@dataclass(slots=True)
class Strip:
    """Pixels near a path: u and v in mm per pixel, (nx, ny) the direction of growing v, `near` where valid."""

    window: Window
    u: Array
    v: Array
    nx: Array
    ny: Array
    near: Array


def strip(canvas: Canvas, path: Path, half: float) -> Strip | None:
    """Strip coordinates within `half` mm of a path with square ends; None when it lies outside the canvas."""
    reach = half + 2.0 / canvas.k
    window = canvas.window(path.points, reach)
    if window is None:
        return None
    shape = window.shape
    last = len(path.lengths) - 1
    if last == 0:
        x, y = canvas.grid(window)
        ex, ey = (np.float32(e) for e in path.directions[0])
        dx, dy = x - np.float32(path.points[0, 0]), y - np.float32(path.points[0, 1])
        u, v = dx * ex + dy * ey, dy * ex - dx * ey
        edge = np.float32(1.0 / canvas.k)
        near = (np.abs(v) < np.float32(reach)) & (u > -edge) & (u < np.float32(path.length) + edge)
        v = np.clip(v, -np.float32(reach), np.float32(reach))
        return Strip(window, u, v, np.full(shape, -ey), np.full(shape, ex), near)
    best = np.full(shape, np.float32(reach))
    u, v = np.zeros(shape, np.float32), np.full(shape, np.float32(reach))
    nx, ny = np.zeros(shape, np.float32), np.ones(shape, np.float32)
    near = np.zeros(shape, bool)
    for i, length in enumerate(path.lengths):
        piece = canvas.window(path.points[i : i + 2], reach)
        if piece is None:
            continue
        rows = slice(piece.top - window.top, piece.bottom - window.top)
        columns = slice(piece.left - window.left, piece.right - window.left)
        x, y = canvas.grid(piece)
        ex, ey = (np.float32(e) for e in path.directions[i])
        dx, dy = x - np.float32(path.points[i, 0]), y - np.float32(path.points[i, 1])
        along, across = dx * ex + dy * ey, dy * ex - dx * ey
        beyond = np.maximum(np.maximum(-along, along - np.float32(length)), 0)
        distance = np.sqrt(across * across + beyond * beyond)
        take = distance < best[rows, columns]
        if i == 0:
            take &= along > -1.0 / canvas.k
        if i == last:
            take &= along < length + 1.0 / canvas.k
        best[rows, columns][take] = distance[take]
        u[rows, columns][take] = (along + np.float32(path.starts[i]))[take]
        v[rows, columns][take] = (np.copysign(distance, across))[take]
        nx[rows, columns][take] = -ey
        ny[rows, columns][take] = ex
        near[rows, columns] |= take
    return Strip(window, u, v, nx, ny, near)
