"""Real photographs of a chessboard whose squares measure 25 mm by its calibration file.

The photographs are not part of the project. Point BARTACK_TEST_IMAGES at a folder that holds `fiducials/chess_*.jpg`
(OpenCV's sample data, Apache-2.0) to run these; they are skipped otherwise.
"""

from __future__ import annotations

import os
from pathlib import Path

import cv2
import numpy as np
import pytest

from inspect_core.domain.geometry import Shape
from inspect_core.imaging import readings
from inspect_core.imaging.fitted_scale import from_fit
from inspect_core.imaging.known_length import known_length
from inspect_core.imaging.plane import Array, fit, fitted_bend
from inspect_core.imaging.scale import Scale

FOLDER = Path(os.environ.get("BARTACK_TEST_IMAGES", "")) / "fiducials"
PHOTOS = sorted(FOLDER.glob("chess_*.jpg")) if os.environ.get("BARTACK_TEST_IMAGES") else []
SQUARE_MM, COLUMNS, ROWS = 25.0, 9, 6
PLANE = np.array([[c * SQUARE_MM, r * SQUARE_MM] for r in range(ROWS) for c in range(COLUMNS)])

needs_photos = pytest.mark.skipif(not PHOTOS, reason="BARTACK_TEST_IMAGES names no folder with the chessboard photos")


def _corners(path: Path) -> tuple[Array, tuple[int, int]] | None:
    grey = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    found, corners = cv2.findChessboardCornersSB(grey, (COLUMNS, ROWS))
    if not found:
        return None
    return corners.reshape(-1, 2).astype(float) + 0.5, (grey.shape[1], grey.shape[0])


def _scale(corners: Array, size: tuple[int, int], used: Array) -> Scale:
    """From the corners marked True in `used`; the lens error is fitted, as many points over the photo allow."""
    bend = fitted_bend(corners[used], PLANE[used], size)

    def refit(more: float):  # type: ignore[no-untyped-def]
        return fit(corners[used], PLANE[used], size, bend + more)

    return from_fit(
        refit(0.0),
        refit,
        corners[used],
        size,
        method="chessboard",
        print_sd=0.002,
        print_skew_sd=0.002,
        height_sd_mm=0.0,
    )


@needs_photos
@pytest.mark.parametrize("path", PHOTOS, ids=lambda p: p.stem)
def test_squares_measure_25_mm_within_the_stated_uncertainty_in_every_photo(path: Path) -> None:
    seen = _corners(path)
    if seen is None:
        pytest.skip("the board is not found in this photo")
    corners, size = seen
    # Every other column makes the scale, the squares between are measured by it.
    used = np.arange(COLUMNS * ROWS) % COLUMNS % 2 == 0
    scale = _scale(corners, size, used)
    errors, stated = [], []
    for index in range(COLUMNS * ROWS):
        for step in ((1,) if index % COLUMNS < COLUMNS - 1 else ()) + (
            (COLUMNS,) if index < COLUMNS * (ROWS - 1) else ()
        ):
            pair = corners[[index, index + step]]
            found = readings.length(Shape.of("line", pair.tolist()), scale, point_sd_px=0.15)
            errors.append(found.value - SQUARE_MM)
            stated.append(found.expanded)
    assert abs(np.mean(errors)) <= np.median(stated)
    assert np.mean(np.abs(errors) <= np.array(stated)) >= 0.95
    assert np.median(stated) < 1.0


@needs_photos
def test_the_single_length_scale_is_wide_enough_where_tilt_makes_it_wrong() -> None:
    inside: dict[str, list[bool]] = {}
    for path in PHOTOS:
        seen = _corners(path)
        if seen is None:
            continue
        corners, size = seen
        at = 2 * COLUMNS + 3
        # Two squares in the middle are the reference; the squares around it are measured by it.
        scale = known_length(corners[[at, at + 2]], 2 * SQUARE_MM, size, length_sd_mm=0.1, point_sd_px=0.3)
        inside[path.stem] = []
        for index in range(COLUMNS * ROWS):
            column, row = index % COLUMNS, index // COLUMNS
            if 1 <= row <= 4 and 1 <= column <= 6:
                line = Shape.of("line", corners[[index, index + 1]].tolist())
                found = readings.length(line, scale, point_sd_px=0.3)
                inside[path.stem].append(abs(found.value - SQUARE_MM) <= found.expanded)
    assert len(inside) >= 10
    assert np.mean([hit for hits in inside.values() for hit in hits]) >= 0.95
    # One photo is tilted by 35 degrees, the most that is allowed for, under a lens that bends by 20 % at the corner.
    assert min(np.mean(hits) for hits in inside.values()) >= 0.85
