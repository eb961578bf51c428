"""Views of ropes, wire ropes and their ends."""

from __future__ import annotations

import numpy as np

from inspect_core.domain.gear import Component
from inspect_core.domain.marks import Category
from sample_images import damage as harm
from sample_images import metal_damage
from sample_images.canvas import hue
from sample_images.hardware import Part, Placement, thimble
from sample_images.metal import FINISHES, lay_metal, start
from sample_images.rope import fibre_rope, wire_rope
from sample_images.spec import Array
from sample_images.stage import Stage
from sample_images.stitching import sew, unpick, zigzag
from sample_images.strip import Path, curve
from sample_images.weave import Strap, lay

C, P = Category, Component
_CLOTH = (C.CUT, C.BURN, C.FRAY, C.ABRASION, C.DISCOLOURATION, C.CHEMICAL)


def _laid(stage: Stage) -> bool:
    """Whether this item's rope is three-strand: a steady property of the picture's seed."""
    return stage.spec.view.endswith("laid") or (
        not stage.spec.view.endswith("braided") and bool(stage.rng.random() < 0.4)
    )


def _write_rope(stage: Stage, rope: Strap, u: float, material: str) -> None:
    d = 2 * rope.half
    stage.know("rope diameter", d, rope.path.at(u, -rope.half), rope.path.at(u, rope.half))
    us = np.linspace(0, rope.path.length, 40)
    outline = np.vstack([rope.path.at(us, -rope.half), rope.path.at(us[::-1], rope.half)])
    component = P.WIRE_ROPE if material == "wire rope" else P.ROPE
    stage.region(component, material, outline)


def _wavy(stage: Stage, reach: float, sway: float) -> Path:
    """A rope's easy line across the view."""
    rng = stage.rng
    xs = np.linspace(-reach, reach, 7)
    turn = float(rng.uniform(-0.25, 0.25))
    ys = sway * np.sin(xs / reach * 2.1 + rng.uniform(0, 6)) + turn * xs
    ys -= ys[3] + rng.uniform(-4, 4)
    return curve([(float(x), float(y)) for x, y in zip(xs, ys, strict=True)])


def rope_section(stage: Stage) -> None:
    """A stretch of fibre rope, with a second stretch beside it."""
    rng = stage.rng
    d = stage.spec.rope_diameter_mm
    laid = _laid(stage)
    beside = _wavy(stage, 130, 10)
    shift = float(rng.choice([-1, 1])) * (d * 2.6 + float(rng.uniform(0, 9)))
    second = fibre_rope(stage, Path(beside.points + np.array([0.0, shift])), d, laid)
    if second is not None:
        lay(stage, second)
    rope = fibre_rope(stage, _wavy(stage, 130, 7), d, laid)
    if rope is None:
        return
    middle = rope.path.length / 2
    harm_rope(stage, rope, middle)
    lay(stage, rope)
    _hair(stage, rope, middle)
    harm.finish(stage, rope)
    _write_rope(stage, rope, middle + 26 + float(rng.uniform(0, 14)), "rope")


def harm_rope(stage: Stage, rope: Strap, u: float) -> None:
    """Apply the cloth damage asked for, sized for a rope, before it is laid."""
    rng = stage.rng
    d = 2 * rope.half
    for damage in stage.damage(*_CLOTH):
        side = 1.0 if rng.random() < 0.5 else -1.0
        v = float(rng.uniform(-0.2, 0.2)) * d
        if damage.category is C.CUT:
            harm.cut(stage, rope, damage, u, side)
        elif damage.category is C.FRAY:
            harm.fray(stage, rope, damage, u, side)
        elif damage.category is C.BURN:
            harm.burn(stage, rope, harm.sized(damage, 3.0 * d, 8.0 * d, rng), u, v)
        elif damage.category is C.ABRASION:
            harm.abrasion(stage, rope, harm.sized(damage, 8.0 * d, 16.0 * d, rng), u, 0.0)
        else:
            harm.stain(stage, rope, harm.sized(damage, 8.0 * d, 18.0 * d, rng), u, 0.0)


def _hair(stage: Stage, rope: Strap, middle: float) -> None:
    """Single filaments along a used rope."""
    rng = stage.rng
    lines = []
    for _ in range(90):
        u, side = middle + rng.uniform(-110, 110), rng.choice([-1.0, 1.0])
        reach, lean = rng.uniform(0.3, 1.4), rng.uniform(-1.5, 1.5)
        lines.append(
            rope.path.at(u + np.array([0, 0.5, 1]) * lean, side * (rope.half - 0.3 + np.array([0, 0.7, 1]) * reach))
        )
    stage.canvas.threads(lines, 0.09, stage.cloth * 0.9 + 0.06, rope.window, 0.6)


def rope_knot(stage: Stage) -> None:
    """An overhand knot that has no business in the line."""
    rng, d = stage.rng, stage.spec.rope_diameter_mm
    laid = _laid(stage)
    s = d / 12.0
    place = Placement(float(rng.uniform(-4, 4)), float(rng.uniform(-4, 4)), float(rng.uniform(-20, 20)))
    controls = [
        (-140, 6),
        (-60, 4),
        (-22, 3),
        (4, -9),
        (19, -3),
        (12, 13),
        (-6, 15),
        (-17, 2),
        (-8, -14),
        (10, -14),
        (17, 1),
        (38, 3),
        (80, -3),
        (150, 2),
    ]
    path = place.smooth([(x * (s if abs(x) < 50 else 1), y * s) for x, y in controls])
    whole = path.length
    for u0, u1 in (
        (0.0, whole),
        (0.505 * whole, 0.56 * whole),
        (0.42 * whole, 0.47 * whole),
        (0.575 * whole, 0.62 * whole),
    ):
        piece = fibre_rope(stage, path.part(u0, min(u1, whole)), d, laid)
        if piece is not None:
            lay(stage, piece)
            if u0 == 0.0:
                _write_rope(stage, piece, 0.2 * whole, "rope")
    ring = place.put(
        np.stack([24 * s * np.cos(a := np.linspace(0, 2 * np.pi, 24, endpoint=False)), 22 * s * np.sin(a)], axis=1)
    )
    stage.record(C.KNOT_OR_SPLICE, "polygon", ring, [ring], count=1)


def eye_of_rope(stage: Stage, place: Placement, wire: bool = False, long: float = 200.0) -> Part | None:
    """A rope's end: loop around a thimble, then ferrule (wire) or sewn join (fibre), the rope going off to the left.

    The eye's middle is at the placement's own (0, 0). Damage to thimble and termination is drawn here.
    """
    canvas, rng = stage.canvas, stage.rng
    d = min(stage.spec.rope_diameter_mm, 8.0 if wire else 13.0)
    grow = d / 2
    loop = [
        (-52, -d * 0.52),
        (-38, -5.5),
        (-24, -9.5 - 0.3 * grow),
        (-6, -18.5 - grow * 0.2),
        (10, -17.0 - grow * 0.2),
        (19.5 + grow * 0.2, 0),
        (10, 17.0 + grow * 0.2),
        (-6, 18.5 + grow * 0.2),
        (-24, 9.5 + 0.3 * grow),
        (-38, 5.5),
        (-52, d * 0.52),
        (-92, d * 0.52),
    ]
    standing = place.path([(-long, -d * 0.52), (-51.0, -d * 0.52)])
    path = place.smooth([(float(x), float(y)) for x, y in loop])
    laid = _laid(stage) if not wire else False
    for piece in (standing, path):
        if wire:
            drawn = wire_rope(stage, piece, d)
            line = drawn[0] if drawn else None
        else:
            line = fibre_rope(stage, piece, d, laid)
        if line is not None:
            if piece is standing and stage.spec.component is P.TERMINATION and not wire:
                for damage in stage.damage(C.FRAY):
                    harm.fray(stage, line, damage, piece.length - 50, -1.0)
            if wire:
                canvas.shadow(line.alpha, line.window, line.lift)
                canvas.lay(line.alpha, line.albedo, line.window)
            else:
                lay(stage, line)
            if piece is standing:
                harm.finish(stage, line)
                _write_rope(stage, line, long - 100.0, "wire rope" if wire else "rope")
    asked = stage.damage(C.DEFORMATION) if stage.spec.component is P.THIMBLE else []
    bent = stage.size(asked[0].depth_mm, 3, 6) if asked else 0.0
    part = thimble(canvas, place, 0.62 * grow + 2.2, bent)
    if part is not None:
        if stage.spec.component is P.THIMBLE:
            _harm_metal(stage, part, P.THIMBLE)
        lay_metal(stage, part.body, FINISHES["zinc" if rng.random() < 0.7 else "stainless"])
        if bent:
            ring = place.put(
                [(14 + 9 * np.cos(t), -9 + 9 * np.sin(t)) for t in np.linspace(0, 2 * np.pi, 20, endpoint=False)]
            )
            stage.record(C.DEFORMATION, "polygon", ring, [ring], P.THIMBLE, deflection_mm=bent)
    (_ferrule if wire else _sewn_join)(stage, place, d)
    return part


def _harm_metal(stage: Stage, part: Part, component: Component) -> None:
    for damage in stage.damage(C.RUST):
        metal_damage.rust(stage, part.body, damage, part.spots["rust"], component)
    for damage in stage.damage(C.WEAR):
        metal_damage.wear(stage, part.body, damage, part.spots["wear"], component)
    for damage in stage.damage(C.CRACK):
        metal_damage.crack(stage, part.body, damage, part.spots["crack"], part.headings["crack"], component)


def _ferrule(stage: Stage, place: Placement, d: float) -> None:
    """A pressed sleeve over both parts of a wire rope."""
    body = start(stage.canvas, place.put([(-82, -16), (-46, -16), (-46, 16), (-82, 16)]), 3, 4.0)
    if body is None:
        return
    body.tube(stage.canvas, place.path([(-80.0, 0.0), (-50.0, 0.0)]), 1.35 * d, flat=0.75, drop=0.0)
    for x in (-75.0, -68.0, -61.0, -54.0):
        body.tube(stage.canvas, place.path([(x, -1.25 * d), (x, 1.25 * d)]), 1.7, flat=0.5, drop=0.1)
    turn = np.deg2rad(place.turn_deg)
    part = Part(
        body,
        {
            "rust": place.put([(-58.0, 3.0)])[0],
            "wear": place.put([(-66.0, 0.0)])[0],
            "crack": place.put([(-65.0, -2.0)])[0],
        },
        {"crack": float(turn) + 0.1},
    )
    if stage.spec.component is P.TERMINATION:
        _harm_metal(stage, part, P.TERMINATION)
        if stage.damage(C.BROKEN_WIRE):
            broken_wires(stage, place.path([(-200.0, -d * 0.52), (-81.0, -d * 0.52)]), d, 112.0)
    lay_metal(stage, body, FINISHES["aluminium"], 0.7)


def _sewn_join(stage: Stage, place: Placement, d: float) -> None:
    """Both parts of a fibre rope sewn together."""
    stitches = zigzag(place.put([(-88.0, 0.0)])[0], place.put([(-44.0, 0.0)])[0], 1.7 * d, 1.25)
    asked = stage.damage(C.BROKEN_STITCH) if stage.spec.component is P.TERMINATION else []
    count = (asked[0].count or int(stage.rng.integers(3, 8))) if asked else 0
    first = int(stage.rng.integers(8, max(9, len(stitches) - count - 6)))
    sew(stage, stitches[:first] + stitches[first + count :], 0.45)
    if count:
        gone = stitches[first : first + count]
        unpick(stage, gone, 0.45)
        ends = np.array([s.a for s in gone] + [gone[-1].b])
        low, high = ends.min(axis=0) - 0.6, ends.max(axis=0) + 0.6
        box = np.array([[low[0], low[1]], [high[0], low[1]], [high[0], high[1]], [low[0], high[1]]])
        stage.record(C.BROKEN_STITCH, "polygon", box, [box], P.TERMINATION, count=count)


def rope_end(stage: Stage) -> None:
    """The end of a rope: thimble and termination."""
    eye_of_rope(
        stage,
        Placement(
            42 + float(stage.rng.uniform(-4, 4)), float(stage.rng.uniform(-4, 4)), float(stage.rng.uniform(-14, 14))
        ),
    )


def wire_end(stage: Stage) -> None:
    """The end of a wire rope: thimble and ferrule."""
    eye_of_rope(
        stage,
        Placement(
            42 + float(stage.rng.uniform(-4, 4)), float(stage.rng.uniform(-4, 4)), float(stage.rng.uniform(-14, 14))
        ),
        wire=True,
    )


def wire_line(stage: Stage, path: Path, d: float, rusty: bool = False) -> Strap | None:
    """A wire rope along a path, laid, with rust where asked."""
    drawn = wire_rope(stage, path, d)
    if drawn is None:
        return None
    rope, _ = drawn
    if rusty:
        for damage in stage.damage(C.RUST):
            metal_damage.rust_rope(stage, rope, damage)
    stage.canvas.shadow(rope.alpha, rope.window, rope.lift)
    stage.canvas.lay(rope.alpha, rope.albedo, rope.window)
    return rope


def wire_section(stage: Stage) -> None:
    """A stretch of wire rope."""
    rng = stage.rng
    d = min(stage.spec.rope_diameter_mm, 10.0)
    path = _wavy(stage, 120, 4)
    bent = stage.damage(C.DEFORMATION)
    if bent:
        kink = stage.size(bent[0].depth_mm, 7, 13)
        points = path.points.copy()
        points[:, 1] += kink * np.exp(-((points[:, 0] / 11) ** 2)) - 0.5 * kink * np.exp(
            -(((points[:, 0] - 17) / 9) ** 2)
        )
        path = Path(points)
        middle = path.at(path.length / 2)
        ring = middle + np.stack(
            [22 * np.cos(t := np.linspace(0, 2 * np.pi, 24, endpoint=False)), (kink + 6) * np.sin(t)], axis=1
        )
        stage.record(C.DEFORMATION, "polygon", ring, [ring], deflection_mm=kink)
    rope = wire_line(stage, path, d, rusty=True)
    if rope is None:
        return
    for damage in stage.damage(C.BROKEN_WIRE):
        broken_wires(stage, path, d, path.length / 2, damage.count)
    _write_rope(stage, rope, path.length / 2 + 30 + float(rng.uniform(0, 10)), "wire rope")


def broken_wires(stage: Stage, path: Path, d: float, u: float, count: int | None = None) -> None:
    """Single wires sprung out of a wire rope around length u."""
    rng, canvas = stage.rng, stage.canvas
    number = count or int(rng.integers(2, 7))
    lines, places = [], []
    for _ in range(number):
        u0 = u + float(rng.uniform(-9, 9))
        v0 = float(rng.uniform(-0.4, 0.4)) * d
        side = 1.0 if v0 > 0 else -1.0
        reach, lean = float(rng.uniform(3.0, 8.0)), float(rng.choice([-1, 1])) * float(rng.uniform(3, 8))
        t = np.linspace(0, 1, 9)
        lines.append(path.at(u0 + lean * t, v0 + side * reach * t**1.6))
        places.append(lines[-1])
    window = canvas.window(np.vstack(places), 4.0)
    if window is None:
        return
    wide = 0.075 * d
    canvas.threads(lines, wide * 1.5, hue(0.05, 0.05, 0.05), window, 0.9, 1.4)
    canvas.threads(lines, wide, hue(0.42, 0.42, 0.42), window, 1.0)
    canvas.threads([line - (0.03 * d, 0.03 * d) for line in lines], wide * 0.4, hue(0.9, 0.9, 0.9), window, 0.9)
    points: Array = np.vstack(places)
    low, high = points.min(axis=0) - 0.8, points.max(axis=0) + 0.8
    box = np.array([[low[0], low[1]], [high[0], low[1]], [high[0], high[1]], [low[0], high[1]]])
    stage.record(C.BROKEN_WIRE, "polygon", box, [box], count=number)
