"""Pictures with known millimetres, by the thousand, for testing what measures them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.marks import Category
from sample_images.demo import demo_spec
from sample_images.spec import SceneSpec

#: Seeds for choosing thresholds and settings: look at these as often as you like.
TUNING_SEEDS = range(0, 100_000)
#: Seeds for stating how well something works: touched only by the final count. They lie apart from the
#: tuning seeds, because a figure measured on the pictures that set the thresholds flatters the method.
EVALUATION_SEEDS = range(1_000_000, 1_100_000)

_SUBJECTS: tuple[tuple[Kind, Component, Category | None], ...] = (
    (Kind.WEBBING_LANYARD, Component.WEBBING, Category.CUT),
    (Kind.WEBBING_LANYARD, Component.WEBBING, Category.BURN),
    (Kind.HARNESS, Component.WEBBING, Category.FRAY),
    (Kind.HARNESS, Component.STITCHING, Category.BROKEN_STITCH),
    (Kind.WEBBING_LANYARD, Component.SNAP_HOOK, Category.RUST),
    (Kind.SYNTHETIC_ROPE_LANYARD, Component.ROPE, Category.BURN),
    (Kind.VERTICAL_LIFELINE, Component.ROPE, None),
    (Kind.WEBBING_LANYARD, Component.WEBBING, None),
)


def evaluation_specs(n: int, first_seed: int = EVALUATION_SEEDS.start) -> Iterator[tuple[SceneSpec, int]]:
    """`n` pairs of scene and seed, from `first_seed` on: subjects in turn; tilt 0 to 35°, blur, noise, light vary."""
    for seed in range(first_seed, first_seed + n):
        rng = np.random.default_rng([seed, 11])
        kind, component, category = _SUBJECTS[seed % len(_SUBJECTS)]
        spec = demo_spec(kind, component, category, rng)
        camera = replace(
            spec.camera,
            px_per_mm=spec.camera.px_per_mm * float(rng.uniform(0.85, 1.15)),
            tilt_deg=float(rng.uniform(0, 35)),
            tilt_axis_deg=float(rng.uniform(0, 360)),
            roll_deg=float(rng.uniform(-20, 20)),
            view_deg=float(rng.uniform(35, 65)),
            blur_px=float(rng.uniform(0.4, 1.6)),
            noise=float(rng.uniform(1.0, 6.0)),
            jpeg_quality=int(rng.integers(70, 96)),
            exposure=float(rng.uniform(0.75, 1.2)),
            light_gradient=float(rng.uniform(0.0, 0.5)),
        )
        yield replace(spec, camera=camera, caption=False), seed
