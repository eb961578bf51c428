"""Rust on metal: the share of a region that the inspector has marked as metal.

Orange rope, brass and warm-coloured cloth have rust's colour. That is why the region must be drawn by a person,
and why copper and brown paint inside it still deceive this method; docs/hints.md says how often.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from inspect_core.domain.errors import BadInput
from inspect_core.domain.geometry import Shape
from inspect_core.imaging.colour import mask_of
from inspect_core.imaging.measure import POINT_SD_PX, Estimate

METHOD = "rust colour in the marked metal region, version 1"
_FEWEST_PIXELS = 400
#: Beyond this share colour no longer tells rust from orange lacquer or copper.
_MOST_SHARE = 0.6
#: People draw the end of a stain that fades out in different places: relative standard uncertainty of the share,
#: found on drawn rust.
_ENDS_SD = 0.16


@dataclass(frozen=True, slots=True)
class RustColour:
    """Bounds of rust's colour in CIELAB: hue in degrees, least chroma, greatest lightness, least redness.

    Iron oxides run from dark red-brown to orange; brass and zinc chromate lie yellower, beyond `hue_to`.
    Set on drawn pictures of the tuning seeds and a few photographs of copper; common practice, no source.
    """

    hue_from: float = 8.0
    hue_to: float = 74.0
    chroma: float = 11.0
    lightness: float = 66.0
    redness: float = 5.0


RUST = RustColour()
#: The same bounds drawn tighter and wider: what the choice of bounds alone changes.
_TIGHT = RustColour(hue_from=14.0, hue_to=69.0, chroma=14.0, lightness=62.0, redness=7.0)
_WIDE = RustColour(hue_from=4.0, hue_to=78.0, chroma=9.0, lightness=70.0, redness=3.5)


def rust_mask(rgb: NDArray[np.uint8], bounds: RustColour = RUST) -> NDArray[np.bool_]:
    """(rows, columns): True where the colour is rust's. Says nothing about what the thing is made of."""
    colour = cv2.cvtColor(rgb.astype(np.float32) / np.float32(255), cv2.COLOR_RGB2LAB)
    lightness, red, yellow = colour[..., 0], colour[..., 1], colour[..., 2]
    low, high = math.tan(math.radians(bounds.hue_from)), math.tan(math.radians(bounds.hue_to))
    found = (red >= bounds.redness) & (yellow >= low * red) & (yellow <= high * red)
    chroma = np.sqrt(red**2 + yellow**2)
    # Copper and orange lacquer are as vivid as rust but brighter: the more vivid, the darker it has to be.
    brightest = bounds.lightness - 0.8 * np.maximum(chroma - 25, 0)
    found &= (chroma >= bounds.chroma) & (lightness <= brightest) & (lightness >= 4)
    return np.asarray(found, bool)


def rust_share(
    rgb: NDArray[np.uint8], metal: Shape, *, point_sd_px: float = POINT_SD_PX
) -> tuple[Estimate, NDArray[np.uint8], tuple[int, int]]:
    """Rusted share of a metal region, 0 to 1, with (mask of rust in its window, (top, left) of that window).

    Raises BadInput for a region that is a line, too small, or outside the photo.
    """
    if not metal.closed:
        raise BadInput("The metal region must be an outline, not a line.", "Draw round the metal part.")
    mask, (top, left) = mask_of(metal, rgb.shape[:2])
    inside = mask > 0
    total = int(inside.sum())
    if total < _FEWEST_PIXELS:
        raise BadInput("The metal region is too small to be judged.", "Move closer or draw it larger.")
    # Single pixels of sensor noise are no rust: a median over three pixels removes them and keeps spots.
    window = cv2.medianBlur(np.ascontiguousarray(rgb[top : top + mask.shape[0], left : left + mask.shape[1]]), 3)
    found = rust_mask(window) & inside
    share, tight, wide = (
        float(part.sum()) / total
        for part in (found, rust_mask(window, _TIGHT) & inside, rust_mask(window, _WIDE) & inside)
    )
    if share > _MOST_SHARE:
        raise BadInput(
            f"{share:.0%} of the region has rust's colour: rusted over, or painted or made in that colour.",
            "Judge the rust by eye and enter what you see.",
        )
    # The choice of bounds counts as rectangular between tight and wide.
    bounds_sd = (wide - tight) / 2 / math.sqrt(3)
    outline_sd = metal.length() * point_sd_px * 0.5 / total * max(share, 1 - share) * 0.5
    edge = cv2.morphologyEx(found.astype(np.uint8), cv2.MORPH_GRADIENT, np.ones((3, 3), np.uint8))
    blur_sd = 0.25 * float(edge.sum()) / total / 2
    budget = {
        "where rust ends": math.hypot(_ENDS_SD * share, 0.004),
        "bounds of rust's colour": bounds_sd,
        "outline of the region": outline_sd,
        "blurred edges of the rust": blur_sd,
    }
    return Estimate(share, math.hypot(*budget.values()), budget), found.astype(np.uint8), (top, left)
