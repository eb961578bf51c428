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
EDGE_SD_PX = 0.5
#: The same as a share of the diameter: strands, glints and fibres grow with the rope.
EDGE_SD_SHARE = 0.016
#: Share of the steepest change that counts as the edge, strictly and loosely; and how near both must come, over
#: the diameter, to be averaged.
_STRICT, _LOOSE, _AGREE = 0.5, 0.3, 0.035
#: How much of the height of the crowns may be noise and stray fibres instead: standard uncertainty as a share.
CROWN_SHARE = 0.5
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
    slope = _steepness(patch)
    strict = _diameter(slope, offsets, places, about_mm, _STRICT)
    loose = _diameter(slope, offsets, places, about_mm, _LOOSE)
    if strict is None:
        raise BadInput(
            "Both edges of the rope do not show along the line.",
            "Lay the rope on a plain ground of another colour and draw the line along its middle.",
        )
    low, high, scatter, slant = strict
    # Bright wires hide their own rim from the strict search, stray fibres mislead the loose one; where both
    # agree the truth lies between them.
    doubt = 0.0
    if loose is not None and abs(sum(loose[:2]) - sum(strict[:2])) <= _AGREE * about_mm:
        doubt = abs(sum(loose[:2]) - sum(strict[:2])) / 2
        low, high = (low + loose[0]) / 2, (high + loose[1]) / 2
    # Ends of the diameter in the middle of the line, carried through the scale like a pointed length.
    middle = ends[0] + along * length / 2
    tips = scale.map.to_px(np.array([middle - across * low, middle + across * high]))

    def distance(points: Array) -> Array:
        return np.asarray(np.hypot(*np.moveaxis(points[..., 1, :] - points[..., 0, :], -1, 0)))

    carried = propagate(distance, tips, scale, point_sd_px=0.0)
    # An axis drawn askew makes every section longer by 1/cos; the fitted edges tell by how much.
    estimate = Estimate(carried.value * math.cos(math.atan(slant)), carried.standard, carried.budget)
    edge = math.sqrt(2) * max(EDGE_SD_PX / density, EDGE_SD_SHARE * about_mm)
    # The axis is drawn along the middle; when one edge comes out much farther off than the other, one of them may
    # belong to something beside the rope.
    aside = max(0.0, abs(high - low) - 0.06 * about_mm - 2 * point_sd_px / density)
    estimate = estimate.with_cause("scatter of sections", scatter).with_cause("edge of the rope", edge)
    return estimate.with_cause("choice of edge", math.hypot(doubt, aside / 2))


def _steepness(patch: NDArray[np.float32]) -> NDArray[np.float32]:
    """(sections, offsets) change of colour across the rope.

    By a Gaussian derivative two samples (one pixel) wide: the least that a photo's own blur leaves anyway.
    """
    soft = cv2.GaussianBlur(patch, (9, 1), 1.6)
    slope = np.zeros(patch.shape[:2], np.float32)
    slope[:, 1:-1] = np.sqrt(((soft[:, 2:] - soft[:, :-2]) ** 2).sum(axis=2))
    return slope


def _diameter(
    slope: NDArray[np.float32], offsets: Array, places: Array, about_mm: float, share: float
) -> tuple[float, float, float, float] | None:
    """(reach to either side at the middle, scatter, slope against the drawn axis), mm; None where edges do not show."""
    left = _edge(slope[:, ::-1], -offsets[::-1], about_mm, share)
    right = _edge(slope, offsets, about_mm, share)
    good = np.isfinite(left) & np.isfinite(right)
    if good.sum() < max(FEWEST_SECTIONS * 0.75, 0.3 * len(places)):
        return None
    # A rope seldom lies quite straight: what bends both edges alike is taken out before crowns are looked for.
    run = places[good] - places[-1] / 2
    bow = _robust_fit(run, (right[good] - left[good]) / 2, 2, about_mm)
    shift = np.polyval(bow, run)
    low, high = (_crest(places[good], side, about_mm) for side in (left[good] + shift, right[good] - shift))
    at = float(bow[-1])
    return low[0] - at, high[0] + at, math.hypot(low[1], high[1]), float(bow[-2])


def _edge(slope: NDArray[np.float32], offsets: Array, about_mm: float, share: float) -> Array:
    """Offset of the outer edge per section (n,), in mm from the drawn axis; NaN where none shows.

    The steepest change of colour wins over a fixed level, because a rope lies beside its own shadow: the shadow
    is soft, the edge is as sharp as the lens allows. Coming from the ground, the first change that is steep
    enough is the edge; later ones are strands and yarns.
    """
    half = about_mm / 2
    step = float(offsets[1] - offsets[0])
    ground = slope[:, (offsets > 1.4 * half) & (offsets < 1.7 * half)]
    window = (offsets > 0.68 * half) & (offsets < 1.38 * half)
    first = int(window.argmax())
    inside = slope[:, window]
    usual = float(np.median(inside.max(axis=1)))
    quiet = float(np.quantile(ground, 0.9))
    if usual < 1.6 * quiet + 3:
        return np.full(len(slope), np.nan)
    least = max(share * usual, 1.2 * quiet)
    middle = inside[:, 1:-1].astype(float)
    peaks = (middle >= inside[:, :-2]) & (middle > inside[:, 2:]) & (middle >= least)
    # The outermost peak of each section, placed between samples by a parabola.
    at = peaks.shape[1] - 1 - peaks[:, ::-1].argmax(axis=1)
    rows = np.arange(len(inside))
    before, here, after = (inside[rows, at + k].astype(float) for k in (0, 1, 2))
    bend = before - 2 * here + after
    shift = np.where(bend < 0, 0.5 * (before - after) / np.where(bend < 0, bend, -1.0), 0.0)
    return np.where(peaks.any(axis=1), offsets[first + 1 + at] + shift * step, np.nan)


def _robust_fit(places: Array, values: Array, degree: int, about_mm: float) -> Array:
    """Polynomial of that degree through most of the values, outliers left out in three rounds."""
    keep = np.abs(values - np.median(values)) < 0.25 * about_mm
    shape = np.polyfit(places[keep], values[keep], degree)
    for _ in range(3):
        rest = values - np.polyval(shape, places)
        spread = 1.4826 * float(np.median(np.abs(rest[keep]))) + 1e-6
        keep = np.abs(rest) < 3 * spread
        shape = np.polyfit(places[keep], values[keep], degree)
    return np.asarray(shape, float)


def _crest(places: Array, edges: Array, about_mm: float) -> tuple[float, float]:
    """(offset of the line over the crowns, its standard uncertainty), in mm.

    Strands stand out between valleys, and a calliper rests on the crowns: the upper tenth of the residuals,
    less what noise alone lifts it by.
    """
    level = float(_robust_fit(places, edges, 0, about_mm)[0])
    rest = edges - level
    rest = rest[np.abs(rest) < 4.5 * (1.4826 * float(np.median(np.abs(rest))) + 1e-6)]
    # Second differences see noise and hardly the strands, which are many sections long.
    noise = float(np.median(np.abs(np.diff(rest, 2)))) * 1.4826 / math.sqrt(6) if len(rest) > 8 else 0.0
    lift = max(float(np.quantile(rest, 0.9)), 0.0)
    crown = level + math.sqrt(max(lift**2 - (1.28 * noise) ** 2, 0.0))
    # Neighbouring sections share the weave: about one independent section per half diameter.
    independent = max(3.0, (places[-1] - places[0]) / (0.5 * about_mm))
    scatter = float(rest.std() / math.sqrt(independent))
    return crown, math.hypot(scatter, CROWN_SHARE * (crown - level))
