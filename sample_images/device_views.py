"""Views of rope grabs and self-retracting lifelines."""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from inspect_core.domain.gear import Component
from inspect_core.domain.marks import Category
from sample_images.canvas import hue, linear
from sample_images.hardware import Part, Placement, circle, rounded_box, softened
from sample_images.hardware_views import around, bend_of, finish, harm_part, placement, write_bend, write_body
from sample_images.label import onto, sheet
from sample_images.metal import FINISHES, Body, lay_metal, start
from sample_images.noise import fractal
from sample_images.rope import fibre_rope
from sample_images.rope_views import wire_line
from sample_images.spec import Array
from sample_images.stage import Stage
from sample_images.strip import arc, curve
from sample_images.weave import lay, webbing

C, P = Category, Component


def _engrave(
    stage: Stage,
    body: Body,
    picture: Image.Image,
    place: Placement,
    size: tuple[float, float],
    rub: Array | None,
    dark: float = 0.55,
) -> None:
    """Cut a black-on-white drawing into the metal; `rub` 0 to 1 wears it off."""
    ink = 1 - onto(stage, picture, place, size[0], size[1], body.window).mean(axis=0)
    if rub is not None:
        ink = ink * (1 - rub)
    body.dent(stage.canvas, np.float32(-0.22) * stage.canvas.blur(ink, 0.12))
    body.coat(ink * np.float32(dark), hue(0.02, 0.02, 0.02), 0.9)


def _arrow() -> Image.Image:
    """The arrow that points to the anchor, with its word."""
    picture = Image.new("RGB", (240, 480), (255, 255, 255))
    pen = ImageDraw.Draw(picture)
    pen.polygon([(120, 10), (225, 150), (160, 150), (160, 330), (80, 330), (80, 150), (15, 150)], fill=(0, 0, 0))
    pen.text((120, 350), "UP", fill=(0, 0, 0), font=ImageFont.load_default(92), anchor="ma")
    return picture


def grab(stage: Stage) -> None:
    """A rope grab on its rope: body, cam lever, engraved arrow. The rope runs upright, the anchor above."""
    canvas, rng = stage.canvas, stage.rng
    place = placement(stage, -8, 0, spread=9)
    place = Placement(place.x, place.y, place.turn_deg)
    d = stage.spec.rope_diameter_mm
    rope = fibre_rope(stage, place.path([(0.0, -180.0), (0.0, 180.0)][::-1]), d, laid=bool(rng.random() < 0.4))
    body = start(canvas, place.put([(-44, -60), (60, -60), (60, 60), (-44, 60)]), 4, 7.0)
    if rope is None or body is None:
        return
    back: Array = place.put(
        [(-20, -48), (16, -48), (24, -40), (30, -10), (30, 20), (22, 46), (14, 50), (-18, 50), (-26, 42), (-26, -40)]
    )
    metal = finish(stage, "aluminium", "blue anodised", "orange anodised", "stainless")
    under = start(canvas, back, 4, 6.0)
    if under is not None:
        under.plate(canvas, softened(back), 3.0)
        lay_metal(stage, under, FINISHES[metal])
    lay(stage, rope)
    stage.know("rope diameter", d, rope.path.at(108.0, -d / 2), rope.path.at(108.0, d / 2))
    bent = bend_of(stage, 2, 4)
    stuck = stage.damage(C.MOVING_PART)
    swing = float(rng.uniform(24, 38)) if stuck else 0.0
    worn = stage.damage(C.WEAR) if stage.spec.component is P.CAM else []
    _cam(stage, body, place, d, swing, bool(worn))
    cheek = place.put(
        [
            (-25, -46),
            (-6, -46),
            (-2 - bent, -38),
            (-1, -12),
            (-5, 8),
            (-2, 34),
            (-6, 48),
            (-20, 50),
            (-27, 42),
            (-28, -38),
        ]
    )
    body.plate(canvas, softened(cheek), 2.6, drop=1.5)
    for x, y in ((-17.0, -38.0), (-17.0, 40.0)):
        body.plate(canvas, place.put(circle(x, y, 3.4)), 1.7, drop=0.5)
    _mark_arrow(stage, body, place)
    spots = {
        "rust": place.put([(-14.0, 22.0)])[0],
        "wear": place.put([(9.0, 4.0)])[0],
        "crack": place.put([(-14.0, -27.0)])[0],
    }
    if stage.spec.component is P.CAM:
        spots["rust"] = place.put([(17.0, 8.0)])[0]
    part = Part(body, spots, {"crack": float(np.deg2rad(place.turn_deg + 10))})
    if stage.spec.component is not P.DIRECTION_ARROW:
        harm_part(stage, part)
    lay_metal(stage, body, FINISHES[metal])
    write_body(stage, stage.spec.component if stage.spec.component is not P.LABEL else P.HOUSING, body)
    if stuck:
        ring = around(place.put([(22.0, 8.0)])[0], 22.0)
        stage.record(C.MOVING_PART, "polygon", ring, [ring], P.CAM, angle_deg=swing)
    write_bend(stage, place.put([(-2.0, -38.0)])[0], bent, 10.0)


def _cam(stage: Stage, body: Body, place: Placement, d: float, swing: float, worn: bool) -> None:
    """The toothed cam and its lever with the eye for the connector."""
    canvas = stage.canvas
    pivot = np.array([20.0, -8.0])
    angle = np.deg2rad(-swing)
    spin = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])

    def own(points: Array) -> Array:
        return place.put((np.asarray(points, float) - pivot) @ spin.T + pivot)

    tooth = 0.35 if worn else 1.5
    ys = np.linspace(-20, 18, 23)
    face = np.stack([d / 2 - 1.0 + 0.012 * (ys + 2) ** 2 + tooth * (np.arange(23) % 2), ys], axis=1)
    lever = [(14, 22), (24, 28), (40, 36), (50, 34), (54, 24), (46, 14), (32, 4), (30, -12), (24, -20), (14, -24)]
    outline = np.vstack([face, curve([(float(x), float(y)) for x, y in lever]).points])
    eye = own(circle(44.0, 25.0, 6.2))
    body.plate(canvas, own(outline), 3.0, (eye,), drop=1.6)
    body.plate(canvas, own(circle(20.0, -8.0, 5.0)), 2.2, drop=0.6)


def _mark_arrow(stage: Stage, body: Body, place: Placement) -> None:
    canvas, rng = stage.canvas, stage.rng
    spot = place.put([(-14.5, 0.0)])[0]
    size = (13.0, 26.0)
    rub = None
    asked = stage.damage(C.WEAR, C.LABEL) if stage.spec.component is P.DIRECTION_ARROW else []
    outline = Placement(float(spot[0]), float(spot[1]), place.turn_deg).put(rounded_box(size[0] + 2, size[1] + 2, 2))
    if asked:
        share = stage.size(asked[0].share, 0.6, 0.92)
        field = fractal(rng, body.window.shape, 9 * canvas.k, 4)
        area = canvas.polygon(outline, body.window)
        edge = np.float32(np.quantile(field[area > 0.5], 1 - share))
        rub = np.clip((field - edge) / np.float32(0.3) + np.float32(0.5), 0, 1)
        gone = float(rub[area > 0.5].mean())
        stage.record(
            asked[0].category,
            "polygon",
            outline,
            [outline],
            P.DIRECTION_ARROW,
            (body.window, area * body.alpha),
            share=gone,
        )
        body.coat(rub * area * np.float32(0.45), hue(0.5, 0.5, 0.49), 0.6)
    _engrave(stage, body, _arrow(), Placement(float(spot[0]), float(spot[1]), place.turn_deg), size, rub)
    stage.region(P.DIRECTION_ARROW, "print", outline)


def retractor(stage: Stage) -> None:
    """A self-retracting lifeline's housing: ribs, screws, swivel eye, label, mouth with the line."""
    canvas, rng = stage.canvas, stage.rng
    place = placement(stage, spread=9)
    line = place.path([(92.0, 6.0), (260.0, 10.0 + float(rng.uniform(-20, 20)))])
    if rng.random() < 0.5:
        wire_line(stage, line, 5.0)
    else:
        strap = webbing(stage, line, 25.0)
        if strap is not None:
            lay(stage, strap)
    eye = start(canvas, place.put([(-150, -30), (-70, -30), (-70, 30), (-150, 30)]), 3, 5.0)
    if eye is not None:
        eye.tube(canvas, place.path(arc(-114.0, 0.0, 17.0, 0, 360)), 5.0)
        eye.tube(canvas, place.path([(-98.0, 0.0), (-70.0, 0.0)]), 8.0, flat=0.6)
        if stage.spec.component in (P.SNAP_HOOK,):
            harm_part(
                stage, Part(eye, {"rust": place.put([(-114.0, 16.0)])[0], "wear": place.put([(-128.0, 0.0)])[0]}, {})
            )
        lay_metal(stage, eye, FINISHES["zinc"])
    shell = start(canvas, place.put([(-90, -75), (105, -75), (105, 75), (-90, 75)]), 4, 12.0)
    if shell is None:
        return
    bent = bend_of(stage, 3, 6)
    outline: Array = place.put(
        [
            (-74, -30),
            (-60, -54),
            (-30, -66),
            (14, -66 + bent),
            (44, -60),
            (70, -40),
            (84, -14),
            (98, -8),
            (98, 18),
            (84, 22),
            (68, 42),
            (44, 60),
            (14, 66),
            (-30, 66),
            (-60, 54),
            (-74, 30),
        ]
    )
    smooth = curve([(float(x), float(y)) for x, y in outline], closed=True).points
    shell.plate(canvas, smooth, 9.0)
    shell.plate(canvas, place.put(circle(2.0, 0.0, 47.0)), 3.0, drop=0.8)
    for turn in (*range(0, 150, 30), *range(240, 360, 30)):
        way = np.array([np.cos(np.deg2rad(turn)), np.sin(np.deg2rad(turn))])
        rib = np.stack([way * 34, way * 44]) + np.array([2.0, 0.0])
        shell.tube(canvas, place.path(rib), 1.9, flat=0.8, drop=0.5)
    for x, y in ((-52.0, -38.0), (-52.0, 38.0), (50.0, -44.0), (50.0, 44.0), (84.0, 5.0)):
        shell.plate(canvas, place.put(circle(x, y, 4.2)), 1.8, drop=0.6)
        slot = float(rng.uniform(0, 180))
        for turned in (slot, slot + 90.0):
            at = place.put([(x, y)])[0]
            bar = Placement(float(at[0]), float(at[1]), turned).put(rounded_box(5.2, 0.9, 0.2))
            shell.coat(canvas.polygon(bar, shell.window) * np.float32(0.85), hue(0.02, 0.02, 0.02))
    tint = finish(stage, "grey plastic", "red plastic", "yellow plastic", "aluminium")
    _panel(stage, shell, place)
    _window_of_load(stage, shell, place)
    part = Part(
        shell,
        {
            "rust": place.put([(70.0, 10.0)])[0],
            "wear": place.put([(-40.0, 40.0)])[0],
            "crack": place.put([(-42.0, -44.0)])[0],
        },
        {"crack": float(np.deg2rad(place.turn_deg + 40))},
    )
    if stage.spec.component in (P.HOUSING, P.BRAKE, P.BODY):
        harm_part(stage, part)
        for damage in stage.damage(C.MOVING_PART):
            ring = around(place.put([(96.0, 5.0)])[0], 16.0)
            stage.record(damage.category, "polygon", ring, [ring], P.BRAKE)
    lay_metal(stage, shell, FINISHES[tint], 0.5)
    write_body(stage, P.HOUSING, shell)
    write_bend(stage, place.put([(14.0, -66.0 + bent)])[0], bent, 16.0)
    stage.know("housing disc diameter", 94.0, place.put([(2.0, -47.0)])[0], place.put([(2.0, 47.0)])[0])


def _panel(stage: Stage, shell: Body, place: Placement) -> None:
    """The printed plate in the middle of the housing."""
    width, height = 54.0, 34.0
    at = place.put([(2.0, 0.0)])[0]
    spot = Placement(float(at[0]), float(at[1]), place.turn_deg)
    serial = "".join(str(int(v)) for v in stage.rng.integers(0, 10, 6))
    lines = [
        (4, 3, 3.3, "SELF-RETRACTING"),
        (4, 8.5, 3.3, "LIFELINE   6 m"),
        (4, 16, 2.6, f"SN {serial}"),
        (4, 21, 2.6, "1 USER  MAX 140 kg"),
        (4, 26, 2.3, "LOCK TEST BEFORE USE"),
    ]
    print_ = onto(stage, sheet(width, height, lines), spot, width, height, shell.window)
    area = stage.canvas.polygon(spot.put(rounded_box(width, height, 3)), shell.window)
    colour = linear((222, 220, 210)) * print_ ** np.float32(2.0)
    shell.coat(area, colour.astype(np.float32), 0.95)


def _window_of_load(stage: Stage, shell: Body, place: Placement) -> None:
    """The load indicator: a green field, red once the line has taken a fall."""
    asked = stage.damage(C.DEPLOYED_ABSORBER, C.OTHER) if stage.spec.component is P.INDICATOR else []
    at = place.put([(-60.0, 0.0)])[0]
    spot = Placement(float(at[0]), float(at[1]), place.turn_deg)
    rim = spot.put(rounded_box(15, 24, 3))
    shell.plate(stage.canvas, rim, 1.6, drop=0.6)
    field = spot.put(rounded_box(10, 19, 1.6))
    mask = stage.canvas.polygon(field, shell.window)
    shell.coat(mask, linear((212, 26, 22)) if asked else linear((44, 150, 70)), 0.9)
    if asked:
        stage.record(
            asked[0].category, "polygon", field, [field], P.INDICATOR, (shell.window, mask * shell.alpha), share=1.0
        )
    stage.region(P.INDICATOR, "print", field)
