"""The clearance stack: every line of the sum drawn to scale beside the room there is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from inspect_core.rigging import drawing as d
from inspect_core.rigging.units import Quantity, show_length

if TYPE_CHECKING:
    from inspect_core.rigging.clearance import Term

TOP, TALL, LEFT, WIDE = 66.0, 330.0, 76.0, 34.0
SHADES = ("#c9d6de", "#e6ddc8", "#d3e0d0", "#e5d3d3", "#d8d3e6", "#dfe3c9", "#e3e3e3", "#cfe3e3")


def draw_stack(datum: str, terms: tuple[Term, ...], available: Quantity | None, answer: str) -> d.Drawing:
    """Terms stacked downward from the datum, the room beside them in the colour of `answer`, lettering on the right."""
    known = [(term.name, term.length) for term in terms if term.length is not None and term.length.value > 0]
    gaps = [term.name for term in terms if term.length is None]
    needed = sum(length.value for _, length in known)
    room = available.value if available else 0.0
    # Where the room is far larger than the need, its line is drawn broken instead of squashing the sum.
    broken = room > 2 * needed > 0
    scale = TALL / (max(needed, 1.25 * needed if broken else room) or 1.0)
    board = d.Board()
    board.text(12, 18, "Clearance, to scale", bold=True)
    verdict = f"needed {'at least ' if gaps else ''}{show_length(needed)}"
    board.text(12, 34, verdict, size=10.5)
    if gaps:
        board.text(12, 48, _not_known(gaps), size=9.5, colour=d.DOUBT)
    board.line(14, TOP, d.WIDTH - 14, TOP, d.GROUND)
    board.text(d.WIDTH - 14, TOP - 5, datum, size=10, at="end")
    labels = _stack(board, known, scale)
    for y, wanted, name in labels:
        board.line(LEFT + WIDE, wanted, LEFT + WIDE + 14, y - 3.5, d.THIN)
        board.text(LEFT + WIDE + 18, y, name, size=9.5)
    foot = TOP + needed * scale
    end = foot
    if available is not None:
        floor = TOP + (1.2 * needed * scale if broken else room * scale)
        end = max(foot, floor, labels[-1][0] if labels else foot)
        colour = d.COLOUR_OF[answer]
        board.dimension(36, TOP, 36, floor, d.Style(stroke=colour, width=1.6, dash=(6, 4) if broken else ()))
        board.text(40, TOP + 15, "room", size=9.5, colour=colour)
        board.line(14, floor, d.WIDTH - 14, floor, d.GROUND)
        for x in range(14, int(d.WIDTH) - 14, 12):
            board.line(x, floor + 7, x + 7, floor, d.THIN)
        end = max(end, floor)
        board.text(
            12, end + 24, f"there is {show_length(room)}" + (" (not drawn to scale)" if broken else ""), size=10.5
        )
        if foot > floor + 0.5:
            board.box(LEFT, floor, WIDE, foot - floor, d.Style(fill=d.DANGER, opacity=0.5))
            board.text(12, end + 40, f"short by {show_length(needed - room)}", size=11, colour=d.DANGER, bold=True)
        else:
            board.text(12, end + 40, f"to spare {show_length(room - needed)}", size=10.5)
    else:
        board.text(12, end + 24, "room below not known", size=10.5, colour=d.DOUBT)
    words = f"Needed {show_length(needed)} below the {datum}" + (
        f", there is {show_length(room)}." if available else "."
    )
    return board.done("clearance", "Clearance below, line by line", words, end + 52)


def _not_known(gaps: list[str]) -> str:
    return "not known: " + (", ".join(gaps) if len(gaps) < 5 else f"{len(gaps)} lines of the sum")


def _stack(board: d.Board, known: list[tuple[str, Quantity]], scale: float) -> list[tuple[float, float, str]]:
    """Draw the blocks; return (baseline, middle of the block, words), baselines spread so that none overlap."""
    y = TOP
    labels: list[tuple[float, float, str]] = []
    for place, (name, length) in enumerate(known):
        tall = length.value * scale
        board.box(LEFT, y, WIDE, tall, d.Style(stroke=d.INK, width=1, fill=SHADES[place % len(SHADES)]))
        wanted = y + tall / 2
        baseline = max(wanted + 3.5, labels[-1][0] + 15 if labels else TOP + 12)
        labels.append((baseline, wanted, f"{name} {show_length(length.value)}"))
        y += tall
    return labels
