"""Energy absorbers: packed, and torn out after an arrested fall."""

from __future__ import annotations

import cv2
import numpy as np

from inspect_core.domain.gear import Component
from inspect_core.domain.marks import Category
from sample_images import damage as harm
from sample_images.canvas import Window, linear
from sample_images.cloth_views import harm_strap
from sample_images.hardware import Placement
from sample_images.label import tag
from sample_images.noise import cloud, fractal
from sample_images.spec import Array
from sample_images.stage import Stage
from sample_images.stitching import row, sew, zigzag
from sample_images.strip import Path, strip
from sample_images.weave import Strap, lay, webbing

C = Category
#: How far along the second strap the torn-out binding reaches.
_TORN_SHARE = 0.55


def _cover(stage: Stage, path: Path, width: float, ragged_end: bool) -> Strap | None:
    """A padded cloth cover along a path, its right end torn where asked; not yet laid."""
    canvas, rng = stage.canvas, stage.rng
    at = strip(canvas, path, width / 2)
    if at is None:
        return None
    k, shape = canvas.k, at.window.shape
    end: Array = np.asarray(np.float32(path.length) - at.u)
    if ragged_end:
        tear: Array = np.float32(3.0) * fractal(rng, (shape[0], 1), 7 * k, 4)
        tear = tear + np.float32(1.6) * cloud(rng, shape, (1.2 * k, 1.2 * k))
        end = np.asarray(end - np.float32(4.5) - tear, np.float32)
    inset = np.minimum(np.float32(width / 2) - np.abs(at.v), at.u if ragged_end else np.minimum(at.u, end))
    pad = np.sqrt(np.maximum(1 - (1 - np.clip(inset / np.float32(9), 0, 1)) ** 2, 0)) * np.float32(6.5)
    puff = canvas.blur(fractal(rng, shape, 26 * k, 3), 1.2) * np.float32(0.9)
    weft = np.sin(at.u * np.float32(2 * np.pi / 0.85)) * np.sin(at.v * np.float32(2 * np.pi / 0.85))
    colour = (
        stage.cloth * np.float32(0.55)
        if stage.cloth.mean() > 0.12
        else stage.cloth * np.float32(1.25) + np.float32(0.006)
    )
    albedo = colour * (1 + np.float32(0.16) * weft + np.float32(0.1) * fractal(rng, shape, 9 * k, 3))
    corner = np.float32(5.0)
    cu = np.maximum(corner - np.minimum(at.u, np.full_like(at.u, 1e3) if ragged_end else end), 0)
    cv_ = np.maximum(corner - (np.float32(width / 2) - np.abs(at.v)), 0)
    edge = corner - np.sqrt(cu * cu + cv_ * cv_)
    alpha = (
        np.clip(edge * np.float32(k) + np.float32(0.5), 0, 1)
        * np.clip(end * np.float32(k) + np.float32(0.5), 0, 1)
        * at.near
    )
    alpha *= np.clip(at.u * np.float32(k) + np.float32(0.5), 0, 1)
    height = pad + puff + np.float32(0.03) * weft
    return Strap(
        path,
        width / 2,
        at.window,
        at,
        alpha.astype(np.float32),
        albedo.astype(np.float32),
        height.astype(np.float32),
        np.zeros(shape, np.float32) + np.float32(0.05),
        6.0,
    )


def packed(stage: Stage) -> None:
    """A sewn-up absorber pack between two straps."""
    rng = stage.rng
    turn = float(rng.uniform(-12, 12))
    place = Placement(float(rng.uniform(-4, 4)), float(rng.uniform(-4, 4)), turn)
    width = min(stage.spec.webbing_width_mm, 35.0)
    long = float(rng.uniform(150, 185))
    for a, b in ((-200.0, -long / 2 + 14), (long / 2 - 14, 200.0)):
        ends = webbing(stage, place.path([(a, 0.0), (b, 0.0)]), width)
        if ends is not None:
            lay(stage, ends)
    pack = _cover(stage, place.path([(-long / 2, 0.0), (long / 2, 0.0)]), width + 15, False)
    if pack is None:
        return
    harm_strap(stage, pack, long * 0.72)
    lay(stage, pack)
    v = pack.half - 4.0
    at = pack.path.at
    stitches = row(at(8, -v), at(long - 8, -v), 3.4) + row(at(8, v), at(long - 8, v), 3.4)
    for u in (9.0, 14.0, long - 14.0, long - 9.0):
        stitches += zigzag(at(u, -v + 3), at(u, v - 3), 2.6, 1.0)
    sew(stage, stitches, 0.4)
    spot = place.put([(-long * 0.17, 0.0)])[0]
    tag(stage, Placement(float(spot[0]), float(spot[1]), turn), 62.0, min(46.0, 2 * v - 7), 0.25, False)
    harm.finish(stage, pack)
    _write(stage, pack, long)


def _write(stage: Stage, pack: Strap, long: float) -> None:
    stage.know("absorber pack width", 2 * pack.half, pack.path.at(20.0, -pack.half), pack.path.at(20.0, pack.half))
    us = np.array([0.0, long])
    outline = np.vstack([pack.path.at(us, -pack.half), pack.path.at(us[::-1], pack.half)])
    stage.region(Component.ENERGY_ABSORBER, "cloth", outline)
    stage.know("absorber pack length", long, pack.path.at(0.0), pack.path.at(long))


def _torn_rows(stage: Stage, path: Path, width: float, window: Window) -> None:
    """The ripped binding yarns that stand out of torn-out webbing, in rows."""
    rng = stage.rng
    for tone, wide, count in (
        (stage.thread * 0.6, 0.34, 3.2),
        (stage.thread * 1.0, 0.28, 3.2),
        (stage.thread * 0.7 + 0.2, 0.12, 5.0),
    ):
        lines = []
        for _ in range(int(count * path.length)):
            u, v = (
                float(rng.uniform(3, path.length - 3)),
                float(rng.choice([-0.27, 0.0, 0.27])) * width + float(rng.normal(0, 1.0)),
            )
            step = rng.normal(0, 0.85, (5, 2))
            lines.append(np.cumsum(np.vstack([path.at(u, v), step]), axis=0))
        stage.canvas.threads(lines, wide, tone, window, 0.95, 0.25)


def deployed(stage: Stage) -> None:
    """A deployed absorber: cover burst, tear webbing pulled out and lying in a loose fold."""
    rng, canvas = stage.rng, stage.canvas
    turn = float(rng.uniform(-9, 9))
    place = Placement(float(rng.uniform(-4, 4)), float(rng.uniform(-3, 3)), turn, bool(rng.random() < 0.5))
    width = min(stage.spec.webbing_width_mm, 35.0)
    pale = linear((206, 200, 184))
    lead = webbing(stage, place.path([(-220.0, 4.0), (-96.0, 4.0)]), width)
    if lead is not None:
        lay(stage, lead)
    far = [(-52, 2), (0, -18), (62, -31), (105, -24), (132, -4), (122, 20), (84, 31), (34, 25)]
    near = [(-58, 8), (-30, 20), (8, 33), (50, 40), (110, 46), (220, 52)]
    pieces: list[Strap] = []
    for i, controls in enumerate((far, near)):
        line = place.smooth([(float(x), float(y)) for x, y in controls])
        cloth = webbing(stage, line, width, bands=i == 1, colour=pale if i == 0 else None, lift=3.2)
        if cloth is None:
            continue
        bulge = canvas.blur(fractal(rng, cloth.window.shape, 22 * canvas.k, 2), 1.6)
        cloth.height += np.float32(1.6) * bulge
        lay(stage, cloth)
        _torn_rows(stage, line.part(0.0, line.length * (0.99 if i == 0 else _TORN_SHARE)), width, cloth.window)
        pieces.append(cloth)
    shell = _cover(stage, place.path([(-118.0, 4.0), (-38.0, 4.0)]), width + 15, True)
    if shell is not None:
        lay(stage, shell)
        v = shell.half - 4.0
        at = shell.path.at
        stitches = row(at(8, -v), at(66, -v), 3.4) + row(at(8, v), at(62, v), 3.4)
        for u in (9.0, 14.0):
            stitches += zigzag(at(u, -v + 3), at(u, v - 3), 2.6, 1.0)
        sew(stage, stitches, 0.4)
        _shreds(stage, shell)
        stage.know("absorber pack width", 2 * shell.half, at(20.0, -shell.half), at(20.0, shell.half))
    outline = _around(pieces, shell)
    if outline is None:
        return
    torn = sum(p.path.length * (1.0 if i == 0 else _TORN_SHARE) for i, p in enumerate(pieces))
    stage.record(C.DEPLOYED_ABSORBER, "polygon", outline, [outline], Component.ENERGY_ABSORBER, torn_out_mm=torn)
    stage.region(Component.ENERGY_ABSORBER, "cloth", outline)


def _shreds(stage: Stage, shell: Strap) -> None:
    """Loose cover threads at its torn mouth."""
    rng = stage.rng
    lines = []
    for _ in range(120):
        u, v = shell.path.length - float(rng.uniform(1, 9)), float(rng.uniform(-1, 1)) * shell.half
        way = shell.path.direction(u)
        steps = way * 1.1 + rng.normal(0, 0.8, (5, 2))
        lines.append(np.cumsum(np.vstack([shell.path.at(u, v), steps]), axis=0))
    stage.canvas.threads(lines, 0.16, stage.cloth * 0.6 + 0.05, shell.window, 0.9, 0.2)


def _around(pieces: list[Strap], shell: Strap | None) -> Array | None:
    """One outline around everything torn out, plane mm: the convex hull."""
    points = []
    for i, p in enumerate(pieces):
        us = np.linspace(0, p.path.length * (1.0 if i == 0 else _TORN_SHARE), 30)
        points += [p.path.at(us, -p.half), p.path.at(us, p.half)]
    if shell is not None:
        points.append(shell.path.at(np.array([shell.path.length] * 2), np.array([-shell.half, shell.half])))
    if not points:
        return None
    hull = cv2.convexHull(np.vstack(points).astype(np.float32))[:, 0, :]
    return np.asarray(hull, np.float64)
