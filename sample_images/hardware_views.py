"""Views of metal parts with the strap or rope they belong to."""

from __future__ import annotations

import numpy as np

from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.marks import Category
from sample_images import metal_damage
from sample_images.cloth_views import write_strap
from sample_images.hardware import Part, Placement, buckle, connector, d_ring, rounded_box, snap_hook, tensioner
from sample_images.metal import FINISHES, Body, lay_metal, start
from sample_images.rope_views import eye_of_rope, wire_line
from sample_images.spec import Array
from sample_images.stage import Stage
from sample_images.stitching import row, sew, zigzag
from sample_images.strip import Path
from sample_images.weave import Strap, lay, webbing

C, P = Category, Component


def placement(stage: Stage, x: float = 0.0, y: float = 0.0, spread: float = 14.0) -> Placement:
    """A casual place near (x, y)."""
    rng = stage.rng
    turn = float(rng.uniform(-spread, spread))
    return Placement(x + float(rng.uniform(-3, 3)), y + float(rng.uniform(-3, 3)), turn, bool(rng.random() < 0.5))


def finish(stage: Stage, *names: str) -> str:
    """One finish of several."""
    return names[int(stage.rng.integers(len(names)))]


def harm_part(stage: Stage, part: Part, component: Component | None = None) -> None:
    """Rust, wear and cracks asked for, on a body before it is laid."""
    for damage in stage.damage(C.RUST):
        metal_damage.rust(stage, part.body, damage, part.spots["rust"], component)
    for damage in stage.damage(C.WEAR):
        metal_damage.wear(stage, part.body, damage, part.spots["wear"], component)
    for damage in stage.damage(C.CRACK):
        if "crack" in part.spots:
            metal_damage.crack(stage, part.body, damage, part.spots["crack"], part.headings["crack"], component)


def write_body(stage: Stage, component: Component, body: Body) -> None:
    """Write the outlines of the visible metal down."""
    for outline in metal_damage.outlines_of(stage.canvas, body.window, body.alpha):
        stage.region(component, "metal", outline)


def around(centre: Array, radius: float) -> Array:
    """A closed ring of points about a place, for marks of bent and blocked parts."""
    a = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    return centre + radius * np.stack([np.cos(a), np.sin(a)], axis=1)


def bend_of(stage: Stage, low: float, high: float) -> float:
    """How far a part is bent, mm; 0 when no deformation is asked for."""
    asked = stage.damage(C.DEFORMATION)
    return stage.size(asked[0].depth_mm, low, high) if asked else 0.0


def write_bend(stage: Stage, spot: Array, bent: float, radius: float = 12.0) -> None:
    """Write a bent place down."""
    if bent > 0:
        ring = around(spot, radius)
        stage.record(C.DEFORMATION, "polygon", ring, [ring], deflection_mm=bent)


def folded_end(stage: Stage, bar: Array, direction: Array, width: float, wrap: float) -> Strap | None:
    """A strap that comes from afar and turns around a bar; `direction` points from the strap to the bar."""
    end = bar + direction * wrap
    strap = webbing(stage, Path(np.stack([end - direction * 190, end])), width, lift=2.4)
    if strap is None:
        return None
    near = np.clip((np.float32(strap.path.length) - strap.coordinates.u) / np.float32(wrap * 1.6), 0, 1)
    strap.height += np.float32(wrap * 0.9) * np.sqrt(np.maximum(1 - (1 - near) ** 2, 0))
    return strap


def sew_box(stage: Stage, strap: Strap, u0: float, u1: float, inset: float = 4.5) -> None:
    """A box with a cross between two lengths, and a bar-tack at its near end."""
    v = strap.half - inset
    at = strap.path.at
    corners = [at(u0, -v), at(u1, -v), at(u1, v), at(u0, v)]
    stitches = []
    for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
        stitches += row(a, b, 3.2)
    stitches += row(corners[0], corners[2], 3.4) + row(corners[1], corners[3], 3.4)
    stitches += zigzag(at(u1 + 4, -v), at(u1 + 4, v), 2.6, 0.95)
    sew(stage, stitches, 0.42)


def _tail(stage: Stage, place: Placement, spot: Array, width: float) -> None:
    """What a hook hangs on: strap, fibre rope or wire rope, by the kind of the item."""
    kind = stage.spec.kind
    direction = place.put([(1.0, 0.0)])[0] - place.put([(0.0, 0.0)])[0]
    middle = spot - direction * 6
    eye = Placement(float(middle[0]), float(middle[1]), place.turn_deg, place.mirror)
    if kind in (Kind.SYNTHETIC_ROPE_LANYARD, Kind.VERTICAL_LIFELINE):
        eye_of_rope(stage, eye)
    elif kind in (Kind.WIRE_ROPE_LANYARD, Kind.HORIZONTAL_LIFELINE, Kind.SELF_RETRACTING_LIFELINE):
        eye_of_rope(stage, eye, wire=True)
    else:
        strap = folded_end(stage, spot, direction, width, 5.5)
        if strap is not None:
            lay(stage, strap)
            sew_box(stage, strap, strap.path.length - 62, strap.path.length - 22)
            u = strap.path.length - 54.0
            stage.know("webbing width", width, strap.path.at(u, -strap.half), strap.path.at(u, strap.half))


def hook(stage: Stage) -> None:
    """A snap hook on its strap or rope."""
    place = placement(stage, 24, 0)
    width = min(stage.spec.webbing_width_mm, 30.0)
    bent = bend_of(stage, 2.5, 5.0)
    stuck = stage.damage(C.MOVING_PART)
    open_deg = float(stage.rng.uniform(8, 15)) if stuck else 0.0
    round_eye = stage.spec.kind not in (Kind.WEBBING_LANYARD, Kind.ANCHOR_SLING, Kind.HARNESS)
    part = snap_hook(stage.canvas, place, 20.0 if round_eye else width, open_deg, bent)
    if part is None:
        return
    if round_eye:
        _tail(stage, place, part.spots["eye"], width)
    harm_part(stage, part, P.SNAP_HOOK if stage.spec.component is not P.GATE else P.GATE)
    lay_metal(stage, part.body, FINISHES[finish(stage, "zinc", "yellow zinc", "stainless")])
    if not round_eye:
        _tail(stage, place, part.spots["eye"], width)
    write_body(stage, P.SNAP_HOOK, part.body)
    if bent:
        write_bend(stage, part.spots["nose"], bent)
    _write_gate(stage, part, open_deg)
    if not open_deg:
        a, b = part.spots["throat a"], part.spots["throat b"]
        stage.know("hook throat", float(np.hypot(*(b - a))), a, b)


def _write_gate(stage: Stage, part: Part, open_deg: float) -> None:
    if open_deg:
        line = np.stack([part.spots["gate"], part.spots["nose"]])
        stage.record(
            C.MOVING_PART, "line", line, [], length_mm=float(np.hypot(*(line[1] - line[0]))), angle_deg=open_deg
        )


def connector_view(stage: Stage) -> None:
    """A connector by itself."""
    place = placement(stage, spread=28)
    bent = -bend_of(stage, 3.0, 6.0)
    stuck = stage.damage(C.MOVING_PART)
    open_deg = float(stage.rng.uniform(10, 18)) if stuck else 0.0
    part = connector(stage.canvas, place, open_deg, bent)
    if part is None:
        return
    harm_part(stage, part)
    lay_metal(
        stage,
        part.body,
        FINISHES[finish(stage, "zinc", "aluminium", "orange anodised", "blue anodised", "yellow zinc")],
    )
    write_body(stage, P.BODY, part.body)
    write_bend(stage, part.spots["bend"], -bent, 18.0)
    _write_gate(stage, part, open_deg)
    a, b = part.spots["a"], part.spots["b"]
    stage.know("connector length", float(np.hypot(*(b - a))), a, b)


def ring(stage: Stage) -> None:
    """A D-ring held by a folded strap; on a harness over its back pad."""
    place = placement(stage, 6, 0)
    width = stage.spec.webbing_width_mm
    if stage.spec.kind is Kind.HARNESS:
        _crossing(stage, place, width)
    bent = bend_of(stage, 4.0, 9.0)
    part = d_ring(stage.canvas, place, width + 6, bent)
    if part is None:
        return
    harm_part(stage, part)
    lay_metal(stage, part.body, FINISHES[finish(stage, "zinc", "yellow zinc", "stainless")])
    direction = place.put([(1.0, 0.0)])[0] - place.put([(0.0, 0.0)])[0]
    strap = folded_end(stage, place.put([(0.0, 0.0)])[0], direction, width, 5.2)
    if strap is not None:
        lay(stage, strap)
        sew_box(stage, strap, strap.path.length - 68, strap.path.length - 24)
        write_strap(stage, strap, strap.path.length - 82)
    write_body(stage, P.D_RING, part.body)
    write_bend(stage, part.spots["bend"], bent, 14.0)
    a, b = part.spots["a"], part.spots["b"]
    stage.know("D-ring inside width", float(np.hypot(*(b - a))), a, b)


def _crossing(stage: Stage, place: Placement, width: float) -> None:
    """Two straps that cross under a back pad."""
    for turn in (-34.0, 34.0):
        side = Placement(place.x - 34, place.y, place.turn_deg + turn)
        strap = webbing(stage, side.path([(-190.0, 0.0), (190.0, 0.0)]), width)
        if strap is not None:
            lay(stage, strap)
    pad = start(stage.canvas, place.put([(-70, -46), (20, 46), (20, -46), (-70, 46)]), 3, 4.0)
    if pad is not None:
        pad.plate(stage.canvas, place.put(rounded_box(64, 84, 14) + np.array([-22.0, 0.0])), 4.0)
        lay_metal(stage, pad, FINISHES["grey plastic"], 0.2)


def buckle_view(stage: Stage) -> None:
    """A buckle with the strap through it."""
    place = placement(stage)
    width = stage.spec.webbing_width_mm
    direction = place.put([(1.0, 0.0)])[0] - place.put([(0.0, 0.0)])[0]
    middle = place.put([(0.0, 0.0)])[0]
    through = webbing(stage, Path(np.stack([middle - direction * 9, middle + direction * 200])), width)
    if through is not None:
        lay(stage, through)
        write_strap(stage, through, 62.0)
    bent = bend_of(stage, 3.0, 6.0)
    part = buckle(stage.canvas, place, width + 2, bent)
    if part is None:
        return
    harm_part(stage, part)
    lay_metal(stage, part.body, FINISHES[finish(stage, "zinc", "stainless", "black anodised", "yellow zinc")])
    strap = folded_end(stage, place.put([(-29.0, 0.0)])[0], direction, width - 1.0, 5.0)
    if strap is not None:
        lay(stage, strap)
        sew_box(stage, strap, strap.path.length - 60, strap.path.length - 20)
    write_body(stage, P.BUCKLE, part.body)
    write_bend(stage, part.spots["bend"], bent, 12.0)


def tensioner_view(stage: Stage) -> None:
    """A turnbuckle between two wire ropes."""
    place = placement(stage, spread=10)
    stuck = stage.damage(C.MOVING_PART)
    out = float(stage.rng.uniform(27, 33)) if stuck else float(stage.rng.uniform(4, 16))
    part = tensioner(stage.canvas, place, out)
    if part is None:
        return
    for spot, turn in ((part.spots["left"], 0.0), (part.spots["right"], 180.0)):
        direction = place.put([(1.0, 0.0)])[0] - place.put([(0.0, 0.0)])[0]
        away = direction if turn == 0 else -direction
        wire_line(stage, Path(np.stack([spot - away * 200, spot + away * 4])), min(stage.spec.rope_diameter_mm, 10.0))
    harm_part(stage, part)
    lay_metal(stage, part.body, FINISHES[finish(stage, "zinc", "stainless")])
    write_body(stage, P.TENSIONER, part.body)
    if stuck:
        ring_ = around(part.spots["gate"], 14.0)
        stage.record(C.MOVING_PART, "polygon", ring_, [ring_], length_mm=out)
    stage.know("tensioner frame length", 102.0, part.spots["a"], part.spots["b"])
