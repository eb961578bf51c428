"""Seeded random textures."""

from __future__ import annotations

import cv2
import numpy as np

from sample_images.spec import Array


def cloud(rng: np.random.Generator, shape: tuple[int, int], cell: tuple[float, float]) -> Array:
    """Smooth noise, float32 of `shape` (rows, columns), mean near 0, deviation near 0.7; `cell` is (x, y) in pixels."""
    rows, columns = shape
    cell_x, cell_y = max(cell[0], 1.0), max(cell[1], 1.0)
    if cell_x <= 1.0 and cell_y <= 1.0:
        return rng.standard_normal((rows, columns), dtype=np.float32)
    grid = rng.standard_normal((int(rows / cell_y) + 4, int(columns / cell_x) + 4), dtype=np.float32)
    step_x, step_y = _coarser(cell_x), _coarser(cell_y)
    size = (columns // step_x + 2, rows // step_y + 2)
    spread = np.array([[step_x / cell_x, 0, 1.5], [0, step_y / cell_y, 1.5]], np.float32)
    way = cv2.INTER_CUBIC if min(cell_x, cell_y) >= 3 else cv2.INTER_LINEAR
    small = cv2.warpAffine(grid, spread, size, flags=way | cv2.WARP_INVERSE_MAP, borderMode=cv2.BORDER_REFLECT)
    if step_x == step_y == 1:
        return np.asarray(small[:rows, :columns])
    return np.asarray(
        cv2.resize(small, (size[0] * step_x, size[1] * step_y), interpolation=cv2.INTER_LINEAR)[:rows, :columns]
    )


def _coarser(cell: float) -> int:
    """How much coarser noise of that cell may be computed before it is enlarged."""
    return 8 if cell >= 48 else 4 if cell >= 20 else 2 if cell >= 8 else 1


def fractal(
    rng: np.random.Generator,
    shape: tuple[int, int],
    cell: float,
    octaves: int = 4,
    stretch: tuple[float, float] = (1.0, 1.0),
    gain: float = 0.5,
) -> Array:
    """Sum of `cloud` at halving cells, float32, deviation near 1. `cell` in pixels, `stretch` scales it in x and y."""
    total = np.zeros(shape, np.float32)
    weight, norm = 1.0, 0.0
    for octave in range(octaves):
        size = cell / 2**octave
        total += weight * cloud(rng, shape, (size * stretch[0], size * stretch[1]))
        norm += (0.7 * weight) ** 2
        weight *= gain
    return total / np.float32(max(norm, 1e-9) ** 0.5)


def wrap(x: Array, n: float) -> Array:
    """Remainder of x by n, 0 to n; several times faster on whole pictures than the % of arrays."""
    return np.asarray(x - np.float32(n) * np.floor(x * np.float32(1 / n)))


def blob(rng: np.random.Generator, area: float, roughness: float = 0.25, elongation: float = 1.0) -> Array:
    """A closed irregular outline around the origin, (72, 2), with exactly that enclosed area, long side along x."""
    angle = np.linspace(0, 2 * np.pi, 72, endpoint=False)
    radius = np.ones_like(angle)
    for wave in range(2, 9):
        radius += roughness * rng.standard_normal() / wave * np.cos(wave * angle + rng.uniform(0, 2 * np.pi))
    radius = np.clip(radius, 0.45, 1.9)
    outline = np.stack([np.cos(angle) * radius * elongation**0.5, np.sin(angle) * radius / elongation**0.5], axis=1)
    x, y = outline.T
    enclosed = 0.5 * abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))))
    return np.asarray(outline * (area / enclosed) ** 0.5)
