"""Random roofs and an exact, independent answer for them, sharing no code with the package.

The oracle works in rational numbers (fractions), so its comparison of distance and reach has no rounding at all; the
sampling one casts rays. Neither uses shapely.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

Pair = tuple[float, float]


@dataclass(frozen=True)
class Case:
    outer: tuple[Pair, ...]
    openings: tuple[tuple[Pair, ...], ...]
    anchor: Pair
    closed: frozenset[tuple[int, int]]

    @property
    def rings(self) -> tuple[tuple[Pair, ...], ...]:
        return (self.outer, *self.openings)


def inside(ring: tuple[Pair, ...], point: Pair) -> bool:
    """Even-odd rule by a ray to the right."""
    x, y = point
    odd = False
    for (x1, y1), (x2, y2) in zip(ring, ring[1:] + ring[:1], strict=True):
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) * (x2 - x1) / (y2 - y1):
            odd = not odd
    return odd


def on_roof(case: Case, point: Pair) -> bool:
    return inside(case.outer, point) and not any(inside(ring, point) for ring in case.openings)


def squared_distance(point: Pair, start: Pair, end: Pair) -> Fraction:
    """Exact squared distance of a point from a segment."""
    px, py = Fraction(point[0]), Fraction(point[1])
    ax, ay, bx, by = Fraction(start[0]), Fraction(start[1]), Fraction(end[0]), Fraction(end[1])
    dx, dy = bx - ax, by - ay
    along = ((px - ax) * dx + (py - ay) * dy) / (dx * dx + dy * dy)
    along = min(Fraction(1), max(Fraction(0), along))
    ex, ey = px - ax - along * dx, py - ay - along * dy
    return ex * ex + ey * ey


def exact_squared_distance(case: Case) -> Fraction | None:
    """Squared distance from the anchor to the nearest open edge; None when every edge is closed."""
    found = [
        squared_distance(case.anchor, ring[i], ring[(i + 1) % len(ring)])
        for number, ring in enumerate(case.rings)
        for i in range(len(ring))
        if (number, i) not in case.closed
    ]
    return min(found, default=None)


def some_point_off_the_roof(case: Case, radius: float) -> bool:
    """Whether any of 360 points at that radius around the anchor, or of 90 at half of it, is off the roof."""
    angles = np.linspace(0.0, 2 * math.pi, 361)[:-1]
    xs = np.concatenate([radius * np.cos(angles), radius / 2 * np.cos(angles[::4])]) + case.anchor[0]
    ys = np.concatenate([radius * np.sin(angles), radius / 2 * np.sin(angles[::4])]) + case.anchor[1]

    def within(ring: tuple[Pair, ...]) -> np.ndarray:
        odd = np.zeros(xs.shape, dtype=bool)
        for (x1, y1), (x2, y2) in zip(ring, ring[1:] + ring[:1], strict=True):
            if y1 != y2:
                crosses = (y1 > ys) != (y2 > ys)
                odd ^= crosses & (xs < x1 + (ys - y1) * (x2 - x1) / (y2 - y1))
        return odd

    surface = within(case.outer)
    for ring in case.openings:
        surface &= ~within(ring)
    return bool((~surface).any())


def _star(rng: random.Random) -> tuple[Pair, ...]:
    """A ring that sees all of itself from its middle, corners in or out: concave as often as not."""
    corners = rng.randint(3, 14)
    angles = [2 * math.pi * (i + rng.uniform(-0.35, 0.35)) / corners for i in range(corners)]
    return tuple((rng.uniform(2, 15) * math.cos(a), rng.uniform(2, 15) * math.sin(a)) for a in angles)


def _notched(rng: random.Random) -> tuple[Pair, ...]:
    """L, T and U shapes, turned by any angle."""
    wide, tall = rng.uniform(4, 30), rng.uniform(4, 30)
    left, right = sorted((rng.uniform(0.1, 0.9) * wide, rng.uniform(0.1, 0.9) * wide))
    deep = rng.uniform(0.1, 0.9) * tall
    shape = [
        (0.0, 0.0),
        (wide, 0.0),
        (wide, tall),
        (right, tall),
        (right, deep),
        (left, deep),
        (left, tall),
        (0.0, tall),
    ]
    if right - left < 0.2:
        shape = [(0.0, 0.0), (wide, 0.0), (wide, tall), (left, tall), (left, deep), (0.0, deep)]
    turn = rng.uniform(0, 2 * math.pi)
    return tuple((x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)) for x, y in shape)


def random_case(rng: random.Random) -> Case | None:
    """A roof with up to two openings and an anchor; None where the draw makes no sensible roof."""
    outer = _star(rng) if rng.random() < 0.5 else _notched(rng)
    xs, ys = [x for x, _ in outer], [y for _, y in outer]

    def anywhere() -> Pair:
        return (rng.uniform(min(xs), max(xs)), rng.uniform(min(ys), max(ys)))

    openings: list[tuple[Pair, ...]] = []
    for _ in range(rng.randint(0, 2)):
        x, y = anywhere()
        a, b = rng.uniform(0.2, 2), rng.uniform(0.2, 2)
        openings.append(((x, y), (x + a, y), (x + a, y + b), (x, y + b)))
    anchor = outer[0]
    if rng.random() < 0.95:
        for _ in range(60):
            anchor = anywhere()
            if on_roof(Case(outer, tuple(openings), anchor, frozenset()), anchor):
                break
        else:
            return None
    closed: set[tuple[int, int]] = set()
    if rng.random() < 0.3:
        closed = {(0, i) for i in range(len(outer)) if rng.random() < 0.4}
    return Case(outer, tuple(openings), anchor, frozenset(closed))
