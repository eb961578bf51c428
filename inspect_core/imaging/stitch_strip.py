"""A row of stitches straightened out of the photo: thread in the middle column, perspective out where it is known."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from inspect_core.domain.errors import BadInput
from inspect_core.imaging.plane import Array
from inspect_core.imaging.scale import Scale

#: Columns on each side of the row.
HALF = 20
#: Millimetres a sample where the scale is known: sewing thread of about 0.8 mm is then four samples wide.
SAMPLE_MM = 0.22
#: Thread and cloth must differ by this much in the logarithm of light, all channels together.
LEAST_CONTRAST = 0.25
#: A row longer than this is looked at more coarsely.
_MOST_SAMPLES = 3000
#: How far off the stitches a line is usually drawn at its middle and ends, in samples.
_OFF, _ASKEW = 3.0, 3.0
_OFFSETS, _SLANTS = np.arange(-7, 7.1, 0.5), np.arange(-5, 5.1, 1.0)
_PARTS = 6
#: Columns on each side in which the thread's line is looked for: the farthest offset, half a slant, and its sides.
_SEARCHED = 16
_LOGARITHMS = np.log(np.arange(256, dtype=np.float32) + 12.0)


@dataclass(frozen=True, slots=True, eq=False)
class Strip:
    """A straightened row.

    Parameters
    ----------
    light: (along, 2 HALF + 1, 3) logarithm of each channel; the thread runs along the middle column. In logarithms
        a shadow or a dark needle hole weighs the same on dark cloth as on a bright band.
    path: (along, 2) photo points of the middle column.
    level: samples lie evenly on the marked plane, so perspective has been taken out.
    thread: how much the middle differs from both its sides over most of the row, in the logarithm of light, all
        channels together.
    """

    light: NDArray[np.float32]
    path: Array
    level: bool
    thread: float


def even_path(line: Array, scale: Scale | None, step_px: float) -> Array:
    """(n, 2) photo points about `step_px` apart along the line; even in the plane where a scale says what it is."""
    corners = line if scale is None else scale.map.to_mm(line)
    sides = np.hypot(*np.diff(corners, axis=0).T)
    keep = np.concatenate([[True], sides > 0])
    run = np.concatenate([[0.0], np.cumsum(sides)])
    pixels = float(np.hypot(*np.diff(line, axis=0).T).sum())
    if pixels < 30:
        raise BadInput("The line along the stitches is too short.", "Draw it along the whole row.")
    at = np.linspace(0, run[-1], max(2, round(pixels / step_px) + 1))
    points = np.stack([np.interp(at, run[keep], corners[keep, axis]) for axis in (0, 1)], axis=1)
    return points if scale is None else scale.map.to_px(points)


def straightened_row(rgb: NDArray[np.uint8], line: Array, scale: Scale | None, shrink: float) -> Strip:
    """The row along a drawn line, one sample `shrink` photo pixels, moved sideways until its thread is in the middle.

    Parameters
    ----------
    rgb: upright full-resolution photo.
    line: (n, 2) photo points, up to about half a stitch off.
    scale: takes the perspective out where it knows it.
    shrink: photo pixels a sample, 1 or more.
    """
    path = even_path(line, scale, shrink)
    if len(path) > _MOST_SAMPLES:
        path = path[:: math.ceil(len(path) / _MOST_SAMPLES)]
    window, corner, shrink = _window(rgb, path, shrink)
    wide = _sampled(window, (path - corner) / shrink, _SEARCHED)
    offset, slant, thread = _thread_line(wide)
    middle = path + _normals(path) * shrink * _shifts(len(path), offset, slant)[:, None]
    light = _sampled(window, (middle - corner) / shrink, HALF)
    known = scale is not None and scale.tilt_deg is not None
    return Strip(light, middle, known, thread)


def _window(rgb: NDArray[np.uint8], path: Array, shrink: float) -> tuple[NDArray[np.uint8], Array, float]:
    """(the photo round the path, shrunk by averaging; its corner in the photo; photo pixels to one of its pixels)."""
    margin = (HALF + 14) * shrink
    low = np.maximum(np.floor(path.min(axis=0) - margin).astype(int), 0)
    high = np.minimum(np.ceil(path.max(axis=0) + margin).astype(int), (rgb.shape[1], rgb.shape[0]))
    window = rgb[low[1] : high[1], low[0] : high[0]]
    if min(window.shape[:2]) < 8:
        raise BadInput("The line along the stitches lies outside the photo.", "Draw it on the photo.")
    if shrink > 1.02:
        size = tuple(max(1, round(side / shrink)) for side in window.shape[1::-1])
        window = np.asarray(cv2.resize(window, size, interpolation=cv2.INTER_AREA), np.uint8)
    return window, low.astype(float), shrink


def _normals(path: Array) -> Array:
    tangent = np.gradient(path, axis=0)
    tangent /= np.linalg.norm(tangent, axis=1, keepdims=True)
    return np.stack([-tangent[:, 1], tangent[:, 0]], axis=1)


def _shifts(count: int, offset: float, slant: float) -> Array:
    return np.asarray(offset + slant * (np.arange(count) / count - 0.5), float)


def _sampled(window: NDArray[np.uint8], path: Array, half: int) -> NDArray[np.float32]:
    """(along, 2 half + 1, 3) logarithm of light across the path."""
    offsets = np.arange(-half, half + 1)
    grid = path[:, None, :] + offsets[None, :, None] * _normals(path)[:, None, :] - 0.5
    patch = cv2.remap(
        window,
        grid[..., 0].astype(np.float32),
        grid[..., 1].astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(cv2.LUT(patch, _LOGARITHMS), np.float32)


def _thread_line(light: NDArray[np.float32]) -> tuple[float, float, float]:
    """Offset at the middle and slant from end to end of the thread's line, in samples: where a narrow line of another
    colour than both its sides runs on through most of the row. And how much it differs from its sides."""
    count, columns = light.shape[:2]
    # Every second sample tells as much, in half the time.
    part = count // _PARTS
    profile: Array = np.median(light[: part * _PARTS].reshape(_PARTS, part, columns, 3)[:, ::2], axis=1).astype(float)
    profile = (profile[:, :-2] + profile[:, 1:-1] + profile[:, 2:]) / 3
    beside = 4
    inner = np.arange(beside, profile.shape[1] - beside)
    ridge = profile[:, inner] - (profile[:, inner - beside] + profile[:, inner + beside]) / 2
    parts = (np.arange(_PARTS) + 0.5) / _PARTS - 0.5
    places = columns // 2 - 1 - beside + _OFFSETS[:, None, None] + _SLANTS[None, :, None] * parts
    index = np.clip(np.round(places).astype(int), 0, len(inner) - 1)
    shown = np.abs(np.median(ridge[np.arange(_PARTS), index], axis=2)).sum(axis=2)
    prior = np.exp(-0.5 * (_OFFSETS[:, None] / _OFF) ** 2 - 0.5 * (_SLANTS[None, :] / _ASKEW) ** 2)
    at = np.unravel_index(int((shown * prior).argmax()), shown.shape)
    return float(_OFFSETS[at[0]]), float(_SLANTS[at[1]]), float(shown[at])


def threadness(light: NDArray[np.float32], wide: int = 3) -> tuple[Array, Array]:
    """Along the row: 1 where the middle looks as thread over that cloth, 0 where it looks as the cloth; their contrast.

    The thread's colour comes from the median over the row, because most stitches are there; the cloth's is taken on
    both sides of each place, because a seam may run over bands of other colours. Blur lets some cloth shine into the
    thread; how much is found by trying: the right share makes the row most even.
    """
    column = light.shape[1] // 2
    middle = light[:, column - wide // 2 : column + wide // 2 + 1].mean(axis=1)
    inner, outer = round(1.3 * wide) + 1, round(2.6 * wide) + 3
    sides = np.concatenate(
        [light[:, column - outer : column - inner], light[:, column + inner : column + outer]], axis=1
    )
    cloth = np.median(sides, axis=1)
    trials = [_likeness(middle, cloth, cover) for cover in _COVERS]
    return min(trials, key=lambda trial: float(np.median(np.abs(trial[0] - np.median(trial[0])))))


#: Shares of the middle's light that may come from the thread itself.
_COVERS = (1.0, 0.75, 0.5)


def _likeness(middle: NDArray[np.float32], cloth: NDArray[np.float32], cover: float) -> tuple[Array, Array]:
    seen, usual = np.exp(np.median(middle, axis=0)), np.exp(np.median(cloth, axis=0))
    for _ in range(2):
        thread = np.maximum(usual + (seen - usual) / cover, 12.0)
        toward = np.log(cover * thread + (1 - cover) * np.exp(cloth)) - cloth
        apart = (toward**2).sum(axis=1)
        likeness = ((middle - cloth) * toward).sum(axis=1) / np.maximum(apart, LEAST_CONTRAST**2)
        near = (likeness > 0.5) & (apart > LEAST_CONTRAST**2)
        if near.sum() <= len(middle) / 4:
            break
        seen, usual = np.exp(np.median(middle[near], axis=0)), np.exp(np.median(cloth[near], axis=0))
    return np.asarray(np.clip(likeness, -0.5, 1.5), float), np.asarray(np.sqrt(apart), float)
