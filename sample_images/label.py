"""Makers' labels, printed panels and flags: invented text, no brand."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from inspect_core.domain.gear import Component
from inspect_core.domain.marks import Category
from sample_images.canvas import Window, hue, linear
from sample_images.hardware import Placement, rounded_box
from sample_images.noise import cloud, fractal
from sample_images.spec import Array
from sample_images.stage import Stage
from sample_images.stitching import row, sew, zigzag
from sample_images.strip import straight
from sample_images.weave import lay, webbing

_DOTS = 12  # print dots per mm


#: The size in mm for which a maker's label is laid out; a smaller tag carries it reduced.
_FULL = (74.0, 48.0)


def sheet(width: float, height: float, lines: Sequence[tuple[float, float, float, str]]) -> Image.Image:
    """White sheet of that size in mm; each line is (x, y, letter height, text) in mm, anchored at its upper left."""
    picture = Image.new("RGB", (int(width * _DOTS), int(height * _DOTS)), (255, 255, 255))
    pen = ImageDraw.Draw(picture)
    for x, y, tall, text in lines:
        pen.text((x * _DOTS, y * _DOTS), text, fill=(26, 28, 34), font=ImageFont.load_default(tall * _DOTS * 1.3))
    return picture


def _wavy(text: str, rng: np.random.Generator) -> str:
    return text + "".join(str(int(d)) for d in rng.integers(0, 10, 5))


def maker_label(stage: Stage, width: float, height: float) -> Image.Image:
    """The print of a maker's label for this picture's kind of gear."""
    rng = stage.rng
    year, month = int(rng.integers(2016, 2026)), int(rng.integers(1, 13))
    serial = _wavy("SN ", rng)
    kind = stage.spec.kind.value.upper()
    tall = min(4.2, 1.45 * (width - 8) / max(len(kind), 8))
    lines = [
        (4, 3.2, tall, kind),
        (4, 10.5, 2.7, serial),
        (4, 15.2, 2.7, f"MADE {year}-{month:02d}"),
        (4, 19.9, 2.7, "LENGTH 1.8 m   1 USER"),
        (4, 24.6, 2.3, "POLYESTER  MAX 140 kg"),
        (4, 29.0, 2.0, "READ THE INSTRUCTIONS BEFORE USE"),
    ]
    picture = sheet(width, height, lines)
    pen = ImageDraw.Draw(picture)
    d = _DOTS
    pen.line((3 * d, 9.2 * d, (width - 3) * d, 9.2 * d), fill=(26, 28, 34), width=int(0.4 * d))
    pen.rectangle((1.6 * d, 1.6 * d, (width - 1.6) * d, (height - 1.6) * d), outline=(26, 28, 34), width=int(0.35 * d))
    cells = 11
    side = 0.78
    at_x, at_y = width - 4 - cells * side, 11.0
    for i in range(cells):
        for j in range(cells):
            if rng.random() < 0.5 or i in (0, cells - 1) or j in (0,):
                x, y = (at_x + i * side) * d, (at_y + j * side) * d
                pen.rectangle((x, y, x + side * d, y + side * d), fill=(26, 28, 34))
    for i in range(10):
        x = 4 + i * (width - 8) / 10
        box = (x * d, (height - 11.5) * d, (x + (width - 8) / 10) * d, (height - 4) * d)
        pen.rectangle(box, outline=(26, 28, 34), width=int(0.25 * d))
        if i < year % 5 + 2:
            pen.line((box[0] + 8, box[1] + 20, box[2] - 10, box[3] - 20), fill=(30, 50, 120), width=int(0.45 * d))
    return picture


def onto(stage: Stage, picture: Image.Image, place: Placement, width: float, height: float, window: Window) -> Array:
    """A print brought onto the plane: sRGB 0 to 1, (3, rows, columns) over a window, white where there is none."""
    k = stage.canvas.k
    source = np.asarray(picture)
    scale = min(1.0, 1.2 * k / _DOTS)
    small = cv2.resize(
        source,
        (max(4, int(source.shape[1] * scale)), max(4, int(source.shape[0] * scale))),
        interpolation=cv2.INTER_AREA,
    )
    upright = Placement(place.x, place.y, place.turn_deg)
    corners = upright.put([(-width / 2, -height / 2), (width / 2, -height / 2), (width / 2, height / 2)])
    rows, columns = small.shape[:2]
    matrix = cv2.getAffineTransform(
        np.array([[0, 0], [columns, 0], [columns, rows]], np.float32) - np.float32(0.5),
        stage.canvas.pixels(corners, window).astype(np.float32),
    )
    flat = cv2.warpAffine(
        small, matrix, (window.shape[1], window.shape[0]), flags=cv2.INTER_LINEAR, borderValue=(255, 255, 255)
    )
    return np.stack(cv2.split(flat)).astype(np.float32) / np.float32(255)


def tag(stage: Stage, place: Placement, width: float, height: float, worn: float, harmed: bool) -> Array:
    """A sewn cloth label with a maker's print; returns its outline. `harmed` wears the print off and records it."""
    canvas, rng = stage.canvas, stage.rng
    outline = place.put(rounded_box(width, height, 1.2))
    window = canvas.window(outline, 1.0)
    if window is None:
        return outline
    shape, k = window.shape, canvas.k
    alpha = canvas.polygon(outline, window)
    ink = onto(stage, maker_label(stage, *_FULL), place, width, height, window)
    rub = np.clip(fractal(rng, shape, 7 * k, 4) * np.float32(0.9) - np.float32(1.7 - 1.2 * worn), 0, 1)
    if harmed:
        asked = stage.damage(Category.LABEL)[0]
        share = stage.size(asked.share, 0.55, 0.9)
        field = fractal(rng, shape, 13 * k, 4)
        solid = alpha > 0.5
        edge = np.float32(np.quantile(field[solid], 1 - share))
        gone = np.clip((field - edge) / np.float32(0.25) + np.float32(0.5), 0, 1)
        rub = np.maximum(rub, gone)
        stage.record(
            Category.LABEL,
            "polygon",
            outline,
            [outline],
            Component.LABEL,
            (window, alpha),
            share=float(gone[solid].mean()),
        )
    ink = ink + rub * (1 - ink) * np.float32(0.93)
    paper = linear((226, 224, 214)) * (
        1 - np.float32(0.12 + 0.3 * worn) * np.clip(fractal(rng, shape, 15 * k, 4), 0, 1.6)
    )
    if harmed:
        smear = np.clip(fractal(rng, shape, 9 * k, 3, (2.5, 0.7)) - np.float32(0.1), 0, 1.4)
        paper = paper * (1 - np.float32(0.5) * smear * hue(0.8, 0.95, 1.1))
    crease = canvas.blur(-np.abs(cloud(rng, shape, (24 * k, 30 * k))), 0.5) * np.float32(1.4 * worn + 0.4)
    thread = np.float32(0.012) * cloud(rng, shape, (0.5 * k, 0.3 * k))
    canvas.shadow(alpha, window, 0.5, 0.5)
    canvas.lay(alpha, paper * (ink * ink) * canvas.matte((crease + thread).astype(np.float32)), window)
    return outline


def label_view(stage: Stage) -> None:
    """A maker's label sewn onto a strap."""
    rng = stage.rng
    angle = float(rng.uniform(-12, 12))
    path = straight(0, 0, angle, 260)
    width = max(stage.spec.webbing_width_mm, 44.0) + 12
    strap = webbing(stage, path, width, bands=False)
    if strap is not None:
        lay(stage, strap)
    place = Placement(float(rng.uniform(-3, 3)), float(rng.uniform(-2, 2)), angle + float(rng.uniform(-2, 2)))
    harmed = bool(stage.damage(Category.LABEL))
    wide, high = 74.0, 48.0
    outline = tag(stage, place, wide, high, float(rng.uniform(0.05, 0.4)) + (0.5 if harmed else 0), harmed)
    for x in (-wide / 2 + 1.3, wide / 2 - 1.3):
        sew(stage, row(place.put([(x, -high / 2 + 1)])[0], place.put([(x, high / 2 - 1)])[0], 2.8), 0.32)
    stage.know("label width", wide, place.put([(-wide / 2, 0)])[0], place.put([(wide / 2, 0)])[0])
    stage.region(Component.LABEL, "print", outline)


def flag_view(stage: Stage) -> None:
    """A fall indicator: strap folded into a pleat and tacked; torn open it shows its warning flag."""
    rng = stage.rng
    angle = float(rng.uniform(-12, 12))
    path = straight(0, 0, angle, 320)
    strap = webbing(stage, path, stage.spec.webbing_width_mm)
    if strap is None:
        return
    lay(stage, strap)
    width, middle = stage.spec.webbing_width_mm, path.length / 2
    open_ = bool(stage.damage(Category.DEPLOYED_ABSORBER, Category.OTHER))
    if not open_:
        upper = webbing(stage, path.part(middle - 26, middle + 22), width, lift=2.6)
        if upper is not None:
            near = np.minimum(upper.coordinates.u, np.float32(48) - upper.coordinates.u)
            upper.height += np.float32(1.6) * np.sqrt(np.maximum(1 - (1 - np.clip(near / 2.5, 0, 1)) ** 2, 0))
            lay(stage, upper)
        for u in (middle - 17, middle - 8, middle + 4, middle + 13):
            sew(stage, zigzag(path.at(u, -width / 2 + 5), path.at(u, width / 2 - 5), 2.6, 0.95), 0.4)
        stage.know("webbing width", width, path.at(middle - 48, -width / 2), path.at(middle - 48, width / 2))
        return
    flag = np.vstack(
        [
            path.at(np.array([middle - 20, middle + 24]), -width / 2 + 4),
            path.at(np.array([middle + 24, middle - 20]), width / 2 - 4),
        ]
    )
    window = stage.canvas.window(flag, 2.0)
    if window is not None:
        print_ = sheet(
            44, width - 8, [(5, (width - 8) / 2 - 7.5, 5.5, "IMPACT"), (5, (width - 8) / 2 + 1, 4.2, "TAKE OUT")]
        )
        at = path.at(middle + 2.0)
        ink = onto(stage, print_, Placement(float(at[0]), float(at[1]), angle), 44, width - 8, window)
        alpha = stage.canvas.polygon(flag, window)
        paper = linear((226, 44, 30)) + (1 - ink) * (linear((250, 246, 236)) - linear((226, 44, 30)))
        wave = fractal(rng, window.shape, 18 * stage.canvas.k, 2) * np.float32(0.7)
        stage.canvas.shadow(alpha, window, 0.6, 0.5)
        stage.canvas.lay(alpha, paper * stage.canvas.matte(stage.canvas.blur(wave, 1.5)), window)
    lines = []
    for u in (middle - 22, middle + 26):
        for _ in range(34):
            place = path.at(u, float(rng.uniform(-width / 2 + 4, width / 2 - 4)))
            lines.append(np.cumsum(np.vstack([place, rng.normal(0, 1.1, (5, 2))]), axis=0))
    near_all = stage.canvas.window(np.vstack(lines), 2.0)
    if near_all is not None:
        stage.canvas.threads(lines, 0.5, stage.thread * 0.9, near_all, 1.0, 0.4)
    category = stage.damage(Category.DEPLOYED_ABSORBER, Category.OTHER)[0].category
    stage.record(category, "polygon", flag, [flag], Component.INDICATOR, length_mm=44.0)
    stage.know("webbing width", width, path.at(middle - 52, -width / 2), path.at(middle - 52, width / 2))
