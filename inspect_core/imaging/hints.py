"""Suggestions of places to look at. A hint is never a mark: only a person makes one of it.

Every hint names its method with version and says how often that method is wrong, as measured in docs/hints.md.
None of them sees what a photo does not show, and no hint means nothing: looking stays the inspector's work.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from inspect_core.domain.errors import BadInput
from inspect_core.domain.geometry import Shape
from inspect_core.domain.marks import Category
from inspect_core.imaging import metal, stitching
from inspect_core.imaging.hint_rates import RATES
from inspect_core.imaging.plane import Array
from inspect_core.imaging.scale import Scale
from inspect_core.imaging.strap import Strap, straightened

#: More hints than this on one part only hide the photo.
MOST_HINTS = 8


@dataclass(frozen=True, slots=True)
class Hint:
    """A suggestion, kept apart from marks until a person takes it over.

    Parameters
    ----------
    category: what it may be.
    shape: outline or line in full-resolution photo pixels.
    score: 0 to 1, only for ordering the hints of one method.
    method: name and version.
    note: what it is and how often the method errs, in plain words.
    """

    category: Category
    shape: Shape
    score: float
    method: str
    note: str


def _hint(category: Category, shape: Shape, score: float, method: str, what: str) -> Hint:
    return Hint(category, shape, float(np.clip(score, 0, 1)), method, f"{what} {RATES[method].sentence()}")


RUST_METHOD = "rust hint, version 1"
BURN_METHOD = "dark spot on webbing hint, version 1"
CUT_METHOD = "notch in the webbing's edge hint, version 1"
FRAY_METHOD = "fuzz beside the webbing's edge hint, version 1"
GAP_METHOD = "stitch gap hint, version 2"
FLAG_METHOD = "torn indicator hint, version 1"


def rust(rgb: NDArray[np.uint8], part: Shape) -> tuple[Hint, ...]:
    """Likely rust inside a region that the inspector has marked as metal. Raises BadInput for a bad region."""
    _, mask, (top, left) = metal.rust_share(rgb, part)
    area = part.area()
    least = max(30.0, 0.0008 * area)
    closed = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((5, 5), np.uint8))
    found = [
        _hint(Category.RUST, shape, size / area * 10, RUST_METHOD, "Rust-coloured spot on metal.")
        for shape, size in _outlines(closed, least, (left, top))
    ]
    return _best(found)


def dark_spots(rgb: NDArray[np.uint8], part: Shape) -> tuple[Hint, ...]:
    """Dark or scorched places on webbing: darker than the same weave elsewhere along the strap."""
    strap = straightened(rgb, part)
    rest = _departure(strap)
    dark = (rest < -_DARKER) & strap.inside
    dark[:, : strap.rim] = dark[:, -strap.rim :] = False
    mask = cv2.morphologyEx(dark.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((9, 9), np.uint8))
    least = _LEAST_SPOT * strap.width**2
    found = []
    for shape, size, place in _strap_outlines(mask, strap, least):
        depth = -float(rest[place].mean())
        found.append(
            _hint(Category.BURN, shape, size / strap.width**2 + depth / 2, BURN_METHOD, "Dark place on the webbing.")
        )
    return _best(found)


#: How much darker, in the logarithm of light, and how large over the squared width, a spot must be.
_DARKER, _LEAST_SPOT = 0.38, 0.006


def _departure(strap: Strap) -> Array:
    """Logarithm of brightness less what is usual at that place across the strap; smoothed over the weave."""
    light = np.log(strap.pixels.astype(np.float32).mean(axis=2) + 8)
    smooth = cv2.GaussianBlur(light, (0, 0), max(1.0, 0.018 * strap.width))
    usual = np.median(smooth, axis=0, keepdims=True)
    rest = smooth - usual
    # Light falls off along the strap; a spot is short against that.
    slow = cv2.medianBlur(np.ascontiguousarray(np.median(rest, axis=1)[:, None].astype(np.float32)), 5)
    return np.asarray(rest - slow, float)


def cut_edges(rgb: NDArray[np.uint8], part: Shape) -> tuple[Hint, ...]:
    """Notches and dark slits that reach from the webbing's edge inwards."""
    strap = straightened(rgb, part)
    found = []
    for (side, inward), (_, darker) in zip(strap.edges(), strap.slits(), strict=True):
        deep = cv2.medianBlur(inward.astype(np.float32)[:, None], 3)[:, 0]
        for signal, least, scale in ((deep, _LEAST_NOTCH * strap.width, strap.width), (darker, _LEAST_SLIT, 5.0)):
            noise = 1.4826 * float(np.median(np.abs(signal - np.median(signal))))
            for start, end in _runs(signal > max(least, 6 * noise)):
                if not 2 <= end - start <= 0.25 * strap.width:
                    continue
                size = float(signal[start:end].max())
                depth = max(float(deep[start:end].max()), 0.05 * strap.width)
                shape = strap.box(side, start - 2, end + 2, -0.01 * strap.width, depth)
                score = size / scale * 4
                found.append(_hint(Category.CUT, shape, score, CUT_METHOD, "Notch or dark slit at the webbing's edge."))
    return _best(found)


#: How much darker than usual, in the logarithm of light, a slit at the edge must be.
_LEAST_SLIT = 0.22
#: Depth of a notch over the webbing width from which it is suggested.
_LEAST_NOTCH = 0.018


def frayed_edges(rgb: NDArray[np.uint8], part: Shape) -> tuple[Hint, ...]:
    """Fibres that stand out beyond the webbing's edge."""
    strap = straightened(rgb, part)
    found = []
    for side, fuzz in strap.fuzz():
        smooth = cv2.blur(fuzz.astype(np.float32)[:, None], (1, max(3, round(0.06 * strap.width))))[:, 0]
        noise = 1.4826 * float(np.median(np.abs(smooth - np.median(smooth)))) + 0.01
        level = float(np.median(smooth)) + max(_LEAST_FUZZ, 5 * noise)
        for start, end in _runs(smooth > level):
            if end - start < 0.05 * strap.width:
                continue
            shape = strap.box(side, start, end, -0.14 * strap.width, 0.03 * strap.width)
            score = float(smooth[start:end].mean()) * 2
            found.append(_hint(Category.FRAY, shape, score, FRAY_METHOD, "Fibres stand out from the edge."))
    return _best(found)


#: Share of the strip beside the edge that must be covered by fibres beyond what is usual there.
_LEAST_FUZZ = 0.12


def stitch_gaps(rgb: NDArray[np.uint8], line: Array, scale: Scale | None = None) -> tuple[Hint, ...]:
    """Gaps in the stitch rhythm along a drawn line; none where no rhythm shows."""
    try:
        row = stitching.find_row(rgb, line, scale)
    except BadInput:
        return ()
    return tuple(
        _hint(
            Category.BROKEN_STITCH,
            Shape.of("line", [gap.start, gap.end]),
            0.3 + 0.1 * gap.missing,
            GAP_METHOD,
            f"{gap.missing} stitch{'es' if gap.missing > 1 else ''} may be missing.",
        )
        for gap in row.gaps
    )


def torn_indicator(rgb: NDArray[np.uint8], part: Shape) -> tuple[Hint, ...]:
    """An impact indicator that may be torn open: a plain field of signal red shows inside its drawn region.

    Only for indicators that show red when they have given way; red webbing is told from the field by its weave.
    """
    window, (top, left) = _window(rgb, part)
    colour = cv2.cvtColor(window, cv2.COLOR_RGB2HSV)
    vivid = (colour[..., 1] > 130) & (colour[..., 2] > 80) & ((colour[..., 0] < 10) | (colour[..., 0] > 170))
    grey = cv2.GaussianBlur(cv2.cvtColor(window, cv2.COLOR_RGB2GRAY).astype(np.float32), (0, 0), 1.0)
    reach = max(5, round(0.04 * min(grey.shape)) | 1)
    unevenness = cv2.blur(cv2.absdiff(grey, cv2.blur(grey, (reach, reach))), (reach, reach))
    plain = vivid & (unevenness < _MOST_UNEVEN)
    share = float(plain.mean())
    if share < _LEAST_SIGNAL:
        return ()
    mask = cv2.morphologyEx(plain.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((9, 9), np.uint8))
    found = [
        _hint(Category.DEPLOYED_ABSORBER, shape, share * 2, FLAG_METHOD, "The indicator's signal colour may show.")
        for shape, _ in _outlines(mask, 0.3 * mask.sum(), (left, top))
    ]
    return _best(found)


#: Mean departure from the neighbourhood, in levels of 255, above which a red field is woven and no plain flag.
_MOST_UNEVEN = 3.5
#: Share of the indicator's region in a signal red from which it is suggested.
_LEAST_SIGNAL = 0.12


def _window(rgb: NDArray[np.uint8], part: Shape) -> tuple[NDArray[np.uint8], tuple[int, int]]:
    left, top, right, bottom = (round(v) for v in part.bounds())
    left, top = max(0, left), max(0, top)
    window = rgb[top : max(top, bottom), left : max(left, right)]
    if min(window.shape[:2]) < 12:
        raise BadInput("The region is too small to be judged.", "Move closer or draw it larger.")
    return np.ascontiguousarray(window), (top, left)


def _runs(found: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """[start, end) of every stretch of True."""
    padded = np.concatenate([[False], found, [False]]).astype(np.int8)
    steps = np.diff(padded)
    return list(zip(np.flatnonzero(steps == 1).tolist(), np.flatnonzero(steps == -1).tolist(), strict=True))


def _contours(mask: NDArray[np.uint8]) -> Sequence[Any]:
    found: Sequence[Any] = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)[0]
    return found


def _outlines(mask: NDArray[np.uint8], least: float, corner: tuple[int, int]) -> list[tuple[Shape, float]]:
    """(polygon, area in px) of every blob of at least that area; `corner` is the window's (left, top)."""
    shapes = []
    for contour in _contours(mask):
        area = float(cv2.contourArea(contour))
        if area < least:
            continue
        thin = cv2.approxPolyDP(contour, 1.0, True).reshape(-1, 2)
        if len(thin) >= 3:
            shapes.append((Shape.of("polygon", (thin + 0.5 + corner).tolist()), area))
    return shapes


def _strap_outlines(
    mask: NDArray[np.uint8], strap: Strap, least: float
) -> list[tuple[Shape, float, tuple[NDArray[np.intp], ...]]]:
    """As `_outlines` for a mask on the straightened strap, with the indices of each blob's pixels."""
    shapes = []
    for contour in _contours(mask):
        blob = np.zeros_like(mask)
        cv2.drawContours(blob, [contour], -1, 1, -1)
        area = float(blob.sum())
        thin = cv2.approxPolyDP(contour, 1.0, True).reshape(-1, 2)
        if area >= least and len(thin) >= 3:
            shapes.append((Shape.of("polygon", strap.to_photo(thin[:, ::-1] + 0.5).tolist()), area, np.nonzero(blob)))
    return shapes


def _best(hints: list[Hint]) -> tuple[Hint, ...]:
    return tuple(sorted(hints, key=lambda hint: -hint.score)[:MOST_HINTS])
