"""The committed set of drawn pictures: what each shows and the seed that draws it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.marks import Category
from sample_images.demo import demo_spec
from sample_images.render import Picture, render
from sample_images.spec import Damage, SceneSpec

#: JPEG quality of the committed set, low enough to keep it small.
QUALITY = 68

FOLDER = Path(__file__).parent / "pictures"
_K, _P, _C = Kind, Component, Category
_Choice = tuple[Kind, Component, Damage | None, int, str, str]

#: Name, then kind, component, damage, seed, ground, colour.
CHOSEN: Mapping[str, _Choice] = {
    "lanyard_edge_cut_drawn": (_K.WEBBING_LANYARD, _P.WEBBING, Damage(_C.CUT, depth_mm=2.0), 21, "plywood", "orange"),
    "webbing_sound_drawn": (_K.WEBBING_LANYARD, _P.WEBBING, None, 30, "concrete", "navy"),
    "webbing_burn_drawn": (_K.HARNESS, _P.WEBBING, Damage(_C.BURN, area_mm2=190.0), 14, "concrete", "yellow"),
    "webbing_fray_drawn": (_K.ANCHOR_SLING, _P.WEBBING, Damage(_C.FRAY), 12, "steel plate", "blue"),
    "stitching_broken_drawn": (_K.HARNESS, _P.STITCHING, Damage(_C.BROKEN_STITCH, count=5), 16, "tarpaulin", "red"),
    "absorber_packed_drawn": (_K.WEBBING_LANYARD, _P.ENERGY_ABSORBER, None, 17, "plywood", "black"),
    "absorber_deployed_drawn": (
        _K.WEBBING_LANYARD,
        _P.ENERGY_ABSORBER,
        Damage(_C.DEPLOYED_ABSORBER),
        12,
        "concrete",
        "orange",
    ),
    "hook_rust_drawn": (_K.WEBBING_LANYARD, _P.SNAP_HOOK, Damage(_C.RUST, share=0.15), 6, "steel plate", "blue"),
    "rope_burn_drawn": (_K.SYNTHETIC_ROPE_LANYARD, _P.ROPE, Damage(_C.BURN, area_mm2=75.0), 26, "concrete", "white"),
    "wire_broken_drawn": (_K.WIRE_ROPE_LANYARD, _P.WIRE_ROPE, Damage(_C.BROKEN_WIRE, count=4), 5, "plywood", "grey"),
    "rope_grab_drawn": (_K.ROPE_GRAB, _P.DIRECTION_ARROW, None, 11, "plywood", "red"),
    "label_drawn": (_K.HARNESS, _P.LABEL, None, 3, "tarpaulin", "navy"),
}


def spec_of(name: str) -> tuple[SceneSpec, int]:
    """Scene and seed of a committed picture. Raises KeyError for a name that is not in the set."""
    kind, component, damage, seed, ground, colour = CHOSEN[name]
    category = damage.category if damage else None
    spec = demo_spec(kind, component, category, np.random.default_rng(seed))
    return replace(spec, damage=(damage,) if damage else (), background=ground, colour=colour), seed


def draw(name: str) -> Picture:
    """Draw a committed picture anew. Raises KeyError for a name that is not in the set."""
    return render(*spec_of(name))


def save(picture: Picture, folder: Path, name: str, quality: int | None = None) -> None:
    """Write NAME.jpg and NAME.json; the name has to carry the word "drawn". Raises ValueError when it does not."""
    if "drawn" not in name:
        raise ValueError("the file name of a drawn picture carries the word drawn")
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{name}.jpg").write_bytes(picture.to_jpeg(quality))
    text = json.dumps(picture.truth, indent=1, sort_keys=True)
    (folder / f"{name}.json").write_text(text + "\n", encoding="utf-8")
