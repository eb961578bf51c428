"""Small drawn gear for fast tests: straps, seams and ropes with known sizes, no renderer needed."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Rgb = NDArray[np.uint8]


def _ground(width: int, height: int, seed: int, level: float = 150) -> NDArray[np.float32]:
    chance = np.random.default_rng(seed)
    coarse = cv2.resize(chance.normal(0, 8, (height // 12, width // 12)).astype(np.float32), (width, height))
    return np.repeat((level + coarse)[..., None], 3, axis=2)


def finished(picture: NDArray[np.float32], seed: int, blur: float = 0.8, noise: float = 3.0) -> Rgb:
    """Lens and sensor."""
    soft = cv2.GaussianBlur(picture, (0, 0), blur)
    noisy = soft + np.random.default_rng(seed).normal(0, noise, picture.shape)
    return np.clip(noisy, 0, 255).astype(np.uint8)


def strap(
    *, width_px: int = 300, seed: int = 0, notch: int = 0, dark: bool = False, fibres: bool = False
) -> tuple[Rgb, list[list[float]]]:
    """(photo 1000 × 700 of a blue strap lying across, its outline). Damage stands around x = 500."""
    picture = _ground(1000, 700, seed, 165)
    top, bottom = 350 - width_px // 2, 350 + width_px // 2
    rows, columns = np.mgrid[top:bottom, 0:1000].astype(np.float32)
    weave = 1 + 0.10 * np.sin(columns / 2.5) * np.sin(rows / 2.5)
    picture[top:bottom] = np.array([40, 80, 160], np.float32) * weave[..., None]
    band = (slice(top + 60, top + 90), slice(None))
    picture[band] = picture[band] * 0.3 + 150
    if notch:
        picture[top : top + notch, 494:506] = 165
    if dark:
        cv2.ellipse(picture, (500, 350), (60, 40), 20, 0, 360, (14, 16, 20), -1)
    if fibres:
        chance = np.random.default_rng(seed + 1)
        for _ in range(60):
            x = int(chance.integers(450, 550))
            tip = (x + int(chance.integers(-14, 14)), top - int(chance.integers(8, 26)))
            cv2.line(picture, (x, top), tip, (70, 110, 190), 1, cv2.LINE_AA)
    outline = [[0.0, float(top)], [1000, float(top)], [1000, float(bottom)], [0, float(bottom)]]
    return finished(picture, seed), outline


def seam(
    *, count: int = 20, spacing: float = 24.0, gone: tuple[int, ...] = (), seed: int = 0
) -> tuple[Rgb, NDArray[np.float64]]:
    """(photo of a row of cream stitches on red cloth, the line through it)."""
    chance = np.random.default_rng(seed)
    length = round(count * spacing)
    picture = np.full((200, length + 120, 3), (150, 36, 40), np.float32)
    rows, columns = np.mgrid[0:200, 0 : length + 120].astype(np.float32)
    picture *= (1 + 0.08 * np.sin(columns / 3.1) * np.sin(rows / 2.7))[..., None]
    for index in range(count):
        start, end = 60 + index * spacing, 60 + (index + 1) * spacing
        for hole in (start, end):
            cv2.circle(picture, (round(hole * 8), 100 * 8), 20, (40, 14, 14), -1, cv2.LINE_AA, 3)
        if index in gone:
            continue
        light = tuple(float(c) for c in np.array([226, 214, 190]) * chance.uniform(0.93, 1.05))
        ends = [(round((start + 3) * 8), 800), (round((end - 3) * 8), 800)]
        cv2.line(picture, ends[0], ends[1], light, 5, cv2.LINE_AA, 3)
    line = np.array([[60.0, 100.5], [60.0 + length, 100.5]])
    return finished(picture, seed, blur=1.0), line


def rope(
    *, diameter_px: float = 120.0, slope: float = 0.05, laid: bool = False, seed: int = 0
) -> tuple[Rgb, NDArray[np.float64]]:
    """(photo of a green rope across a grey ground, two points on its axis)."""
    picture = _ground(1000, 700, seed, 170)
    rows, columns = np.mgrid[0:700, 0:1000].astype(np.float32)
    off = (rows + 0.5 - 350 - slope * (columns + 0.5 - 500)) / np.float32(np.hypot(1, slope))
    edge = np.full(off.shape, diameter_px / 2, np.float32)
    if laid:
        edge *= 0.93 + 0.07 * np.abs(np.cos((columns + off) / diameter_px * 3.0))
    inside = np.clip(edge - np.abs(off) + 0.5, 0, 1)[..., None]
    round_ = np.sqrt(np.clip(1 - (off / (diameter_px / 2)) ** 2, 0, 1))
    texture = 1 + 0.12 * np.sin((columns + off) / 4) * np.sin((columns - off) / 4)
    body = np.array([40, 120, 70], np.float32) * ((0.55 + 0.45 * round_) * texture)[..., None]
    picture = picture * (1 - inside) + body * inside
    axis = np.array([[300.0, 350 - 200 * slope], [700.0, 350 + 200 * slope]])
    return finished(picture.astype(np.float32), seed), axis
