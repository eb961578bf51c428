"""The measures a reading may carry: one list for readings, rules, screens and the command line.

Not measured is no reading, never a zero. Strength is not in the list: no photograph and no rule shows it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from inspect_core.domain.errors import BadInput


class Unit(StrEnum):
    """Units of readings, spelled as in files and JSON."""

    MM = "mm"
    MM2 = "mm2"
    SHARE = "share"  # 0 to 1, or above 1 where a growth can pass the whole
    DEGREE = "deg"
    COUNT = "count"
    CELSIUS = "degC"
    DELTA_E = "dE00"  # CIEDE2000, dimensionless
    GRADE = "grade"


class Source(StrEnum):
    """Where a reading of a measure can come from."""

    PHOTO = "photo"  # from a mark on a photograph, and by hand as well
    HAND = "hand"  # a photograph cannot give it


@dataclass(frozen=True, slots=True)
class Measure:
    """One thing that can be measured.

    Parameters
    ----------
    name: plain trade words, the identifier in rules and JSON.
    unit: the only unit in which the measure is kept.
    description: what is measured, from where to where.
    larger_is_worse: True or False; None where the number by itself is neither good nor bad.
    source: whether a mark on a photo can give it.
    """

    name: str
    unit: Unit
    description: str
    larger_is_worse: bool | None
    source: Source


def _photo(name: str, unit: Unit, description: str, larger_is_worse: bool | None = True) -> Measure:
    return Measure(name, unit, description, larger_is_worse, Source.PHOTO)


def _hand(name: str, unit: Unit, description: str, larger_is_worse: bool | None = True) -> Measure:
    return Measure(name, unit, description, larger_is_worse, Source.HAND)


_ALL = (
    # Any mark
    _photo("length", Unit.MM, "Length along the damage."),
    _photo("width", Unit.MM, "Width across the damage, square to its length."),
    _photo("area", Unit.MM2, "Area enclosed by the mark."),
    _photo("area share", Unit.SHARE, "Damaged area over the area of the component that shows in the photo."),
    _photo("angle", Unit.DEGREE, "Angle between two straight parts of the mark.", None),
    # Webbing
    _photo("depth from edge", Unit.MM, "How far a cut or fray reaches in from the webbing's edge, square to the edge."),
    _photo("depth share", Unit.SHARE, "Depth from the edge over the webbing width."),
    _photo("webbing width", Unit.MM, "Width of the webbing, edge to edge, square to the edges.", False),
    # Stitching
    _photo("stitch spacing", Unit.MM, "Mean distance from one stitch to the next along the seam.", None),
    _photo("stitch count", Unit.COUNT, "Stitches found along the drawn line.", False),
    _photo("missing stitches", Unit.COUNT, "Stitches missing, broken or pulled along the drawn line."),
    _photo("stitch side difference", Unit.COUNT, "Stitches by which the two sides of one seam differ."),
    # Fibre rope and wire rope
    _photo("rope diameter", Unit.MM, "Diameter of a rope, median of many sections.", False),
    _photo("diameter loss", Unit.SHARE, "Loss of rope diameter over the nominal diameter."),
    _photo("lay length", Unit.MM, "Length of one full turn of a strand along the rope.", None),
    _photo("broken wires in a lay", Unit.COUNT, "Broken wires seen within one lay length."),
    _photo("broken wires in a strand", Unit.COUNT, "Broken wires seen in one strand within one lay length."),
    _photo("broken wires in a valley", Unit.COUNT, "Broken wires between strands within one lay length."),
    _photo("broken wires at termination", Unit.COUNT, "Broken wires beside or inside the end fitting."),
    _photo("broken wires in six diameters", Unit.COUNT, "Broken wires within a length of six rope diameters."),
    _photo("broken wires in thirty diameters", Unit.COUNT, "Broken wires within a length of thirty rope diameters."),
    _hand("broken wire share in a lay", Unit.SHARE, "Broken wires within one lay length over all wires of the rope."),
    _hand("broken wire share in a strand", Unit.SHARE, "Broken wires within one lay length over the strand's wires."),
    _photo("outer wire wear", Unit.SHARE, "Loss of an outer wire's diameter by wear over its original diameter."),
    # Energy absorber
    _photo("pull-out", Unit.MM, "Tear webbing pulled out of an energy absorber."),
    _photo("pack length", Unit.MM, "Length of the energy absorber's pack as it is now.", None),
    _photo("pack length increase", Unit.MM, "Pack length now less the packed length of a new one."),
    # Hooks, connectors, rings
    _photo("throat", Unit.MM, "Throat opening of a hook, narrowest way from tip to shank.", None),
    _photo("throat increase", Unit.SHARE, "Growth of the throat opening over its nominal opening."),
    _photo("twist", Unit.DEGREE, "Turn of a hook's tip out of the plane of the unbent hook."),
    _hand("section loss", Unit.SHARE, "Metal worn or corroded away over the original cross-section."),
    _photo(
        "section thickness loss", Unit.SHARE, "Metal thickness lost, as seen square to the camera, over the original."
    ),
    _photo("gate gap", Unit.MM, "Gap that stays between gate and nose when the gate is let go."),
    # Surfaces and colour
    _photo("rust area share", Unit.SHARE, "Rusted area over the area of the metal region marked by the inspector."),
    _photo("rust grade", Unit.GRADE, "ASTM D610 grade of the rusted share: 10 clean, 0 more than half.", False),
    _photo("colour difference", Unit.DELTA_E, "CIEDE2000 difference between a reference patch and a suspect patch."),
    _photo("grey-scale grade", Unit.GRADE, "ISO 105 grey-scale grade for change in colour: 5 none, 1 strong.", False),
    # Known only from people
    _hand("exposure temperature", Unit.CELSIUS, "Highest temperature the gear has been exposed to."),
)

#: Every measure by its name, in the order in which lists show them.
MEASURES: Mapping[str, Measure] = MappingProxyType({measure.name: measure for measure in _ALL})


def measure_named(name: str) -> Measure:
    """The measure of that name. Raises BadInput naming what is known."""
    try:
        return MEASURES[name]
    except KeyError:
        raise BadInput(f"“{name}” is no known measure.", f"Use one of: {', '.join(MEASURES)}.") from None
