"""How deep a mark goes in from the webbing's edge, by what was drawn with it, and when that is not believed."""

from __future__ import annotations

import math

import numpy as np

from inspect_core.domain.errors import BadInput
from inspect_core.domain.geometry import Shape, ShapeType
from inspect_core.imaging import readings
from inspect_core.imaging.case import Case, MarkWish
from inspect_core.imaging.measure import Estimate
from inspect_core.imaging.plane import Array
from inspect_core.imaging.scale import Scale

#: A mark further than 60 degrees from the line across the webbing has no depth by that line.
LEAST_COSINE = 0.5
#: Standard uncertainty of a webbing width that is registered and not measured, mm (common practice, no source).
WIDTH_SD_MM = 0.5


def depth_estimate(
    measure: str, mark: MarkWish, size: tuple[int, int], scale: Scale | None, case: Case, sd: float
) -> tuple[Estimate, str]:
    """("depth from edge" or "depth share" of a mark, how it was taken).

    By both edges where they are drawn; else by a line drawn across the webbing; else by the length of the mark, which
    a line drawn from the edge inwards is never deeper than. Raises BadInput where none of these is to be believed.
    """
    if mark.edge is not None and mark.other_edge is not None and measure == "depth share":
        share = readings.depth_by_share(mark.shape, mark.edge, mark.other_edge, scale, size, point_sd_px=sd)
        return share, ", square to the drawn edges"
    if mark.edge is not None and measure == "depth from edge" and scale is not None:
        return readings.depth(mark.shape, mark.edge, scale, point_sd_px=sd), ", square to the drawn edge"
    across = case.scale.points if case.scale.of == "webbing width" else None
    bound = None if scale is None else _by_length(measure, mark.shape, scale, case, sd)
    if across is not None:
        if runs_along(mark.shape, across):
            raise BadInput(
                "The mark runs along the webbing rather than into it, as the drawn width has it.",
                "Draw the width straight across the webbing from edge to edge, or measure the depth by hand.",
            )
        any_scale = scale or readings.without_millimetres(mark.shape, size)
        deep, share = readings.depth_by_width_line(mark.shape, across, any_scale, point_sd_px=sd)
        found = deep if measure == "depth from edge" else share
        # Far from the drawn width the length says more: a line from the edge inwards is at least as long as it is deep.
        drawn_inwards = mark.shape.type is ShapeType.LINE
        if bound is None or not drawn_inwards or found.value + found.expanded <= bound.value + bound.expanded:
            return found, ", square to the webbing by its drawn width"
    if scale is None:
        raise BadInput("The depth share needs the webbing's edges.", "Draw both edges, or the webbing's width.")
    if bound is None:
        raise BadInput("The depth share needs the webbing's width.", "Enter it with the item, or draw both edges.")
    return bound, ", along the drawn mark (square to the edge it is at most this)"


def _by_length(measure: str, shape: Shape, scale: Scale, case: Case, sd: float) -> Estimate | None:
    """The mark's length for its depth; None where a share is asked and nobody knows the webbing's width."""
    deep = readings.length(shape, scale, point_sd_px=sd)
    if measure == "depth from edge":
        return deep
    width = case.item.get("webbing_width_mm")
    if width is None and case.scale.of == "webbing width":
        width = case.scale.length_mm
    return None if width is None else deep.over(width, WIDTH_SD_MM)


def runs_along(shape: Shape, across: Array) -> bool:
    """Whether a mark runs more along the webbing than into it, by a line said to lie straight across the webbing.

    Then a depth from that line is not believed: the line may not lie across, and a depth told too small clears gear.
    """
    points = np.array([[p.x, p.y] for p in shape.points])
    out = points - points[0]
    mark = out[int(np.hypot(*out.T).argmax())]
    width = across[1] - across[0]
    lengths = math.hypot(*mark) * math.hypot(*width)
    return lengths == 0 or abs(float(mark @ width)) / lengths < LEAST_COSINE
