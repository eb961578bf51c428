"""Woven webbing: yarns in columns, tied in chevrons, with selvedges and coloured bands."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sample_images.canvas import Window
from sample_images.noise import cloud, fractal
from sample_images.spec import Array
from sample_images.stage import Stage
from sample_images.strip import Path, Strip, strip

_PITCH = 1.45  # mm between warp columns; common practice, no source
_FLOAT = 3.3  # mm between ties along a column; common practice, no source


@dataclass(slots=True)
class Strap:
    """A strap or rope about to be laid: change `alpha`, `albedo`, `height`, then `lay` it.

    `half` is half its width or diameter in mm; `core` the linear colour a cut lays bare, None for the ground.
    """

    path: Path
    half: float
    window: Window
    coordinates: Strip
    alpha: Array
    albedo: Array
    height: Array
    sheen: Array
    lift: float = 1.4
    core: Array | None = None

    def outline(self) -> Array:
        """Its outline in plane mm."""
        u = self.path.starts
        return np.vstack([self.path.at(u, -self.half), self.path.at(u[::-1], self.half)])


def webbing(
    stage: Stage,
    path: Path,
    width: float,
    bands: bool = True,
    colour: Array | None = None,
    lift: float = 1.4,
    worn: float = 0.3,
) -> Strap | None:
    """Weave a strap along a path; None when it lies outside the picture. `worn` 0 (new) to 1 (fuzzy, dirty)."""
    canvas, rng = stage.canvas, stage.rng
    half = width / 2
    at = strip(canvas, path, half)
    if at is None:
        return None
    k, shape = canvas.k, at.window.shape
    wander = cloud(rng, shape, (9 * k, 9 * k))
    u = at.u + np.float32(0.16) * wander
    v = at.v + np.float32(0.05) * wander
    columns = max(6, round(width / _PITCH))
    place = v * np.float32(columns / width) + np.float32(columns / 2)
    column = np.floor(place)
    s = place - column - np.float32(0.5)
    step = np.abs((column % 8) - 4) * np.float32(0.25)
    phase = u / np.float32(_FLOAT) + step + np.float32(0.22) * s
    turn = np.floor(phase)
    t = phase - turn - np.float32(0.5)
    square = 4 * t * t
    slim = 1 - np.float32(0.42) * square * square
    across = s / slim
    body = np.sqrt(np.maximum(1 - np.float32(3.3) * across * across, 0))
    bump = body * (1 - np.float32(0.74) * square * square)
    fibre = np.sin(np.float32(2 * np.pi) * (across * np.float32(4.3) + t * np.float32(0.9) + np.float32(0.23) * column))
    fibre = (fibre + np.float32(0.8) * cloud(rng, shape, (1.7, 1.7))) * body
    at_edge = np.abs(at.v) / np.float32(half)
    roll = np.sqrt(np.maximum(1 - np.clip((at_edge - np.float32(0.93)) / np.float32(0.075), 0, 1) ** 2, 0))
    slow = canvas.blur(fractal(rng, shape, 34 * k, 2), 3.0)
    height = np.float32(0.34) * bump + np.float32(0.02) * fibre + np.float32(0.55) * roll + np.float32(0.75) * slow
    base = stage.cloth if colour is None else colour
    albedo = np.broadcast_to(base, (3, *shape)).astype(np.float32)
    if bands:
        banded = (np.abs(np.abs(v) - np.float32(0.30 * width)) < np.float32(0.062 * width)).astype(np.float32)
        albedo += banded * (stage.band - albedo)
    yarn = np.sin(column * np.float32(12.9898) + turn * np.float32(78.233)) * np.float32(43758.5453)
    yarn = yarn - np.floor(yarn) - np.float32(0.5)
    deep = np.float32(0.40) + np.float32(0.60) * np.clip(bump * np.float32(1.2), 0, 1)
    tone = deep * (1 + np.float32(0.13) * yarn + np.float32(0.13) * fibre)
    dirt = np.clip(fractal(rng, shape, 26 * k, 3) - np.float32(0.4), 0, 2) * np.float32(0.16 * worn)
    albedo *= tone * (1 - dirt)
    albedo += np.float32(0.035 * worn) * np.clip(bump + np.float32(0.4) * cloud(rng, shape, (1.2, 1.2)), 0, 2)
    ends = np.minimum(at.u, np.float32(path.length) - at.u)
    alpha = np.clip((np.float32(half) - np.abs(at.v)) * np.float32(k) + np.float32(0.5), 0, 1)
    alpha = alpha * np.clip(ends * np.float32(k) + np.float32(0.5), 0, 1) * at.near
    return Strap(path, half, at.window, at, alpha, albedo, height.astype(np.float32), bump * np.float32(0.05), lift)


def lay(stage: Stage, strap: Strap) -> None:
    """Cast its shadow and paint it."""
    canvas = stage.canvas
    canvas.shadow(strap.alpha, strap.window, strap.lift)
    shade = canvas.matte(strap.height)
    gloss = np.clip(shade - np.float32(1.02), 0, 0.6) * strap.sheen * np.float32(3.0)
    canvas.lay(strap.alpha, strap.albedo * shade + gloss, strap.window)


def fuzz(stage: Stage, strap: Strap, u0: float, u1: float, amount: float) -> None:
    """Single fibres that stand out of both selvedges between two lengths; `amount` fibres per mm."""
    rng = stage.rng
    lines = []
    for side in (-1.0, 1.0):
        for _ in range(int(amount * (u1 - u0))):
            u = rng.uniform(u0, u1)
            reach = rng.uniform(0.2, 1.1)
            lean = rng.uniform(-1.5, 1.5)
            us = u + np.array([0, 0.4, 1.0]) * lean
            vs = side * (strap.half - 0.2 + np.array([0, 0.7, 1.0]) * reach)
            lines.append(strap.path.at(us, vs))
    stage.canvas.threads(lines, 0.09, stage.cloth * 1.1 + 0.03, strap.window, 0.7)
