"""How hints are counted, right or wrong, found or missed; and the rules a beginner would write, counted beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from inspect_core.imaging import hints

Mask = np.ndarray[Any, np.dtype[np.bool_]]
Rgb = np.ndarray[Any, np.dtype[np.uint8]]


@dataclass(slots=True)
class Count:
    """Hints that were right, hints, defects found, defects."""

    right: int = 0
    hints: int = 0
    found: int = 0
    defects: int = 0

    def add(self, other: Count) -> None:
        """Add another count to this one."""
        self.right += other.right
        self.hints += other.hints
        self.found += other.found
        self.defects += other.defects

    def row(self) -> str:
        """Precision and recall with their counts."""
        precision = f"{self.right / self.hints:.0%}" if self.hints else "–"
        recall = f"{self.found / self.defects:.0%}" if self.defects else "–"
        return f"{precision} ({self.right} of {self.hints}) | {recall} ({self.found} of {self.defects})"


def mask_of(size: tuple[int, ...], outlines: Sequence[Sequence[Sequence[float]]]) -> Mask:
    mask = np.zeros(size[:2], np.uint8)
    for outline in outlines:
        cv2.fillPoly(mask, [np.round((np.array(outline) - 0.5) * 16).astype(np.int32)], 1, shift=4)
    return mask > 0


def score(boxes: Sequence[Mask], truths: Sequence[Mask]) -> Count:
    """A hint is right when a tenth of it, widened by pointing, lies on a defect; a defect is found when one does."""
    wide = np.ones((9, 9), np.uint8)
    reach = [cv2.dilate(t.astype(np.uint8), wide) > 0 for t in truths]
    hit = [[bool((b & t).sum() >= 0.1 * max(1, min(b.sum(), t.sum()))) for t in reach] for b in boxes]
    return Count(
        right=sum(any(line) for line in hit),
        hints=len(boxes),
        found=sum(any(line[i] for line in hit) for i in range(len(truths))),
        defects=len(truths),
    )


def blobs(mask: Mask, least: int = 60) -> list[Mask]:
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8))
    order = sorted(range(1, count), key=lambda i: -stats[i, cv2.CC_STAT_AREA])
    return [labels == i for i in order if stats[i, cv2.CC_STAT_AREA] >= least][: hints.MOST_HINTS]


def naive_mask(name: str, rgb: Rgb) -> Mask:
    """The plain colour rule a beginner would write for the class, over the whole photo."""
    hsv = cv2.cvtColor(rgb, cv2.COLOR_RGB2HSV)
    if name == "rust":
        mask = (hsv[..., 0] <= 20) & (hsv[..., 1] >= 80) & (hsv[..., 2] >= 30)
    elif name == "torn indicator":
        mask = ((hsv[..., 0] <= 10) | (hsv[..., 0] >= 170)) & (hsv[..., 1] >= 120)
    else:
        mask = hsv[..., 2] < 50
    return np.asarray(cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8)) > 0, bool)


def line_score(found: Sequence[tuple[float, float]], truths: Sequence[tuple[float, float]]) -> Count:
    """As `_score`, along a line: a tenth of the hint, or of the gap, lies on the other."""

    def hit(one: tuple[float, float], other: tuple[float, float]) -> bool:
        common = min(one[1], other[1]) - max(one[0], other[0])
        return common >= 0.1 * min(one[1] - one[0], other[1] - other[0])

    return Count(
        right=sum(any(hit(one, truth) for truth in truths) for one in found),
        hints=len(found),
        found=sum(any(hit(one, truth) for one in found) for truth in truths),
        defects=len(truths),
    )


def naive_gaps(rgb: Rgb, line: np.ndarray[Any, Any]) -> list[tuple[float, float]]:
    """What a beginner would write: split brightness along the line in two; a run of the rarer side twice as long as its
    usual run is a gap."""
    count = int(np.hypot(*(line[1] - line[0])))
    at = line[0] + (line[1] - line[0]) * np.linspace(0, 1, count)[:, None]
    grey = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
    seen = cv2.remap(grey, *(at[:, axis].astype(np.float32)[None] - 0.5 for axis in (0, 1)), cv2.INTER_LINEAR)
    level, split = cv2.threshold(seen, 0, 1, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    del level
    cloth = split[0] != int(split.mean() > 0.5)
    steps = np.flatnonzero(np.diff(np.concatenate([[0], cloth.astype(np.int8), [0]])))
    runs = [(int(a), int(b)) for a, b in zip(steps[::2], steps[1::2], strict=True)]
    usual = float(np.median([b - a for a, b in runs])) if runs else 0.0
    return [(a / count, b / count) for a, b in runs if b - a > 2 * usual]
