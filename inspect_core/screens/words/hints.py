"""One short hint per component: what to look for. Where no published list says it, the hint says so."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from inspect_core.domain.gear import Component

PRACTICE = "common practice, no source"
_DEFECT_LIST = "HSE INDG367, defect list"


@dataclass(frozen=True, slots=True)
class Hint:
    """What to look for, in one breath, and where that comes from."""

    look: str
    source: str


#: Sources name only what the list really holds; the way of looking is trade habit throughout.
HINTS: Mapping[Component, Hint] = MappingProxyType(
    {
        Component.LABEL: Hint(
            "There, and every line of it can be read?", "ASME B30.9, 9-5.9.5 (written for lifting gear)"
        ),
        Component.WEBBING: Hint(
            "Bend it over your hand, both sides, both edges: cuts, wear, glazed or hard spots, soft or flaking fibres, "
            "knots, grit.",
            _DEFECT_LIST,
        ),
        Component.STITCHING: Hint("Every seam: cut, pulled, worn or missing stitches.", _DEFECT_LIST),
        Component.ENERGY_ABSORBER: Hint("Any webbing pulled out, however short? Cover whole and closed?", _DEFECT_LIST),
        Component.SNAP_HOOK: Hint(
            "Gate shuts and locks by itself? No bend, crack, rust or sharp edge?",
            "ASME B30.10 (written for lifting gear)",
        ),
        Component.D_RING: Hint("Bent, cracked, worn thin where it bears, rusted, rough?", PRACTICE),
        Component.BUCKLE: Hint("Closes, holds, opens as it should? Bent, cracked, rusted?", PRACTICE),
        Component.ROPE: Hint(
            "Run it through your hand: cuts, fluff, glazed or hard spots, core showing, soft or thin places.", PRACTICE
        ),
        Component.WIRE_ROPE: Hint(
            "Broken wires, flattened or worn wires, kinks, rust. Use gloves.", "OSHA 29 CFR 1910.184(f)(5)"
        ),
        Component.THIMBLE: Hint("Sits tight in its eye? Not bent, cracked or missing?", PRACTICE),
        Component.TERMINATION: Hint(
            "Splice, swage or sewn eye: slipped, cracked, loose, broken wires beside it?", PRACTICE
        ),
        Component.GATE: Hint(
            "Closes and locks by itself, without a gap? Spring strong?", "ASME B30.10 (written for lifting gear)"
        ),
        Component.CAM: Hint("Moves freely and springs back? Teeth clean, not worn?", PRACTICE),
        Component.DIRECTION_ARROW: Hint("There and readable? It has to point to the anchor.", PRACTICE),
        Component.HOUSING: Hint("Cracks, dents, missing screws, bent handle?", PRACTICE),
        Component.BRAKE: Hint("Pull sharply: does it lock at once and hold? Let go: does it free itself?", PRACTICE),
        Component.BODY: Hint("Bent, cracked, worn thin, rusted, rough?", PRACTICE),
        Component.TENSIONER: Hint("Turns, holds, locked? Threads clean, nothing bent?", PRACTICE),
        Component.INDICATOR: Hint("Load indicator torn, unfolded or showing its warning colour?", PRACTICE),
    }
)
