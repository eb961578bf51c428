"""Shapes drawn on a photograph.

Frame of every coordinate here: pixels of the upright full-resolution original (EXIF orientation applied
once), origin at the upper left corner, x to the right, y down. Fractions of a pixel are kept.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from inspect_core.domain.errors import BadInput

#: More points than this in one shape is a fault or an attack, not a drawing.
MOST_POINTS = 5000


class ShapeType(StrEnum):
    """How the points of a mark are to be read."""

    LINE = "line"  # exactly two points: the ends
    POLYLINE = "polyline"  # two or more points, open
    BOX = "box"  # exactly two points: opposite corners, sides parallel to the photo's
    POLYGON = "polygon"  # three or more points, closed by itself
    FREEHAND = "freehand"  # three or more points of a drawn outline, closed by itself


_POINT_COUNTS = {
    ShapeType.LINE: (2, 2),
    ShapeType.POLYLINE: (2, MOST_POINTS),
    ShapeType.BOX: (2, 2),
    ShapeType.POLYGON: (3, MOST_POINTS),
    ShapeType.FREEHAND: (3, MOST_POINTS),
}


@dataclass(frozen=True, slots=True)
class Point:
    """A place on a photo: x right, y down, in full-resolution pixels."""

    x: float
    y: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.x) and math.isfinite(self.y)):
            raise BadInput("A point of a mark is not a number.", "Draw the mark again.")


@dataclass(frozen=True, slots=True)
class Shape:
    """A drawn shape. Raises BadInput when the points do not fit the type."""

    type: ShapeType
    points: tuple[Point, ...]

    def __post_init__(self) -> None:
        least, most = _POINT_COUNTS[self.type]
        if not least <= len(self.points) <= most:
            wanted = f"exactly {least}" if least == most else f"{least} to {most}"
            raise BadInput(
                f"A {self.type.value} needs {wanted} points and has {len(self.points)}.", "Draw the mark again."
            )

    @classmethod
    def of(cls, type: str, points: Sequence[Sequence[float]]) -> Shape:
        """Build from plain values, `points` as [[x, y], …]. Raises BadInput on anything else."""
        try:
            kind = ShapeType(type)
        except ValueError:
            known = ", ".join(t.value for t in ShapeType)
            raise BadInput(f"“{type}” is no shape.", f"Use one of: {known}.") from None
        try:
            pairs = tuple(Point(float(x), float(y)) for x, y in points)
        except (TypeError, ValueError):
            raise BadInput("The points of a shape are not pairs of numbers.", "Give them as [[x, y], …].") from None
        return cls(kind, pairs)

    @property
    def closed(self) -> bool:
        """True where the shape encloses an area."""
        return self.type in (ShapeType.BOX, ShapeType.POLYGON, ShapeType.FREEHAND)

    def outline(self) -> tuple[Point, ...]:
        """The points to draw in order; a box gives its four corners. Closed shapes do not repeat the first."""
        if self.type is not ShapeType.BOX:
            return self.points
        left, top, right, bottom = self.bounds()
        return (Point(left, top), Point(right, top), Point(right, bottom), Point(left, bottom))

    def bounds(self) -> tuple[float, float, float, float]:
        """(left, top, right, bottom) in pixels."""
        xs = [p.x for p in self.points]
        ys = [p.y for p in self.points]
        return min(xs), min(ys), max(xs), max(ys)

    def length(self) -> float:
        """Length along the shape in pixels; the perimeter for a closed one."""
        path = self.outline()
        total = sum(math.dist((a.x, a.y), (b.x, b.y)) for a, b in zip(path, path[1:], strict=False))
        if self.closed:
            total += math.dist((path[-1].x, path[-1].y), (path[0].x, path[0].y))
        return total

    def area(self) -> float:
        """Enclosed area in square pixels by the shoelace formula; 0 for open shapes."""
        if not self.closed:
            return 0.0
        path = self.outline()
        twice = sum(a.x * b.y - b.x * a.y for a, b in zip(path, path[1:] + path[:1], strict=True))
        return abs(twice) / 2

    def within(self, width: int, height: int, slack: float = 1.0) -> bool:
        """Whether every point lies on a photo of that size, give or take `slack` pixels."""
        return all(-slack <= p.x <= width + slack and -slack <= p.y <= height + slack for p in self.points)
