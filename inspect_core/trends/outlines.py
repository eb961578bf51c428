"""The outline drawing of each kind: one region per component, in drawing units 360 wide.

The drawings say where a component is, not what a maker's item looks like. Components of which a kind has one or the
other (webbing, wire rope or rope as a line) are drawn side by side.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from inspect_core.domain.gear import Component, Kind
from inspect_core.trends.outline_parts import (
    Point,
    Shape,
    Shapes,
    absorber,
    box,
    buckle,
    d_ring,
    disc,
    hung_label,
    indicator,
    label,
    line,
    ring,
    rope,
    snap_hook,
    stitching,
    strap,
    termination,
    thimble,
    wire,
)

WIDTH = 360.0
_C = Component


@dataclass(frozen=True, slots=True)
class Region:
    """Where one component lies: its shapes and the place of its number."""

    component: Component
    shapes: Shapes
    number_at: Point


@dataclass(frozen=True, slots=True)
class Outline:
    """The drawing of a kind: regions in the order in which they are painted."""

    kind: Kind
    height: float
    regions: tuple[Region, ...]


def _outline(kind: Kind, height: float, *regions: tuple[Component, Shapes, Point]) -> Outline:
    return Outline(kind, height, tuple(Region(*region) for region in regions))


def _rope_lanyard(kind: Kind, component: Component, core: Shapes) -> Outline:
    return _outline(
        kind,
        120,
        (component, core, (150, 84)),
        (_C.THIMBLE, thimble(108, 60, -1) + thimble(188, 60), (95, 84)),
        (_C.TERMINATION, termination(104, 60) + termination(166, 60), (117, 36)),
        (_C.SNAP_HOOK, snap_hook(76, 60, -1) + snap_hook(292, 60), (34, 92)),
        (_C.ENERGY_ABSORBER, absorber(222, 60), (240, 36)),
        (_C.INDICATOR, indicator(262, 60), (264, 84)),
        (_C.LABEL, hung_label(136, 14, 56), (178, 20)),
    )


OUTLINES: Mapping[Kind, Outline] = MappingProxyType(
    {
        Kind.HARNESS: _outline(
            Kind.HARNESS,
            270,
            (
                _C.WEBBING,
                strap((180, 62), (128, 28), (118, 90), (118, 168))
                + strap((180, 62), (232, 28), (242, 90), (242, 168))
                + strap((180, 62), (180, 120))
                + strap((118, 120), (242, 120))
                + strap((118, 168), (242, 168))
                + strap((122, 174), (106, 236), (160, 240), (156, 174))
                + strap((238, 174), (254, 236), (200, 240), (204, 174)),
                (262, 100),
            ),
            (_C.STITCHING, stitching(104, 168, 30) + stitching(226, 168, 30), (90, 168)),
            (_C.D_RING, d_ring(180, 58, 17), (180, 40)),
            (_C.BUCKLE, buckle(180, 120) + buckle(130, 238) + buckle(230, 238), (180, 145)),
            (_C.INDICATOR, indicator(180, 96), (200, 92)),
            (_C.LABEL, label(104, 74, 28, 20), (88, 84)),
        ),
        Kind.WEBBING_LANYARD: _outline(
            Kind.WEBBING_LANYARD,
            120,
            (_C.WEBBING, strap((78, 60), (216, 60)) + strap((270, 60), (290, 60)), (132, 38)),
            (_C.STITCHING, stitching(88, 60, 32) + stitching(178, 60, 28), (104, 84)),
            (_C.SNAP_HOOK, snap_hook(76, 60, -1) + snap_hook(292, 60), (34, 92)),
            (_C.ENERGY_ABSORBER, absorber(210, 60), (232, 36)),
            (_C.INDICATOR, indicator(254, 60), (258, 84)),
            (_C.D_RING, d_ring(150, 70, 11), (150, 100)),
            (_C.LABEL, hung_label(136, 14, 54), (178, 20)),
        ),
        Kind.SYNTHETIC_ROPE_LANYARD: _rope_lanyard(
            Kind.SYNTHETIC_ROPE_LANYARD, _C.ROPE, rope((112, 60), (182, 60)) + rope((214, 60), (284, 60))
        ),
        Kind.WIRE_ROPE_LANYARD: _rope_lanyard(
            Kind.WIRE_ROPE_LANYARD, _C.WIRE_ROPE, wire((112, 60), (182, 60)) + wire((214, 60), (284, 60))
        ),
        Kind.ROPE_GRAB: _outline(
            Kind.ROPE_GRAB,
            200,
            (
                _C.HOUSING,
                (Shape("M130 30h76q18 0 18 18v104q0 18 -18 18h-76Z"), Shape("M152 6V194", detail=True)),
                (118, 50),
            ),
            (_C.GATE, (box(136, 40, 30, 120),), (118, 140)),
            (_C.CAM, (Shape("M170 74q44 4 40 46q-26 8 -44 -8Z"), disc(198, 102, 5)), (226, 86)),
            (_C.D_RING, ring(248, 120, 16) + line((214, 112), (234, 118), width=9), (278, 120)),
            (_C.DIRECTION_ARROW, (Shape("M188 62v-14h-8l14 -14l14 14h-8v14Z"),), (226, 46)),
            (_C.LABEL, label(172, 138, 38, 22), (226, 156)),
        ),
        Kind.VERTICAL_LIFELINE: _outline(
            Kind.VERTICAL_LIFELINE,
            120,
            (_C.ROPE, rope((112, 60), (196, 60), (212, 40), (228, 78), (244, 40), (260, 60), (336, 60)), (300, 84)),
            (_C.THIMBLE, thimble(108, 60, -1), (95, 84)),
            (_C.TERMINATION, termination(104, 60), (117, 36)),
            (_C.STITCHING, stitching(136, 60, 30), (151, 84)),
            (_C.SNAP_HOOK, snap_hook(76, 60, -1), (34, 92)),
            (_C.LABEL, hung_label(170, 14, 56), (212, 20)),
        ),
        Kind.HORIZONTAL_LIFELINE: _outline(
            Kind.HORIZONTAL_LIFELINE,
            210,
            (_C.WEBBING, strap((122, 40), (330, 40)), (262, 22)),
            (_C.WIRE_ROPE, wire((122, 100), (330, 100)), (290, 84)),
            (_C.ROPE, rope((122, 160), (330, 160)), (290, 143)),
            (_C.STITCHING, stitching(132, 40, 32), (148, 20)),
            (_C.TERMINATION, termination(132, 100) + termination(132, 160), (146, 130)),
            (_C.THIMBLE, thimble(134, 100, -1) + thimble(134, 160, -1), (112, 130)),
            (_C.TENSIONER, (box(176, 90, 46, 20), Shape("M184 100h30m-24 -6v12m18 -12v12", detail=True)), (199, 124)),
            (_C.ENERGY_ABSORBER, absorber(172, 160, 50), (197, 185)),
            (_C.INDICATOR, indicator(242, 160), (242, 184)),
            (_C.SNAP_HOOK, snap_hook(98, 40, -1) + snap_hook(98, 100, -1) + snap_hook(98, 160, -1), (22, 70)),
            (_C.LABEL, hung_label(196, 58, 58), (238, 66)),
        ),
        Kind.SELF_RETRACTING_LIFELINE: _outline(
            Kind.SELF_RETRACTING_LIFELINE,
            250,
            (
                _C.HOUSING,
                (Shape("M24 78q0 -54 60 -54t60 54v44q0 26 -26 26h-68q-26 0 -26 -26Z"), disc(84, 14, 9)),
                (150, 40),
            ),
            (_C.BRAKE, (disc(84, 78, 26), Shape("M84 56v44m-22 -22h44", detail=True)), (44, 60)),
            (_C.LABEL, label(64, 114, 40, 24), (118, 128)),
            (_C.WEBBING, strap((178, 60), (250, 60)), (214, 40)),
            (_C.WIRE_ROPE, wire((178, 110), (250, 110)), (214, 94)),
            (_C.ROPE, rope((178, 160), (250, 160)), (214, 142)),
            (_C.STITCHING, stitching(232, 60, 32), (248, 40)),
            (_C.TERMINATION, termination(238, 110) + termination(238, 160), (251, 135)),
            (_C.THIMBLE, thimble(262, 110) + thimble(262, 160), (276, 134)),
            (_C.ENERGY_ABSORBER, absorber(178, 212, 62), (209, 190)),
            (_C.INDICATOR, indicator(314, 212), (334, 222)),
            (_C.SNAP_HOOK, snap_hook(284, 60) + snap_hook(292, 110) + snap_hook(292, 160), (318, 86)),
        ),
        Kind.CONNECTOR: _outline(
            Kind.CONNECTOR,
            200,
            (
                _C.BODY,
                (Shape("M214 66C214 18 122 18 122 84C122 120 140 178 176 178C202 178 214 160 214 134", 16),),
                (100, 84),
            ),
            (_C.GATE, line((214, 70), (214, 130), width=12), (240, 100)),
            (_C.LABEL, label(120, 92, 16, 28), (148, 116)),
        ),
        Kind.ANCHOR_SLING: _outline(
            Kind.ANCHOR_SLING,
            210,
            (_C.WEBBING, strap((74, 40), (300, 40)), (150, 20)),
            (_C.WIRE_ROPE, wire((96, 100), (278, 100)), (190, 84)),
            (_C.ROPE, rope((96, 160), (278, 160)), (190, 142)),
            (_C.STITCHING, stitching(84, 40, 34) + stitching(256, 40, 34), (101, 20)),
            (_C.TERMINATION, sum((termination(x, y) for x in (94, 254) for y in (100, 160)), ()), (107, 130)),
            (_C.THIMBLE, sum((thimble(98, y, -1) + thimble(276, y) for y in (100, 160)), ()), (64, 130)),
            (_C.D_RING, ring(58, 40, 14) + ring(316, 40, 14), (338, 56)),
            (_C.LABEL, label(200, 30, 34, 20), (217, 64)),
        ),
    }
)
