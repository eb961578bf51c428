"""Rope diameter from its two edges, found to a fraction of a pixel across many sections."""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from inspect_core.domain.errors import BadInput
from inspect_core.imaging.measure import Estimate, propagate
from inspect_core.imaging.plane import Array
from inspect_core.imaging.scale import Scale

#: Version of the edge finder, named in every reading it gives.
METHOD = "sub-pixel edges across the rope, version 1"
#: A fluffy edge, a shadow along one side, the camera's tone curve on the edge: none shows in the scatter.
#: Standard uncertainty per edge, in photo pixels, found on drawn ropes (see docs/measuring.md).
EDGE_SD_PX = 0.6
#: Sections that must show both edges.
FEWEST_SECTIONS = 24
_MOST_SECTIONS = 160


def rope_diameter(
    rgb: NDArray[np.uint8], axis: Array, scale: Scale, about_mm: float, *, point_sd_px: float = 1.5
) -> Estimate:
    """Diameter over the crowns, in mm, as a calliper takes it.

    Parameters
    ----------
    rgb: upright full-resolution photo (rows, columns, 3).
    axis: (2, 2) photo points drawn along the middle of the rope.
    about_mm: nominal diameter; edges are looked for within 0.55 to 1.5 of its half on either side.

    Raises BadInput where the edges do not show. The photo shows one view: a rope that is flattened or oval
    must be turned and measured again.
    """
    ends = scale.map.to_mm(axis)
    length = float(np.hypot(*(ends[1] - ends[0])))
    if not 1 <= about_mm <= 100:
        raise BadInput(
            "The rope's nominal diameter must lie between 1 and 100 mm.", "Enter it as its label or data sheet says."
        )
    if length < about_mm:
        raise BadInput(
            "The line along the rope is shorter than the rope is thick.", "Draw it along several diameters of rope."
        )
    density = 1 / scale.map.mm_per_px(axis)
    if about_mm * density < 16:
        raise BadInput(f"The rope is only {about_mm * density:.0f} pixels thick in the photo.", "Move closer.")
    along = (ends[1] - ends[0]) / length
    across = np.array([-along[1], along[0]])
    count = int(np.clip(length * density / 2, FEWEST_SECTIONS, _MOST_SECTIONS))
    places = np.linspace(0, length, count)
    reach = 1.5 * about_mm / 2 + 0.25 * about_mm
    offsets = np.arange(-reach, reach, 0.5 / density)
    grid = ends[0] + places[:, None, None] * along + offsets[None, :, None] * across
    photo = scale.map.to_px(grid) - 0.5
    patch = cv2.remap(rgb, photo[..., 0].astype(np.float32), photo[..., 1].astype(np.float32), cv2.INTER_LINEAR).astype(
        np.float32
    )
    # Sections lie about two pixels apart; averaging three quiets noise and blurs no crown.
    patch = cv2.blur(patch, (1, 3))
    left = _edge(patch[:, ::-1], -offsets[::-1], about_mm)
    right = _edge(patch, offsets, about_mm)
    good = np.isfinite(left) & np.isfinite(right)
    if good.sum() < FEWEST_SECTIONS * 0.75:
        raise BadInput(
            f"Both edges of the rope show in only {int(good.sum())} of {count} sections.",
            "Lay the rope on a plain ground of another colour and draw the line along its middle.",
        )
    low, high = (_crest(places[good], side[good], about_mm) for side in (left, right))
    # Ends of the diameter in the middle of the line, carried through the scale like a pointed length.
    middle = ends[0] + along * length / 2
    tips = scale.map.to_px(np.array([middle - across * low[0], middle + across * high[0]]))

    def square_distance(points: Array) -> Array:
        return np.asarray(np.hypot(*np.moveaxis(points[..., 1, :] - points[..., 0, :], -1, 0)))

    carried = propagate(square_distance, tips, scale, point_sd_px=0.0)
    # The axis drawn askew makes every section longer by 1/cos; the fitted edges tell by how much.
    slant = math.cos(math.atan((high[2] - low[2]) / 2))
    estimate = Estimate(carried.value * slant, carried.standard, carried.budget)
    scatter = math.hypot(low[1], high[1])
    edge = math.sqrt(2) * EDGE_SD_PX / density
    return estimate.with_cause("scatter of sections", scatter).with_cause("edge of the rope", edge)


def _edge(patch: NDArray[np.float32], offsets: Array, about_mm: float) -> Array:
    """Offset of the outer edge per section (n,), in mm from the drawn axis; NaN where none shows.

    The rope's colours are learnt near the axis and the ground's beyond the edge; the colour direction that parts
    them best is followed inwards from the ground to the half-way level (Fisher's discriminant).
    """
    half = about_mm / 2
    rope = patch[:, (offsets > -0.5 * half) & (offsets < 0.55 * half)].reshape(-1, 3)
    ground = patch[:, (offsets > 1.35 * half) & (offsets < 1.95 * half)].reshape(-1, 3)
    spread = np.cov(rope.T) + np.cov(ground.T) + 4.0 * np.eye(3)
    direction = np.linalg.solve(spread, rope.mean(axis=0) - ground.mean(axis=0))
    shown = patch @ direction
    levels = rope @ direction, ground @ direction
    apart = float(np.median(levels[0]) - np.median(levels[1]))
    if apart < 1.2 * (float(levels[0].std()) + float(levels[1].std())) / 2:
        return np.full(len(patch), np.nan)
    # Near the edge the rope is darker than in the middle; its level there decides where half-way lies.
    rim = np.median(shown[:, (offsets > 0.6 * half) & (offsets < 0.85 * half)])
    base = np.median(levels[1])
    level = base + 0.5 * max(float(rim - base), 0.3 * apart)
    above = shown > level
    # The outermost place from which at least 8 % of the diameter inwards is mostly rope.
    run = max(3, round(0.08 * about_mm / float(offsets[1] - offsets[0])))
    solid = cv2.blur(above.astype(np.float32), (run, 1), anchor=(run - 1, 0), borderType=cv2.BORDER_REPLICATE)
    usable = (offsets > 0.5 * half) & (offsets < 1.6 * half)
    edges = np.full(len(patch), np.nan)
    for row in range(len(patch)):
        inside = np.flatnonzero(above[row] & (solid[row] > 0.7) & usable)
        if len(inside) == 0 or inside[-1] + 1 >= len(offsets):
            continue
        at = int(inside[-1])
        first, second = shown[row, at], shown[row, at + 1]
        if first > level >= second:
            edges[row] = offsets[at] + (first - level) / (first - second) * (offsets[at + 1] - offsets[at])
    return edges


def _crest(places: Array, edges: Array, about_mm: float) -> tuple[float, float, float]:
    """(offset of the line over the crowns at the middle, its standard uncertainty, slope), all in mm.

    Strands stand out between valleys, and a calliper rests on the crowns: the line is fitted to the upper tenth
    of the residuals, less what noise alone lifts it by.
    """
    middle = places - places.mean()
    keep = np.abs(edges - np.median(edges)) < 0.2 * about_mm
    slope, level = np.polyfit(middle[keep], edges[keep], 1)
    for _ in range(3):
        rest = edges - (slope * middle + level)
        spread = 1.4826 * float(np.median(np.abs(rest[keep] - np.median(rest[keep])))) + 1e-6
        keep = np.abs(rest) < 3 * spread
        slope, level = np.polyfit(middle[keep], edges[keep], 1)
    rest = (edges - (slope * middle + level))[keep]
    # Second differences see noise and hardly the strands, which are many sections long.
    noise = float(np.median(np.abs(np.diff(rest, 2)))) * 1.4826 / math.sqrt(6) if len(rest) > 8 else 0.0
    lift = float(np.quantile(rest, 0.9))
    crown = level + max(0.0, math.sqrt(max(lift**2 - (1.28 * noise) ** 2, 0.0)))
    # Neighbouring sections share the weave: about one independent section per half diameter.
    independent = max(3.0, (places[-1] - places[0]) / (0.5 * about_mm))
    return float(crown), float(rest.std() / math.sqrt(independent)), float(slope)
