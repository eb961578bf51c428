"""The plan view: roof to scale, openings, anchor, the region the worker can reach, and the nearest edge."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from shapely.geometry import MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry

from inspect_core.rigging import drawing as d
from inspect_core.rigging.units import Quantity, show_length

if TYPE_CHECKING:
    from inspect_core.rigging.restraint import Nearest
    from inspect_core.rigging.roof import Pair, Roof

MARGIN, TOP, TALLEST = 26.0, 62.0, 330.0


def draw_plan(
    roof: Roof, anchor: Pair, reach: Quantity, near: Iterable[Nearest], answer: str, longest: float | None
) -> d.Drawing:
    """Draw the plan so that the roof and the circle of reach fit; lengths in metres, y up turned to y down."""
    xs = [x for x, _ in roof.outer]
    ys = [y for _, y in roof.outer]
    # The circle matters only where it leaves the roof, so a reach far beyond it does not shrink the roof to a dot.
    spill = min(reach.high, 0.25 * max(max(xs) - min(xs), max(ys) - min(ys)))
    left, right = min(min(xs), anchor[0] - spill), max(max(xs), anchor[0] + spill)
    low, high = min(min(ys), anchor[1] - spill), max(max(ys), anchor[1] + spill)
    scale = min((d.WIDTH - 2 * MARGIN) / (right - left), TALLEST / (high - low))
    shift = (d.WIDTH - scale * (right - left)) / 2

    def at(point: tuple[float, float]) -> tuple[float, float]:
        return (shift + (point[0] - left) * scale, TOP + (high - point[1]) * scale)

    board = d.Board()
    board.path([[at(p) for p in ring] for ring in roof.rings], d.SURFACE, closed=True)
    circle = Point(anchor).buffer(reach.value, quad_segs=64)
    _region(board, circle.intersection(roof.surface()), at, d.shade(answer))
    frame = Polygon([(left, low), (right, low), (right, high), (left, high)])
    _region(board, circle.intersection(frame).difference(roof.surface()), at, _beyond(answer))
    if reach.uncertainty > 0:
        doubt = Point(anchor).buffer(reach.high, quad_segs=64).exterior.intersection(frame)
        for part in getattr(doubt, "geoms", [doubt]):
            board.path([[at((x, y)) for x, y in part.coords]], d.Style(stroke=d.INK, width=0.8, dash=(1, 2)))
    for ring in range(len(roof.rings)):
        for edge, start, end in roof.edges(ring):
            closed = (ring, edge) in roof.closed_edges
            board.path([[at(start), at(end)]], d.CLOSED if closed else d.HAZARD)
    for number, opening in enumerate(roof.openings, start=1):
        _name(board, [at(p) for p in opening], at(_middle(opening)), f"opening {number}")
    ax, ay = at(anchor)
    nearest = min(near, key=lambda edge: edge.distance, default=None)
    far = "every edge is closed"
    if nearest is not None:
        far = f"nearest open edge {show_length(nearest.distance)}"
        board.dimension(ax, ay, *at(nearest.point), d.Style(stroke=d.INK, width=1.1, dash=(2, 2)))
    board.disc(ax, ay, 5, d.Style(stroke=d.INK, width=2, fill=d.PAPER))
    board.disc(ax, ay, 1.8, d.Style(fill=d.INK))
    board.text(12, 18, "Plan, to scale", bold=True)
    board.text(12, 34, far, size=10.5)
    if longest is not None:
        allowed = f"longest safe rope {show_length(longest)}" if longest > 0 else "no rope is short enough here"
        board.text(12, 48, allowed, size=10.5)
    bottom = TOP + (high - low) * scale + 20
    d.scale_bar(board, 14, bottom, scale)
    _legend(board, bottom + 20, answer)
    words = f"Reach {show_length(reach.value)} around the anchor; {far}; answer: {answer}."
    return board.done("plan", "Plan view of the roof with the region reached", words, bottom + 52)


def _beyond(answer: str) -> d.Style:
    """Reach off the surface: alarming unless only closed edges lie under it."""
    return d.Style(fill=d.FAINT, opacity=0.2) if answer == "go" else d.Style(fill=d.DANGER, opacity=0.45)


def _region(board: d.Board, shape: BaseGeometry, at: object, style: d.Style) -> None:
    parts = shape.geoms if isinstance(shape, MultiPolygon) else [shape]
    for part in parts:
        if isinstance(part, Polygon) and not part.is_empty and callable(at):
            rings = [part.exterior, *part.interiors]
            board.path([[at((x, y)) for x, y in list(ring.coords)[:-1]] for ring in rings], style, closed=True)


def _middle(ring: Iterable[Pair]) -> Pair:
    spot = Polygon(list(ring)).representative_point()
    return (float(spot.x), float(spot.y))


def _name(board: d.Board, points: list[Pair], middle: Pair, words: str) -> None:
    """An opening's name inside it where it fits, else just above it."""
    half = d.lettering_width(words, 9) / 2
    wide = max(x for x, _ in points) - min(x for x, _ in points)
    y = middle[1] + 3 if wide > 2 * half + 8 else min(y for _, y in points) - 5
    x = min(max(middle[0], half + 4), d.WIDTH - half - 4)
    board.text(x, y, words, size=9, at="middle", colour=d.DANGER)


def _legend(board: d.Board, y: float, answer: str) -> None:
    board.line(14, y, 34, y, d.HAZARD)
    board.text(39, y + 4, "open edge", size=9.5)
    board.line(122, y, 142, y, d.CLOSED)
    board.text(147, y + 4, "closed edge", size=9.5)
    board.disc(245, y, 4.5, d.Style(stroke=d.INK, width=2, fill=d.PAPER))
    board.text(255, y + 4, "anchor", size=9.5)
    y += 18
    board.box(15, y - 5, 18, 10, d.shade(answer))
    board.text(39, y + 4, "reached", size=9.5)
    board.box(123, y - 5, 18, 10, _beyond(answer))
    board.text(147, y + 4, "circle of reach off the surface", size=9.5)
