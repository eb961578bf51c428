"""A pinhole camera over a plane, for tests of geometry."""

from __future__ import annotations

import math

import numpy as np

from inspect_core.imaging.plane import Array, through

SIZE = (4000, 3000)


def view(tilt_deg: float, axis_deg: float = 30.0, px_per_mm: float = 10.0, size: tuple[int, int] = SIZE) -> Array:
    """Homography from plane mm (origin in the middle of the photo) to photo px.

    The plane is turned by `tilt_deg` about the direction `axis_deg` in it; `px_per_mm` holds at the middle untilted.
    """
    focal, tilt, axis = 0.8 * max(size), math.radians(tilt_deg), math.radians(axis_deg)
    c, s = math.cos(axis), math.sin(axis)
    k = np.array([[0, 0, s], [0, 0, -c], [-s, c, 0]])
    rotation = np.eye(3) + math.sin(tilt) * k + (1 - math.cos(tilt)) * (k @ k)
    lens = np.array([[focal, 0, size[0] / 2], [0, focal, size[1] / 2], [0, 0, 1.0]])
    return np.asarray(lens @ np.column_stack([rotation[:, 0], rotation[:, 1], [0, 0, focal / px_per_mm]]), float)


def seen(matrix: Array, plane: object) -> Array:
    """Plane points (…, 2) in mm to photo px."""
    return through(matrix, np.asarray(plane, float))
