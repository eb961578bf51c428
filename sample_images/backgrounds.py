"""Grounds on which gear is photographed on a site: plywood, concrete, steel plate, tarpaulin."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from sample_images.canvas import Canvas, linear
from sample_images.noise import cloud, fractal, wrap
from sample_images.spec import Array

_Ground = Callable[[Canvas, np.random.Generator], Array]


def _mix(low: tuple[float, float, float], high: tuple[float, float, float], share: Array) -> Array:
    a, b = linear(low), linear(high)
    return np.asarray(a + np.clip(share, 0, 1) * (b - a))


def _plywood(canvas: Canvas, rng: np.random.Generator) -> Array:
    shape, k = canvas.whole.shape, canvas.k
    x, y = canvas.grid(canvas.whole)
    bend = fractal(rng, shape, 60 * k, 2, (2.5, 0.8))
    rings = np.sin(2 * np.pi * (y * np.float32(0.045) + np.float32(0.75) * bend + x * np.float32(0.002)))
    streak = fractal(rng, shape, 3.2 * k, 3, (16, 0.5))
    pores = np.clip(cloud(rng, shape, (5.5 * k, 0.22 * k)) - 1.25, 0, 1)
    share = 0.56 + 0.11 * rings + 0.09 * streak
    wood = _mix((140, 98, 60), (214, 178, 130), share)
    return wood * (1 - np.float32(0.5) * pores)


def _concrete(canvas: Canvas, rng: np.random.Generator) -> Array:
    shape, k = canvas.whole.shape, canvas.k
    broad = fractal(rng, shape, 55 * k, 3)
    fine = fractal(rng, shape, 1.6 * k, 2, gain=0.8)
    grit = cloud(rng, shape, (0.3 * k, 0.3 * k))
    pits = np.clip(cloud(rng, shape, (1.7 * k, 1.7 * k)) - 1.55, 0, 0.6)
    stone = _mix((104, 102, 98), (186, 183, 176), 0.5 + 0.30 * np.tanh(0.45 * broad + 0.30 * fine + 0.2 * grit))
    relief = np.float32(0.03) * fine - np.float32(0.8) * pits
    return stone * canvas.matte(relief.astype(np.float32))


def _steel_plate(canvas: Canvas, rng: np.random.Generator) -> Array:
    """Tread plate: lozenges in alternating directions on a worn, painted sheet."""
    shape, k = canvas.whole.shape, canvas.k
    x, y = canvas.grid(canvas.whole)
    turn = np.float32(rng.uniform(-0.2, 0.2))
    cx, sx = np.cos(turn), np.sin(turn)
    pitch = np.float32(24.0)
    a, b = (x * cx + y * sx) / pitch, (y * cx - x * sx) / pitch
    column, row = np.floor(a), np.floor(b)
    da, db = (a - column - 0.5) * pitch, (b - row - 0.5) * pitch
    odd = wrap(column + row, 2)
    along = np.where(odd > 0, (da + db) * np.float32(0.7071), (da - db) * np.float32(0.7071))
    across = np.where(odd > 0, (da - db) * np.float32(0.7071), (da + db) * np.float32(0.7071))
    bump = np.sqrt(np.maximum(1 - (along / np.float32(11.5)) ** 2 - (across / np.float32(3.1)) ** 2, 0))
    broad = fractal(rng, shape, 30 * k, 3)
    wear = np.clip(bump * 1.3 + 0.35 * fractal(rng, shape, 3 * k, 3) - 0.55, 0, 1)
    paint = _mix((82, 88, 92), (128, 134, 136), 0.5 + 0.16 * broad + 0.1 * cloud(rng, shape, (0.5 * k, 0.5 * k)))
    bare = linear((186, 188, 190))
    sheet = paint + wear * (bare - paint) * np.float32(0.8)
    return np.asarray(sheet * canvas.matte((1.15 * bump).astype(np.float32), 0.35))


def _tarpaulin(canvas: Canvas, rng: np.random.Generator) -> Array:
    shape, k = canvas.whole.shape, canvas.k
    x, y = canvas.grid(canvas.whole)
    hue = [((34, 74, 120), (64, 116, 168)), ((38, 84, 66), (78, 130, 104)), ((92, 98, 88), (140, 146, 132))]
    low, high = hue[int(rng.integers(len(hue)))]
    tape_x, tape_y = np.sin(np.pi * x / 1.3), np.sin(np.pi * y / 1.3)
    over = wrap(np.floor(x / np.float32(1.3)) + np.floor(y / np.float32(1.3)), 2) > 0.5
    weave = np.where(over, np.abs(tape_y), np.abs(tape_x)).astype(np.float32)
    turn = np.float32(rng.uniform(0, np.pi))
    along, across = x * np.cos(turn) + y * np.sin(turn), y * np.cos(turn) - x * np.sin(turn)
    bend = fractal(rng, shape, 60 * k, 2)
    crease = np.abs(np.sin(across / np.float32(31) + np.float32(0.5) * bend)) * (
        1 + np.float32(0.5) * np.sin(along / 45)
    )
    ridge = np.float32(-3.4) * np.sqrt(crease + np.float32(0.01)) + np.float32(3.0) * bend
    sheet = _mix(low, high, 0.40 + 0.16 * weave + 0.06 * fractal(rng, shape, 12 * k, 2))
    shade = canvas.matte((canvas.blur(ridge.astype(np.float32), 1.1) + 0.07 * weave).astype(np.float32), 0.42)
    gloss = np.clip(shade - 1.06, 0, 1) * np.float32(0.45)
    return sheet * shade + gloss


GROUNDS: Mapping[str, _Ground] = {
    "plywood": _plywood,
    "concrete": _concrete,
    "steel plate": _steel_plate,
    "tarpaulin": _tarpaulin,
}


def lay_ground(canvas: Canvas, name: str, rng: np.random.Generator) -> None:
    """Fill the canvas with a ground. Raises ValueError for an unknown name."""
    if name not in GROUNDS:
        raise ValueError(f"no ground is called {name!r}; known: {', '.join(GROUNDS)}")
    canvas.light[:] = GROUNDS[name](canvas, rng)
