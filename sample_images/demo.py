"""A suitable picture for any component of any kind of gear, sound or damaged."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from inspect_core.domain.gear import Component, Kind, components_of
from inspect_core.domain.marks import Category
from sample_images.backgrounds import GROUNDS
from sample_images.scene import VIEWS
from sample_images.spec import Camera, Damage, SceneSpec
from sample_images.stage import CLOTH

_C, _P = Category, Component
_CLOTH_HARM = (_C.CUT, _C.BURN, _C.FRAY, _C.ABRASION, _C.DISCOLOURATION, _C.CHEMICAL)
_METAL_HARM = (_C.RUST, _C.WEAR, _C.CRACK, _C.DEFORMATION)
_ROPE_HARM = (_C.CUT, _C.BURN, _C.FRAY, _C.ABRASION, _C.DISCOLOURATION, _C.CHEMICAL, _C.KNOT_OR_SPLICE)

#: What can be drawn on each component.
_HARM: Mapping[Component, tuple[Category, ...]] = {
    _P.WEBBING: _CLOTH_HARM,
    _P.STITCHING: (_C.BROKEN_STITCH, _C.ABRASION, _C.CUT, _C.BURN, _C.DISCOLOURATION),
    _P.ENERGY_ABSORBER: (_C.DEPLOYED_ABSORBER, _C.BURN, _C.ABRASION, _C.DISCOLOURATION, _C.CUT),
    _P.SNAP_HOOK: (*_METAL_HARM, _C.MOVING_PART),
    _P.D_RING: _METAL_HARM,
    _P.BUCKLE: _METAL_HARM,
    _P.ROPE: _ROPE_HARM,
    _P.WIRE_ROPE: (_C.BROKEN_WIRE, _C.RUST, _C.DEFORMATION),
    _P.THIMBLE: (_C.RUST, _C.WEAR, _C.DEFORMATION),
    _P.TERMINATION: (_C.RUST, _C.CRACK, _C.BROKEN_WIRE, _C.FRAY, _C.BROKEN_STITCH),
    _P.GATE: (_C.MOVING_PART, _C.RUST, _C.WEAR),
    _P.CAM: (_C.WEAR, _C.RUST, _C.MOVING_PART),
    _P.DIRECTION_ARROW: (_C.WEAR, _C.LABEL),
    _P.HOUSING: (_C.CRACK, _C.RUST, _C.DEFORMATION),
    _P.BRAKE: (_C.MOVING_PART, _C.RUST),
    _P.BODY: _METAL_HARM,
    _P.TENSIONER: (_C.RUST, _C.MOVING_PART, _C.WEAR),
    _P.INDICATOR: (_C.DEPLOYED_ABSORBER, _C.OTHER),
    _P.LABEL: (_C.LABEL,),
}

_VIEWS: Mapping[Component, tuple[str, ...]] = {
    _P.WEBBING: ("webbing section", "webbing upright"),
    _P.STITCHING: ("sewn loop",),
    _P.ENERGY_ABSORBER: ("absorber packed",),
    _P.SNAP_HOOK: ("snap hook",),
    _P.D_RING: ("D-ring",),
    _P.BUCKLE: ("buckle",),
    _P.ROPE: ("rope braided", "rope laid"),
    _P.WIRE_ROPE: ("wire rope",),
    _P.THIMBLE: ("rope end",),
    _P.TERMINATION: ("rope end",),
    _P.GATE: ("connector",),
    _P.CAM: ("rope grab",),
    _P.DIRECTION_ARROW: ("rope grab",),
    _P.HOUSING: ("retractor",),
    _P.BRAKE: ("retractor",),
    _P.BODY: ("connector",),
    _P.TENSIONER: ("tensioner",),
    _P.INDICATOR: ("impact flag",),
    _P.LABEL: ("label",),
}

_WIRE_END = {_P.THIMBLE: ("wire rope end",), _P.TERMINATION: ("wire rope end",)}
#: Where a kind shows a component otherwise than most do.
_BY_KIND: Mapping[Kind, Mapping[Component, tuple[str, ...]]] = {
    Kind.WIRE_ROPE_LANYARD: _WIRE_END,
    Kind.HORIZONTAL_LIFELINE: _WIRE_END,
    Kind.SELF_RETRACTING_LIFELINE: {**_WIRE_END, _P.INDICATOR: ("retractor",)},
    Kind.ROPE_GRAB: {_P.HOUSING: ("rope grab",)},
}
#: Damage that only one of the two sorts of rope end can have.
_FIBRE_END, _WIRE_END_HARM = (_C.FRAY, _C.BROKEN_STITCH), (_C.RUST, _C.CRACK, _C.BROKEN_WIRE)


def categories_of(component: Component) -> tuple[Category, ...]:
    """The damage that can be drawn on a component."""
    return _HARM[component]


def views_of(kind: Kind, component: Component) -> tuple[str, ...]:
    """Names of the views that show that component of that kind. Raises ValueError when the kind has no such part."""
    if component not in components_of(kind):
        raise ValueError(f"a {kind.value} has no {component.value}")
    if component in _BY_KIND.get(kind, {}):
        return _BY_KIND[kind][component]
    return _VIEWS[component]


def _sized(category: Category, rng: np.random.Generator) -> Damage:
    """The damage at a size that shows on a telephone."""
    if category is Category.CUT:
        return Damage(category, depth_mm=float(rng.uniform(1.2, 4.5)))
    return Damage(category)


def demo_spec(kind: Kind, component: Component, category: Category | None, rng: np.random.Generator) -> SceneSpec:
    """A picture as a worker would take it. Raises ValueError for damage that is not drawn on that component."""
    if category is not None and category not in _HARM[component]:
        known = ", ".join(c.value for c in _HARM[component])
        raise ValueError(f"{category.value} is not drawn on a {component.value}; drawn are: {known}")
    views = views_of(kind, component)
    name = views[int(rng.integers(len(views)))]
    if component is Component.TERMINATION and category in _FIBRE_END:
        name = "rope end"
    elif component is Component.TERMINATION and category in _WIRE_END_HARM:
        name = "wire rope end"
    elif component is Component.ENERGY_ABSORBER and category is Category.DEPLOYED_ABSORBER:
        name = "absorber deployed"
    elif category is Category.KNOT_OR_SPLICE:
        name = "rope knot"
    view = VIEWS[name]
    across = view.across_mm * float(rng.uniform(0.92, 1.12))
    if category is Category.CUT and view.across_mm < 160:
        across = min(across, 92.0)
    width, height = (900, 1200) if view.portrait else (1200, 900)
    warm = float(rng.normal(0, 0.035))
    camera = Camera(
        width=width,
        height=height,
        px_per_mm=1200 / across,
        tilt_deg=float(abs(rng.normal(0, 7)) % 16),
        tilt_axis_deg=float(rng.uniform(0, 360)),
        roll_deg=float(rng.normal(0, 3)),
        blur_px=float(rng.uniform(0.45, 0.85)),
        noise=float(rng.uniform(1.4, 3.2)),
        exposure=float(rng.uniform(1.05, 1.32)),
        white_balance=(1 + warm, 1.0, 1 - warm),
        light_gradient=float(rng.uniform(0.1, 0.38)),
        gradient_deg=float(rng.uniform(0, 360)),
    )
    grounds, colours = tuple(GROUNDS), tuple(CLOTH)
    return SceneSpec(
        kind,
        component,
        name,
        (_sized(category, rng),) if category else (),
        camera,
        background=grounds[int(rng.integers(len(grounds)))],
        colour=colours[int(rng.integers(len(colours)))],
    )
