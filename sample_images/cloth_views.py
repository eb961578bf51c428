"""Views of webbing and sewing."""

from __future__ import annotations

import numpy as np

from inspect_core.domain.gear import Component
from inspect_core.domain.marks import Category
from sample_images import damage as harm
from sample_images.spec import Array
from sample_images.stage import Stage
from sample_images.stitching import Stitch, row, sew, unpick, zigzag
from sample_images.strip import Path, straight
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


def section(stage: Stage) -> None:
    """A stretch of strap across the view."""
    rng = stage.rng
    wide, high = _half_view(stage)
    path = straight(
        float(rng.uniform(-3, 3)), float(rng.uniform(-3, 3)), float(rng.uniform(-16, 16)), 2.9 * np.hypot(wide, high)
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
