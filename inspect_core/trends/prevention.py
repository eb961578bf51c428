"""From what took gear out to what prevents it: reason, likely causes, measures.

Every line is `common practice, no source`: a place to start looking, never a finding about one item. The cause of one
withdrawal is what a competent person found out about it. Whether a measure helped is asked of `before_after`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from inspect_core.domain.decision import Basis
from inspect_core.domain.marks import Category


@dataclass(frozen=True, slots=True)
class Link:
    """One likely cause of a reason, and what is done against it."""

    reason: Category
    cause: str
    measure: str
    basis: Basis = Basis.COMMON_PRACTICE


_C = Category
_LINES: tuple[tuple[Category, str, str], ...] = (
    (_C.CUT, "line or webbing run over a sharp edge", "edge protection, or an anchor that keeps the line off the edge"),
    (
        _C.CUT,
        "tools or sheet metal carried against the gear",
        "tool pouches and sheaths; gear hung up apart",
    ),
    (_C.BURN, "hot work near the gear: welding, cutting, grinding", "fire blankets, gear made for hot work, distance"),
    (
        _C.BURN,
        "rope or webbing that ran fast over a surface",
        "a device made for descending; find out what happened",
    ),
    (_C.FRAY, "rope over a rough edge or a worn fitting", "edge protection; smooth or replace the fitting"),
    (_C.RUST, "stored wet, or used near salt water or acids", "dry before storing; fittings made for that air"),
    (_C.DEPLOYED_ABSORBER, "a fall was arrested", "find out how the fall came about; guardrail or travel restraint"),
    (_C.DEPLOYED_ABSORBER, "used to haul, or to hang loads from", "work-positioning gear; instruction before use"),
    (_C.ABRASION, "dragged over concrete, steel or ground", "pick up lines when moving; wear sleeves"),
    (_C.ABRASION, "grit worked into the fibres", "wash as the maker says; bags instead of the floor"),
    (_C.BROKEN_STITCH, "seam rubbed or cut at an edge", "edge protection; look at how the gear is worn and stowed"),
    (_C.BROKEN_STITCH, "seam loaded by a fall or a load", "find out about the event; work-positioning gear for loads"),
    (_C.DISCOLOURATION, "sunlight over months", "store in the dark; do not leave gear rigged without need"),
    (
        _C.DISCOLOURATION,
        "fumes or vapour where the gear is stored",
        "another store room, away from battery chargers",
    ),
    (_C.CHEMICAL, "stored beside chemicals, batteries, fuel or paint", "a store of its own, away from chemicals"),
    (
        _C.CHEMICAL,
        "splashed or laid down in chemicals at work",
        "a fibre that stands it; clean as the maker says",
    ),
    (_C.DEFORMATION, "loaded across an edge or across the gate", "anchor connectors that stay in line; instruction"),
    (_C.DEFORMATION, "driven over, or dropped", "a place to hang gear; no gear on driving ways"),
    (_C.CRACK, "dropped or struck", "a place to hang gear; tool lanyards"),
    (_C.CRACK, "corrosion under load", "fittings made for that air; dry storage"),
    (_C.WEAR, "metal on metal in long use", "swivels and thimbles; replace the counterpart too"),
    (_C.MOVING_PART, "dirt, paint or ice in the mechanism", "clean and oil as the maker says; cover while painting"),
    (_C.MOVING_PART, "bent by a side load", "anchor connectors that stay in line; instruction"),
    (_C.KNOT_OR_SPLICE, "line shortened or mended on site", "lines of the right length at hand; instruction"),
    (_C.BROKEN_WIRE, "bent around small edges or drums", "edge protection; larger bending radius"),
    (_C.BROKEN_WIRE, "crushed", "protect the line where people and loads pass"),
    (_C.LABEL, "label rubbed or washed off", "label cover; second mark as the maker allows"),
    (_C.OTHER, "not named by a category", "read the notes of these withdrawals together"),
)

LINKS: Mapping[Category, tuple[Link, ...]] = MappingProxyType(
    {category: tuple(Link(*line) for line in _LINES if line[0] is category) for category in Category}
)
