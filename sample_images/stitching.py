"""Sewing: lock stitches in rows, box patterns and bar-tacks, with the places where they are missing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sample_images.spec import Array
from sample_images.stage import Stage


@dataclass(frozen=True, slots=True)
class Stitch:
    """One visible stitch between two needle holes, plane mm."""

    a: Array
    b: Array


def row(start: Array, end: Array, spacing: float) -> list[Stitch]:
    """A straight row of stitches of about that spacing, ends met exactly."""
    start, end = np.asarray(start, float), np.asarray(end, float)
    count = max(1, round(float(np.hypot(*(end - start))) / spacing))
    places = start + (end - start) * np.linspace(0, 1, count + 1)[:, None]
    return [Stitch(a, b) for a, b in zip(places, places[1:], strict=False)]


def zigzag(start: Array, end: Array, width: float, pitch: float) -> list[Stitch]:
    """A bar-tack: dense zigzag of that width along a line."""
    start, end = np.asarray(start, float), np.asarray(end, float)
    along = (end - start) / np.hypot(*(end - start))
    across = np.array([-along[1], along[0]]) * width / 2
    count = max(2, round(float(np.hypot(*(end - start))) / pitch))
    places = start + (end - start) * np.linspace(0, 1, count + 1)[:, None]
    sides = places + across * np.where(np.arange(count + 1) % 2, 1, -1)[:, None]
    return [Stitch(a, b) for a, b in zip(sides, sides[1:], strict=False)]


def sew(stage: Stage, stitches: list[Stitch], radius: float = 0.42, gap_share: float = 0.12) -> None:
    """Paint stitches: each a twisted thread that dips into its needle holes, with its shadow and hole."""
    canvas, rng = stage.canvas, stage.rng
    k = canvas.k
    light = stage.thread
    sx, sy, sz = canvas.sun
    for stitch in stitches:
        window = canvas.window(np.stack([stitch.a, stitch.b]), radius * 2.6)
        if window is None:
            continue
        x, y = canvas.grid(window)
        span = stitch.b - stitch.a
        length = float(np.hypot(*span))
        ex, ey = (np.float32(e) for e in span / length)
        dx, dy = x - np.float32(stitch.a[0]), y - np.float32(stitch.a[1])
        t = (dx * ex + dy * ey) / np.float32(length)
        v = (dy * ex - dx * ey) / np.float32(radius)
        sit = 1 - np.float32(gap_share)
        profile = np.sqrt(np.maximum(1 - ((2 * t - 1) / sit) ** 2 * ((2 * t - 1) / sit) ** 2, 0))
        wide = np.maximum(profile, np.float32(1e-3)) * np.float32(0.55) + np.float32(0.45)
        inside = (profile > 0) * 1.0
        alpha = np.clip((1 - np.abs(v) / wide) * np.float32(radius * k) + np.float32(0.5), 0, 1) * inside
        shift = np.float32(0.8 * radius)
        v_shadow = v + (np.float32(-sx) * -ey + np.float32(-sy) * ex) * np.float32(-0.9)
        shadow = np.clip(1.25 - np.abs(v_shadow) / (wide * np.float32(1.35)), 0, 1) * np.clip(
            (np.float32(0.62) - np.abs(t - np.float32(0.5))) * 12, 0, 1
        )
        holes = np.exp(-((dx**2 + dy**2) / (shift * shift))) + np.exp(
            -(((x - np.float32(stitch.b[0])) ** 2 + (y - np.float32(stitch.b[1])) ** 2) / (shift * shift))
        )
        canvas.tint(np.clip(np.float32(0.5) * shadow + np.float32(0.55) * holes, 0, 0.85), 0.1, window)
        slope = -np.clip(v / wide, -0.98, 0.98)
        normal_z = np.sqrt(1 - slope * slope)
        facing = (normal_z * np.float32(sz) - slope * (np.float32(sx) * -ey + np.float32(sy) * ex)) / np.float32(sz)
        twist = np.sin(np.float32(2 * np.pi) * (t * np.float32(length / 0.62) + v * np.float32(0.42)))
        tone = np.float32(0.36) + np.float32(0.64) * np.maximum(facing, 0)
        tone = tone * (np.float32(0.90) + np.float32(0.10) * twist) * (np.float32(0.6) + np.float32(0.4) * profile)
        tone = tone * np.float32(rng.uniform(0.9, 1.06))
        canvas.lay(alpha.astype(np.float32), light * tone, window)


def unpick(stage: Stage, stitches: list[Stitch], radius: float = 0.42) -> None:
    """Paint empty needle holes and a few loose thread ends where stitches are gone."""
    canvas, rng = stage.canvas, stage.rng
    points = np.array([s.a for s in stitches] + [stitches[-1].b])
    window = canvas.window(points, 9.0)
    if window is None:
        return
    x, y = canvas.grid(window)
    holes = np.zeros(window.shape, np.float32)
    for px, py in points:
        near = ((x - np.float32(px)) ** 2 + (y - np.float32(py)) ** 2) / np.float32((0.42) ** 2)
        holes = np.maximum(holes, np.exp(-near))
    canvas.tint(np.clip(holes, 0, 1), 0.12, window)
    lines = []
    for end, away in ((points[0], 1.0), (points[-1], -1.0)):
        for _ in range(2):
            heading = rng.uniform(0, 2 * np.pi)
            place = np.array(end, float)
            trail = [place]
            for _ in range(int(rng.integers(5, 11))):
                heading += rng.normal(0, 0.5) * away
                place = place + 0.75 * np.array([np.cos(heading), np.sin(heading)])
                trail.append(place)
            lines.append(np.array(trail))
    canvas.threads(lines, radius * 1.5, stage.thread * 0.85, window, 1.0, 0.6)
    stubs = []
    for line in lines:
        for _ in range(5):
            stubs.append(line[-1] + np.vstack([np.zeros(2), rng.normal(0, 0.8, 2)]))
    canvas.threads(stubs, 0.12, stage.thread, window, 0.9)
