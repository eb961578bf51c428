"""The rhythm of a row of stitches: how far apart they stand, and how surely that can be told.

Weave has a rhythm of its own, and so has a neighbouring seam. So a frequency counts for what it shows on the row
beyond what the cloth beside it shows at the same frequency, in all colours at once (Hotelling's T² of the row's
spectrum against that of its surroundings). What else explains the row nearly as well widens the answer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from inspect_core.imaging.plane import Array

#: Least places of the spectrum; a long row has more.
_GRID = 512
#: Weight of the first, second and third multiple of a frequency: stitches are no sine waves.
_MULTIPLES = (1.0, 0.5, 0.33)
#: What is usual at a rate: the row itself at rates around it (that far, in cycles a sample), and the cloth beside it.
_OWN, _BESIDE, _REACH = 1.0, 0.5, 0.09
#: Columns off the row at which the cloth beside it is looked at, in samples.
_SIDES = (-15, -12, -9, 9, 12, 15)
#: Changes of spacing from the middle to the end of a row that are worth a trial where perspective is not known.
DRIFTS = (-0.1, 0.1)
#: How far spacings lie from the usual one, as standard deviations of their logarithm: upwards and downwards.
_LONGER, _SHORTER = 0.4, 0.3
#: Beyond this share of change of the period another answer is a different one, not a doubt about the same.
_APART = 0.1


@dataclass(frozen=True, slots=True)
class Rhythm:
    """What the spectrum of a row says.

    Parameters
    ----------
    period: samples from one stitch to the next, at the row's middle.
    standard: its standard uncertainty in samples, other answers that explain the row nearly as well included.
    lead: how much better it explains the row than the best different answer (difference of T²).
    drift: relative change of spacing from the middle to the end of the row; 0 where perspective was taken out.
    strength: T² of the answer; about 1 for a row without any rhythm.
    """

    period: float
    standard: float
    lead: float
    drift: float
    strength: float


def row_signals(strip: NDArray[np.float32], slow: float) -> NDArray[np.float32]:
    """(along, 1 + sides, 6): thread and its two rims in three colours, on the row and beside it.

    Parameters
    ----------
    strip: (along, across, 3) logarithm of light, the thread in the middle column and about four samples wide.
    slow: changes over more samples than this are taken out.
    """
    middle = strip.shape[1] // 2
    soft = cv2.blur(strip, (3, 1))
    parts = []
    for column in (middle, *(middle + side for side in _SIDES)):
        rims = (strip[:, column - 3 : column - 1].sum(axis=1) + strip[:, column + 2 : column + 4].sum(axis=1)) / 4
        parts.append(np.concatenate([soft[:, column], rims], axis=1))
    flat = np.concatenate(parts, axis=1)
    window = (1, min(len(flat), round(slow)) | 1)
    rest = flat - cv2.blur(cv2.blur(flat, window), window)
    # Crossing threads and bands are large and few.
    limit = 2.5 * np.median(np.abs(rest), axis=0, keepdims=True) + 1e-4
    return np.asarray(np.clip(rest, -limit, limit).reshape(len(flat), len(parts), 6), np.float32)


def find_rhythm(
    signals: NDArray[np.float32], shortest: float, longest: float, usual: float, drifts: Sequence[float] = (0.0,)
) -> Rhythm:
    """The period of a row of stitches.

    Parameters
    ----------
    signals: as `row_signals` gives them.
    shortest, longest: periods looked for, in samples.
    usual: period that seams usually have, in samples; others are held a little less likely.
    drifts: changes of spacing from the middle to the end of the row to try; 0 where perspective has been taken out.
    """
    rates = np.linspace(1 / longest, 1 / shortest, 500)
    # Longer stitches than usual are found now and then, much shorter ones hardly: they would perforate the cloth
    # (common practice, no source).
    longer = -np.log(rates * usual)
    unusual = 0.5 * (longer / np.where(longer > 0, _LONGER, _SHORTER)) ** 2
    trials = [_judged(rates, _explained(_even(signals, drift), rates) - unusual, drift) for drift in drifts]
    return max(trials, key=lambda trial: trial.strength)


def _judged(rates: Array, strength: Array, drift: float) -> Rhythm:
    at = int(strength.argmax())
    rate = float(rates[at])
    different = np.abs(rates / rate - 1) > _APART
    lead = float(strength[at] - strength[different].max()) if different.any() else 0.0
    # T² of a complex amplitude is the logarithm of its likelihood: how likely every other period is, given this row.
    likely = np.exp(strength - strength[at])
    away = np.abs(1 / rates - 1 / rate)
    order = np.argsort(away)
    mass = np.cumsum(likely[order]) / likely.sum()
    # Half the half-width that holds 95 % (JCGM 101, 5.3.4): several peaks are no bell curve.
    spread = float(away[order][np.searchsorted(mass, 0.95)]) / 2
    return Rhythm(1 / rate, spread, lead, drift, float(strength[at]))


def _even(signal: NDArray[np.float32], drift: float) -> NDArray[np.float32]:
    """The signal resampled so that a rhythm of that drift becomes even."""
    if drift == 0:
        return signal
    at = drifted(np.arange(len(signal), dtype=float), len(signal), drift)
    low = np.clip(at.astype(int), 0, len(signal) - 2)
    share = (at - low).astype(np.float32)[:, None, None]
    return np.asarray(signal[low] * (1 - share) + signal[low + 1] * share, np.float32)


def drifted(at: Array, samples: int, drift: float) -> Array:
    """Where even places 0 … samples − 1 lie on a row whose spacing grows by `drift` from its middle to its end."""
    share = at / max(1, samples - 1)
    return np.asarray((share + drift * share * (share - 1)) * max(1, samples - 1), float)


def _explained(signal: NDArray[np.float32], rates: Array) -> Array:
    """T² of each rate and its multiples, in the row against its surroundings."""
    count = len(signal)
    places = max(_GRID, 1 << (2 * count - 1).bit_length())
    window = np.sqrt(np.hanning(count + 2)[1:-1]).astype(np.float32)
    spectrum = np.fft.rfft(signal * window[:, None, None], places, axis=0) / np.sqrt((window**2).sum())
    # Nothing beyond the third multiple of the fastest rate is used.
    most = min(len(spectrum), int((len(_MULTIPLES) * rates[-1] + _REACH) * places) + 2)
    spectrum = spectrum[:most].astype(np.complex64)
    row = spectrum[:, 0]
    own = _smoothed(row[:, :, None] * row[:, None, :].conj(), _REACH * places)
    sides = spectrum[:, 1:]
    beside = np.matmul(np.swapaxes(sides, 1, 2), sides.conj()) / sides.shape[1]
    usual = _OWN * own + _BESIDE * _smoothed(beside, 2.0 * places / count)
    weight = np.trace(usual, axis1=1, axis2=2).real / usual.shape[1]
    usual = usual + (0.05 * weight + 1e-9)[:, None, None] * np.eye(usual.shape[1], dtype=np.float32)
    solved = np.linalg.solve(usual, row[:, :, None])[:, :, 0]
    power = (row.conj() * solved).sum(axis=1).real
    grid = np.arange(most) / places
    total = np.zeros(len(rates))
    for multiple, share in enumerate(_MULTIPLES, 1):
        total += share * np.interp(rates * multiple, grid, power, right=0.0)
    return total


def _smoothed(values: NDArray[np.complex64], width: float) -> NDArray[np.complex64]:
    """Running mean over frequency of matrices (frequencies, n, n)."""
    flat = np.ascontiguousarray(values.reshape(len(values), -1)).view(np.float32)
    size = min(len(values) - 1, max(1, int(width))) | 1
    smooth = cv2.blur(flat, (1, size), borderType=cv2.BORDER_REFLECT)
    return np.asarray(smooth.view(np.complex64).reshape(values.shape))
