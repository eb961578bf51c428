"""Metal bodies: rods and plates with a mirrored surrounding, and the harm done to them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np

from sample_images.canvas import Canvas, Window, hue
from sample_images.noise import cloud, fractal
from sample_images.spec import Array
from sample_images.stage import Stage
from sample_images.strip import Path, strip

_TABLE = 161


@dataclass(frozen=True, slots=True)
class Finish:
    """Surface: `tint` linear colour of reflections, `paint` diffuse colour, `shine` share mirrored, `rough` blur."""

    tint: tuple[float, float, float]
    paint: tuple[float, float, float] = (0.0, 0.0, 0.0)
    shine: float = 1.0
    rough: float = 0.06


#: Finishes of gear hardware.
FINISHES: dict[str, Finish] = {
    "zinc": Finish((0.70, 0.71, 0.72), (0.05, 0.05, 0.05), 0.9, 0.07),
    "yellow zinc": Finish((0.86, 0.60, 0.20), (0.075, 0.05, 0.012), 0.9, 0.06),
    "stainless": Finish((0.76, 0.745, 0.72), (0.02, 0.02, 0.02), 1.0, 0.035),
    "aluminium": Finish((0.62, 0.63, 0.65), (0.13, 0.13, 0.135), 0.65, 0.14),
    "black anodised": Finish((0.30, 0.30, 0.31), (0.018, 0.018, 0.020), 0.55, 0.09),
    "orange anodised": Finish((0.62, 0.26, 0.10), (0.24, 0.055, 0.012), 0.6, 0.10),
    "blue anodised": Finish((0.22, 0.32, 0.58), (0.02, 0.05, 0.18), 0.6, 0.10),
    "grey plastic": Finish((0.20, 0.20, 0.20), (0.055, 0.058, 0.062), 0.28, 0.22),
    "red plastic": Finish((0.24, 0.22, 0.22), (0.34, 0.022, 0.02), 0.24, 0.2),
    "yellow plastic": Finish((0.25, 0.24, 0.2), (0.62, 0.38, 0.02), 0.24, 0.2),
}


def surroundings(canvas: Canvas, rng: np.random.Generator, rough: float) -> Array:
    """What a surface mirrors, as a table over its normal (ny, nx) from -1 to 1, linear RGB."""
    axis = np.linspace(-1, 1, _TABLE, dtype=np.float32)
    nx, ny = axis[None, :], axis[:, None]
    nz = np.sqrt(np.clip(1 - nx * nx - ny * ny, 0, 1))
    rx, ry, rz = 2 * nz * nx, 2 * nz * ny, 2 * nz * nz - 1
    sky = 0.15 + 0.20 * np.clip(rz, 0, 1) - 0.13 * ry
    sx, sy, sz = canvas.sun
    toward = rx * sx + ry * sy + rz * sz
    lamp = 4.2 * np.exp((toward - 1) / 0.016) + 0.62 * np.exp((toward - 1) / 0.12)
    window = (
        1.25
        * _step(rx * np.float32(-sx) - 0.16, 0.12)
        * _step(0.55 - np.abs(ry - 0.1), 0.12)
        * _step(rz - 0.05, 0.1)
        * 0.45
    )
    strip_light = 0.9 * np.exp(-(((ry + 0.72) / 0.12) ** 2)) * _step(rz + 0.1, 0.1)
    viewer = -0.10 * np.exp(-((1 - rz) / 0.06))
    ground = 0.035 + 0.16 * _step(-rz - 0.55, 0.3)
    above = _step(rz - 0.04 + 0.08 * np.sin(5 * rx + float(rng.uniform(0, 6))), 0.05)
    value = above * (sky + lamp + window + strip_light + viewer) + (1 - above) * ground
    warm = np.stack([1 + 0.02 * above, np.ones_like(above), 1 + 0.07 * above - 0.10 * (1 - above)], axis=2)
    table = (value[..., None] * warm).astype(np.float32)
    return np.asarray(cv2.GaussianBlur(table, (0, 0), max(0.6, rough * _TABLE / 2)))


def reflect(table: Array, nx: Array, ny: Array) -> Array:
    """What surfaces of those normals mirror, (3, rows, columns)."""
    half = np.float32((_TABLE - 1) / 2)
    seen = cv2.remap(table, (nx + 1) * half, (ny + 1) * half, cv2.INTER_LINEAR)
    return np.stack(cv2.split(seen))


def _step(x: Array, soft: float) -> Array:
    return np.clip(x / soft + 0.5, 0, 1)


@dataclass(slots=True)
class Body:
    """Metal being built: coverage, normal, and what was done to its surface, over a window of the canvas."""

    window: Window
    alpha: Array
    nx: Array
    ny: Array
    shade: Array
    colour: Array
    matt: Array
    lift: float

    def tube(
        self, canvas: Canvas, path: Path, radius: float | Callable[[Array], Array], flat: float = 1.0, drop: float = 0.5
    ) -> None:
        """Add a rod along a path. `radius` in mm or a function of u; `flat` below 1 flattens its top."""
        widest = radius if isinstance(radius, float) else float(radius(np.linspace(0, path.length, 64)).max())
        at = strip(canvas, path, widest)
        if at is None:
            return
        wide = np.float32(radius) if isinstance(radius, float) else radius(at.u).astype(np.float32)
        s = np.clip(at.v / wide, -0.995, 0.995)
        if flat < 1:
            s = np.sign(s) * np.clip((np.abs(s) - np.float32(1 - flat)) / np.float32(flat), 0, 0.995)
        alpha = np.clip((wide - np.abs(at.v)) * np.float32(canvas.k) + np.float32(0.5), 0, 1) * at.near
        ends = np.minimum(at.u, np.float32(path.length) - at.u)
        alpha *= np.clip(ends * np.float32(canvas.k) + np.float32(0.5), 0, 1)
        self._add(canvas, at.window, alpha.astype(np.float32), s * at.nx, s * at.ny, drop)

    def plate(
        self, canvas: Canvas, outline: Array, bevel: float, holes: tuple[Array, ...] = (), drop: float = 0.8
    ) -> None:
        """Add a flat body with rounded edges, `bevel` mm wide."""
        window = canvas.window(outline, 1.0)
        if window is None:
            return
        alpha = canvas.polygon(outline, window)
        for hole in holes:
            alpha *= 1 - canvas.polygon(hole, window)
        solid = (alpha > 0.5).astype(np.uint8)
        distance = cv2.distanceTransform(solid, cv2.DIST_L2, cv2.DIST_MASK_PRECISE).astype(np.float32) / np.float32(
            canvas.k
        )
        deep = np.clip(distance / np.float32(bevel), 0, 1)
        height = np.float32(bevel) * np.sqrt(np.maximum(1 - (1 - deep) ** 2, 0)) * np.float32(0.7)
        gx, gy = canvas.slopes(canvas.blur(height, max(0.12 * bevel, 0.9 / canvas.k)))
        norm = 1 / np.sqrt(1 + gx * gx + gy * gy)
        self._add(canvas, window, alpha, -gx * norm, -gy * norm, drop)

    def _add(self, canvas: Canvas, window: Window, alpha: Array, nx: Array, ny: Array, drop: float) -> None:
        top, left = max(window.top, self.window.top), max(window.left, self.window.left)
        bottom, right = min(window.bottom, self.window.bottom), min(window.right, self.window.right)
        if bottom <= top or right <= left:
            return
        inner = (
            slice(top - self.window.top, bottom - self.window.top),
            slice(left - self.window.left, right - self.window.left),
        )
        cut = (slice(top - window.top, bottom - window.top), slice(left - window.left, right - window.left))
        a, px, py = alpha[cut], nx[cut], ny[cut]
        under = np.zeros(self.alpha.shape, np.float32)
        under[inner] = a
        if drop > 0 and float(self.alpha.max()) > 0:
            cast = canvas.moved(under, drop)
            self.shade *= 1 - np.float32(0.6) * canvas.blur(np.maximum(cast, under), 0.4 * drop + 0.2)
        self.shade[inner] += a * (1 - self.shade[inner])
        below = self.alpha[inner] * (1 - a)
        share = a / np.maximum(a + below, np.float32(1e-4))
        self.nx[inner] += share * (px - self.nx[inner])
        self.ny[inner] += share * (py - self.ny[inner])
        self.alpha[inner] = a + below

    def dent(self, canvas: Canvas, relief: Array) -> None:
        """Tilt the normals by a relief in mm over the body's window: engraving, scratches, casting grain."""
        gx, gy = canvas.slopes(relief)
        self.nx -= gx
        self.ny -= gy

    def coat(self, mask: Array, colour: Array, matt: float = 1.0) -> None:
        """Cover with a matt colour: rust, print, dirt. Colour (3, 1, 1) or (3, rows, columns)."""
        self.colour += mask * (colour - self.colour)
        self.matt += mask * (np.float32(matt) - self.matt)


def start(canvas: Canvas, points: Array, margin: float, lift: float = 3.0) -> Body | None:
    """An empty body around some plane points; None when they lie outside the canvas."""
    window = canvas.window(np.asarray(points, float), margin)
    if window is None:
        return None
    shape = window.shape
    zero = np.zeros(shape, np.float32)
    return Body(
        window,
        zero,
        zero.copy(),
        zero.copy(),
        np.ones(shape, np.float32),
        np.zeros((3, *shape), np.float32),
        zero.copy(),
        lift,
    )


def lay_metal(stage: Stage, body: Body, finish: Finish, worn: float = 0.5) -> None:
    """Cast the shadow, mirror the surroundings, paint. `worn` adds scratches and dullness."""
    canvas, rng = stage.canvas, stage.rng
    k, shape = canvas.k, body.window.shape
    table = surroundings(canvas, rng, finish.rough)
    grain = np.float32(0.012 + 0.03 * worn) * fractal(rng, shape, 5 * k, 4)
    swing = np.float32(0.06) * cloud(rng, shape, (22 * k, 22 * k))
    nx, ny = body.nx + grain + swing, body.ny + np.float32(0.7) * grain - swing
    _scratch(stage, body, worn)
    norm = np.sqrt(nx * nx + ny * ny)
    limit = np.minimum(1, np.float32(0.995) / np.maximum(norm, 1e-6))
    nx, ny = nx * limit, ny * limit
    mirrored = reflect(table, nx, ny)
    sx, sy, sz = (np.float32(s) for s in canvas.sun)
    nz = np.sqrt(np.maximum(1 - nx * nx - ny * ny, 0))
    facing = np.float32(0.35) + np.float32(0.65) * np.maximum(nx * sx + ny * sy + nz * sz, 0) / sz
    bare = hue(*finish.tint) * mirrored * np.float32(finish.shine)
    bare = bare + hue(*finish.paint) * facing
    dull = np.clip(fractal(rng, shape, 9 * k, 3) * np.float32(0.09) * worn, -0.3, 0.3)
    bare = bare * (1 - dull)
    light = bare + body.matt * (body.colour * facing - bare)
    canvas.shadow(body.alpha, body.window, body.lift, 0.62)
    canvas.lay(body.alpha, light * body.shade, body.window)


def _scratch(stage: Stage, body: Body, worn: float) -> None:
    """Fine bright scratches, mostly along one direction."""
    rng = stage.rng
    rows, columns = body.window.shape
    mask = np.zeros((rows, columns), np.uint8)
    heading = rng.uniform(0, np.pi)
    for _ in range(int(10 + 70 * worn)):
        x, y = rng.uniform(0, columns), rng.uniform(0, rows)
        turn = heading + rng.normal(0, 0.5)
        reach = rng.uniform(1, 9) * stage.canvas.k
        end = (x + reach * np.cos(turn), y + reach * np.sin(turn))
        cv2.line(
            mask,
            (int(x * 16), int(y * 16)),
            (int(end[0] * 16), int(end[1] * 16)),
            int(rng.uniform(40, 150)),
            1,
            cv2.LINE_AA,
            4,
        )
    body.coat(mask.astype(np.float32) / 255 * np.float32(0.5), hue(0.62, 0.62, 0.62), 0.6)
