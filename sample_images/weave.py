"""Woven webbing: yarns in columns, tied in chevrons, with selvedges and coloured bands."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sample_images.canvas import Window
from sample_images.noise import cloud, fractal, wrap
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
    on = np.flatnonzero(at.near)  # a slanting strap fills a third of its window: work on its own pixels only

    def own(plane: Array) -> Array:
        return np.asarray(plane.ravel()[on])

    def spread(values: Array) -> Array:
        plane = np.zeros(at.window.shape, np.float32)
        plane.ravel()[on] = values
        return plane

    straight_u, straight_v = own(at.u), own(at.v)
    wander = own(cloud(rng, shape, (9 * k, 9 * k)))
    u = straight_u + np.float32(0.16) * wander
    v = straight_v + np.float32(0.05) * wander
    columns = max(6, round(width / _PITCH))
    place = v * np.float32(columns / width) + np.float32(columns / 2)
    column = np.floor(place)
    s = place - column - np.float32(0.5)
    step = np.abs(wrap(column, 8) - 4) * np.float32(0.25)
    phase = u / np.float32(_FLOAT) + step + np.float32(0.22) * s
    turn = np.floor(phase)
    t = phase - turn - np.float32(0.5)
    square = 4 * t * t
    square *= square
    across = s / (1 - np.float32(0.42) * square)
    body = np.sqrt(np.maximum(1 - np.float32(3.3) * across * across, 0))
    bump = body * (1 - np.float32(0.74) * square)
    fibre = np.sin(np.float32(2 * np.pi) * (across * np.float32(4.3) + t * np.float32(0.9) + np.float32(0.23) * column))
    fibre = (fibre + np.float32(0.8) * own(cloud(rng, shape, (1.7, 1.7)))) * body
    at_edge = np.clip((np.abs(straight_v) - np.float32(0.93 * half)) / np.float32(0.075 * half), 0, 1)
    roll = np.sqrt(np.maximum(1 - at_edge * at_edge, 0))
    slow = own(canvas.blur(fractal(rng, shape, 34 * k, 2), 3.0))
    height = np.float32(0.34) * bump + np.float32(0.02) * fibre + np.float32(0.55) * roll + np.float32(0.75) * slow
    shades = rng.random(4096, dtype=np.float32) - np.float32(0.5)
    yarn = shades[(column * 37 + turn * 101).astype(np.int32) & 4095]
    deep = np.float32(0.40) + np.float32(0.60) * np.minimum(bump * np.float32(1.2), 1)
    dirt = np.clip(own(fractal(rng, shape, 26 * k, 3)) - np.float32(0.4), 0, 2) * np.float32(0.16 * worn)
    tone = deep * (1 + np.float32(0.13) * yarn + np.float32(0.13) * fibre) * (1 - dirt)
    haze = np.float32(0.035 * worn) * np.maximum(bump + np.float32(0.4) * own(cloud(rng, shape, (1.2, 1.2))), 0)
    base = stage.cloth if colour is None else colour
    banded = (np.abs(np.abs(v) - np.float32(0.30 * width)) < np.float32(0.062 * width)) * np.float32(bands)
    albedo = np.stack(
        [spread((b + banded * (c - b)) * tone + haze) for b, c in zip(base.ravel(), stage.band.ravel(), strict=True)]
    )
    ends = np.minimum(straight_u, np.float32(path.length) - straight_u)
    alpha = np.clip((np.float32(half) - np.abs(straight_v)) * np.float32(k) + np.float32(0.5), 0, 1)
    alpha = spread(alpha * np.clip(ends * np.float32(k) + np.float32(0.5), 0, 1))
    height, sheen = spread(height), spread(bump * np.float32(0.05))
    return Strap(path, half, at.window, at, alpha, albedo, height, sheen, lift)


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
