"""Drawn labels with a known text, tilted, blurred and noisy by a seed, for measuring the reader."""

from __future__ import annotations

from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from sample_images.label import sheet

Pixels = NDArray[np.uint8]


class DrawnLabel(NamedTuple):
    """A picture of a label and what stands on it, field by field."""

    rgb: Pixels
    truth: dict[str, str]


def draw(seed: int, *, tilt_deg: float = 12.0, blur_px: float = 1.0) -> DrawnLabel:
    """A label of 90 × 60 mm at about 9 px per mm: turned by up to `tilt_deg`, seen aslant, blurred by up to
    `blur_px` (standard deviation), with uneven light and noise."""
    rng = np.random.default_rng(seed)
    year, month = int(rng.integers(2015, 2026)), int(rng.integers(1, 13))
    letters = "".join(rng.choice(list("ABCDEFGHKLMNPRSTUVWXYZ"), int(rng.integers(0, 3))))
    serial = letters + "".join(str(d) for d in rng.integers(0, 10, int(rng.integers(5, 9))))
    model = f"{rng.choice(list('ABHKMRTX'))}{int(rng.integers(10, 99))}-{int(rng.integers(100, 999))}"
    standard = str(rng.choice(["EN 361", "EN 354", "EN 355", "EN 362", "EN 353-2", "ANSI Z359.13", "CSA Z259.11"]))
    picture = sheet(
        90,
        60,
        [
            (6, 5, 5.0, "NORTHWORKS"),
            (6, 15, 3.4, f"MODEL: {model}"),
            (6, 22, 3.4, f"S/N: {serial}"),
            (6, 29, 3.4, f"DATE OF MANUFACTURE: {year}-{month:02d}"),
            (6, 36, 3.4, standard),
            (6, 43, 2.8, "READ THE INSTRUCTIONS BEFORE USE"),
            (6, 50, 2.8, f"DISCARD AFTER {year + 10}-{month:02d}"),
        ],
    )
    truth = {"model": model, "serial": serial, "made_on": f"{year}-{month:02d}-01", "standards": standard}
    return DrawnLabel(_photographed(np.asarray(picture, np.uint8), rng, tilt_deg, blur_px), truth)


def _photographed(print_: Pixels, rng: np.random.Generator, tilt_deg: float, blur_px: float) -> Pixels:
    rows, columns = print_.shape[:2]
    wide, high = 1280, 960
    scale = 820 / columns
    angle = np.radians(rng.uniform(-tilt_deg, tilt_deg))
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    corners = np.array([[-columns, -rows], [columns, -rows], [columns, rows], [-columns, rows]], float) / 2 * scale
    seen = corners @ turn.T + np.array([wide / 2, high / 2]) + rng.uniform(-25, 25, (4, 2))
    source = np.array([[0, 0], [columns, 0], [columns, rows], [0, rows]], np.float32)
    matrix = cv2.getPerspectiveTransform(source, seen.astype(np.float32))
    ground = np.full((high, wide, 3), (120, 124, 118), np.uint8)
    # An area-true reduction first: a camera does not skip pixels.
    laid = cv2.warpPerspective(
        cv2.GaussianBlur(print_, (0, 0), 0.5 / scale if scale < 1 else 0.1), matrix, (wide, high), ground,
        flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_TRANSPARENT,
    )  # fmt: skip
    light = np.linspace(rng.uniform(0.65, 0.95), rng.uniform(0.75, 1.05), wide)[None, :, None]
    shown = cv2.GaussianBlur(laid, (0, 0), max(0.05, rng.uniform(0, blur_px))).astype(float) * light
    return np.clip(shown + rng.normal(0, 5, shown.shape), 0, 255).astype(np.uint8)
