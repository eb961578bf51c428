"""Drawn photographs with the scale card and two colour patches in them, and their truth."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import cv2
import numpy as np

from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.marks import Category
from inspect_core.imaging.card_layout import HEIGHT_MM, RULE_MM, WIDTH_MM, card_png_pixels
from inspect_core.imaging.plane import Array, through
from sample_images.demo import demo_spec
from sample_images.render import render
from sample_images.spec import Camera, place_flat

_SHEET = card_png_pixels(8.0)
#: Subjects in turn: kind, component, category, view (None: as the demo chooses), mm across the picture.
SUBJECTS: tuple[tuple[Kind, Component, Category | None, str | None, float], ...] = (
    (Kind.WEBBING_LANYARD, Component.WEBBING, Category.CUT, "webbing section", 195),
    (Kind.HARNESS, Component.STITCHING, Category.BROKEN_STITCH, "sewn loop", 185),
    (Kind.VERTICAL_LIFELINE, Component.ROPE, None, None, 185),
    (Kind.WEBBING_LANYARD, Component.SNAP_HOOK, Category.RUST, "snap hook", 215),
    (Kind.SELF_RETRACTING_LIFELINE, Component.HOUSING, Category.RUST, "retractor", 300),
    (Kind.WIRE_ROPE_LANYARD, Component.WIRE_ROPE, None, "wire rope", 185),
    (Kind.WEBBING_LANYARD, Component.ENERGY_ABSORBER, None, "absorber packed", 240),
)


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """A photo and what is true of it. `to_photo` (3, 3): plane mm to photo px."""

    rgb: np.ndarray[Any, np.dtype[np.uint8]]
    truth: dict[str, Any]
    to_photo: Array
    rule_read_mm: float
    patches: tuple[tuple[int, int, int], tuple[int, int, int]]
    patch_boxes: tuple[list[list[float]], list[list[float]]]
    subject: int

    def photo(self, plane: Array) -> Array:
        """Plane mm (…, 2) to photo px."""
        return through(self.to_photo, np.asarray(plane, float))

    def plane(self, photo: Array) -> Array:
        """Photo px (…, 2) to plane mm."""
        return through(np.asarray(np.linalg.inv(self.to_photo), float), np.asarray(photo, float))


def scene(seed: int, *, px_per_mm: float = 4.5) -> Scene:
    """A photo by seed: tilt to 35 degrees, blur, noise, light and compression varied, printer not quite true."""
    rng = np.random.default_rng([seed, 23])
    subject = seed % len(SUBJECTS)
    kind, component, category, view, across = SUBJECTS[subject]
    spec = demo_spec(kind, component, category, rng)
    if view is not None:
        spec = replace(spec, view=view)
    density = px_per_mm * 190 / across
    printed = float(rng.normal(1.0, 0.012))
    card_at = (float(rng.uniform(-8, 8)), 0.315 * across + float(rng.uniform(-3, 3)))
    colours, sheet = _colours(rng)
    camera = Camera(
        width=round(across * density),
        height=round(0.93 * across * density),
        px_per_mm=density,
        tilt_deg=float(rng.uniform(0, 35)),
        tilt_axis_deg=float(rng.uniform(0, 360)),
        roll_deg=float(rng.uniform(-12, 12)),
        view_deg=float(rng.uniform(35, 65)),
        blur_px=float(rng.uniform(0.4, 1.4)),
        noise=float(rng.uniform(1.0, 6.0)),
        jpeg_quality=int(rng.integers(72, 96)),
        exposure=float(rng.uniform(0.7, 1.05)),
        white_balance=(float(rng.uniform(0.85, 1.15)), 1.0, float(rng.uniform(0.85, 1.15))),
        light_gradient=float(rng.uniform(0.0, 0.35)),
        gradient_deg=float(rng.uniform(0, 360)),
    )
    spot = (float(rng.uniform(-30, 30)), -0.39 * across)
    spec = replace(
        spec,
        camera=camera,
        caption=False,
        flats=(
            place_flat(_SHEET, (WIDTH_MM * printed, HEIGHT_MM * printed), card_at, float(rng.uniform(-6, 6))),
            place_flat(sheet, (40.0, 16.0), spot),
        ),
    )
    picture = render(spec, seed)
    done, jpeg = cv2.imencode(".jpg", picture.image[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, camera.jpeg_quality])
    assert done
    rgb = np.ascontiguousarray(cv2.imdecode(jpeg, cv2.IMREAD_COLOR)[..., ::-1])
    matrix = np.array(picture.truth["plane_homography"], float)
    boxes = tuple(
        [[spot[0] + x, spot[1] + y] for x, y in ((a, -5), (b, -5), (b, 5), (a, 5))] for a, b in ((-17, -3), (3, 17))
    )
    # The rule on this print measures 140 mm times the printer's error; somebody reads that off a steel rule.
    rule = RULE_MM * printed + float(rng.normal(0, 0.2))
    return Scene(rgb, picture.truth, matrix, rule, colours, boxes, subject)  # type: ignore[arg-type]


def _colours(rng: np.random.Generator) -> tuple[tuple[tuple[int, int, int], tuple[int, int, int]], Any]:
    """Two patch colours, from hardly to clearly different, and the sheet that shows them side by side."""
    first = rng.integers(50, 200, 3)
    second = np.clip(first + rng.normal(0, float(rng.choice([2, 6, 15])), 3), 20, 225).round().astype(int)
    sheet = np.full((160, 400, 3), 250, np.uint8)
    sheet[20:140, 15:195], sheet[20:140, 205:385] = first, second
    pair = tuple(tuple(int(c) for c in colour) for colour in (first, second))
    return pair, sheet  # type: ignore[return-value]
