"""Whether a photo is good enough to judge gear by, in numbers and in plain words.

The limits below are working values found on drawn and real photographs, `common practice, no source`: they
advise the person with the camera and decide nothing.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

#: Below this sharpness stitches of about 3 mm can no longer be told apart in a close-up.
LEAST_SHARPNESS = 0.35
#: Below this the photo is soft: fine for a large burn, not for a small cut.
SOFT_SHARPNESS = 0.45
DARKEST_MEAN, BRIGHTEST_MEAN = 0.18, 0.88
MOST_CLIPPED_DARK, MOST_CLIPPED_LIGHT = 0.35, 0.35
MOST_GLARE = 0.02
LEAST_MEGAPIXELS = 2.0

_TILES = 6
#: Mean neighbour difference (of 255) below which a tile holds no detail to judge.
_LEAST_STEP = 1.0
#: Mean neighbour difference that rounding to 8 bits alone leaves on a smooth slope, which no blur takes away.
_ROUNDING = 0.4


@dataclass(frozen=True, slots=True)
class Quality:
    """Measured on the preview (longest side 1600 px).

    Parameters
    ----------
    sharpness: 0 (nothing but blur) to 1; the upper quartile over tiles that hold any detail, so that a soft
        background behind a sharp subject does no harm.
    exposure: mean luminance, 0 black to 1 white.
    clipped_dark, clipped_light: share of pixels at the end of the scale, where all detail is lost.
    glare: share of the picture under small burnt-out spots, as a lamp or the sun makes on metal.
    megapixels: of the original.
    advice: what to do better, in plain words; empty when the photo will do.
    """

    sharpness: float
    exposure: float
    clipped_dark: float
    clipped_light: float
    glare: float
    megapixels: float
    advice: tuple[str, ...]


def judge(preview: NDArray[np.uint8], megapixels: float) -> Quality:
    """Judge a photo by its preview.

    Parameters
    ----------
    preview: (rows, columns, 3) colour image, 8 bit; channel order does not matter much, BGR is assumed.
    megapixels: pixels of the original in millions.
    """
    grey = cv2.cvtColor(preview, cv2.COLOR_BGR2GRAY)
    histogram = cv2.calcHist([grey], [0], None, [256], [0, 256]).ravel() / grey.size
    exposure = float(histogram @ np.arange(256) / 255)
    dark, light = float(histogram[:5].sum()), float(histogram[251:].sum())
    sharpness, glare = _sharpness(grey), _glare(grey) if light > 0 else 0.0
    return Quality(
        sharpness=sharpness,
        exposure=exposure,
        clipped_dark=dark,
        clipped_light=light,
        glare=glare,
        megapixels=megapixels,
        advice=_advice(sharpness, exposure, dark, light, glare, megapixels),
    )


def _sharpness(grey: NDArray[np.uint8]) -> float:
    """1 − the blur measure of Crete et al. (2007, doi 10.1117/12.702790), by tiles.

    Blurring a sharp picture once more takes away much of its neighbour differences; blurring a blurred one
    takes away little. The share taken away does not depend on contrast, so plain cloth is not called blurred.
    """
    rows, columns = grey.shape
    tiles = (min(_TILES, columns), min(_TILES, rows))
    shares, detail = [], np.zeros((tiles[1], tiles[0]), bool)
    # Motion blurs one axis only, so both are measured and the worse one counts.
    for kernel, across in (((9, 1), True), ((1, 9), False)):
        steps, blurred = _steps(grey, across), _steps(cv2.blur(grey, kernel), across)
        lost = cv2.subtract(steps, blurred)  # saturates at 0: only vanished differences count
        step_mean, lost_mean = _tile_means(steps, tiles), _tile_means(lost, tiles)
        detail |= step_mean >= _LEAST_STEP
        shares.append(np.maximum(lost_mean - _ROUNDING, 0) / np.maximum(step_mean, _ROUNDING))
    return float(np.quantile(np.minimum(*shares)[detail], 0.75)) if detail.any() else 0.0


def _tile_means(picture: NDArray[np.uint8], tiles: tuple[int, int]) -> NDArray[np.float64]:
    """Mean of each of (columns, rows) equal tiles, as (rows, columns)."""
    rows = np.linspace(0, picture.shape[0], tiles[1] + 1).astype(int)
    columns = np.linspace(0, picture.shape[1], tiles[0] + 1).astype(int)
    return np.array(
        [
            [cv2.mean(picture[top:bottom, left:right])[0] for left, right in itertools.pairwise(columns)]
            for top, bottom in itertools.pairwise(rows)
        ]
    )


def _steps(grey: NDArray[np.uint8], across: bool) -> NDArray[np.uint8]:
    """Absolute differences of neighbours, across or down."""
    pair = (grey[:, 1:], grey[:, :-1]) if across else (grey[1:], grey[:-1])
    return np.asarray(cv2.absdiff(*pair), np.uint8)


def _glare(grey: NDArray[np.uint8]) -> float:
    """Share of the picture under burnt-out spots each smaller than 5 % of it; white paper is larger than that."""
    scale = 480 / max(grey.shape)
    small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else grey
    _, burnt = cv2.threshold(small, 250, 1, cv2.THRESH_BINARY)
    _, _, stats, _ = cv2.connectedComponentsWithStats(burnt)
    areas = stats[1:, cv2.CC_STAT_AREA]
    return float(areas[(areas >= 4) & (areas < 0.05 * small.size)].sum() / small.size)


def _advice(
    sharpness: float, exposure: float, dark: float, light: float, glare: float, megapixels: float
) -> tuple[str, ...]:
    words = []
    if sharpness == 0:
        words.append("No detail to be seen: move closer and tap the part to focus on it.")
    elif sharpness < LEAST_SHARPNESS:
        words.append("Too blurred to judge stitching: move closer, hold still.")
    elif sharpness < SOFT_SHARPNESS:
        words.append("A little soft: rest your elbows and tap the part to focus on it.")
    if exposure < DARKEST_MEAN or dark > MOST_CLIPPED_DARK:
        words.append("Too dark: turn towards the light or use a lamp from the side.")
    elif exposure > BRIGHTEST_MEAN or light > MOST_CLIPPED_LIGHT:
        words.append("Too bright: step into the shade or tap the bright part.")
    if glare > MOST_GLARE:
        words.append("Glare hides part of the surface: tilt the gear or move the lamp.")
    if megapixels < LEAST_MEGAPIXELS:
        words.append(f"Only {megapixels:.1f} megapixels: a cut of 1 mm may not show. Send the original photo.")
    return tuple(words)
