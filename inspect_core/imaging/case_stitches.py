"""Stitch readings of a mark drawn along a seam, one side or both."""

from __future__ import annotations

from typing import Any

from inspect_core.domain.errors import BadInput
from inspect_core.imaging import readings, stitching
from inspect_core.imaging.case import MarkWish, needed
from inspect_core.imaging.files import Pixels
from inspect_core.imaging.measure import Estimate
from inspect_core.imaging.scale import Scale

MEASURES = ("stitch count", "stitch spacing", "missing stitches", "stitch side difference")


def seam_rows(mark: MarkWish, rgb: Pixels, scale: Scale | None) -> tuple[stitching.Row, ...]:
    """What was found along the mark's line, and along its second line where one is drawn."""
    lines = [mark.shape] if mark.second is None else [mark.shape, mark.second]
    return tuple(stitching.find_row(rgb, readings.points_of(line), scale) for line in lines)


def seam_sentence(mark: MarkWish, rows: tuple[stitching.Row, ...]) -> dict[str, Any]:
    """Both sides of a seam compared, as plain values: where they differ, and the gaps with photo points."""
    found = stitching.compare(*rows)
    gaps = [
        {"side": side, "missing": gap.missing, "from": list(gap.start), "to": list(gap.end)}
        for side, row in zip(("first", "second"), rows, strict=True)
        for gap in row.gaps
    ]
    return {"mark": mark.id, "alike": found.alike, "sentence": found.sentence, "gaps": gaps}


def stitch_estimate(
    measure: str, mark: MarkWish, rows: tuple[stitching.Row, ...], scale: Scale | None
) -> tuple[Estimate, str]:
    """(one of `MEASURES`, how it was taken), from what was found along the mark's lines.

    Where both sides of a seam are drawn the side that misses more speaks: a whole side must not hide the other's gap.
    """
    note = f", {stitching.METHOD}"
    if measure == "stitch side difference":
        needed(mark.second, "second", "the line along the other side of the seam")
        found = stitching.compare(*rows)
        reach = (found.doubtful + 1) / 2
        return Estimate(float(found.difference), reach, {"doubtful stitches": reach}), note
    row = max(rows, key=_most_missing)
    if len(rows) > 1:
        note += ", the worse side"
    if measure == "stitch count":
        return stitching.count(row), note
    if measure == "missing stitches":
        return stitching.missing(row), note
    if scale is None:
        raise BadInput("Without a scale there is no stitch spacing.", "Draw a known length or lay the scale card.")
    return stitching.spacing(row, scale), note


def _most_missing(row: stitching.Row) -> float:
    found = stitching.missing(row)
    return found.value + found.expanded
