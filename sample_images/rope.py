"""Ropes: braided sheath, three-strand laid, and wire rope, along any path."""

from __future__ import annotations

import numpy as np

from sample_images.canvas import hue
from sample_images.metal import FINISHES, reflect, surroundings
from sample_images.noise import cloud, fractal, wrap
from sample_images.spec import Array
from sample_images.stage import Stage
from sample_images.strip import Path, strip
from sample_images.weave import Strap

_TWO_PI = np.float32(2 * np.pi)


def fibre_rope(stage: Stage, path: Path, diameter: float, laid: bool = False, worn: float = 0.35) -> Strap | None:
    """A synthetic rope; `laid` for three strands, else a braided sheath with tracer yarns. None outside the picture."""
    canvas, rng = stage.canvas, stage.rng
    r = diameter / 2
    at = strip(canvas, path, r)
    if at is None:
        return None
    k, shape = canvas.k, at.window.shape
    s = np.clip(at.v / np.float32(r), -1, 1)
    round_ = np.sqrt(np.maximum(1 - s * s, 0))
    turn = np.arcsin(s) / _TWO_PI
    u = at.u + np.float32(0.1) * cloud(rng, shape, (7 * k, 7 * k))
    colour = np.broadcast_to(stage.cloth, (3, *shape)).astype(np.float32)
    edge = np.full(shape, np.float32(r))
    if laid:
        place = u / np.float32(1.05 * diameter) + 3 * turn
        strand = np.floor(place)
        f = place - strand - np.float32(0.5)
        bump = np.sqrt(np.maximum(1 - np.float32(3.7) * f * f, 0))
        yarn = np.sin(_TWO_PI * (at.v / np.float32(0.075 * diameter) + f * np.float32(2.2) + np.float32(0.2) * u))
        height = np.float32(0.5 * r) * round_ + np.float32(0.17 * diameter) * bump + np.float32(0.05) * yarn * bump
        tracer = (wrap(strand, 3) == 1).astype(np.float32) * (np.abs(f) < 0.09)
        tone = np.float32(0.3) + np.float32(0.7) * bump + np.float32(0.08) * yarn
        edge = np.float32(r) * (np.float32(0.91) + np.float32(0.09) * bump)
    else:
        carriers = np.float32(max(10, round(diameter * 1.35)))
        pitch = np.float32(2.5)
        a, b = u / pitch + carriers * turn, u / pitch - carriers * turn
        ia, ib = np.floor(a), np.floor(b)
        fa, fb = a - ia - np.float32(0.5), b - ib - np.float32(0.5)
        top = wrap(ia + ib, 2) < 0.5
        across, along = np.where(top, fa, fb), np.where(top, fb, fa)
        bump = np.sqrt(np.maximum(1 - np.float32(3.2) * across * across, 0)) * (
            1 - np.float32(4.8) * np.abs(along) * along * along
        )
        yarn = np.sin(_TWO_PI * across * np.float32(3.5) + np.where(top, ia, ib) * 2)
        height = np.float32(0.75 * r) * round_ + np.float32(0.30) * bump + np.float32(0.02) * yarn
        index = np.round(wrap(np.where(top, ia, ib + 5), float(carriers)))
        tracer = ((index == 1) | (index == 2)).astype(np.float32)
        tone = np.float32(0.36) + np.float32(0.64) * np.clip(bump * 1.1, 0, 1) + np.float32(0.07) * yarn
    colour = colour + tracer * (stage.band - colour)
    dirt = np.clip(fractal(rng, shape, 14 * k, 3) - np.float32(0.3), 0, 2) * np.float32(0.2 * worn)
    colour = colour * (tone * (1 - dirt) * (np.float32(0.55) + np.float32(0.45) * round_))
    colour = colour + np.float32(0.03 * worn) * np.clip(bump, 0, 1)
    ends = np.minimum(at.u, np.float32(path.length) - at.u)
    alpha = np.clip((edge - np.abs(at.v)) * np.float32(k) + np.float32(0.5), 0, 1)
    alpha = alpha * np.clip(ends * np.float32(k) + np.float32(0.5), 0, 1) * at.near
    core = hue(0.74, 0.72, 0.66)
    sheen = (bump * np.float32(0.06)).astype(np.float32)
    return Strap(path, r, at.window, at, alpha, colour, height.astype(np.float32), sheen, 0.45 * diameter, core)


def wire_rope(stage: Stage, path: Path, diameter: float, rust_share: float = 0.0) -> tuple[Strap, Array] | None:
    """A six-strand galvanised wire rope and its light (already shaded), or None outside the picture."""
    canvas, rng = stage.canvas, stage.rng
    r = diameter / 2
    at = strip(canvas, path, r)
    if at is None:
        return None
    k, shape = canvas.k, at.window.shape
    s = np.clip(at.v / np.float32(r), -1, 1)
    round_ = np.sqrt(np.maximum(1 - s * s, 0))
    turn = np.arcsin(s) / _TWO_PI
    place = 6 * (at.u / np.float32(6.3 * diameter) + turn)
    f = place - np.floor(place) - np.float32(0.5)
    strand = np.sqrt(np.maximum(1 - np.float32(3.9) * f * f, 0))
    wires = f * np.float32(4.4) + at.u / np.float32(3.1 * diameter)
    w = wires - np.floor(wires) - np.float32(0.5)
    wire = np.sqrt(np.maximum(1 - np.float32(3.8) * w * w, 0))
    height = np.float32(0.6 * r) * round_ + np.float32(0.15 * diameter) * strand + np.float32(0.05 * diameter) * wire
    gx, gy = canvas.slopes(height.astype(np.float32))
    norm = 1 / np.sqrt(1 + gx * gx + gy * gy)
    jitter = np.float32(0.07) * cloud(rng, shape, (1.5 * k, 1.5 * k))
    table = surroundings(canvas, rng, 0.10)
    nx, ny = np.clip(-gx * norm + jitter, -0.98, 0.98), np.clip(-gy * norm - jitter, -0.98, 0.98)
    mirrored = reflect(table, nx, ny)
    tint = hue(*FINISHES["zinc"].tint)
    deep = np.clip(np.float32(0.12) + np.float32(0.6) * strand + np.float32(0.5) * wire - np.float32(0.25), 0.05, 1)
    light = (mirrored * tint + np.float32(0.05)) * deep
    light = light * (1 - np.float32(0.25) * np.clip(fractal(rng, shape, 6 * k, 3), 0, 1.5))
    edge = np.float32(r) * (np.float32(0.88) + np.float32(0.12) * strand)
    ends = np.minimum(at.u, np.float32(path.length) - at.u)
    alpha = np.clip((edge - np.abs(at.v)) * np.float32(k) + np.float32(0.5), 0, 1)
    alpha = alpha * np.clip(ends * np.float32(k) + np.float32(0.5), 0, 1) * at.near
    strap = Strap(path, r, at.window, at, alpha, light, height.astype(np.float32), strand * 0, 0.45 * diameter, None)
    return strap, light
