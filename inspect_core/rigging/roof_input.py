"""Roofs from a list of points as CSV, and from a sketch on a photo or plan with a scale."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from inspect_core.domain.errors import BadInput
from inspect_core.rigging.roof import MOST_CORNERS, Pair, Roof
from inspect_core.rigging.units import Dimension, Quantity, to_base

#: A longer text is no list of roof corners.
LONGEST_CSV = 200_000


@dataclass(frozen=True, slots=True)
class Plan:
    """A roof with the anchor drawn on it, where the drawing had one."""

    roof: Roof
    anchor: Pair | None


def plan_from_csv(text: str, unit: str, *, point_uncertainty: float = 0.0) -> Plan:
    """Read `ring,x,y` rows: ring is "roof", "opening 1", … or "anchor"; x and y in `unit` ("m" or "ft", …).

    A header row is needed. Commas separate, or semicolons (then a decimal comma is understood). A fourth
    column `edge` may hold "closed" on the corner where a closed edge starts. `point_uncertainty` in metres.
    Raises BadInput naming the row at fault.
    """
    if len(text) > LONGEST_CSV:
        raise BadInput("The list of points is too long.", f"Give at most {MOST_CORNERS} corners.")
    lines = [line for line in text.lstrip("\ufeff").splitlines() if line.strip()]
    if not lines:
        raise BadInput("The list of points is empty.", "Give a header “ring,x,y” and one row per corner.")
    delimiter = ";" if ";" in lines[0] else ","
    header = [cell.strip().lower() for cell in lines[0].split(delimiter)]
    if header not in (["ring", "x", "y"], ["ring", "x", "y", "edge"]):
        raise BadInput(
            "The list of points has no header “ring,x,y”.", "Write it as the first row; a fourth column may be “edge”."
        )
    rings: dict[str, list[Pair]] = {}
    closed: set[tuple[str, int]] = set()
    anchor: Pair | None = None
    for number, row in enumerate(csv.reader(lines[1:], delimiter=delimiter), start=2):
        cells = [cell.strip() for cell in row]
        if not 3 <= len(cells) <= len(header):
            raise BadInput(f"Row {number} has {len(cells)} fields.", f"Give {len(header)}: {', '.join(header)}.")
        ring = cells[0].lower()
        point = (_coordinate(cells[1], unit, number, delimiter), _coordinate(cells[2], unit, number, delimiter))
        edge = cells[3].lower() if len(cells) == 4 else ""
        if edge not in ("", "open", "closed"):
            raise BadInput(f"Row {number} calls its edge “{edge[:20]}”.", "Use open, closed or nothing.")
        if ring == "anchor":
            if anchor is not None:
                raise BadInput(f"Row {number} is a second anchor.", "Check one anchor at a time.")
            anchor = point
        elif ring == "roof" or (ring.startswith("opening ") and ring[8:].isdecimal()):
            points = rings.setdefault(ring, [])
            if edge == "closed":
                closed.add((ring, len(points)))
            points.append(point)
        else:
            raise BadInput(
                f"Row {number} names the ring “{ring[:20]}”.", "Use roof, opening 1, opening 2, … or anchor."
            )
    if "roof" not in rings:
        raise BadInput("The list of points has no roof.", "Give its corners as rows that start with “roof”.")
    order = ["roof", *sorted((name for name in rings if name != "roof"), key=lambda name: int(name[8:]))]
    trimmed = [_without_repeat(rings[name]) for name in order]
    roof = Roof(
        trimmed[0],
        tuple(trimmed[1:]),
        frozenset((order.index(ring), edge) for ring, edge in closed),
        point_uncertainty,
    )
    return Plan(roof, anchor)


def _coordinate(cell: str, unit: str, row: int, delimiter: str) -> float:
    try:
        return to_base(float(cell.replace(",", ".") if delimiter == ";" else cell), unit, Dimension.LENGTH)
    except ValueError:
        raise BadInput(f"Row {row}: “{cell[:20]}” is no number.", "Give x and y as plain numbers.") from None


def _without_repeat(points: list[Pair]) -> tuple[Pair, ...]:
    """Many programs close a ring by repeating its first corner; that repeat is no corner."""
    return tuple(points[:-1] if len(points) > 3 and points[0] == points[-1] else points)


@dataclass(frozen=True, slots=True)
class SketchScale:
    """Two points of a picture whose true distance is known.

    `start`, `end` in pixels (x right, y down); `length` in metres; `point_sd_px` the standard deviation of pointing.
    The picture must look straight down on the roof (a plan, or a photo square to it).
    """

    start: Pair
    end: Pair
    length: Quantity
    point_sd_px: float

    @property
    def pixels(self) -> float:
        """Length of the known distance in pixels."""
        return math.dist(self.start, self.end)

    def metres_per_pixel(self) -> float:
        """The scale. Raises BadInput when it cannot be trusted."""
        if not self.length.value > 0:
            raise BadInput("The known length must be above zero.", "Measure it, and enter it with its unit.")
        if not (math.isfinite(self.point_sd_px) and self.point_sd_px > 0):
            raise BadInput(
                "The pointing error must be above zero.", "Nobody points exactly: 2 pixels is usual by finger."
            )
        if not self.pixels > 20 * self.point_sd_px:
            raise BadInput(
                "The known length is too short in the picture.", "Use a longer one, such as a whole roof side."
            )
        return self.length.value / self.pixels

    def relative_uncertainty(self) -> float:
        """Expanded uncertainty of the scale as a share, two ends pointed at (GUM, JCGM 100, 5.1.2)."""
        self.metres_per_pixel()
        pointing = 2 * math.sqrt(2) * self.point_sd_px / self.pixels
        return math.hypot(pointing, self.length.uncertainty / self.length.value)


def plan_from_sketch(
    outer_px: Sequence[Pair],
    openings_px: Iterable[Sequence[Pair]],
    anchor_px: Pair,
    scale: SketchScale,
    *,
    closed_edges: frozenset[tuple[int, int]] = frozenset(),
) -> Plan:
    """A roof drawn over a picture, in metres with y turned up, carrying the uncertainty of pointing and scale."""
    size = scale.metres_per_pixel()

    def metres(point: Pair) -> Pair:
        return (point[0] * size, -point[1] * size)

    roof = Roof(
        tuple(metres(p) for p in outer_px),
        tuple(tuple(metres(p) for p in ring) for ring in openings_px),
        closed_edges,
        2 * math.sqrt(2) * scale.point_sd_px * size,
        scale.relative_uncertainty(),
    )
    return Plan(roof, metres(anchor_px))
