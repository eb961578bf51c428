"""Travel restraint: can the worker, on this rope from this anchor, get over any edge?

The plan is flat: x right, y up, metres. The roof is one outer ring and any openings in it. Every edge is one that
can be fallen over unless it is declared closed (a wall, or a guardrail that has its own check).

Why a circle settles it. Whatever lies between, the ring can never be farther from the anchor than the
rope, its stretch and the lanyard allow in a straight line; the body reaches beyond the ring. So everything
reachable lies within a circle of that radius. To fall over an edge one must reach a point of it. If the circle meets no
edge, no edge can be crossed: obstacles, notches and corners only shorten the way. Slopes shorten the plan reach too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from inspect_core.domain import guard
from inspect_core.domain.errors import BadInput
from inspect_core.rigging.result import GEOMETRY, HABIT, Answer, Line, Result, missing
from inspect_core.rigging.roof import SAME_PLACE, Pair, Roof
from inspect_core.rigging.units import Quantity, show_length, show_spread


@dataclass(frozen=True, slots=True)
class Tether:
    """What ties the worker to the anchor, in metres; None is not known, never zero.

    `rope` is the greatest length at which the rope grab can sit (to its end stop), `lanyard` what lies between
    grab and harness ring, `stretch_share` the share by which both lengthen under a leaning worker (0.05 is 5 %),
    `harness_shift` how far the ring itself moves, `body_reach` how far the body gets over beyond the ring.
    """

    rope: Quantity | None
    lanyard: Quantity | None
    stretch_share: float | None
    harness_shift: Quantity | None
    body_reach: Quantity | None

    def __post_init__(self) -> None:
        for part in (self.rope, self.lanyard, self.harness_shift, self.body_reach):
            if part is not None and part.value < 0:
                raise BadInput("A length of the tether is below zero.", "Measure it again.")
        if self.stretch_share is not None and not 0 <= self.stretch_share <= 1:
            raise BadInput("The stretch must be a share from 0 to 1.", "Write 5 % as 0.05.")

    def known(self) -> Quantity:
        """The reach from what is known alone: never more than the true reach."""
        stretch = 1 + (self.stretch_share or 0.0)
        value = spread = 0.0
        for part, factor in (
            (self.rope, stretch),
            (self.lanyard, stretch),
            (self.harness_shift, 1.0),
            (self.body_reach, 1.0),
        ):
            if part is not None:
                value += part.value * factor
                spread += part.uncertainty * factor
        return Quantity(value, spread)

    def gaps(self) -> tuple[tuple[str, str], ...]:
        """(what is missing, how to get it)."""
        wanted = (
            (self.rope, "The greatest rope length", "Measure from the anchor to the end stop of the rope grab."),
            (self.lanyard, "The lanyard between rope grab and ring", "Measure it; enter 0 when there is none."),
            (self.stretch_share, "The stretch of the rope", "Take it from the maker's data; enter it as a share."),
            (
                self.harness_shift,
                "The shift of the harness ring",
                "Pull the ring forward and measure; take the maker's figure.",
            ),
            (
                self.body_reach,
                "The reach of the body beyond the ring",
                "Measure with the worker leaning out, arms stretched.",
            ),
        )
        return tuple((what, how) for value, what, how in wanted if value is None)


@dataclass(frozen=True, slots=True)
class Nearest:
    """The edge of one ring nearest to the anchor: distance in metres, edge from 0, the nearest point."""

    ring: int
    edge: int
    distance: float
    point: Pair


def nearest_edges(roof: Roof, anchor: Pair) -> tuple[Nearest, ...]:
    """For each ring with an open edge, its nearest open edge; rings wholly closed are left out."""
    spot = Point(anchor)
    found = []
    for ring in range(len(roof.rings)):
        best: Nearest | None = None
        for number, start, end in roof.edges(ring):
            if (ring, number) in roof.closed_edges:
                continue
            segment = LineString([start, end])
            distance = float(segment.distance(spot))
            if best is None or distance < best.distance:
                close = segment.interpolate(segment.project(spot))
                best = Nearest(ring, number, distance, (float(close.x), float(close.y)))
        if best is not None:
            found.append(best)
    return tuple(found)


def check_anchor(roof: Roof, anchor: Pair) -> None:
    """Refuse an anchor off the roof. On its edge is allowed: the distance is then zero or the edge is a wall."""
    if not all(math.isfinite(c) for c in anchor):
        raise BadInput("The anchor's place is not a number.", "Check its two coordinates.")
    gap = float(roof.surface().distance(Point(anchor)))
    if gap > SAME_PLACE:
        inside_opening = Polygon(roof.outer).covers(Point(anchor))
        where = "in an opening" if inside_opening else "outside the roof"
        raise BadInput(
            f"The anchor lies {where}, {show_length(gap)} from the surface.",
            "Check the points; an anchor behind a wall or above belongs to a plan that includes where it stands.",
        )


def judge(distance: Quantity, reach: Quantity, complete: bool) -> Answer:
    """Answer for one edge. Touching the edge counts as over it; an incomplete reach is never "go"."""
    stands = guard.reach(reach.value, reach.uncertainty + distance.uncertainty, distance.value)
    if stands is guard.Reach.REACHED:
        return Answer.NO
    return Answer.GO if complete and stands is guard.Reach.CLEARED else Answer.ASK


def longest_safe_rope(distance: Quantity, tether: Tether) -> float | None:
    """Longest rope in metres, rounded down to a centimetre, that keeps clear of an edge; 0.0 when none does.

    None when any other part of the tether is not known. The rope's own uncertainty is kept.
    """
    if (
        tether.lanyard is None
        or tether.stretch_share is None
        or tether.harness_shift is None
        or tether.body_reach is None
    ):
        return None
    spread = tether.rope.uncertainty if tether.rope is not None else 0.0
    rest = Tether(Quantity(0.0, spread), tether.lanyard, tether.stretch_share, tether.harness_shift, tether.body_reach)
    room = (distance.low - rest.known().high) / (1 + tether.stretch_share)
    centimetres = max(0, math.floor(room * 100))
    while centimetres > 0:
        rope = Quantity(centimetres / 100, spread)
        tried = Tether(rope, rest.lanyard, rest.stretch_share, rest.harness_shift, rest.body_reach)
        if judge(distance, tried.known(), complete=True) is Answer.GO:
            return centimetres / 100
        centimetres -= 1
    return 0.0


def reached(roof: Roof, anchor: Pair, radius: float) -> BaseGeometry:
    """The part of the roof inside the circle, for the drawing (the circle as a polygon of 256 sides)."""
    return Point(anchor).buffer(radius, quad_segs=64).intersection(roof.surface())


CAUTIONS = (
    "Obstacles, parapets and slopes are not counted: they only shorten the way.",
    "The rope counts as long as its end stop allows; without an end stop there is no travel restraint.",
    "An edge declared closed is only as good as its wall or checked guardrail; weak covers and sheets are openings.",
    "Moving the anchor, a second worker on it, or a longer lanyard needs a new check.",
)


def check_restraint(roof: Roof, anchor: Pair, tether: Tether, profile: str) -> Result:
    """Check one anchor and tether on one roof. Raises BadInput for an anchor off the roof.

    Source of the method: plane geometry (see the module's words); no profile's figure enters.
    """
    from inspect_core.rigging.plan import draw_plan

    check_anchor(roof, anchor)
    reach = tether.known()
    gaps = tether.gaps()
    lines = [missing("tether", what, how) for what, how in gaps]
    lines.append(_reach_line(tether, reach, complete=not gaps))
    near = nearest_edges(roof, anchor)
    limits = []
    for edge in near:
        distance = distance_of(edge, roof)
        limits.append(longest_safe_rope(distance, tether))
        lines.append(_edge_line(roof, edge, distance, reach, complete=not gaps))
    if not near:
        lines.append(
            Line(
                "edges",
                Answer.ASK,
                "Every edge is declared closed, so nothing limits the rope.",
                HABIT,
                "A competent person confirms each wall, cover and guardrail.",
            )
        )
    known = [limit for limit in limits if limit is not None]
    longest = min(known) if known and len(known) == len(limits) else None
    result = Result(
        "restraint",
        profile,
        tuple(lines),
        CAUTIONS,
        {
            "reach_m": reach.value,
            "reach_uncertainty_m": reach.uncertainty,
            "nearest_edge_m": min((edge.distance for edge in near), default=None),
            "longest_safe_rope_m": longest,
            "reached_area_m2": float(reached(roof, anchor, reach.value).area),
        },
    )
    return Result(
        result.check,
        profile,
        result.lines,
        result.cautions,
        result.numbers,
        (draw_plan(roof, anchor, reach, near, result.answer.value, longest),),
    )


def distance_of(edge: Nearest, roof: Roof) -> Quantity:
    """An edge's distance with the plan's uncertainty: both points may be off, and the scale."""
    return Quantity(edge.distance, 2 * roof.point_uncertainty + edge.distance * roof.scale_share)


def _reach_line(tether: Tether, reach: Quantity, *, complete: bool) -> Line:
    """The reach as a sum, so that a reader can add it up again."""

    def metres(part: Quantity | None) -> str:
        return "?" if part is None else f"{part.value:.2f}"

    share = "?" if tether.stretch_share is None else f"{1 + tether.stretch_share:g}"
    total = f"{'' if complete else 'at least '}{show_length(reach.value)}{show_spread(reach.uncertainty)}"
    reason = (
        f"(rope {metres(tether.rope)} + lanyard {metres(tether.lanyard)}) × {share} + ring shift "
        f"{metres(tether.harness_shift)} + body {metres(tether.body_reach)} m = {total}."
    )
    return Line("reach", Answer.GO, reason, GEOMETRY, "", reach.value, reach.uncertainty, "m")


def _edge_line(roof: Roof, edge: Nearest, distance: Quantity, reach: Quantity, *, complete: bool) -> Line:
    answer = judge(distance, reach, complete)
    where = f"{roof.name_of(edge.ring)}, edge {edge.edge + 1}"
    far = f"{show_length(distance.value)} from the anchor" + (
        f" ± {distance.uncertainty:.2f} m" if distance.uncertainty else ""
    )
    got = show_length(reach.value) + show_spread(reach.uncertainty)
    if answer is Answer.NO:
        reason, remedy = (
            f"The worker can get over it: it is {far} and the reach is {got}.",
            "Shorten the rope or move the anchor.",
        )
    elif answer is Answer.GO:
        reason, remedy = f"Out of reach: it is {far} and the reach is {got}.", ""
    elif complete:
        reason = f"Too close to tell: it is {far} and the reach is {got}."
        remedy = "Measure by hand, shorten the rope, or ask a competent person."
    else:
        reason = f"It is {far}; the reach is at least {got}, and part of the tether is not known."
        remedy = "Enter the missing lengths."
    return Line(where, answer, reason, GEOMETRY, remedy, reach.value, reach.uncertainty, "m", None, distance.low)
