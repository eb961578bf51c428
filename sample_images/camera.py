"""From the painted plane to the photograph: perspective, lens, light, sensor."""

from __future__ import annotations

import math

import cv2
import numpy as np

from sample_images.canvas import Canvas
from sample_images.spec import Array, Camera

#: Canvas pixels at most; a larger picture is enlarged from it, as soft at full size as a telephone's is.
_MOST_CANVAS_PIXELS = 5.0e6


def homography(camera: Camera) -> Array:
    """3x3 matrix from plane millimetres to picture pixels (origin at the upper left corner), pinhole camera."""
    focal = 0.5 * max(camera.width, camera.height) / math.tan(math.radians(camera.view_deg) / 2)
    distance = focal / camera.px_per_mm
    axis, tilt, roll = (math.radians(a) for a in (camera.tilt_axis_deg, camera.tilt_deg, camera.roll_deg))
    turn, _ = cv2.Rodrigues(np.array([math.cos(axis) * tilt, math.sin(axis) * tilt, 0.0]))
    spin, _ = cv2.Rodrigues(np.array([0.0, 0.0, roll]))
    rotation = turn @ spin
    lens = np.array([[focal, 0, camera.width / 2], [0, focal, camera.height / 2], [0, 0, 1.0]])
    cx, cy = camera.centre_mm
    shift = np.array([[1, 0, -cx], [0, 1, -cy], [0, 0, 1.0]])
    matrix = lens @ np.column_stack([rotation[:, 0], rotation[:, 1], [0.0, 0.0, distance]]) @ shift
    return np.asarray(matrix / matrix[2, 2])


def project(matrix: Array, points: Array) -> Array:
    """Points (N, 2) through a homography."""
    flat = np.asarray(points, np.float64).reshape(-1, 2)
    mapped = np.column_stack([flat, np.ones(len(flat))]) @ matrix.T
    return mapped[:, :2] / mapped[:, 2:]


def canvas_for(camera: Camera, sun: tuple[float, float, float]) -> Canvas:
    """A canvas that covers what the camera sees, at the camera's own resolution or a little less for large ones."""
    corners = np.array([[0, 0], [camera.width, 0], [camera.width, camera.height], [0, camera.height]], np.float64)
    seen = project(np.linalg.inv(homography(camera)), corners)
    cx, cy = camera.centre_mm
    most = 0.9 * max(camera.width, camera.height) / camera.px_per_mm
    low = np.maximum(seen.min(axis=0), (cx - most, cy - most)) - 1.0
    high = np.minimum(seen.max(axis=0), (cx + most, cy + most)) + 1.0
    area = float((high[0] - low[0]) * (high[1] - low[1]))
    most_pixels = min(_MOST_CANVAS_PIXELS, 1.5 * camera.width * camera.height)
    k = min(camera.px_per_mm, math.sqrt(most_pixels / area))
    return Canvas(float(low[0]), float(low[1]), float(high[0]), float(high[1]), k, sun)


def _to_srgb_table() -> Array:
    """8-bit levels (float32) for 4096 steps of linear light, with a soft shoulder for highlights."""
    x = np.linspace(0, 1.6, 4096, dtype=np.float64)
    soft = np.where(x < 0.7, x, 0.7 + 0.3 * np.tanh((x - 0.7) / 0.45) / math.tanh(2.0))
    soft = np.clip(soft, 0, 1)
    return (255 * np.where(soft <= 0.0031308, 12.92 * soft, 1.055 * soft ** (1 / 2.4) - 0.055)).astype(np.float32)


_TO_SRGB = _to_srgb_table()


def _levels(light: Array) -> Array:
    index = np.clip(light * np.float32(4095 / 1.6), 0, 4095).astype(np.uint16)
    return _TO_SRGB[index]


def _illumination(camera: Camera) -> Array:
    """Light gradient, vignette and exposure as one factor, HxW."""
    small_h, small_w = camera.height // 16 + 2, camera.width // 16 + 2
    x = np.linspace(-1, 1, small_w, dtype=np.float32)[None, :]
    y = np.linspace(-1, 1, small_h, dtype=np.float32)[:, None] * camera.height / camera.width
    angle = math.radians(camera.gradient_deg)
    fall = 1 + camera.light_gradient / 2 * (x * math.cos(angle) + y * math.sin(angle))
    fall = fall * (1 - camera.vignette * (x * x + y * y)) * camera.exposure
    return np.asarray(
        cv2.resize(fall.astype(np.float32), (camera.width, camera.height), interpolation=cv2.INTER_LINEAR)
    )


#: Side of the square of sensor noise that is repeated over the picture.
_NOISE_SIDE = 448


def _noise(camera: Camera, rng: np.random.Generator) -> tuple[Array, Array]:
    """Sensor noise in 8-bit levels: fine in brightness (HxW), coarser in colour (3xHxW), as after demosaicking."""
    side = min(_NOISE_SIDE, max(camera.width, camera.height))
    repeat = (camera.height // side + 1, camera.width // side + 1)
    fine = cv2.GaussianBlur(rng.standard_normal((side, side), dtype=np.float32), (0, 0), 0.55)
    coarse = rng.standard_normal((3, side // 2, side // 2), dtype=np.float32)
    coarse = np.stack([cv2.resize(c, (side, side), interpolation=cv2.INTER_LINEAR) for c in coarse])
    fine, coarse = fine * np.float32(1.3 * camera.noise), coarse * np.float32(0.45 * camera.noise)
    whole = (slice(camera.height), slice(camera.width))
    return np.tile(fine, repeat)[whole], np.tile(coarse, (1, *repeat))[:, *whole]


def expose(canvas: Canvas, camera: Camera, rng: np.random.Generator | None) -> Array:
    """The picture, HxWx3 uint8 RGB. Without `rng` the lens, light and sensor do nothing: geometry only."""
    to_plane = np.array(
        [[1 / canvas.k, 0, canvas.x0 + 0.5 / canvas.k], [0, 1 / canvas.k, canvas.y0 + 0.5 / canvas.k], [0, 0, 1]]
    )
    to_centres = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1.0]])
    matrix = to_centres @ homography(camera) @ to_plane
    size = (camera.width, camera.height)
    ahead = cv2.INTER_LINEAR if camera.px_per_mm <= 1.3 * canvas.k else cv2.INTER_CUBIC
    light = cv2.warpPerspective(
        cv2.merge(list(canvas.light)), matrix, size, flags=ahead, borderMode=cv2.BORDER_REFLECT_101
    )
    if rng is None:
        return np.clip(_levels(light) + 0.5, 0, 255).astype(np.uint8)
    if camera.blur_px > 0.2:
        light = cv2.GaussianBlur(light, (0, 0), camera.blur_px)
    fall = _illumination(camera)
    fine, coarse = _noise(camera, rng)
    planes = []
    for plane, gain, grain in zip(cv2.split(light), camera.white_balance, coarse, strict=True):
        levels = _levels(plane * (fall * np.float32(gain)))
        levels += fine
        levels += grain
        planes.append(cv2.convertScaleAbs(np.maximum(levels, 0)))
    return np.ascontiguousarray(cv2.merge(planes))
