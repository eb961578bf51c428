"""A row of stitches straightened out of the photo: where its rhythm lies and where its thread shows."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from inspect_core.domain.errors import BadInput
from inspect_core.imaging.plane import Array

#: Samples along the row stand this far apart, in px.
STEP = 0.5
#: Thread and cloth must differ by this much in the logarithm of light, all channels together.
LEAST_CONTRAST = 0.25
#: How far off the stitches a line is usually drawn, in px.
OFF_LINE_PX = 4.0
_FARTHEST_COLUMN = 25


def walk(line: Array) -> tuple[Array, Array]:
    """Points every half pixel along the line, and unit tangents."""
    steps = np.hypot(*np.diff(line, axis=0).T)
    run = np.concatenate([[0.0], np.cumsum(steps)])
    if run[-1] < 30:
        raise BadInput("The line along the stitches is too short.", "Draw it along the whole row.")
    keep = np.concatenate([[True], np.diff(run) > 0])
    at = np.arange(0, run[-1], STEP)
    path = np.stack([np.interp(at, run[keep], line[keep, axis]) for axis in (0, 1)], axis=1)
    tangent = np.gradient(path, axis=0)
    return path, tangent / np.linalg.norm(tangent, axis=1, keepdims=True)


def straightened_row(rgb: NDArray[np.uint8], path: Array, tangent: Array, half: float) -> NDArray[np.float32]:
    """The photo straightened along the path: (along, across, 3), logarithm of each channel.

    In logarithms a shadow or a dark needle hole weighs the same on dark cloth as on a bright band.
    """
    normal = np.stack([-tangent[:, 1], tangent[:, 0]], axis=1)
    offsets = np.arange(-round(half), round(half) + 1)
    grid = path[:, None, :] + offsets[None, :, None] * normal[:, None, :] - 0.5
    patch = cv2.remap(
        rgb,
        grid[..., 0].astype(np.float32),
        grid[..., 1].astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(np.log(patch.astype(np.float32) + 12.0), np.float32)


def find_rhythm(strip: NDArray[np.float32], nearest: float, farthest: float) -> tuple[int, int, float, float]:
    """(column of the row in the strip, thread width in columns, period in px, rhythm 0 to 1)."""
    # Columns farther off than the line is ever drawn only cost time.
    skip = max(0, strip.shape[1] // 2 - _FARTHEST_COLUMN)
    strip = strip[:, skip : strip.shape[1] - skip]
    rows, columns = strip.shape[:2]
    shortest, longest = max(3, int(nearest / STEP)), int(farthest / STEP)
    lags = np.arange(shortest, min(longest, (rows - 2) // 4) + 1)
    best = (0, 0, nearest, 0.0)
    best_score = 0.0
    # The line is drawn on the stitches; the weave beside them has a rhythm of its own.
    centred = np.exp(-0.5 * ((np.arange(columns) - columns // 2) / OFF_LINE_PX) ** 2)
    slow = min(rows, round(2.2 * longest), rows // 12 * 2) | 1
    for wide in (3, 7, 13):
        if 3 * wide > columns:
            break
        signal = cv2.blur(strip, (wide, 3))[:, wide : columns - wide]
        signal = signal - cv2.blur(signal, (1, slow))
        limit = 2.5 * np.median(np.abs(signal), axis=0, keepdims=True) + 1e-4
        signal = np.clip(signal, -limit, limit)
        correlation = _autocorrelation(signal)
        teeth = sum(correlation[np.round(lags * n).astype(int)] for n in (1, 2, 3)) / 3
        valleys = sum(correlation[np.round(lags * n).astype(int)] for n in (0.5, 1.5, 2.5)) / 3
        comb = np.asarray(teeth - valleys) / 1.6
        scores = comb * centred[None, wide : columns - wide]
        at, column = np.unravel_index(int(scores.argmax()), scores.shape)
        if scores[at, column] > best_score:
            best_score = float(scores[at, column])
            shortest_at = _shortest(comb[:, column], lags, int(at))
            # Over three periods the peak is placed three times as finely.
            third = correlation[:, column]
            around = np.arange(
                max(3, round(3 * lags[shortest_at] - 0.4 * lags[shortest_at])),
                round(3 * lags[shortest_at] + 0.4 * lags[shortest_at]) + 1,
            )
            around = around[around < rows - 1]
            period = (
                float(around[third[around].argmax()]) / 3 * STEP if len(around) else float(lags[shortest_at]) * STEP
            )
            best = (int(column) + wide + skip, wide, period, float(np.clip(comb[shortest_at, column], 0, 1)))
    return best


def _shortest(comb: Array, lags: NDArray[np.int64], at: int) -> int:
    """Index of the shortest lag that explains the row nearly as well; an odd multiple has the same teeth."""
    for divisor in (7, 5, 3):
        wanted = lags[at] / divisor
        around = np.flatnonzero(np.abs(lags - wanted) <= max(1.5, 0.08 * wanted))
        if len(around) and wanted >= lags[0] * 0.95:
            candidate = int(around[comb[around].argmax()])
            if comb[candidate] >= 0.6 * comb[at]:
                return candidate
    return at


def _autocorrelation(signal: NDArray[np.float32]) -> Array:
    """(lags, columns) correlation of each column with itself, summed over channels, 1 at lag 0."""
    count = len(signal)
    spectrum = np.abs(np.fft.rfft(signal, 2 * count, axis=0)) ** 2
    correlation = np.fft.irfft(spectrum.sum(axis=2), axis=0)[:count]
    correlation = correlation / np.arange(count, 0, -1)[:, None]
    return np.asarray(correlation / np.maximum(correlation[:1], 1e-9), float)


def threadness(strip: NDArray[np.float32], column: int, wide: int) -> tuple[Array, Array]:
    """Along the row: 1 where the middle has the thread's colour and 0 where it has the cloth's; and their contrast.

    The thread's colour is the median over the row, because most stitches are there; the cloth's is taken on
    both sides of each place, because a seam may run over bands of other colours.
    """
    middle = strip[:, max(0, column - wide // 2) : column + wide // 2 + 1].mean(axis=1)
    inner, outer = round(1.3 * wide) + 1, round(2.6 * wide) + 3
    sides = [strip[:, max(0, column - outer) : max(1, column - inner)], strip[:, column + inner : column + outer]]
    cloth = np.median(np.concatenate([side for side in sides if side.shape[1]], axis=1), axis=1)
    thread = np.median(middle, axis=0)
    for _ in range(3):
        toward = thread - cloth
        near = ((middle - cloth) * toward).sum(axis=1) > 0.5 * (toward**2).sum(axis=1)
        if near.sum() > len(middle) / 4:
            thread = np.median(middle[near], axis=0)
    toward = thread - cloth
    apart = (toward**2).sum(axis=1)
    likeness = ((middle - cloth) * toward).sum(axis=1) / np.maximum(apart, LEAST_CONTRAST**2)
    return np.clip(likeness, -0.5, 1.5), np.sqrt(apart)
