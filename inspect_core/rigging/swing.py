"""Swing: a worker to the side of the anchor falls along an arc, drops further, and may hit what stands in it.

With the anchor `height` above the harness ring and the ring `offset` to the side, the taut line is √(h² + x²)
long, so at the foot of the swing the ring hangs √(h² + x²) − h lower (rows C50 and C51 of the facts table).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from inspect_core.domain.errors import BadInput
from inspect_core.domain.guard import Reach, reach
from inspect_core.rigging import drawing as d
from inspect_core.rigging.figures import find
from inspect_core.rigging.result import GEOMETRY, HABIT, MAKER, Answer, Cite, Line, Result, missing, within, worst
from inspect_core.rigging.units import Quantity, show_length


def swing_drop(height: Quantity, offset: Quantity) -> Quantity:
    """Extra drop in metres, √(h² + x²) − h, with the interval from the least height and the greatest offset.

    The formula holds for an anchor overhead; below that it still grows as the anchor sinks, but the fall is no pendulum
    and whoever asks must say so (`overhead`). Raises BadInput for an offset below zero.
    """
    if offset.value < 0:
        raise BadInput("The offset of the anchor is below zero.", "Give its distance to the side as a plain length.")
    value = math.hypot(height.value, offset.value) - height.value
    most = math.hypot(height.low, offset.high) - height.low
    return Quantity(value, max(0.0, most - value))


def overhead(height: Quantity) -> bool:
    """Whether the anchor is above the ring over its whole interval."""
    return height.low > 0


@dataclass(frozen=True, slots=True)
class SwingCase:
    """Lengths in metres; None is not known.

    `height` of the anchor above the ring; `offset` of the ring to the side of the anchor; `clear` the distance from the
    point below the anchor to the nearest thing that could be hit, along the swing, on either side; `maker_offset` the
    greatest offset the maker allows.
    """

    profile: str
    height: Quantity | None
    offset: Quantity | None
    clear: Quantity | None
    maker_offset: Quantity | None = None


CAUTIONS = (
    "A line that bends over an edge swings about the edge and can be cut by it: this sum does not cover that.",
    "The swing can pass the lowest point and rise as far on the other side; the body is wider than its ring.",
    "The extra drop belongs in the clearance sum too.",
)


def check_swing(case: SwingCase) -> Result:
    """Extra drop, hit distance, and whether anything stands within the swing."""
    gaps = [
        missing("swing", what, how)
        for value, what, how in (
            (case.height, "The height of the anchor above the ring", "Measure it."),
            (case.offset, "The offset of the anchor", "Measure from the worker to the point below the anchor."),
        )
        if value is None
    ]
    if case.height is None or case.offset is None:
        return Result("swing", case.profile, tuple(gaps), CAUTIONS)
    drop = swing_drop(case.height, case.offset)
    figure = find("swing drop", case.profile)
    cite = Cite.figure(figure) if figure else GEOMETRY
    beside = [_hit_line(case.offset, case.clear), _offset_line(case.offset, case.maker_offset)]
    if not overhead(case.height):
        line = Line(
            "anchor overhead",
            Answer.ASK,
            "The anchor is not certainly above the harness ring: this is no pendulum, and no sum here covers it.",
            GEOMETRY,
            "Choose an anchor overhead, or ask a competent person.",
        )
        return Result("swing", case.profile, (line, *beside), CAUTIONS)
    lines = [
        Line(
            "extra drop",
            Answer.GO,
            f"The swing drops the worker {show_length(drop.value)} more; add it to the clearance.",
            cite,
            value=drop.value,
            uncertainty=drop.uncertainty,
            unit="m",
        ),
        *beside,
    ]
    numbers: dict[str, float | None] = {
        "swing_drop_m": drop.value,
        "swing_drop_uncertainty_m": drop.uncertainty,
        "hit_distance_m": case.offset.value,
        "whole_swing_m": 2 * case.offset.value,
    }
    answer = worst(line.answer for line in lines)
    picture = draw_swing(case.height.value, case.offset.value, drop.value, case.clear, answer.value)
    return Result("swing", case.profile, tuple(lines), CAUTIONS, numbers, (picture,))


def _hit_line(offset: Quantity, clear: Quantity | None) -> Line:
    if offset.high == 0:
        return Line("things to hit", Answer.GO, "The worker hangs straight below the anchor: no swing.", GEOMETRY)
    if clear is None:
        return missing(
            "things to hit", "How far the swing is clear", "Measure from below the anchor to the nearest obstacle."
        )
    stands = reach(offset.value, offset.uncertainty + clear.uncertainty, clear.value)
    if stands is Reach.REACHED:
        return Line(
            "things to hit",
            Answer.NO,
            f"Something stands {show_length(clear.value)} from below the anchor, within the swing of "
            f"{show_length(offset.value)} to either side.",
            GEOMETRY,
            "Move the anchor over the work, or clear the swing.",
            offset.value,
            offset.uncertainty,
            "m",
            None,
            clear.low,
        )
    crossing = stands is Reach.NOT_RULED_OUT
    return Line(
        "things to hit",
        Answer.ASK if crossing else Answer.GO,
        f"The nearest obstacle stands {show_length(clear.value)} from below the anchor; "
        f"the swing is {show_length(offset.value)}." + (" The uncertainties cross." if crossing else ""),
        GEOMETRY,
        "Measure by hand." if crossing else "",
        offset.value,
        offset.uncertainty,
        "m",
        None,
        clear.low,
    )


def _offset_line(offset: Quantity, maker: Quantity | None) -> Line:
    if maker is not None:
        return within("offset", offset, "m", MAKER, f"The maker allows {show_length(maker.value)}.", high=maker.low)
    if offset.high == 0:
        return Line("offset", Answer.GO, "No offset.", GEOMETRY)
    return Line(
        "offset",
        Answer.ASK,
        "No published figure here says how much offset is allowed, and the maker's is not entered.",
        HABIT,
        "Enter the maker's greatest offset, move the anchor overhead, or ask a competent person.",
    )


def draw_swing(height: float, offset: float, drop: float, clear: Quantity | None, answer: str) -> d.Drawing:
    """Elevation of the swing, to scale: anchor, taut line, arc, lowest point and the nearest obstacle."""
    length = math.hypot(height, offset)
    side = max(offset, clear.value if clear else 0.0, 0.1 * length)
    scale = min(250 / length, (d.WIDTH - 110) / (2 * side))
    ax, ay = d.WIDTH / 2, 56.0
    board = d.Board()
    board.text(12, 18, "Swing, to scale", bold=True)
    board.text(12, 34, f"extra drop {show_length(drop)}", size=10.5)
    half = math.atan2(offset, height)
    steps = [half * (1 - i / 24) for i in range(49)]
    arc = [(ax + length * scale * math.sin(a), ay + length * scale * math.cos(a)) for a in steps]
    board.path([[(ax, ay), *arc]], d.shade(answer, 0.16), closed=True)
    board.path([arc], d.Style(stroke=d.COLOUR_OF[answer], width=2.2))
    worker = (ax + offset * scale, ay + height * scale)
    foot = ay + length * scale
    board.line(ax, ay, ax, foot, d.ROPE)
    board.line(ax, ay, *worker, d.SOLID)
    board.line(ax - 10, worker[1], worker[0], worker[1], d.Style(stroke=d.FAINT, width=0.8, dash=(2, 3)))
    board.disc(ax, ay, 5, d.Style(stroke=d.INK, width=2, fill=d.PAPER))
    board.text(ax + 9, ay - 4, "anchor", size=9.5)
    board.disc(*worker, 5, d.Style(fill=d.INK))
    board.text(worker[0] - 10, worker[1] - 8, "ring", size=9.5, at="end")
    if clear is not None:
        for sign in (-1, 1):
            x = ax + sign * clear.value * scale
            board.line(x, worker[1] - 18, x, foot + 14, d.CLOSED)
        board.text(ax + clear.value * scale, foot + 26, "obstacle", size=9.5, at="middle")
    y = foot + 42
    if offset * scale > 2:
        board.dimension(ax, y, worker[0], y)
        board.text(ax - 6, y + 4, f"offset {show_length(offset)}", size=9.5, at="end")
    d.scale_bar(board, 14, y + 24, scale)
    words = (
        f"Anchor {show_length(height)} above the ring, {show_length(offset)} to the side; it drops {show_length(drop)}."
    )
    return board.done("swing", "Swing below the anchor", words, y + 40)
