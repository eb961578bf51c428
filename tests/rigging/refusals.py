"""Refusals beside those of the case tables: what is asked of the package, and words of the answer."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from inspect_core.domain.gear import Item, Kind
from inspect_core.domain.geometry import Point
from inspect_core.rigging.anchors import AnchorCase, AnchorUse
from inspect_core.rigging.direction import DirectionCase, PullTest
from inspect_core.rigging.kit import Joint, Kit, KitPart, KitUse, Role
from inspect_core.rigging.restraint import Tether, check_anchor
from inspect_core.rigging.rig_case import rig_case
from inspect_core.rigging.roof import Roof
from inspect_core.rigging.roof_input import SketchScale, plan_from_csv
from inspect_core.rigging.swing import SwingCase, check_swing
from inspect_core.rigging.units import Dimension, Quantity, dimension_of, to_base

SQUARE = ((0.0, 0.0), (8.0, 0.0), (8.0, 8.0), (0.0, 8.0))
HOLE = ((2.0, 2.0), (3.0, 2.0), (3.0, 3.0))
NAN = float("nan")
Refusal = tuple[str, Callable[[], object], str]


def part(**changes: Any) -> KitPart:
    item = Item(id="L", tag="L-1", kind=Kind.VERTICAL_LIFELINE)
    given: dict[str, Any] = {"role": Role.LIFELINE, "item": item} | changes
    return KitPart(**given)


def kit(parts: int, joints: int = 0) -> Kit:
    items = tuple(part(item=Item(id=f"L-{n}", tag=f"L-{n}", kind=Kind.VERTICAL_LIFELINE)) for n in range(parts))
    hooks = tuple(Joint(f"hook {n}", "ring", None, None) for n in range(joints))
    return Kit("common", KitUse.RESTRAINT, date(2026, 5, 4), items, hooks)


def csv(*rows: str, head: str = "ring,x,y") -> Callable[[], object]:
    return lambda: plan_from_csv("\n".join((head, *rows)), "m")


def swing(**height: Any) -> Callable[[], object]:
    """A swing whose height is given in a faulty way."""
    return lambda: rig_case({"check": "swing", "profile": "common", **height})


def case(check: str, **keys: Any) -> Callable[[], object]:
    return lambda: rig_case({"check": check, "profile": "common", **keys})


def scale(**changes: Any) -> Callable[[], object]:
    given: dict[str, Any] = {
        "start": (0.0, 0.0),
        "end": (900.0, 0.0),
        "length": Quantity(9.0),
        "point_sd_px": 2.0,
    } | changes
    return lambda: SketchScale(**given).metres_per_pixel()


ROOF = {"units": "SI", "roof": [[0, 0], [8, 0], [8, 8]], "anchor": [6, 2]}

#: (name, what makes it, words of its problem)
ALL: list[Refusal] = [
    # Fields of a case
    ("coordinate as a word", case("restraint", **{**ROOF, "units": None}), "has no unit"),
    ("pixel as a word", case("direction", arrow=[["a", 1], [2, 3]]), "no usable number"),
    ("edge as half a number", case("restraint", **ROOF, closed_edges=[{"ring": "roof", "edge": 1.5}]), "whole number"),
    ("yes as a word", case("direction", leg_straps_snug="yes"), "neither true nor false"),
    ("profile as a number", lambda: rig_case({"check": "swing", "profile": 3}), "no text"),
    ("tag of a page", case("restraint", **ROOF, closed_edges=[{"ring": "r" * 300, "edge": 1}]), "longer than 200"),
    ("case as a list", lambda: rig_case([]), "names no check"),
    # Quantities
    ("length as yes", swing(height=True), "yes or no"),
    ("length as a sentence", swing(height="tall"), "is no length"),
    ("length as a list", swing(height=[3]), "missing or unreadable"),
    ("length with an unknown key", swing(height={"value": 3, "unit": "m", "wind": 1}), "unknown key"),
    ("length of no unit", swing(height={"value": 3}), "has no unit"),
    ("length of another unit", swing(height={"value": 3, "unit": "furlong"}), "is no unit of length"),
    ("length without a value", swing(height={"unit": "m"}), "no number"),
    ("length of 400 digits", swing(height={"value": 10**400, "unit": "m"}), "far too large"),
    ("length of a thousand miles", swing(height="1600000 m"), "far beyond any set-up"),
    ("length of infinity", swing(height={"value": float("inf"), "unit": "m"}), "not a number"),
    ("uncertainty below zero", swing(height={"value": 3, "unit": "m", "uncertainty": -1}), "zero or more"),
    ("reading that is none", lambda: Quantity(NAN), "not a number"),
    ("value that is none", lambda: to_base(NAN, "m", Dimension.LENGTH), "not a number"),
    ("unit of nothing", lambda: dimension_of("furlong"), "no unit known here"),
    # Kit
    ("mass range upside down", lambda: part(mass_range_kg=(140.0, 59.0)), "upside down"),
    ("strength of zero", lambda: part(strength_kn=0.0), "strength of L-1 must be above zero"),
    ("rope of zero", lambda: part(rope_diameter=Quantity(0.0)), "rope diameter of L-1 must be above zero"),
    ("51 parts", lambda: kit(51), "far too many parts"),
    ("101 joints", lambda: kit(1, 101), "far too many parts"),
    # Anchor, swing, direction
    ("nobody on the anchor", lambda: AnchorCase("common", AnchorUse.ARREST, None, None, 0), "must be 1 to 100"),
    (
        "rating below zero",
        lambda: AnchorCase("common", AnchorUse.ARREST, Quantity(-1.0), None, 1),
        "rating is below zero",
    ),
    (
        "offset below zero",
        lambda: check_swing(SwingCase("common", Quantity(3.0), Quantity(-1.0), None)),
        "offset of the anchor is below zero",
    ),
    (
        "arrow of one place",
        lambda: rig_case(
            {
                "check": "direction",
                "profile": "common",
                "arrow": [[1, 1], [1, 1]],
                "rope": [[0, 0], [1, 9]],
                "point_sd_px": 1,
            }
        ),
        "no length",
    ),
    (
        "pointing error that is none",
        lambda: DirectionCase("common", Point(0, 0), Point(1, 1), None, None, NAN, PullTest.NOT_DONE, None, None, None),
        "pointing error must be above zero",
    ),
    # Tether and roof
    ("rope below zero", lambda: Tether(Quantity(-1.0), None, None, None, None), "tether is below zero"),
    ("stretch of 5 for 5 %", lambda: Tether(None, None, 5.0, None, None), "share from 0 to 1"),
    ("anchor that is no place", lambda: check_anchor(Roof(SQUARE), (NAN, 1.0)), "place is not a number"),
    ("anchor in an opening", lambda: check_anchor(Roof(SQUARE, (HOLE,)), (2.8, 2.2)), "lies in an opening"),
    ("anchor off the roof", lambda: check_anchor(Roof(SQUARE), (9.0, 1.0)), "lies outside the roof"),
    (
        "roof of 2001 corners",
        lambda: Roof(tuple((float(n), float(n * n)) for n in range(2001))),
        "2001 corners",
    ),
    (
        "201 openings",
        lambda: Roof(SQUARE, tuple(tuple((x / 100 + n / 50, y) for x, y in HOLE) for n in range(201))),
        "201 openings",
    ),
    (
        "opening along the edge",
        lambda: Roof(SQUARE, (((0.0, 2.0), (1.0, 2.0), (1.0, 3.0), (0.0, 3.0)),)),
        "touches the roof edge",
    ),
    ("edge that is not there", lambda: Roof(SQUARE, closed_edges=frozenset({(0, 9)})), "no edge 10"),
    ("plan uncertainty below zero", lambda: Roof(SQUARE, point_uncertainty=-1.0), "uncertainty of the plan"),
    ("opening outside", lambda: Roof(SQUARE, (tuple((x + 9, y) for x, y in HOLE),)), "outside the roof"),
    ("openings that overlap", lambda: Roof(SQUARE, (HOLE, HOLE)), "overlap or touch"),
    ("corner that is no number", lambda: Roof(((0.0, 0.0), (NAN, 0.0), (1.0, 1.0))), "is not a number"),
    ("corner in the next town", lambda: Roof(((0.0, 0.0), (1e6, 0.0), (1.0, 1.0))), "beyond any roof"),
    ("roof of two corners", lambda: Roof(((0.0, 0.0), (1.0, 0.0))), "2 corners"),
    ("corner given twice", lambda: Roof(((0.0, 0.0), (0.0, 0.0), (1.0, 1.0), (0.0, 1.0))), "same place"),
    ("roof that crosses itself", lambda: Roof(((0.0, 0.0), (1.0, 1.0), (1.0, 0.0), (0.0, 1.0))), "crosses or touches"),
    # List of points
    ("list too long", lambda: plan_from_csv("ring,x,y\n" + "roof,0,0\n" * 30_000, "m"), "too long"),
    ("list of nothing", lambda: plan_from_csv(" \n", "m"), "is empty"),
    ("list without a header", csv(head="x,y"), "no header"),
    ("row too short", csv("roof,0"), "Row 2 has 2 fields"),
    ("edge called maybe", csv("roof,0,0,maybe", head="ring,x,y,edge"), "calls its edge “maybe”"),
    ("two anchors", csv("anchor,0,0", "anchor,1,1"), "second anchor"),
    ("ring called chimney", csv("chimney,0,0"), "names the ring “chimney”"),
    ("list without a roof", csv("anchor,0,0"), "has no roof"),
    ("corner as a word", csv("roof,0,zero"), "“zero” is no number"),
    ("list without units", case("restraint", csv="ring,x,y\nroof,0,0\n"), "list of points has no unit"),
    (
        "list with an anchor beside it",
        case("restraint", units="SI", csv="ring,x,y\nroof,0,0\n", anchor=[1, 1]),
        "belong inside the csv",
    ),
    # Scale of a picture
    ("known length of zero", scale(length=Quantity(0.0)), "known length must be above zero"),
    ("nobody points exactly", scale(point_sd_px=0.0), "pointing error must be above zero"),
    ("known length of a few pixels", scale(end=(30.0, 0.0)), "too short in the picture"),
]
