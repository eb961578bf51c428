"""The rhythm of a row of stitches along a drawn line: how many, how far apart, and where some are missing.

Works on lock-stitch rows seen from above. It says what it cannot tell: a stitch that is worn but still there
counts as there, and the thread inside the cloth shows in no photo.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

import cv2
import numpy as np
from numpy.typing import NDArray

from inspect_core.domain.errors import BadInput
from inspect_core.imaging.measure import Estimate, path_length, propagate
from inspect_core.imaging.plane import Array
from inspect_core.imaging.scale import Scale
from inspect_core.imaging.stitch_spectrum import DRIFTS, Rhythm, drifted, find_rhythm, row_signals
from inspect_core.imaging.stitch_strip import LEAST_CONTRAST, SAMPLE_MM, Strip, straightened_row, threadness

#: Version of the method, named in every reading it gives.
METHOD = "stitch rhythm, version 2"
#: Stitches nearer or farther apart than this are not looked for when the scale is known, in mm.
NEAREST_MM, FARTHEST_MM = 1.3, 6.5
#: What they mostly are, in mm (common practice, no source).
USUAL_MM = 3.3
#: Without a scale: pixels from one stitch to the next.
NEAREST_PX = 7.0
FEWEST_STITCHES = 5
#: Share of thread colour over the row's usual: from THERE on it is there, below GONE it is gone, between is doubtful.
THERE, GONE = 0.55, 0.35
#: A single stitch is called missing below this only; and thread over cloth of less than this share of the row's usual
#: contrast is not judged, nor over cloth of less than a clear contrast where the row has that elsewhere.
SURELY_GONE, LEAST_OF_USUAL, CLEAR_CONTRAST = 0.2, 0.4, 0.6
#: Relative standard uncertainty of a spacing, at the least: a seam lies on folds and stands above the scale.
LEAST_SPREAD = 0.008
#: Weave has a rhythm too: without a line of another colour than both its sides (logarithm of light, all channels
#: together) there are no stitches to be counted.
LEAST_THREAD = 0.4
#: T² below which plain cloth shows as much (found on pictures of cloth without seams).
LEAST_STRENGTH = 6.0
#: By how much the answer must explain the row better than any different one (difference of T²), and how wide the
#: answers that explain it nearly as well may spread, as share of the spacing; else nothing is claimed.
LEAST_LEAD, MOST_SPREAD = 0.6, 0.3
#: From this relative spread on another rhythm than the best one is in play, and the count is unsure too.
UNSURE = 0.05


@dataclass(frozen=True, slots=True)
class Gap:
    """A run of missing stitches: photo points of its two ends, and how many are missing."""

    start: tuple[float, float]
    end: tuple[float, float]
    missing: int
    share_start: float
    share_end: float


@dataclass(frozen=True, slots=True)
class _Stitch:
    """A place where a stitch is due: sample along the path, share of thread colour, contrast of thread to cloth."""

    place: float
    share: float
    contrast: float


@dataclass(frozen=True, slots=True, eq=False)
class Row:
    """What was found along one drawn line.

    Parameters
    ----------
    present: (n, 2) photo points of the stitches that are there, in order along the line.
    missing: how many the rhythm expects and does not find.
    doubtful: how many lie between there and gone; counted by their likeness, and the count's uncertainty.
    spacing_px: usual distance of neighbours in photo pixels.
    spread: its relative standard uncertainty from the rhythm alone.
    gaps: runs of missing stitches.
    ends: (2, 2) photo points of the two ends of the row that was looked at.
    steps: spacings from end to end.
    """

    present: Array
    missing: int
    doubtful: int
    spacing_px: float
    spread: float
    gaps: tuple[Gap, ...]
    ends: Array
    steps: float


def find_row(rgb: NDArray[np.uint8], line: Array, scale: Scale | None = None) -> Row:
    """Stitches along a drawn line.

    Parameters
    ----------
    rgb: upright full-resolution photo (rows, columns, 3).
    line: (n, 2) photo points along the row, n at least 2; up to about half a stitch off does no harm.
    scale: narrows the search to plausible stitch lengths and takes out what it knows of perspective; not required.

    Raises BadInput where no rhythm shows: too blurred, too short, or no stitches there.
    """
    line = np.asarray(line, float)
    found: tuple[Strip, Rhythm, Callable[..., Rhythm]] | None = None
    for shrink, shortest, longest, usual in _trials(line, scale):
        strip = straightened_row(rgb, line, scale, shrink)
        longest = min(longest, len(strip.path) / FEWEST_STITCHES)
        if longest <= 1.1 * shortest:
            continue
        look: Callable[..., Rhythm] = partial(
            find_rhythm, row_signals(strip.light, 1.6 * longest), shortest, longest, usual
        )
        rhythm = look()
        if found is None or _rank(strip, rhythm) > _rank(*found[:2]):
            found = strip, rhythm, look
    if found is None:
        raise BadInput(
            "The line is too short to find a stitch rhythm on it.",
            f"Draw it along at least {FEWEST_STITCHES} stitches and move closer.",
        )
    strip, rhythm, look = found
    if not strip.level:
        rhythm = max(rhythm, look(DRIFTS), key=lambda trial: trial.strength)
    if strip.thread < LEAST_THREAD:
        raise BadInput(
            "No line of thread shows along the line.",
            "Draw it on the stitches; where thread and cloth have one colour, count by hand.",
        )
    if not _sure(rhythm):
        raise BadInput(
            "No stitch rhythm shows surely along the line.",
            "Draw the line on the stitches, move closer, hold still, and let the light come from the side.",
        )
    light, path = _evened(strip, rhythm.drift)
    signal, contrast = threadness(light)
    if float(np.median(contrast)) < LEAST_CONTRAST:
        raise BadInput(
            "The thread can hardly be told from the cloth.", "Let the light come from the side, or count by hand."
        )
    return _row(path, _track(signal, contrast, rhythm.period), rhythm)


def _sure(rhythm: Rhythm) -> bool:
    spread = rhythm.standard / rhythm.period
    return rhythm.strength >= LEAST_STRENGTH and rhythm.lead >= LEAST_LEAD and spread <= MOST_SPREAD


def _rank(strip: Strip, rhythm: Rhythm) -> tuple[bool, float]:
    """A way of looking under which an answer is sure goes before one under which a larger peak has rivals."""
    return strip.thread >= LEAST_THREAD and _sure(rhythm), rhythm.strength


def _trials(line: Array, scale: Scale | None) -> Iterator[tuple[float, float, float, float]]:
    """(photo pixels a sample, shortest, longest and usual period in samples) to look at the row with."""
    if scale is not None:
        per_px = scale.map.mm_per_px(line[[0, -1]])
        shrink = max(1.0, SAMPLE_MM / per_px)
        sample = per_px * shrink
        yield shrink, max(NEAREST_PX / shrink, NEAREST_MM / sample), FARTHEST_MM / sample, USUAL_MM / sample
        return
    # Nobody knows how wide the thread is: the way of looking under which the rhythm shows best is right.
    for shrink in (1.0, 2.0, 4.0):
        yield shrink, NEAREST_PX, FARTHEST_MM / SAMPLE_MM, USUAL_MM / SAMPLE_MM


def _evened(strip: Strip, drift: float) -> tuple[NDArray[np.float32], Array]:
    """Light and path of a strip with the drift of its spacing taken out."""
    count = len(strip.path)
    if drift == 0:
        return strip.light, strip.path
    at = drifted(np.arange(count, dtype=float), count, drift)
    path = np.stack([np.interp(at, np.arange(count), strip.path[:, axis]) for axis in (0, 1)], axis=1)
    return strip.light[np.clip(np.round(at).astype(int), 0, count - 1)], path


def _track(signal: Array, contrast: Array, period: float) -> list[_Stitch]:
    """Every stitch the rhythm expects, from end to end."""
    template = _mean_stitch(signal, period)
    likeness = np.correlate(signal, template, mode="same") / max(float(template @ template), 1e-9)
    width = 2 * max(1, round(0.22 * period)) + 1
    share, local = (cv2.blur(part[:, None], (1, width))[:, 0] for part in (signal, contrast))
    sure = (share > 0.6) & (local > LEAST_CONTRAST)
    edge = int(0.5 * period) + 1
    sure[:edge] = sure[-edge:] = False
    start = int(np.where(sure, likeness, likeness - 10).argmax()) if sure.any() else len(signal) // 2
    found: dict[float, _Stitch] = {}
    for sign in (1, -1):
        place, step = float(start), period
        while 0.3 * period <= place <= len(signal) - 1 - 0.3 * period:
            low = max(0, round(place - 0.3 * period))
            window = likeness[low : round(place + 0.3 * period) + 1]
            at = low + int(window.argmax())
            if float(likeness[at]) >= 0.4 and local[at] > LEAST_CONTRAST:
                moved = at - place
                # Steps follow the row slowly: cloth stretches, and some of the perspective may be left.
                if found:
                    step = float(np.clip(step + 0.1 * sign * moved, 0.93 * period, 1.07 * period))
                place = place + 0.5 * moved
            at = min(round(place), len(share) - 1)
            found[place] = _Stitch(place, float(share[at]), float(local[at]))
            place += sign * step
    return [found[place] for place in sorted(found)]


def _mean_stitch(signal: Array, period: float) -> Array:
    """Median of all whole periods, cut so that the stitch stands in the middle, with mean zero."""
    width = max(5, round(period) | 1)
    whole = max(1, int(len(signal) / period))
    places = (np.arange(whole)[:, None] + np.arange(width) / width) * period
    folded = np.median(np.interp(places, np.arange(len(signal)), signal), axis=0)
    broad = max(3, round(0.5 * width) | 1)
    round_about = np.convolve(np.tile(folded, 3), np.ones(broad) / broad, mode="same")[width : 2 * width]
    centred = np.roll(folded, width // 2 - int(round_about.argmax()))
    return np.asarray(centred - centred.mean(), float)


def _row(path: Array, marks: Sequence[_Stitch], rhythm: Rhythm) -> Row:
    if len(marks) < FEWEST_STITCHES:
        raise BadInput("Too few stitches lie on the line.", f"Draw it along at least {FEWEST_STITCHES} stitches.")
    places = np.array([mark.place for mark in marks])
    shares = np.array([mark.share for mark in marks])
    contrast = np.array([mark.contrast for mark in marks])
    # Over a band of nearly its own colour the thread says little.
    usual_contrast = float(np.median(contrast))
    seen = contrast >= max(LEAST_CONTRAST, LEAST_OF_USUAL * usual_contrast, min(CLEAR_CONTRAST, 0.8 * usual_contrast))
    usual = float(np.median(shares[seen & (shares >= THERE)])) if (seen & (shares >= THERE)).any() else 1.0
    shares = shares / max(usual, THERE)
    # Where the thread has the cloth's colour nothing can be said: taken as there, and counted as doubtful.
    there = ~seen | (shares >= (THERE + GONE) / 2)
    # One alone that is not clearly gone may be a shadow or the rim of a band.
    alone = ~there & np.concatenate([[True], there[:-1]]) & np.concatenate([there[1:], [True]])
    there |= alone & (shares >= SURELY_GONE)
    doubtful = int((~seen | ((shares >= SURELY_GONE) & (shares < THERE))).sum())
    photo = np.stack([np.interp(places, np.arange(len(path)), path[:, axis]) for axis in (0, 1)], axis=1)
    # A drawn line may begin or end beside the row: what is missing before the first stitch is no gap.
    first, last = int(there.argmax()), len(there) - 1 - int(there[::-1].argmax())
    gaps, start = [], None
    for index in range(first, last + 1):
        if not there[index] and start is None:
            start = index
        if there[index] and start is not None:
            gaps.append(_gap(photo, places, start, index, len(path)))
            start = None
    inner = there[first : last + 1]
    # The row seems to end before the line does: drawn too long, or stitches gone at its end.
    doubtful += max(0, len(there) - len(inner) - 1)
    together = inner[1:] & inner[:-1]
    if together.sum() < 2:
        raise BadInput("Hardly any stitches show along the line.", "Move closer, hold still, and draw the line again.")
    pixels = float(np.hypot(*np.diff(path, axis=0).T).sum())
    return Row(
        present=photo[there],
        missing=int((~inner).sum()),
        doubtful=doubtful,
        spacing_px=pixels * rhythm.period / (len(path) - 1),
        spread=rhythm.standard / rhythm.period,
        gaps=tuple(gaps),
        ends=path[[0, -1]],
        steps=(len(path) - 1) / rhythm.period,
    )


def _gap(photo: Array, places: Array, start: int, after: int, samples: int) -> Gap:
    before, behind = photo[start - 1], photo[after]
    return Gap(
        start=(float(before[0]), float(before[1])),
        end=(float(behind[0]), float(behind[1])),
        missing=after - start,
        share_start=float(places[start - 1] / samples),
        share_end=float(places[after] / samples),
    )


def spacing(row: Row, scale: Scale) -> Estimate:
    """Distance of neighbouring stitches in mm, by the rhythm of the whole row."""
    whole = propagate(path_length, row.ends, scale, point_sd_px=0.0)
    budget = {cause: part / row.steps for cause, part in whole.budget.items()}
    estimate = Estimate(whole.value / row.steps, whole.standard / row.steps, budget)
    # Other spacings that explain the row nearly as well; and what the spectrum's own grid leaves.
    return estimate.with_cause("rhythm", max(row.spread, LEAST_SPREAD) * estimate.value)


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two sides of one seam: by how many stitches they differ, and the sentence that says where."""

    difference: int
    doubtful: int
    alike: bool
    sentence: str


def compare(first: Row, second: Row) -> Comparison:
    """Whether the two sides of a seam look alike (common practice, no source: they should)."""
    count = [len(row.present) for row in (first, second)]
    doubtful = first.doubtful + second.doubtful
    difference = abs(count[0] - count[1])
    words = []
    for name, row in (("first", first), ("second", second)):
        for gap in row.gaps:
            words.append(
                f"the {name} side misses {gap.missing} from {gap.share_start:.0%} to {gap.share_end:.0%} of the line"
            )
    ratio = first.spacing_px / second.spacing_px
    if not 0.85 <= ratio <= 1.18:
        words.append(f"stitches stand {max(ratio, 1 / ratio):.2f} times as far apart on one side as on the other")
    # One stitch more or less at a line's ends depends on where it was drawn.
    if difference > 1:
        words.append(f"{count[0]} stitches against {count[1]}")
    alike = not words
    sentence = "Both sides look alike." if alike else "The sides differ: " + "; ".join(words) + "."
    if doubtful:
        sentence += f" {doubtful} stitches could not be judged surely."
    return Comparison(difference, doubtful, alike, sentence)


def count(row: Row) -> Estimate:
    """Stitches that are there.

    Its uncertainty counts half of the doubtful ones and one for each end of the drawn line; a rhythm that is not
    sure leaves the count as unsure as the spacing.
    """
    doubtful = _unjudged(row)
    rhythm = row.spread * row.steps if row.spread > UNSURE else 0.0
    budget = {"doubtful stitches": doubtful, "rhythm": rhythm}
    return Estimate(float(len(row.present)), math.hypot(doubtful, rhythm), budget)


def missing(row: Row) -> Estimate:
    """Stitches that are missing between the first and the last.

    Its uncertainty counts half of the doubtful ones, and two more: loose thread ends in a gap pass for stitches.
    """
    return Estimate(float(row.missing), _unjudged(row), {"doubtful stitches": _unjudged(row)})


def _unjudged(row: Row) -> float:
    """Standard uncertainty of a number of stitches: k = 2 gives half of the doubtful ones and two, never less."""
    return row.doubtful / 4 + 1
