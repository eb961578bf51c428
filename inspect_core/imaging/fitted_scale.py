"""Scale from a plane fitted to many known points, as the scale card or a chessboard gives them."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from inspect_core.imaging.plane import Array, Fit, PlaneMap
from inspect_core.imaging.scale import BEND_SD, FOCAL_SHARE, HEIGHT_SD_MM, Scale, Spread, height_factor


def from_fit(
    fitted: Fit,
    refit: Callable[[float], Fit],
    reference: Array,
    size: tuple[int, int],
    *,
    method: str,
    print_sd: float,
    print_skew_sd: float,
    height_mm: float = 0.0,
    height_sd_mm: float = HEIGHT_SD_MM,
    notes: tuple[str, ...] = (),
) -> Scale:
    """Scale from a fitted plane.

    Parameters
    ----------
    fitted: the fit at the best estimate of the lens error.
    refit: the same fit at another lens error (bend added to the best one).
    print_sd: relative standard uncertainty of the reference's own size.
    print_skew_sd: the same of width against height, as printers feed paper.
    height_mm, height_sd_mm: how much nearer to the camera the measured surface lies than the reference.
    """
    middle = reference.mean(axis=0)
    mm_per_px = fitted.map.mm_per_px(reference)
    distance = FOCAL_SHARE * max(size) * mm_per_px
    lift = height_factor(height_mm, distance)

    def lifted(map_: PlaneMap, height: float = 0.0) -> PlaneMap:
        factor = lift if height == 0 else height_factor(height_mm + height, distance)
        return map_.stretched(factor, factor)

    def with_matrix(matrix: Array) -> PlaneMap:
        base = fitted.map
        return PlaneMap(matrix, base.bend, base.centre, base.reach)

    base = fitted.map
    best = base.matrix
    spreads = [
        Spread("fit of the card", lifted(with_matrix(moved)), lifted(with_matrix(2 * best - moved)))
        for moved in fitted.directions
    ]
    bent, unbent = refit(BEND_SD).map, refit(-BEND_SD).map
    spreads.append(Spread("lens", lifted(bent), lifted(unbent)))
    if print_sd > 0:
        spreads.append(
            Spread(
                "card printing",
                lifted(base.stretched(1 + print_sd, 1 + print_sd)),
                lifted(base.stretched(1 - print_sd, 1 - print_sd)),
            )
        )
    if print_skew_sd > 0:
        half = print_skew_sd / 2
        spreads.append(
            Spread(
                "card printing",
                lifted(base.stretched(1 + half, 1 - half)),
                lifted(base.stretched(1 - half, 1 + half)),
            )
        )
    if height_sd_mm > 0:
        spreads.append(Spread("height over the reference", lifted(base, height_sd_mm), lifted(base, -height_sd_mm)))

    def draw(chance: np.random.Generator, count: int) -> list[PlaneMap]:
        maps = []
        for _ in range(count):
            bend = float(chance.normal())
            lens = (bent.matrix - unbent.matrix) / 2 * bend
            moves = sum(float(z) * (m - best) for z, m in zip(chance.normal(size=8), fitted.directions, strict=True))
            common, skew, height = chance.normal(size=3) * (print_sd, print_skew_sd / 2, height_sd_mm)
            map_ = PlaneMap(best + moves + lens, base.bend + bend * BEND_SD, base.centre, base.reach)
            map_ = map_.stretched((1 + common) * (1 + skew), (1 + common) * (1 - skew))
            maps.append(lifted(map_, float(height)))
        return maps

    return Scale(
        method=method,
        map=lifted(base),
        spreads=tuple(spreads),
        draw=draw,
        reference=reference,
        mm_per_px=mm_per_px * lift,
        tilt_deg=base.tilt_deg(middle),
        residual_px=fitted.residual_px,
        notes=notes,
    )
