"""Grades that published tables attach to a measured difference or share."""

from __future__ import annotations

import math
from bisect import bisect_left

import numpy as np

from inspect_core.domain.errors import BadInput
from inspect_core.imaging.plane import Array

#: ASTM D610-08(2012), Table 1: (largest rusted area in %, inclusive; grade).
D610 = (
    (0.01, 10),
    (0.03, 9),
    (0.1, 8),
    (0.3, 7),
    (1.0, 6),
    (3.0, 5),
    (10.0, 4),
    (16.0, 3),
    (33.0, 2),
    (50.0, 1),
    (100.0, 0),
)

#: ISO 105-A02 / EN 20105-A02:1994, 2.4: (CIELAB difference of the grey scale's pair, its tolerance, grade).
GREY_SCALE = (
    (0.0, 0.2, 5.0),
    (0.8, 0.2, 4.5),
    (1.7, 0.3, 4.0),
    (2.5, 0.35, 3.5),
    (3.4, 0.4, 3.0),
    (4.8, 0.5, 2.5),
    (6.8, 0.6, 2.0),
    (9.6, 0.7, 1.5),
    (13.6, 1.0, 1.0),
)

#: ISO 105-A05 grades by the continuous value (bounds from memory): (smallest value, grade).
_A05_BOUNDS = ((4.75, 5.0), (4.25, 4.5), (3.75, 4.0), (3.25, 3.5), (2.75, 3.0), (2.25, 2.5), (1.75, 2.0), (1.25, 1.5))


def rust_grade(share: float) -> int:
    """ASTM D610 grade of a rusted share of area, 0 to 1: 10 for hardly any, 0 for more than half."""
    if not 0 <= share <= 1:
        raise BadInput("The rusted share must lie between 0 and 1.", "Give the share of the metal's visible area.")
    bounds = [bound for bound, _ in D610]
    # A share of exactly 0.03 % belongs to the better grade; 1e-9 forgives the last digit of a division.
    return D610[bisect_left(bounds, share * 100 - 1e-9)][1]


def grey_scale_by_eye(difference: float) -> float:
    """Grade of ISO 105-A02's grey scale whose own pair comes nearest to a CIELAB difference: 5, 4.5 … 1."""
    if not (math.isfinite(difference) and difference >= 0):
        raise BadInput("A colour difference is zero or more.", "Measure both patches again.")
    return min(GREY_SCALE, key=lambda step: (abs(step[0] - difference), step[2]))[2]


def grey_scale_value(difference_f: float) -> float:
    """ISO 105-A05 continuous grade of its colour difference ΔE_F (formula from memory): 5 down to 1."""
    if not (math.isfinite(difference_f) and difference_f >= 0):
        raise BadInput("A colour difference is zero or more.", "Measure both patches again.")
    value = 5 - difference_f / 1.7 if difference_f <= 3.4 else 5 - math.log(difference_f / 0.85) / math.log(2)
    return max(1.0, value)


def grey_scale_by_instrument(difference_f: float) -> float:
    """ISO 105-A05 grade in half steps."""
    value = grey_scale_value(difference_f)
    return next((grade for bound, grade in _A05_BOUNDS if value >= bound), 1.0)


def difference_f(reference: Array, suspect: Array) -> float:
    """ΔE_F of ISO 105-A05 (formula from memory) between two CIELAB colours (3,), reference first.

    With ΔL, ΔC, ΔH of CIELAB, mean chroma C_M and mean hue h_M:
    D = ΔC · C_M · e^(−x) / 100, x = ((h_M − 280)/30)² with the hue difference taken the short way round;
    ΔC_F = (ΔC − D) / (1 + (20 C_M / 1000)²), ΔH_F = (ΔH − D) / (1 + (10 C_M / 1000)²);
    ΔE_F = √(ΔL² + ΔC_F² + ΔH_F²).
    """
    (l1, a1, b1), (l2, a2, b2) = np.asarray(reference, float), np.asarray(suspect, float)
    c1, c2 = math.hypot(a1, b1), math.hypot(a2, b2)
    delta_l, delta_c = l2 - l1, c2 - c1
    squared = (a2 - a1) ** 2 + (b2 - b1) ** 2 - delta_c**2
    turn = a1 * b2 - b1 * a2
    delta_h = math.copysign(math.sqrt(max(squared, 0.0)), turn)
    mean_c = (c1 + c2) / 2
    h1, h2 = (math.degrees(math.atan2(b, a)) % 360 for a, b in ((a1, b1), (a2, b2)))
    mean_h = (h1 + h2) / 2
    if abs(h1 - h2) > 180:
        mean_h = (mean_h + 180) % 360
    if c1 * c2 == 0:
        mean_h = h1 + h2
    off = abs(mean_h - 280)
    x = ((off if off <= 180 else 360 - off) / 30) ** 2
    d = delta_c * mean_c * math.exp(-x) / 100
    chroma = (delta_c - d) / (1 + (20 * mean_c / 1000) ** 2)
    hue = (delta_h - d) / (1 + (10 * mean_c / 1000) ** 2)
    return math.sqrt(delta_l**2 + chroma**2 + hue**2)
