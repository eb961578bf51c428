"""A roof in plan: one outer ring, its openings, and the edges nobody can fall over."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shapely.geometry import Polygon
from shapely.validation import explain_validity

from inspect_core.domain.errors import BadInput

Pair = tuple[float, float]
#: More corners than this is a scan, not a sketch.
MOST_CORNERS = 2000
MOST_OPENINGS = 200
#: A corner nearer to its neighbour than this (metres) is the same corner.
SAME_PLACE = 1e-6


@dataclass(frozen=True, slots=True)
class Roof:
    """A roof in plan. Rings in metres, without repeating the first corner; edge i runs from corner i to the next.

    `closed_edges` are (ring, edge), ring 0 the outer one, that nobody can fall over. `point_uncertainty` is the
    expanded uncertainty of any drawn point in metres; `scale_share` that of the plan's scale, as a share of a length.
    Raises BadInput for rings that cross themselves, touch wrongly, or enclose nothing.
    """

    outer: tuple[Pair, ...]
    openings: tuple[tuple[Pair, ...], ...] = ()
    closed_edges: frozenset[tuple[int, int]] = frozenset()
    point_uncertainty: float = 0.0
    scale_share: float = 0.0

    def __post_init__(self) -> None:
        corners = sum(len(ring) for ring in self.rings)
        if corners > MOST_CORNERS:
            raise BadInput(
                f"The roof has {corners} corners; {MOST_CORNERS} is the most.",
                "Draw it with fewer corners, edge for edge.",
            )
        if len(self.openings) > MOST_OPENINGS:
            raise BadInput(
                f"The roof has {len(self.openings)} openings; {MOST_OPENINGS} is the most.",
                "Check one part of the roof at a time.",
            )
        for number, ring in enumerate(self.rings):
            _check_ring(ring, self.name_of(number))
        _check_openings(self.outer, self.openings)
        if not self.surface().is_valid:
            raise BadInput(
                "An opening touches the roof edge along its length.", "Draw it as a notch of the outer edge instead."
            )
        for ring_number, edge in self.closed_edges:
            if not (0 <= ring_number < len(self.rings) and 0 <= edge < len(self.rings[ring_number])):
                raise BadInput(
                    f"There is no edge {edge + 1} on ring {ring_number} to call closed.",
                    "Count edges from 1 in drawing order.",
                )
        for share in (self.point_uncertainty, self.scale_share):
            if not (math.isfinite(share) and share >= 0):
                raise BadInput(
                    "An uncertainty of the plan must be zero or more.", "Give the expanded uncertainty (k = 2)."
                )

    @property
    def rings(self) -> tuple[tuple[Pair, ...], ...]:
        """The outer ring, then the openings."""
        return (self.outer, *self.openings)

    def name_of(self, ring: int) -> str:
        """What people call a ring."""
        return "roof edge" if ring == 0 else f"opening {ring}"

    def edges(self, ring: int) -> tuple[tuple[int, Pair, Pair], ...]:
        """(number from 0, start, end) of every edge of a ring."""
        points = self.rings[ring]
        return tuple((i, points[i], points[(i + 1) % len(points)]) for i in range(len(points)))

    def surface(self) -> Polygon:
        """The roof as a shapely polygon with its openings as holes."""
        return Polygon(self.outer, [list(opening) for opening in self.openings])


def _check_openings(outer: tuple[Pair, ...], openings: tuple[tuple[Pair, ...], ...]) -> None:
    """Openings lie inside the roof and apart from each other."""
    whole = Polygon(outer)
    shapes = [Polygon(opening) for opening in openings]
    for number, shape in enumerate(shapes, start=1):
        if not whole.covers(shape):
            raise BadInput(
                f"Opening {number} lies partly or wholly outside the roof.",
                "Draw a notch in the outer edge as part of the outer edge; check the points.",
            )
        for other, earlier in enumerate(shapes[: number - 1], start=1):
            if shape.intersects(earlier):
                raise BadInput(f"Openings {other} and {number} overlap or touch.", "Draw them as one opening.")


def _check_ring(ring: tuple[Pair, ...], name: str) -> None:
    if any(not (math.isfinite(x) and math.isfinite(y)) for x, y in ring):
        raise BadInput(f"A corner of the {name} is not a number.", "Check the list of points.")
    if any(abs(c) > 1e5 for p in ring for c in p):
        raise BadInput(f"A corner of the {name} lies beyond any roof.", "Use metres from a corner of the roof itself.")
    if len(ring) < 3:
        raise BadInput(f"The {name} has {len(ring)} corners; three is the least.", "Add the missing corners.")
    for i, corner in enumerate(ring):
        if math.dist(corner, ring[(i + 1) % len(ring)]) < SAME_PLACE:
            raise BadInput(
                f"Corners {i + 1} and {(i + 1) % len(ring) + 1} of the {name} are the same place.",
                "Leave one of them out.",
            )
    shape = Polygon(ring)
    if not shape.is_valid:
        where = explain_validity(shape)
        raise BadInput(
            f"The {name} crosses or touches itself ({where.lower()}).",
            "Give the corners in order, walking once around.",
        )
