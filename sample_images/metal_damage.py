"""Harm to metal: rust, cracks, worn places."""

from __future__ import annotations

import cv2
import numpy as np

from inspect_core.domain.gear import Component
from inspect_core.domain.marks import Category
from sample_images.canvas import Canvas, Window, hue
from sample_images.metal import Body
from sample_images.noise import blob, cloud, fractal
from sample_images.spec import Array, Damage
from sample_images.stage import Stage, enclosed
from sample_images.weave import Strap


def rust(stage: Stage, body: Body, damage: Damage, near: Array, component: Component | None = None) -> None:
    """Blotches around a place that cover the asked share of the body's visible metal."""
    canvas, rng = stage.canvas, stage.rng
    shape, k = body.window.shape, canvas.k
    share = min(0.9, stage.size(damage.share, 0.05, 0.24))
    x, y = canvas.grid(body.window)
    away = np.sqrt((x - np.float32(near[0])) ** 2 + (y - np.float32(near[1])) ** 2)
    field = np.float32(0.8) * fractal(rng, shape, 8 * k, 5, gain=0.62) - np.float32(0.045) * away
    solid = body.alpha > 0.5
    if not solid.any():
        return
    edge = np.float32(np.quantile(field[solid], 1 - share))
    mask = np.clip((field - edge) / np.float32(0.10) + np.float32(0.5), 0, 1) * body.alpha
    stain = np.clip((field - edge) / np.float32(0.9) + np.float32(0.75), 0, 1) * np.float32(0.35)
    fine = fractal(rng, shape, 1.3 * k, 3, gain=0.8)
    deep = np.clip((field - edge) * np.float32(0.9) + np.float32(0.25) * fine, 0, 1)
    orange, brown = hue(0.36, 0.115, 0.026), hue(0.075, 0.026, 0.012)
    colour = orange + deep * (brown - orange)
    colour = colour * (1 + np.float32(0.26) * fine + np.float32(0.16) * cloud(rng, shape, (1.2, 1.2)))
    body.coat(stain * (1 - mask), hue(0.27, 0.13, 0.05), 0.8)
    body.coat(mask, np.clip(colour, 0.004, 1), 1.0)
    body.dent(canvas, mask * np.float32(0.05) * fine)
    _record_rust(stage, body.window, mask, body.alpha, component)


def rust_rope(stage: Stage, rope: Strap, damage: Damage) -> None:
    """Rust on a wire rope before it is laid, share of its visible area."""
    canvas, rng = stage.canvas, stage.rng
    shape, k = rope.window.shape, canvas.k
    share = min(0.9, stage.size(damage.share, 0.12, 0.4))
    away = np.abs(rope.coordinates.u - np.float32(rope.path.length / 2))
    field = fractal(rng, shape, 9 * k, 4, gain=0.6) - np.float32(0.03) * away
    solid = rope.alpha > 0.5
    edge = np.float32(np.quantile(field[solid], 1 - share))
    mask = np.clip((field - edge) / np.float32(0.45) + np.float32(0.5), 0, 1) * rope.alpha
    tone = rope.albedo.mean(axis=0, keepdims=True)
    colour = hue(0.40, 0.15, 0.045) * np.clip(tone * 1.5 + 0.12, 0.1, 1.0)
    rope.albedo += (np.float32(0.92) * mask) * (colour - rope.albedo)
    _record_rust(stage, rope.window, mask, rope.alpha, Component.WIRE_ROPE)


def _record_rust(stage: Stage, window: Window, mask: Array, alpha: Array, component: Component | None) -> None:
    """The truth of drawn rust: `mask` says how rusty, `alpha` how visible each pixel of the window is."""
    k = stage.canvas.k
    outlines = outlines_of(stage.canvas, window, mask)
    if not outlines:
        return
    area = float(mask.sum()) / k**2
    stage.record(
        Category.RUST,
        "polygon",
        max(outlines, key=enclosed),
        outlines,
        component,
        (window, mask),
        area_mm2=area,
        largest_mm2=max(enclosed(o) for o in outlines),
        share=area / (float(alpha.sum()) / k**2),
    )


def outlines_of(canvas: Canvas, window: Window, mask: Array) -> list[Array]:
    """Outlines of a mask's patches of at least 1 mm², plane mm."""
    found, _ = cv2.findContours((mask > 0.5).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    outlines = []
    for contour in found:
        if cv2.contourArea(contour) < canvas.k**2:
            continue
        line = cv2.approxPolyDP(contour, 0.7, True)[:, 0, :].astype(float)
        if len(line) >= 3:
            places = (line + (window.left, window.top) + 0.5) / canvas.k + (canvas.x0, canvas.y0)
            outlines.append(places)
    return outlines


def crack(
    stage: Stage, body: Body, damage: Damage, near: Array, heading: float, component: Component | None = None
) -> None:
    """A dark jagged line across the metal."""
    canvas, rng = stage.canvas, stage.rng
    length = stage.size(damage.length_mm, 5, 11)
    steps = 14
    t = np.linspace(-0.5, 0.5, steps)
    across = np.concatenate([[0.0], np.cumsum(rng.normal(0, 0.22, steps - 2)), [0.0]])
    along = np.array([np.cos(heading), np.sin(heading)])
    line = near + t[:, None] * along * length + across[:, None] * np.array([-along[1], along[0]])
    mask = np.zeros(body.window.shape, np.uint8)
    places = np.round(canvas.pixels(line, body.window) * 16).astype(np.int32)
    cv2.polylines(mask, [places], False, 255, max(1, round(0.22 * canvas.k)), cv2.LINE_AA, 4)
    alpha = mask.astype(np.float32) / 255 * body.alpha
    body.dent(canvas, np.float32(-0.25) * canvas.blur(alpha, 0.18))
    body.coat(alpha, hue(0.012, 0.01, 0.009))
    path = float(np.hypot(*np.diff(line, axis=0).T).sum())
    stage.record(
        Category.CRACK, "polyline", line, [], component, (body.window, alpha), length_mm=path, straight_mm=length
    )


def wear(stage: Stage, body: Body, damage: Damage, near: Array, component: Component | None = None) -> None:
    """A place rubbed bright and grooved."""
    canvas, rng = stage.canvas, stage.rng
    area = stage.size(damage.area_mm2, 35, 120)
    outline = blob(rng, area, 0.25, 2.0)
    turn = rng.uniform(0, np.pi)
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    outline = outline @ spin.T + near
    x, y = canvas.grid(body.window)
    mask = canvas.polygon(outline, body.window) * body.alpha
    soft = canvas.blur(mask, 0.5) * body.alpha
    groove = np.sin(
        (x * np.float32(-np.sin(turn)) + y * np.float32(np.cos(turn))) * np.float32(5.2)
        + cloud(rng, body.window.shape, (40, 40))
    )
    body.coat(
        soft * np.float32(0.75),
        (np.float32(0.42) + np.float32(0.16) * groove) * hue(1.0, 0.98, 0.94),
        0.75,
    )
    body.dent(canvas, soft * np.float32(0.10) * groove)
    if mask.any():
        stage.record(
            Category.WEAR,
            "polygon",
            outline,
            [outline],
            component,
            (body.window, mask),
            area_mm2=float(mask.sum()) / canvas.k**2,
        )
