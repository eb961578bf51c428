"""Views of webbing and sewing."""

from __future__ import annotations

import numpy as np

from inspect_core.domain.gear import Component
from inspect_core.domain.marks import Category
from sample_images import damage as harm
from sample_images.spec import Array
from sample_images.stage import Stage
from sample_images.stitching import Stitch, row, sew, unpick, zigzag
from sample_images.strip import straight
from sample_images.weave import Strap, fuzz, lay, webbing

C = Category


def _half_view(stage: Stage) -> tuple[float, float]:
    """Half the width and height of the view, mm."""
    camera = stage.spec.camera
    return camera.width / camera.px_per_mm / 2, camera.height / camera.px_per_mm / 2


def write_strap(stage: Stage, strap: Strap, at: float | None = None) -> None:
    """Write down a strap's outline and its width as a known length, at length `at` along it."""
    u = strap.path.length / 2 if at is None else at
    width = 2 * strap.half
    stage.know("webbing width", width, strap.path.at(u, -strap.half), strap.path.at(u, strap.half))
    wide, high = _half_view(stage)
    reach = np.hypot(wide, high)
    u0, u1 = max(0.0, strap.path.length / 2 - reach), min(strap.path.length, strap.path.length / 2 + reach)
    us = np.linspace(u0, u1, 12)
    outline = np.vstack([strap.path.at(us, -strap.half), strap.path.at(us[::-1], strap.half)])
    stage.region(Component.WEBBING, "cloth", outline)


def harm_strap(stage: Stage, strap: Strap, middle: float) -> None:
    """Apply every cloth damage asked for around length `middle` of a strap, before it is laid."""
    rng = stage.rng
    asked = stage.damage(C.CUT, C.BURN, C.FRAY, C.ABRASION, C.DISCOLOURATION, C.CHEMICAL)
    spread = 34.0
    for i, damage in enumerate(asked):
        u = middle + (i - (len(asked) - 1) / 2) * spread + float(rng.uniform(-5, 5))
        v = float(rng.uniform(-0.45, 0.45)) * strap.half
        side = 1.0 if rng.random() < 0.5 else -1.0
        if damage.category is C.CUT:
            harm.cut(stage, strap, damage, u, side)
        elif damage.category is C.FRAY:
            harm.fray(stage, strap, damage, u, side)
        elif damage.category is C.BURN:
            harm.burn(stage, strap, damage, u, v)
        elif damage.category is C.ABRASION:
            harm.abrasion(stage, strap, damage, u, v)
        else:
            harm.stain(stage, strap, damage, u, v)


def section_upright(stage: Stage) -> None:
    """A stretch of strap from the top to the bottom of an upright picture."""
    section(stage, 90.0)


def section(stage: Stage, turn: float = 0.0) -> None:
    """A stretch of strap across the view."""
    rng = stage.rng
    wide, high = _half_view(stage)
    path = straight(
        float(rng.uniform(-3, 3)),
        float(rng.uniform(-3, 3)),
        turn + float(rng.uniform(-16, 16)),
        2.9 * np.hypot(wide, high),
    )
    strap = webbing(stage, path, stage.spec.webbing_width_mm)
    if strap is None:
        return
    middle = path.length / 2
    harm_strap(stage, strap, middle)
    lay(stage, strap)
    fuzz(stage, strap, middle - wide * 1.3, middle + wide * 1.3, 0.5)
    harm.finish(stage, strap)
    write_strap(stage, strap, middle + float(rng.uniform(0.35, 0.55)) * wide)


def _box_rows(at: Array, count: int) -> list[tuple[Array, Array]]:
    """Start and end of each side and diagonal of a box given by its four corners."""
    sides = [(at[i], at[(i + 1) % 4]) for i in range(4)]
    return [*sides, (at[0], at[2]), (at[1], at[3])][:count]


def sewn_loop(stage: Stage) -> None:
    """A strap folded back on itself and sewn with a box, a cross and bar-tacks."""
    rng = stage.rng
    wide, high = _half_view(stage)
    angle = float(rng.uniform(-14, 14))
    path = straight(float(rng.uniform(-3, 3)), float(rng.uniform(-3, 3)), angle, 2.9 * np.hypot(wide, high))
    width = stage.spec.webbing_width_mm
    under = webbing(stage, path, width)
    middle = path.length / 2
    upper = webbing(stage, path.part(0.0, middle + 44), width, lift=2.2)
    if under is None or upper is None:
        return
    lay(stage, under)
    close = np.clip((np.float32(upper.path.length) - upper.coordinates.u) / np.float32(1.6), 0, 1)
    upper.height += np.float32(1.2) * np.sqrt(np.maximum(1 - (1 - close) ** 2, 0))
    harm_strap(stage, upper, middle)
    lay(stage, upper)
    fuzz(stage, upper, middle - wide * 1.3, middle + 44, 0.5)
    spacing = float(rng.uniform(2.7, 3.5))
    v = upper.half - 5.0
    corners = path.at(np.array([middle - 34.0, middle + 32.0, middle + 32.0, middle - 34.0]), np.array([-v, -v, v, v]))
    asked = stage.damage(C.BROKEN_STITCH)
    broken = int(rng.integers(0, 6)) if asked else -1
    for i, (a, b) in enumerate(_box_rows(corners, 6)):
        stitches = row(a, b, spacing)
        count = min(len(stitches) - 4, asked[0].count or int(rng.integers(2, 7))) if i == broken else 0
        first = int(rng.integers(2, max(3, len(stitches) - count - 1)))
        _sew_row(stage, stitches, first, count)
    for u in (middle - 40.0, middle + 38.0):
        sew(stage, zigzag(path.at(u, -v), path.at(u, v), 3.0, 0.95), 0.4)
    harm.finish(stage, upper)
    write_strap(stage, upper, middle - 48)


def _sew_row(stage: Stage, stitches: list[Stitch], first: int, count: int) -> None:
    """Sew a row with `count` stitches missing from number `first` on, and write it down."""
    step = float(np.hypot(*(stitches[0].b - stitches[0].a)))
    sew(stage, stitches[:first] + stitches[first + count :])
    stage.rows.append(
        {
            "points": np.stack([stitches[0].a, stitches[-1].b]),
            "spacing_mm": step,
            "count": len(stitches) - count,
            "missing": list(range(first, first + count)),
        }
    )
    if not count:
        return
    gone = stitches[first : first + count]
    unpick(stage, gone)
    line = np.stack([gone[0].a, gone[-1].b])
    stage.record(
        C.BROKEN_STITCH, "line", line, [], Component.STITCHING, count=count, gap_mm=step * count, spacing_mm=step
    )
