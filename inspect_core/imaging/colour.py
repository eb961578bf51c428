"""Colour of photos: white balance and correction by the card, differences, and grades.

Colours inside are linear light (rows, 3) relative to white, or CIELAB for D65 as scikit-image defines it. A
photo is no colorimeter: differences between two patches of one photo are worth something, absolute colours
are not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from inspect_core.domain.errors import BadInput
from inspect_core.domain.geometry import Shape
from inspect_core.imaging.card_layout import PATCHES, patch_box
from inspect_core.imaging.measure import Estimate
from inspect_core.imaging.plane import Array, PlaneMap
from inspect_core.imaging.readings import points_of

METHOD = "colour difference in the photo, version 1"
#: Light falls unevenly on two patches side by side: relative standard uncertainty (common practice, no source).
LIGHT_SD = 0.03
#: A camera's own white balance is off by this much in red and in blue where no card corrects it (same basis).
BALANCE_SD = 0.08
#: What the card's correction leaves of it, because its patches come from an ordinary printer.
CORRECTED_BALANCE_SD = 0.03
#: What a camera's own tone curve and colour rendering do to a difference, and what the card cannot take out:
#: standard uncertainty as a share of it and as a floor, found on drawn photos with known patches.
RENDERING_SHARE, RENDERING_FLOOR = 0.05, 0.25
_DRAWS = 2000
_FEWEST_PIXELS = 60


def linear(srgb: Array) -> Array:
    """sRGB (…, 3), 0 to 1, to linear light (IEC 61966-2-1)."""
    srgb = np.asarray(srgb, float)
    return np.where(srgb <= 0.04045, srgb / 12.92, ((np.maximum(srgb, 0) + 0.055) / 1.055) ** 2.4)


def encoded(light: Array) -> Array:
    """Linear light (…, 3) to sRGB, 0 to 1, clipped."""
    light = np.clip(light, 0, 1)
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)


@dataclass(frozen=True, slots=True, eq=False)
class Correction:
    """What brings a photo's colours to the card's nominal ones.

    Parameters
    ----------
    matrix: (3, 3) applied to linear light as rows.
    residual: mean CIEDE2000 between corrected patches and their nominal colours.
    """

    matrix: Array
    residual: float

    def apply(self, light: Array) -> Array:
        """Corrected linear light (…, 3)."""
        corrected: Array = np.asarray(light, float) @ self.matrix
        return corrected


def patch_means(rgb: NDArray[np.uint8], map_: PlaneMap) -> Array:
    """(12, 3) mean linear light of the card's patches, their middle halves only. Raises BadInput when out of sight."""
    height, width = rgb.shape[:2]
    means = []
    for index in range(len(PATCHES)):
        left, top, right, bottom = patch_box(index)
        inset_x, inset_y = (right - left) / 4, (bottom - top) / 4
        xs = np.linspace(left + inset_x, right - inset_x, 16)
        ys = np.linspace(top + inset_y, bottom - inset_y, 16)
        photo = map_.to_px(np.stack(np.meshgrid(xs, ys), axis=-1)).reshape(-1, 2)
        columns, rows = np.floor(photo).astype(int).T
        if columns.min() < 0 or rows.min() < 0 or columns.max() >= width or rows.max() >= height:
            raise BadInput("Part of the card's colour patches lies outside the photo.", "Show the whole card.")
        means.append(linear(rgb[rows, columns] / 255).mean(axis=0))
    return np.array(means)


def correction(means: Array) -> Correction:
    """Colour correction from measured patch means (12, 3), linear light.

    Least squares in linear light with rows weighted by 1 / (lightness + 0.1), so that dark patches count too.
    Raises BadInput where the patches show burnt-out or no light: nothing can be corrected from them.
    """
    nominal = linear(np.array([colour for _, colour in PATCHES]) / 255)
    greys = means[:6].mean(axis=1)
    if means.max() > 0.985:
        raise BadInput("The card's white patch is burnt out.", "Take the photo with less light on the card.")
    if greys[0] < 0.08 or not np.all(np.diff(greys) < 0):
        raise BadInput("The card's grey patches do not step down.", "Keep shadows and reflections off the card.")
    weight = 1 / (nominal.mean(axis=1, keepdims=True) + 0.1)
    matrix, *_ = np.linalg.lstsq(means * weight, nominal * weight, rcond=None)
    residual = float(np.mean(ciede2000(lab(means @ matrix), lab(nominal))))
    return Correction(np.asarray(matrix, float), residual)


def white_balanced(rgb: NDArray[np.uint8], corrected: Correction) -> NDArray[np.uint8]:
    """The photo with the card's correction applied, for viewing and for comparing with another one."""
    levels = linear(np.arange(256) / 255)
    light = levels[rgb]
    return np.round(encoded(corrected.apply(light)) * 255).astype(np.uint8)


def lab(light: Array) -> Array:
    """CIELAB (D65, 2°) of linear light (…, 3)."""
    from skimage.color import rgb2lab  # brings scipy with it: loaded only where colours are compared

    return np.asarray(rgb2lab(encoded(light)), float)


def ciede2000(first: Array, second: Array) -> Array:
    """CIEDE2000 (CIE 142-2001) between CIELAB colours (…, 3), by scikit-image."""
    from skimage.color import deltaE_ciede2000

    return np.asarray(deltaE_ciede2000(first, second), np.float64)  # type: ignore[no-untyped-call]


def pixels_in(rgb: NDArray[np.uint8], shape: Shape) -> Array:
    """(n, 3) linear light of the pixels inside a closed shape. Raises BadInput when there are too few."""
    if not shape.closed:
        raise BadInput("A colour needs a patch, not a line.", "Draw a box or an outline on an evenly coloured place.")
    mask, (top, left) = mask_of(shape, rgb.shape[:2])
    window = rgb[top : top + mask.shape[0], left : left + mask.shape[1]]
    inside = window[mask > 0]
    if len(inside) < _FEWEST_PIXELS:
        raise BadInput("The patch is too small for its colour to be judged.", "Draw it larger.")
    return linear(inside / 255)


def mask_of(shape: Shape, size: tuple[int, ...]) -> tuple[NDArray[np.uint8], tuple[int, int]]:
    """(mask of the shape's bounding window, (top, left)) within a photo of (rows, columns)."""
    left, top, right, bottom = shape.bounds()
    x0, y0 = max(0, math.floor(left)), max(0, math.floor(top))
    x1, y1 = min(size[1], math.ceil(right) + 1), min(size[0], math.ceil(bottom) + 1)
    if x1 <= x0 or y1 <= y0:
        raise BadInput("The mark lies outside the photo.", "Draw it on the photo.")
    mask = np.zeros((y1 - y0, x1 - x0), np.uint8)
    outline = np.round((points_of(shape) - (x0 + 0.5, y0 + 0.5)) * 16).astype(np.int32)
    cv2.fillPoly(mask, [outline], 1, lineType=cv2.LINE_8, shift=4)
    return mask, (y0, x0)


def difference(reference: Array, suspect: Array, corrected: Correction | None, chance: np.random.Generator) -> Estimate:
    """CIEDE2000 between the mean colours of two patches of one photo.

    Parameters
    ----------
    reference, suspect: (n, 3) linear light of each patch, from `pixels_in`.
    corrected: from the card in the same photo; None where it shows none.
    chance: for the draws; the formula is far from straight near zero, so its uncertainty is found by Monte
        Carlo (JCGM 101) and not by derivatives.
    """
    parts = [_mean_and_error(patch) for patch in (reference, suspect)]
    means = np.array([mean for mean, _ in parts])
    balance_sd = BALANCE_SD if corrected is None else CORRECTED_BALANCE_SD
    matrix = np.eye(3) if corrected is None else corrected.matrix
    value = float(ciede2000(*lab(means @ matrix)))

    def spread(texture: bool, light: bool, balance: bool) -> float:
        drawn = np.repeat(means[None], _DRAWS, axis=0)
        if texture:
            drawn = drawn + chance.normal(0, 1, drawn.shape) * np.array([error for _, error in parts])
        if light:
            drawn = drawn * (1 + chance.normal(0, LIGHT_SD, (_DRAWS, 2, 1)))
        if balance:
            gains = 1 + chance.normal(0, balance_sd, (_DRAWS, 1, 3)) * np.array([1.0, 0.0, 1.0])
            drawn = drawn * gains
        shown = lab(np.clip(drawn, 0, None) @ matrix)
        found = ciede2000(shown[:, 0], shown[:, 1])
        # About the stated value, not about the mean: at small differences noise lifts the mean.
        return float(np.sqrt(np.mean((found - value) ** 2)))

    budget = {
        "texture of the patches": spread(True, False, False),
        "uneven light": spread(False, True, False),
        "white balance": spread(False, False, True),
    }
    estimate = Estimate(value, spread(True, True, True), budget)
    return estimate.with_cause("camera's rendering", math.hypot(RENDERING_FLOOR, RENDERING_SHARE * value))


def _mean_and_error(light: Array) -> tuple[Array, Array]:
    """Mean and its standard error; weave and noise repeat over about 25 pixels, which count as one."""
    independent = max(4.0, len(light) / 25)
    return light.mean(axis=0), light.std(axis=0) / math.sqrt(independent)


def cielab_difference(reference: Array, suspect: Array, corrected: Correction | None) -> tuple[Array, Array]:
    """Mean CIELAB of (reference, suspect), each (3,), as the grey-scale formulas take them."""
    matrix = np.eye(3) if corrected is None else corrected.matrix
    first, second = (lab(patch.mean(axis=0) @ matrix) for patch in (reference, suspect))
    return first, second
