"""Elevation of a guardrail, to scale: what was measured beside the band the profile allows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from inspect_core.rigging import drawing as d
from inspect_core.rigging.figures import find
from inspect_core.rigging.result import Line, worst
from inspect_core.rigging.units import Quantity, show_length, show_spread

if TYPE_CHECKING:
    from inspect_core.rigging.guardrail import GuardrailCase

TOP, TALL, LEFT, RIGHT = 58.0, 190.0, 30.0, 196.0


def draw_guardrail(case: GuardrailCase, lines: tuple[Line, ...]) -> d.Drawing:
    """Rails and toe board at their heights with uncertainty bars, over the band allowed for the top rail."""
    band = find("top rail height", case.profile)
    low, high = (band.base("low"), band.base("high")) if band else (None, None)
    heights = [q.value for q in case.top_rail] + [h for h in (low, high) if h is not None]
    reference = max((q.value for q in case.top_rail), default=high or low or 1.0)
    tallest = max([*heights, reference, case.mid_rail.value if case.mid_rail else 0.0, 0.5]) * 1.06
    scale = TALL / tallest
    floor = TOP + TALL

    def y_of(height: float) -> float:
        return floor - height * scale

    board = d.Board()
    board.text(12, 18, "Guardrail, heights to scale", bold=True)
    if low is not None:
        top_of_band = y_of(high) if high is not None else TOP - 6
        board.box(LEFT - 12, top_of_band, RIGHT - LEFT + 24, y_of(low) - top_of_band, d.shade("go", 0.14))
        said = (
            f"allowed {show_length(low)} to {show_length(high)}" if high is not None else f"at least {show_length(low)}"
        )
        board.text(12, 34, f"top rail {said}", size=10)
    else:
        board.text(12, 34, "no published height in this profile", size=10, colour=d.DOUBT)
    for x in (LEFT, RIGHT - 9):
        board.box(x, y_of(reference), 9, reference * scale, d.TIMBER)
    labels: list[tuple[float, str, str]] = []
    for place, top in enumerate(case.top_rail, start=1):
        name = "top rail" if len(case.top_rail) == 1 else f"top rail {place}"
        colour = d.COLOUR_OF[worst(x.answer for x in lines if x.topic.startswith("top rail height")).value]
        part = (RIGHT - LEFT + 16) / len(case.top_rail)
        start = LEFT - 8 + part * (place - 1)
        _rail(board, y_of(top.value), top, scale, (start, start + part))
        labels.append((y_of(top.value), f"{name} {_shown(top)}", colour))
    if case.mid_rail and case.mid_rail.value > 0:
        _rail(board, y_of(case.mid_rail.value), case.mid_rail, scale, (LEFT - 8, RIGHT + 8))
        labels.append(
            (y_of(case.mid_rail.value), f"mid rail {_shown(case.mid_rail)}", _colour(lines, "mid rail height", "gap"))
        )
    if case.toe_board and case.toe_board.value > 0:
        height = case.toe_board.value * scale
        board.box(LEFT - 8, floor - height, RIGHT - LEFT + 16, height, d.TIMBER)
        labels.append((floor - height, f"toe board {_shown(case.toe_board)}", _colour(lines, "toe board height")))
    board.line(10, floor, RIGHT + 22, floor, d.GROUND)
    baseline = TOP - 14.0
    for y, text, colour in sorted(labels):
        baseline = max(baseline + 15, y + 4)
        board.line(RIGHT + 10, y, RIGHT + 18, baseline - 4, d.THIN)
        _wrapped(board, RIGHT + 20, baseline, text, colour)
        baseline += 12
    board.dimension(LEFT + 4, floor + 18, RIGHT - 4, floor + 18)
    spacing = f"posts {show_length(case.post_spacing.value)} apart" if case.post_spacing else "post spacing not known"
    board.text(12, floor + 34, spacing + " (width not to scale)", size=9.5)
    answer = worst(line.answer for line in lines).value
    words = "; ".join(text for _, text, _ in labels) or "nothing measured"
    return board.done("guardrail", "Guardrail elevation", f"{words}. Answer: {answer}.", floor + 46)


def _rail(board: d.Board, y: float, reading: Quantity, scale: float, span: tuple[float, float]) -> None:
    """A rail with its top edge at `y`; its own depth is not to scale."""
    left, right = span
    board.box(left, y, right - left, 9, d.TIMBER)
    if reading.uncertainty:
        x, half = (left + right) / 2, reading.uncertainty * scale
        board.dimension(x, y - half, x, y + half, d.Style(stroke=d.INK, width=1.4), tick=5)


def _shown(reading: Quantity) -> str:
    return show_length(reading.value) + show_spread(reading.uncertainty)


def _colour(lines: tuple[Line, ...], *topics: str) -> str:
    return d.COLOUR_OF[worst(x.answer for x in lines if x.topic.startswith(topics)).value]


def _wrapped(board: d.Board, x: float, y: float, text: str, colour: str) -> None:
    """Name and metres on one line, feet and uncertainty below: the right margin is narrow on a phone."""
    head, _, tail = text.partition(" (")
    board.text(x, y, head, size=10.5, colour=colour, bold=True)
    if tail:
        board.text(x, y + 12, "(" + tail, size=9.5)
