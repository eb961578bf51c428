"""From a scene to a picture with its truth."""

from __future__ import annotations

import io
import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from sample_images.backgrounds import lay_ground
from sample_images.camera import canvas_for, expose, homography, project
from sample_images.canvas import Canvas, linear
from sample_images.scene import VIEWS
from sample_images.spec import Array, Camera, FlatItem, SceneSpec
from sample_images.stage import CLOTH, Stage

CAPTION = "drawn, no photograph"
_MAGENTA = linear((255.0, 0.0, 255.0))
_EXIF_ORIENTATION, _EXIF_SUB, _EXIF_TAKEN, _EXIF_SOFTWARE = 0x0112, 0x8769, 0x9003, 0x0131
_FROM_SRGB = np.array([linear((v, v, v))[0, 0, 0] for v in range(256)], np.float32)
#: How an upright picture is turned before storing so that this EXIF orientation brings it back.
_TURNS = {3: Image.Transpose.ROTATE_180, 6: Image.Transpose.ROTATE_90, 8: Image.Transpose.ROTATE_270}


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """`image` is HxWx3 uint8 RGB, upright; `truth` is plain data fit for JSON."""

    image: Array
    truth: dict[str, Any]

    def to_jpeg(self, quality: int | None = None, exif: Mapping[str, Any] | None = None) -> bytes:
        """JPEG bytes. `exif` may hold `taken` (datetime, as a telephone writes it) and `orientation` (1, 3, 6 or 8).

        With an orientation other than 1 the stored pixels are turned, so a reader that applies EXIF once gets
        the upright picture back. Raises ValueError for another orientation.
        """
        options = dict(exif or {})
        orientation = int(options.get("orientation", 1))
        picture = Image.fromarray(self.image)
        if orientation != 1:
            if orientation not in _TURNS:
                raise ValueError("the orientation is 1, 3, 6 or 8")
            picture = picture.transpose(_TURNS[orientation])
        data = Image.Exif()
        data[_EXIF_ORIENTATION] = orientation
        data[_EXIF_SOFTWARE] = CAPTION
        taken = options.get("taken")
        if isinstance(taken, datetime):
            data.get_ifd(_EXIF_SUB)[_EXIF_TAKEN] = taken.strftime("%Y:%m:%d %H:%M:%S")
        out = io.BytesIO()
        wanted = int(self.truth["camera"]["jpeg_quality"]) if quality is None else quality
        picture.save(out, "JPEG", quality=wanted, subsampling="4:2:0", exif=data.tobytes())
        return out.getvalue()


def render(spec: SceneSpec, seed: int) -> Picture:
    """Draw a scene. The same spec and seed give identical pixels with the same library versions.

    Raises ValueError for an unknown view, ground or colour.
    """
    if spec.view not in VIEWS:
        raise ValueError(f"no view is called {spec.view!r}; known: {', '.join(VIEWS)}")
    if spec.colour not in CLOTH:
        raise ValueError(f"no cloth is called {spec.colour!r}; known: {', '.join(CLOTH)}")
    rng = np.random.default_rng([seed, 7])
    side = rng.uniform(0.45, 0.9) * (1 if rng.random() < 0.5 else -1)
    sun = (side, -rng.uniform(0.5, 0.9), 1.15)
    canvas = canvas_for(spec.camera, sun)
    lay_ground(canvas, spec.background, rng)
    stage = Stage(canvas, rng, spec)
    VIEWS[spec.view].paint(stage)
    if spec.steel_rule:
        stage.know("steel rule", 100.0, *_lay_rule(canvas, spec.camera))
    for flat in spec.flats:
        _lay_flat(canvas, flat)
    if spec.paint_defects:
        for window, mask in stage.masks:
            canvas.lay(np.clip(mask, 0, 1), _MAGENTA, window)
        image = expose(canvas, spec.camera, None)
    else:
        image = expose(canvas, spec.camera, rng)
    if spec.caption:
        image = _caption(image)
    return Picture(image, _truth(stage, seed))


def _lay_flat(canvas: Canvas, flat: FlatItem) -> None:
    """Paste a printed sheet, brought first to about the canvas resolution so that its detail does not alias."""
    corners = flat_corners(flat)
    window = canvas.window(corners, 3.0)
    if window is None:
        return
    sheet = flat.image if flat.image.ndim == 3 else np.repeat(flat.image[..., None], 3, axis=2)
    wanted = (max(8, round(flat.size_mm[0] * canvas.k)), max(8, round(flat.size_mm[1] * canvas.k)))
    if wanted[0] < sheet.shape[1]:
        sheet = cv2.resize(sheet, wanted, interpolation=cv2.INTER_AREA)
    rows, columns = sheet.shape[:2]
    source = np.array([[0, 0], [columns, 0], [columns, rows]], np.float32) - np.float32(0.5)
    target = canvas.pixels(corners[:3], window).astype(np.float32)
    matrix = cv2.getAffineTransform(source, target)
    size = (window.shape[1], window.shape[0])
    paper = cv2.warpAffine(sheet, matrix, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    light = np.stack([_FROM_SRGB[plane] for plane in cv2.split(paper)])
    alpha = canvas.polygon(corners, window)
    canvas.shadow(alpha, window, 0.35, 0.5)
    canvas.lay(alpha, light * np.float32(0.92), window)


def flat_corners(flat: FlatItem) -> Array:
    """Plane corners of a flat item, (4, 2): upper left, upper right, lower right, lower left of its image."""
    w, h = flat.size_mm
    turn = math.radians(flat.turn_deg)
    spin = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    box = np.array([[-w, -h], [w, -h], [w, h], [-w, h]], np.float64) / 2
    return box @ spin.T + np.asarray(flat.at_mm)  # type: ignore[no-any-return]


def _lay_rule(canvas: Canvas, camera: Camera) -> tuple[Array, Array]:
    """A steel rule along the lower side of the view, ticks every millimetre; returns its 0 and 100 mm ticks."""
    k = 12
    length, height = 115.0, 20.0
    sheet = Image.new("RGB", (int(length * k), int(height * k)), (186, 189, 192))
    pen = ImageDraw.Draw(sheet)
    font = ImageFont.load_default(int(3.4 * k))
    for mm in range(0, 111):
        x = (2.0 + mm) * k
        tall = 7.0 if mm % 10 == 0 else 5.2 if mm % 5 == 0 else 3.6
        pen.rectangle((x - 1.2, 0, x + 1.2, tall * k), fill=(24, 24, 26))
        if mm % 10 == 0:
            pen.text((x, 8.0 * k), str(mm), fill=(24, 24, 26), font=font, anchor="ma")
    pen.text((2.0 * k, 15.0 * k), "mm", fill=(24, 24, 26), font=font)
    cx, cy = camera.centre_mm
    down = camera.height / camera.px_per_mm / 2
    at = (cx, cy + down - height / 2 - 0.07 * camera.height / camera.px_per_mm)
    _lay_flat(canvas, FlatItem(np.asarray(sheet), (length, height), at))
    zero = np.array([at[0] - length / 2 + 2.0, at[1] - height / 2])
    return zero, zero + np.array([100.0, 0.0])


def _caption(image: Array) -> Array:
    """The word in the corner that says the picture is drawn."""
    picture = Image.fromarray(image)
    size = max(11, round(0.019 * max(picture.size)))
    font = ImageFont.load_default(size)
    pen = ImageDraw.Draw(picture, "RGBA")
    x, y = round(0.6 * size), picture.height - round(0.6 * size)
    left, top, right, bottom = pen.textbbox((x, y), CAPTION, font=font, anchor="ls")
    pad = size * 0.3
    pen.rectangle((left - pad, top - pad, right + pad, bottom + pad), fill=(0, 0, 0, 120))
    pen.text((x, y), CAPTION, font=font, anchor="ls", fill=(255, 255, 255, 235))
    return np.asarray(picture.convert("RGB"))


def _inside(points: Array, camera: Camera) -> bool:
    """Whether all points lie in the picture: a known length that cannot be pointed at is of no use."""
    return bool((points >= 0).all() and (points <= (camera.width, camera.height)).all())


def _plain(points: Array) -> list[list[float]]:
    return [[round(float(x), 3), round(float(y), 3)] for x, y in points]


def _truth(stage: Stage, seed: int) -> dict[str, Any]:
    spec, camera = stage.spec, stage.spec.camera
    matrix = homography(camera)

    def to_picture(points: Array) -> list[list[float]]:
        return _plain(project(matrix, points))

    return {
        "drawn": True,
        "note": "drawn by a program, no photograph",
        "seed": seed,
        "kind": spec.kind.value,
        "component": spec.component.value,
        "view": spec.view,
        "width": camera.width,
        "height": camera.height,
        "px_per_mm": camera.px_per_mm,
        "plane_homography": [[float(c) for c in line] for line in matrix],
        "known_lengths": [
            {"name": k["name"], "length_mm": k["length_mm"], "points": to_picture(k["points"])}
            for k in stage.known
            if _inside(project(matrix, k["points"]), camera)
        ],
        "defects": [
            {
                "component": d.component.value,
                "category": d.category.value,
                "shape": {"type": d.shape_type, "points": to_picture(d.points)},
                "outlines": [to_picture(o) for o in d.outlines],
                "truth": {name: round(value, 4) for name, value in d.truth.items()},
            }
            for d in stage.defects
        ],
        "regions": [
            {"component": c.value, "material": m, "shape": {"type": "polygon", "points": to_picture(o)}}
            for c, m, o in stage.regions
        ],
        "stitch_rows": [{**r, "points": to_picture(r["points"])} for r in stage.rows],
        "flats": [{"size_mm": list(f.size_mm), "corners": to_picture(flat_corners(f))} for f in spec.flats],
        "camera": {
            "tilt_deg": camera.tilt_deg,
            "tilt_axis_deg": camera.tilt_axis_deg,
            "roll_deg": camera.roll_deg,
            "view_deg": camera.view_deg,
            "blur_px": camera.blur_px,
            "noise": camera.noise,
            "jpeg_quality": camera.jpeg_quality,
            "exposure": camera.exposure,
            "white_balance": list(camera.white_balance),
            "light_gradient": camera.light_gradient,
        },
    }
