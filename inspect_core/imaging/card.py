"""Find the scale card in a photo and take the scale from it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from inspect_core.domain.errors import BadInput
from inspect_core.imaging.card_layout import (
    HEIGHT_MM,
    MARKERS,
    RULE_MM,
    WIDTH_MM,
    dictionary,
    marker_corners,
)
from inspect_core.imaging.fitted_scale import from_fit
from inspect_core.imaging.plane import Array, PlaneMap, fit, through
from inspect_core.imaging.scale import HEIGHT_SD_MM, Scale

FEWEST_MARKERS = 4
#: The found markers must span at least this share of the area spanned by all of them.
LEAST_SPAN = 0.3
STEEPEST_TILT_DEG = 50.0
#: Beyond this misfit the card is bent or lies on something uneven.
MOST_RESIDUAL_PX, MOST_RESIDUAL_MM = 2.0, 0.6
#: Relative standard uncertainty of the printed size when nobody has checked it: printers that "fit to page"
#: shrink by 3 to 6 % (common practice, no source).
UNCHECKED_PRINT_SD = 0.03
#: The same of feed direction against carriage direction (common practice, no source).
PRINT_SKEW_SD = 0.002
#: Reading a steel rule to half a millimetre, both ends: 0.5 / √6 mm.
RULE_SD_MM = 0.2
_SEARCH_SIDE = 1600
#: Relative light of each 8-bit level (IEC 61966-2-1, sRGB).
_LEVELS = np.arange(256) / 255
_LIGHT = np.where(_LEVELS <= 0.04045, _LEVELS / 12.92, ((_LEVELS + 0.055) / 1.055) ** 2.4)
_SAY_RETAKE = "Lay the whole card flat beside the mark and take the photo again, more squarely."


@dataclass(frozen=True, slots=True, eq=False)
class FoundCard:
    """The card's markers in a photo: numbers, (n, 4, 2) photo pixels and (n, 4, 2) nominal card millimetres."""

    numbers: tuple[int, ...]
    photo: Array
    plane: Array


def find_card(rgb: NDArray[np.uint8]) -> FoundCard:
    """Look for the card's markers in an upright photo. None found gives an empty result."""
    grey = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
    shrink = min(1.0, _SEARCH_SIDE / max(grey.shape))
    small = cv2.resize(grey, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA) if shrink < 1 else grey
    parameters = cv2.aruco.DetectorParameters()
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_CONTOUR
    found, numbers, _ = cv2.aruco.ArucoDetector(dictionary(), parameters).detectMarkers(small)
    once: dict[int, Array] = {}
    for corners, number in zip(found, [] if numbers is None else numbers.ravel(), strict=True):
        if int(number) in MARKERS:
            # The centre of the first pixel is (0.5, 0.5) in our frame, (0, 0) in OpenCV's.
            once[int(number)] = (corners.reshape(4, 2).astype(float) + 0.5) / shrink
    order = tuple(sorted(once))
    photo = np.array([_refined(grey, once[number]) for number in order]).reshape(-1, 4, 2)
    plane = np.array([marker_corners(number) for number in order]).reshape(-1, 4, 2)
    return FoundCard(order, photo, plane)


def _refined(grey: NDArray[np.uint8], corners: Array) -> Array:
    """Corners as the meeting points of the marker's four sides, each side fitted to sub-pixel edge places.

    Blur rounds a corner off but leaves the straight sides where they are.
    """
    sides = []
    inside = corners.mean(axis=0)
    for start, end in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        line = _side(grey, start, end, inside)
        if line is None:
            return corners
        sides.append(line)
    refined = []
    for before, after in zip(np.roll(np.arange(4), 1), range(4), strict=True):
        crossing = np.cross(sides[int(before)], sides[after])
        if abs(crossing[2]) < 1e-9:
            return corners
        refined.append(crossing[:2] / crossing[2])
    found = np.array(refined)
    limit = 0.08 * float(np.hypot(*(corners[1] - corners[0]))) + 1.5
    return found if np.abs(found - corners).max() <= limit else corners


def _side(grey: NDArray[np.uint8], start: Array, end: Array, inside: Array) -> Array | None:
    """Homogeneous line (3,) of one marker side, from the steepest change from white to black across it."""
    length = float(np.hypot(*(end - start)))
    cell = length / 7
    along = (end - start) / length
    out = np.array([along[1], -along[0]])
    if out @ (start - inside) < 0:
        out = -out
    # The border is one cell wide and so is the quiet zone; looking further would meet the marker's bits.
    reach = max(2.0, 0.75 * cell)
    places = np.linspace(0.08, 0.92, int(np.clip(length / 2, 8, 48))) * length
    offsets = np.arange(-reach, reach + 0.125, 0.25)
    grid = start + places[:, None, None] * along + offsets[None, :, None] * out
    lit = cv2.remap(
        grey,
        (grid[..., 0] - 0.5).astype(np.float32),
        (grid[..., 1] - 0.5).astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    # Lenses blur light, not pixel values: in pixel values a blurred edge seems to lie on its dark side.
    lit = _LIGHT[lit]
    low, high = np.quantile(lit, (0.1, 0.9))
    if high - low < 0.06:
        return None
    # Steepness-weighted mean of the offsets: for a blurred step that is the step itself.
    slope = np.clip(np.diff(lit, axis=1), 0, None)
    weight = slope.sum(axis=1)
    middle = (offsets[1:] + offsets[:-1]) / 2
    good = weight > 0.4 * (high - low)
    if good.sum() < 6:
        return None
    at = (slope @ middle)[good] / weight[good]
    place = places[good]
    slant, level = np.polyfit(place, at, 1)
    keep = np.abs(at - (slant * place + level)) <= max(0.3, 2.5 * float(np.median(np.abs(at - slant * place - level))))
    if keep.sum() < 6:
        return None
    slant, level = np.polyfit(place[keep], at[keep], 1)
    first, last = (start + d * along + (slant * d + level) * out for d in (0.0, length))
    line: Array = np.cross([*first, 1.0], [*last, 1.0])
    return line


def card_scale(
    rgb: NDArray[np.uint8],
    *,
    rule_mm: float | None = None,
    rule_sd_mm: float = RULE_SD_MM,
    height_mm: float = 0.0,
    height_sd_mm: float = HEIGHT_SD_MM,
) -> Scale:
    """The scale from the card in an upright full-resolution photo.

    Parameters
    ----------
    rule_mm: what a steel rule reads between 0 and 140 of the printed rule; None when nobody has checked it,
        which makes every reading wide.
    rule_sd_mm: standard uncertainty of that check.
    height_mm, height_sd_mm: how much nearer to the camera the mark lies than the card.

    Raises BadInput when no card or too little of it shows, or when it is seen too obliquely or is bent.
    """
    found = find_card(rgb)
    return scale_of_card(
        found,
        (rgb.shape[1], rgb.shape[0]),
        rule_mm=rule_mm,
        rule_sd_mm=rule_sd_mm,
        height_mm=height_mm,
        height_sd_mm=height_sd_mm,
    )


def scale_of_card(
    found: FoundCard,
    size: tuple[int, int],
    *,
    rule_mm: float | None = None,
    rule_sd_mm: float = RULE_SD_MM,
    height_mm: float = 0.0,
    height_sd_mm: float = HEIGHT_SD_MM,
) -> Scale:
    """As `card_scale`, for markers already found in a photo of `size` (width, height)."""
    printed, print_sd = _printed_size(rule_mm, rule_sd_mm)
    if height_sd_mm < 0 or not (math.isfinite(height_mm) and math.isfinite(height_sd_mm)):
        raise BadInput("The height over the card is no usable number.", "Give it in millimetres, or leave it out.")
    if not found.numbers:
        raise BadInput("No scale card is seen in the photo.", "Lay the card beside the mark, or draw a known length.")
    if len(found.numbers) < FEWEST_MARKERS:
        raise BadInput(
            f"Only {len(found.numbers)} of the card's {len(MARKERS)} markers are seen; it takes {FEWEST_MARKERS}.",
            _SAY_RETAKE,
        )
    photo, plane = _without_spread(found, size).reshape(-1, 2), found.plane.reshape(-1, 2) * printed
    span = _hull_area(plane) / (_hull_area(np.concatenate([marker_corners(n) for n in MARKERS])) * printed**2)
    if span < LEAST_SPAN:
        raise BadInput("The markers that are seen cover too small a part of the card.", _SAY_RETAKE)
    fitted = fit(photo, plane, size)
    tilt = fitted.map.tilt_deg(photo.mean(axis=0))
    if tilt > STEEPEST_TILT_DEG:
        raise BadInput(
            f"The card is seen {tilt:.0f} degrees off square; the most is {STEEPEST_TILT_DEG:.0f}.", _SAY_RETAKE
        )
    if fitted.residual_px > MOST_RESIDUAL_PX or fitted.residual_mm > MOST_RESIDUAL_MM * printed:
        raise BadInput(
            f"The card's markers miss their places by up to {fitted.residual_mm:.1f} mm: it is bent or not flat.",
            _SAY_RETAKE,
        )
    notes = [
        "A photo cannot show whether the mark lies level with the card; lay the card level with it.",
    ]
    if rule_mm is None:
        notes.append("The printed size was not checked with a ruler; readings are wide until it is.")
    return from_fit(
        fitted,
        lambda bend: fit(photo, plane, size, bend),
        photo,
        size,
        method="scale card",
        print_sd=print_sd,
        print_skew_sd=PRINT_SKEW_SD,
        height_mm=height_mm,
        height_sd_mm=height_sd_mm,
        notes=tuple(notes),
    )


def _printed_size(rule_mm: float | None, rule_sd_mm: float) -> tuple[float, float]:
    """(printed over nominal size, its relative standard uncertainty)."""
    if rule_mm is None:
        return 1.0, UNCHECKED_PRINT_SD
    if not 0.8 * RULE_MM <= rule_mm <= 1.2 * RULE_MM:
        raise BadInput(
            f"The printed rule is said to measure {rule_mm:g} mm instead of {RULE_MM:g} mm.",
            "Measure from 0 to 140 on the card with a steel rule, or print the card again at 100 %.",
        )
    if not 0 <= rule_sd_mm <= 5:
        raise BadInput("The uncertainty of the printed rule must lie between 0 and 5 mm.", "Leave it out when unsure.")
    return rule_mm / RULE_MM, rule_sd_mm / rule_mm


def _without_spread(found: FoundCard, size: tuple[int, int]) -> Array:
    """Marker corners with the common shift of black edges taken out.

    Ink that runs, and a camera's tone curve on a blurred edge, make every black square a little larger or
    smaller on all sides alike. That moves no marker's middle; left in, it would pass for misfit.
    """
    middles = found.photo.mean(axis=1, keepdims=True)
    out: Array = found.photo - middles
    out = out / np.linalg.norm(out, axis=2, keepdims=True)
    shift = 0.0
    for _ in range(3):
        corners: Array = found.photo - shift * out
        inverse = np.linalg.inv(fit(corners.reshape(-1, 2), found.plane.reshape(-1, 2), size).map.matrix)
        misses = corners - through(np.asarray(inverse, float), found.plane)
        shift += float((misses * out).sum(axis=2).mean())
    return np.asarray(found.photo - shift * out)


def _hull_area(points: Array) -> float:
    return float(cv2.contourArea(cv2.convexHull(points.astype(np.float32))))


def rectified(rgb: NDArray[np.uint8], map_: PlaneMap, px_per_mm: float, margin_mm: float = 0.0) -> NDArray[np.uint8]:
    """The card's own plane seen squarely: (rows, columns, 3), card frame at `px_per_mm`, with a margin round it."""
    size = (round((WIDTH_MM + 2 * margin_mm) * px_per_mm), round((HEIGHT_MM + 2 * margin_mm) * px_per_mm))
    shift = np.array([[px_per_mm, 0, margin_mm * px_per_mm], [0, px_per_mm, margin_mm * px_per_mm], [0, 0, 1]])
    half = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1]])
    matrix = half @ shift @ map_.matrix @ np.linalg.inv(half)
    return np.asarray(cv2.warpPerspective(rgb, matrix, size, flags=cv2.INTER_LINEAR), np.uint8)
