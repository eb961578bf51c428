"""Damage to cloth: cuts, burns, frayed edges, abrasion, stains. Sizes are set in mm before anything is painted."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from inspect_core.domain.marks import Category
from sample_images.canvas import hue
from sample_images.noise import blob, cloud, fractal
from sample_images.spec import Array, Damage
from sample_images.stage import Stage, enclosed
from sample_images.weave import Strap


def _fibres(
    rng: np.random.Generator, roots: Array, ways: Array, reach: tuple[float, float], spread: float
) -> list[Array]:
    """Curled fibres from roots (N, 2) along unit ways (N, 2)."""
    lines = []
    for root, way in zip(roots, ways, strict=True):
        heading = np.arctan2(way[1], way[0]) + rng.normal(0, spread)
        step = rng.uniform(*reach) / 4
        place = root - 0.25 * np.array([np.cos(heading), np.sin(heading)])
        line = [place]
        for _ in range(5):
            place = place + step * np.array([np.cos(heading), np.sin(heading)])
            heading += rng.normal(0, spread * 0.55)
            line.append(place)
        lines.append(np.array(line))
    return lines


def _along(outline: Array, count: int, rng: np.random.Generator) -> tuple[Array, Array]:
    """Random places along an open line (N, 2) and its unit normals to the right."""
    steps = np.diff(outline, axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    pick = rng.choice(len(lengths), count, p=lengths / lengths.sum())
    places = outline[pick] + rng.random((count, 1)) * steps[pick]
    normals = np.stack([-steps[pick, 1], steps[pick, 0]], axis=1) / np.maximum(lengths[pick, None], 1e-9)
    return places, normals


def cut(stage: Stage, strap: Strap, damage: Damage, u: float, side: float) -> None:
    """Take a notch out of the edge at u; paint the rest with `cut_threads` after the strap is laid."""
    rng = stage.rng
    depth = stage.size(damage.depth_mm, 1.0, 3.0)
    slant = float(rng.uniform(-0.35, 0.35)) * depth
    if damage.length_mm is not None and damage.length_mm > depth:
        slant = float(np.sign(slant) or 1.0) * (damage.length_mm**2 - depth**2) ** 0.5
    mouth = min(1.0 + 0.5 * depth, 4.5)
    lead = np.linspace(0, 1, 9)[1:-1]
    ragged = rng.normal(0, 0.055, (2, len(lead)))
    fall = (1 - lead) ** 0.8
    left = np.stack([u - mouth / 2 * fall + slant * lead + ragged[0], depth * lead], axis=1)
    right = np.stack([u + mouth / 2 * fall + slant * lead + ragged[1], depth * lead], axis=1)
    tip = np.array([[u + slant, depth]])
    walls = np.vstack([[[u - mouth / 2, 0.0]], left, tip, right[::-1], [[u + mouth / 2, 0.0]]])
    outline = strap.path.at(walls[:, 0], side * (strap.half - walls[:, 1]))
    beyond = np.array([[u + mouth / 2 + 0.4, -2.5], [u - mouth / 2 - 0.4, -2.5]])
    opening = np.vstack([outline, strap.path.at(beyond[:, 0], side * (strap.half - beyond[:, 1]))])
    mask = stage.canvas.polygon(opening, strap.window)
    inside = stage.canvas.polygon(outline, strap.window)
    rim = stage.canvas.blur(mask, 0.3) * (1 - mask)
    speckle = 1 + np.float32(0.8) * cloud(rng, strap.window.shape, (1.5, 1.5))
    strap.albedo += np.float32(0.9) * rim * (stage.cloth * np.float32(0.8) + np.float32(0.14) * speckle - strap.albedo)
    strap.height -= np.float32(0.5) * stage.canvas.blur(mask, 0.8)
    if strap.core is None:
        strap.alpha *= 1 - mask
    else:
        grain = 1 + np.float32(0.5) * cloud(rng, strap.window.shape, (1.6, 1.6))
        strap.albedo += mask * (strap.core * (np.float32(0.75) * grain) - strap.albedo)
    line = strap.path.at(np.array([u, u + slant]), side * (strap.half - np.array([0.0, depth])))
    length = float(np.hypot(*(line[1] - line[0])))
    stage.record(
        damage.category,
        "line",
        line,
        [outline],
        mask=(strap.window, inside),
        length_mm=length,
        depth_mm=depth,
        area_mm2=enclosed(outline),
        share=depth / (2 * strap.half),
    )


def cut_threads(stage: Stage, strap: Strap) -> None:
    """The yarn ends that stand into every cut of this strap."""
    rng, canvas = stage.rng, stage.canvas
    for defect in stage.defects:
        if defect.category is not Category.CUT:
            continue
        outline = defect.outlines[0]
        middle = outline.mean(axis=0)
        if strap.core is None:
            canvas.tint(canvas.polygon(outline, strap.window, 0.1), 0.3, strap.window)
        count = int(4 + 9 * defect.truth["depth_mm"])
        roots, normals = _along(outline[1:-1], count, rng)
        inward = np.sign(((middle - roots) * normals).sum(axis=1, keepdims=True))
        lines = _fibres(rng, roots, normals * inward, (0.15, 0.25 + 0.14 * defect.truth["depth_mm"]), 0.7)
        half = len(lines) // 2
        canvas.threads(lines[:half], 0.12, stage.cloth * 0.8, strap.window, 0.85, 0.1)
        canvas.threads(lines[half:], 0.09, stage.cloth * 0.85 + 0.14, strap.window, 0.8)
        few = max(3, count // 5)
        loose = _fibres(rng, roots[:few], -normals[:few] * inward[:few], (0.5, 1.4), 0.9)
        canvas.threads(loose, 0.09, stage.cloth + 0.1, strap.window, 0.6)


def _patch(stage: Stage, strap: Strap, damage: Damage, u: float, v: float, low: float, high: float) -> Array:
    """An irregular outline in the plane of the asked area, its middle kept on the strap."""
    area = stage.size(damage.area_mm2, low, high)
    stretch = float(stage.rng.uniform(1.1, 1.9))
    if damage.length_mm is not None:
        stretch = max(1.0, damage.length_mm**2 * np.pi / 4 / area)
    shape = blob(stage.rng, area, 0.3, stretch)
    turn = stage.rng.uniform(-0.5, 0.5)
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    shape = shape @ spin.T
    over = np.abs(shape[:, 1]).max() - (strap.half - 0.6)
    if over > 0:
        shape = shape * np.array([1.0, 1.0])
    room = max(0.0, strap.half - 0.6 - float(np.abs(shape[:, 1]).max()))
    v = float(np.clip(v, -room, room))
    return strap.path.at(u + shape[:, 0], np.clip(v + shape[:, 1], -strap.half, strap.half))


def _extent(outline: Array) -> float:
    """Largest distance between two points of an outline."""
    gaps = outline[:, None, :] - outline[None, :, :]
    return float(np.sqrt((gaps**2).sum(axis=2)).max())


def _write_patch(stage: Stage, strap: Strap, damage: Damage, outline: Array, mask: Array) -> None:
    stage.record(
        damage.category,
        "polygon",
        outline,
        [outline],
        mask=(strap.window, mask),
        area_mm2=enclosed(outline),
        length_mm=_extent(outline),
    )


def sized(damage: Damage, low: float, high: float, rng: np.random.Generator) -> Damage:
    """The same damage with an area between two bounds where none was asked for."""
    return damage if damage.area_mm2 is not None else replace(damage, area_mm2=float(rng.uniform(low, high)))


def burn(stage: Stage, strap: Strap, damage: Damage, u: float, v: float) -> None:
    """A heat-glazed place: fibres melted to a dark, lumpy, shiny crust with a scorched rim."""
    canvas, rng = stage.canvas, stage.rng
    outline = _patch(stage, strap, damage, u, v, 60, 260)
    mask = canvas.polygon(outline, strap.window)
    shape, k = strap.window.shape, canvas.k
    lumps = fractal(rng, shape, 2.4 * k, 3)
    inner = np.clip(canvas.blur(mask, 0.5) * 1.6 - 0.6 + 0.12 * lumps, 0, 1) * mask
    scorch = canvas.blur(mask, 3.2) * np.float32(1.7) + np.float32(0.10) * fractal(rng, shape, 5 * k, 2)
    scorch = np.clip(scorch, 0, 1) * np.clip(canvas.blur(mask, 4.0) * np.float32(5.0), 0, 1)
    brown = hue(0.12, 0.055, 0.022)
    strap.albedo += (np.float32(0.8) * scorch * (1 - mask) + np.float32(0.85) * mask) * (brown - strap.albedo)
    crust = hue(0.022, 0.018, 0.016) + np.float32(0.05) * np.clip(lumps, 0, 2) * hue(1.0, 0.62, 0.4)
    strap.albedo += inner * (crust - strap.albedo)
    melted = np.float32(0.5) * lumps * np.float32(0.5) + np.float32(0.45)
    strap.height += inner * (
        canvas.blur(strap.height, 1.0) * np.float32(0.6) + np.float32(0.42) * melted - strap.height
    )
    strap.sheen += inner * np.float32(0.55)
    _write_patch(stage, strap, damage, outline, mask)


def abrasion(stage: Stage, strap: Strap, damage: Damage, u: float, v: float) -> None:
    """A rubbed place: the weave loses its relief and turns pale and hairy."""
    canvas, rng = stage.canvas, stage.rng
    outline = _patch(stage, strap, damage, u, v, 120, 420)
    mask = canvas.polygon(outline, strap.window)
    shape, k = strap.window.shape, canvas.k
    soft = canvas.blur(mask, 0.8) * np.clip(0.85 + 0.3 * fractal(rng, shape, 3 * k, 2), 0, 1)
    flat = canvas.blur(strap.height, 0.7)
    strap.height += soft * (flat - strap.height) * np.float32(0.85)
    pale = stage.cloth * np.float32(0.62) + np.float32(0.17)
    strap.albedo += (np.float32(0.75) * soft) * (
        pale * (1 + np.float32(0.22) * cloud(rng, shape, (1.4, 1.4))) - strap.albedo
    )
    _write_patch(stage, strap, damage, outline, mask)


def abrasion_fibres(stage: Stage, strap: Strap) -> None:
    """The broken filaments that lie over every abraded place."""
    rng = stage.rng
    for defect in stage.defects:
        if defect.category is not Category.ABRASION:
            continue
        outline = defect.outlines[0]
        low, high = outline.min(axis=0), outline.max(axis=0)
        count = int(min(420, 1.6 * defect.truth["area_mm2"]))
        roots = rng.uniform(low, high, (count, 2))
        inside = np.array([_holds(outline, p) for p in roots])
        ways = rng.standard_normal((count, 2))
        ways /= np.hypot(*ways.T)[:, None]
        lines = _fibres(rng, roots[inside], ways[inside], (0.5, 1.7), 0.6)
        half = len(lines) // 2
        stage.canvas.threads(lines[:half], 0.1, stage.cloth * 0.5, strap.window, 0.6)
        stage.canvas.threads(lines[half:], 0.1, stage.cloth * 0.6 + 0.28, strap.window, 0.6)


def _holds(outline: Array, point: Array) -> bool:
    """Whether a closed outline holds a point (ray crossing)."""
    x, y = outline.T
    xn, yn = np.roll(x, -1), np.roll(y, -1)
    crosses = (y > point[1]) != (yn > point[1])
    with np.errstate(divide="ignore", invalid="ignore"):
        at = (xn - x) * (point[1] - y) / (yn - y) + x
    return bool(np.count_nonzero(crosses & (point[0] < at)) % 2)


def stain(stage: Stage, strap: Strap, damage: Damage, u: float, v: float) -> None:
    """A faded (discolouration) or soaked (chemical) place with a tide mark."""
    canvas, rng = stage.canvas, stage.rng
    outline = _patch(stage, strap, damage, u, v, 200, 700)
    mask = canvas.polygon(outline, strap.window)
    soft = canvas.blur(mask, 0.6)
    ring = np.clip(canvas.blur(mask, 0.5) - canvas.blur(mask, 2.2), 0, 1)
    uneven = np.clip(0.75 + 0.3 * fractal(rng, strap.window.shape, 7 * canvas.k, 3), 0, 1.2)
    if damage.category is Category.CHEMICAL:
        colour = hue(0.30, 0.24, 0.10)
        amount = np.float32(0.5) * soft * uneven + np.float32(1.1) * ring
    else:
        grey = float(stage.cloth.mean())
        colour = stage.cloth * np.float32(0.35) + np.float32(0.32 * grey + 0.19)
        amount = np.float32(0.62) * soft * uneven
    texture = strap.albedo.mean(axis=0, keepdims=True) / max(float(stage.cloth.mean()), 0.02)
    strap.albedo += np.clip(amount, 0, 1) * (colour * np.clip(texture, 0.3, 1.4) - strap.albedo)
    _write_patch(stage, strap, damage, outline, mask)


def fray(stage: Stage, strap: Strap, damage: Damage, u: float, side: float) -> None:
    """Eat into a stretch of selvedge; paint its fibres with `fray_fibres` after laying."""
    rng = stage.rng
    length = stage.size(damage.length_mm, 14, 36)
    depth = stage.size(damage.depth_mm, 0.9, 2.4)
    us = np.linspace(-length / 2, length / 2, 46)
    swell = np.clip(1 - (2 * us / length) ** 2, 0, 1) ** 0.5
    waves = 0.62 + 0.38 * np.abs(np.sin(us * 2.3 + rng.uniform(0, 6)) * np.sin(us * 0.9 + rng.uniform(0, 6)))
    bite = depth * swell * waves
    bite *= depth / bite.max()
    inner = strap.path.at(u + us, side * (strap.half - bite))
    edge = strap.path.at(u + us[::-1], np.full_like(us, side * strap.half))
    outline = np.vstack([inner, edge])
    out = strap.path.at(u + us[::-1], np.full_like(us, side * (strap.half + 2)))
    mask = stage.canvas.polygon(outline, strap.window)
    strap.alpha *= 1 - stage.canvas.polygon(np.vstack([inner, out]), strap.window)
    line = strap.path.at(np.array([u - length / 2, u + length / 2]), side * strap.half)
    stage.record(
        Category.FRAY,
        "line",
        line,
        [outline],
        mask=(strap.window, mask),
        length_mm=length,
        depth_mm=depth,
        area_mm2=enclosed(outline),
        share=depth / (2 * strap.half),
    )


def fray_fibres(stage: Stage, strap: Strap) -> None:
    """Loose yarns and single filaments out of every frayed edge."""
    rng = stage.rng
    for defect in stage.defects:
        if defect.category is not Category.FRAY:
            continue
        inner = defect.outlines[0][:46]
        out = defect.outlines[0][46:].mean(axis=0) - inner.mean(axis=0)
        out = out / max(float(np.hypot(*out)), 1e-9)
        window = stage.canvas.window(inner, 12.0) or strap.window
        for share, reach, width, colour, lift in (
            (1.0, (0.8, 5.0), 0.28, stage.cloth * 0.7, 0.5),
            (1.6, (1.0, 5.5), 0.22, stage.cloth * 1.1 + 0.05, 0.3),
            (3.2, (0.8, 7.0), 0.09, stage.cloth * 0.8 + 0.22, 0.0),
        ):
            roots, _ = _along(inner, int(share * defect.truth["length_mm"] * 1.3), rng)
            ways = np.broadcast_to(out, roots.shape)
            stage.canvas.threads(_fibres(rng, roots, ways, reach, 0.75), width, colour, window, 0.9, lift)


def finish(stage: Stage, strap: Strap) -> None:
    """Everything that lies on top of a damaged strap once it is laid."""
    cut_threads(stage, strap)
    fray_fibres(stage, strap)
    abrasion_fibres(stage, strap)
