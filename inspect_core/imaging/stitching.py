"""The rhythm of a row of stitches along a drawn line: how many, how far apart, and where some are missing.

Works on lock-stitch rows seen from above. It says what it cannot tell: a stitch that is worn but still there
counts as there, and the thread inside the cloth shows in no photo.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from inspect_core.domain.errors import BadInput
from inspect_core.imaging.measure import Estimate, propagate
from inspect_core.imaging.plane import Array
from inspect_core.imaging.scale import Scale
from inspect_core.imaging.stitch_rhythm import LEAST_CONTRAST, STEP, find_rhythm, straightened_row, threadness, walk

#: Version of the method, named in every reading it gives.
METHOD = "stitch rhythm, version 1"
#: Stitches nearer or farther apart than this are not looked for when the scale is known, in mm.
NEAREST_MM, FARTHEST_MM = 1.2, 9.0
#: Without a scale: pixels from one stitch to the next.
NEAREST_PX = 7.0
FEWEST_STITCHES = 5
#: Share of thread colour over the row's usual: from THERE on it is there, below GONE it is gone, between is doubtful.
THERE, GONE = 0.55, 0.35
#: How much of the row's variation repeats with the period and not with half of it; below it nothing is claimed.
LEAST_RHYTHM = 0.25


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
    spacing_px: median distance of neighbours in photo pixels.
    gaps: runs of missing stitches.
    rhythm: share of the row's variation that repeats, 0 to 1.
    """

    present: Array
    missing: int
    doubtful: int
    spacing_px: float
    gaps: tuple[Gap, ...]
    rhythm: float


def find_row(rgb: NDArray[np.uint8], line: Array, scale: Scale | None = None) -> Row:
    """Stitches along a drawn line.

    Parameters
    ----------
    rgb: upright full-resolution photo (rows, columns, 3).
    line: (n, 2) photo points along the row, n at least 2; up to about half a stitch off does no harm.
    scale: narrows the search to plausible stitch lengths; not required.

    Raises BadInput where no rhythm shows: too blurred, too short, or no stitches there.
    """
    path, tangent = walk(np.asarray(line, float))
    length = (len(path) - 1) * STEP
    nearest, farthest = NEAREST_PX, length / FEWEST_STITCHES
    if scale is not None:
        per_px = scale.map.mm_per_px(path[[0, -1]])
        nearest, farthest = max(nearest, NEAREST_MM / per_px), min(farthest, FARTHEST_MM / per_px)
    if farthest <= nearest:
        raise BadInput(
            "The line is too short to find a stitch rhythm on it.",
            f"Draw it along at least {FEWEST_STITCHES} stitches and move closer.",
        )
    strip = straightened_row(rgb, path, tangent, float(np.clip(0.8 * farthest, 14, 44)))
    column, wide, period, rhythm = find_rhythm(strip, nearest, farthest)
    if rhythm < LEAST_RHYTHM:
        raise BadInput(
            "No stitch rhythm shows along the line.",
            "Draw the line on the stitches, move closer, hold still, and let the light come from the side.",
        )
    signal, contrast = threadness(strip, column, wide)
    if float(np.median(contrast)) < LEAST_CONTRAST:
        raise BadInput(
            "The thread can hardly be told from the cloth.", "Let the light come from the side, or count by hand."
        )
    marks = _track(signal, contrast, period / STEP)
    return _row(path, marks, rhythm)


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
                # Steps follow the row slowly: cloth stretches and the photo is in perspective.
                if found:
                    step = float(np.clip(step + 0.15 * sign * moved, 0.8 * period, 1.25 * period))
                place = place + 0.7 * moved
            at = min(round(place), len(share) - 1)
            found[place] = _Stitch(place, float(share[at]), float(local[at]))
            place += sign * step
    return [found[place] for place in sorted(found)]


def _mean_stitch(signal: Array, period: float) -> Array:
    """Median of all whole periods, cut so that the stitch stands in the middle, with mean zero."""
    width = max(5, round(period) | 1)
    phase = (np.arange(len(signal)) / period) % 1.0
    folded = np.array(
        [np.median(signal[np.abs((phase - p + 0.5) % 1 - 0.5) < 0.7 / width]) for p in np.arange(width) / width]
    )
    broad = max(3, round(0.5 * width) | 1)
    round_about = np.convolve(np.tile(folded, 3), np.ones(broad) / broad, mode="same")[width : 2 * width]
    centred = np.roll(folded, width // 2 - int(round_about.argmax()))
    return np.asarray(centred - centred.mean(), float)


def _row(path: Array, marks: Sequence[_Stitch], rhythm: float) -> Row:
    if len(marks) < FEWEST_STITCHES:
        raise BadInput("Too few stitches lie on the line.", f"Draw it along at least {FEWEST_STITCHES} stitches.")
    places = np.array([mark.place for mark in marks])
    shares = np.array([mark.share for mark in marks])
    seen = np.array([mark.contrast for mark in marks]) >= LEAST_CONTRAST
    usual = float(np.median(shares[seen & (shares >= THERE)])) if (seen & (shares >= THERE)).any() else 1.0
    shares = shares / max(usual, THERE)
    # Where the thread has the cloth's colour nothing can be said: taken as there, and counted as doubtful.
    there = ~seen | (shares >= (THERE + GONE) / 2)
    doubtful = int((~seen | ((shares > GONE) & (shares < THERE))).sum())
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
    steps = np.diff(places[first : last + 1])[together] * STEP
    if len(steps) < 2:
        raise BadInput("Hardly any stitches show along the line.", "Move closer, hold still, and draw the line again.")
    return Row(
        present=photo[there],
        missing=int((~inner).sum()),
        doubtful=doubtful,
        spacing_px=float(np.median(steps)),
        gaps=tuple(gaps),
        rhythm=rhythm,
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
    """Mean distance of neighbouring stitches in mm, over the neighbours that are both there."""
    plane = scale.map.to_mm(row.present)
    steps = np.hypot(*np.diff(plane, axis=0).T)
    usual = float(np.median(steps))
    close = steps < 1.5 * usual
    ends = row.present[[0, -1]]
    whole = float(np.hypot(*np.diff(plane[[0, -1]], axis=0)[0]))

    def span(points: Array) -> Array:
        return np.asarray(np.hypot(*np.moveaxis(points[..., 1, :] - points[..., 0, :], -1, 0)))

    carried = propagate(span, ends, scale, point_sd_px=1.0)
    share = float(steps[close].mean()) / whole
    budget = {cause: part * share for cause, part in carried.budget.items()}
    estimate = Estimate(float(steps[close].mean()), carried.standard * share, budget)
    estimate = estimate.with_cause("scatter of stitches", float(steps[close].std() / np.sqrt(close.sum())))
    # A stitch found off its place, or one counted twice, shifts the mean of a short row: found on drawn seams.
    return estimate.with_cause("finding the stitches", 0.03 * estimate.value)


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

    Its uncertainty counts every doubtful one, one for each end of the drawn line, and one for a row that the finder
    takes for whole: with two alone the interval held the drawn truth in 93 % of rows only.
    """
    return Estimate(float(len(row.present)), (row.doubtful + 3) / 2, {"doubtful stitches": (row.doubtful + 3) / 2})


def missing(row: Row) -> Estimate:
    """Stitches that are missing between the first and the last.

    Its uncertainty counts every doubtful one, and two more: loose thread ends in a gap pass for a stitch, and one
    alone held the drawn truth in 93 % of rows only.
    """
    return Estimate(float(row.missing), (row.doubtful + 2) / 2, {"doubtful stitches": (row.doubtful + 2) / 2})
