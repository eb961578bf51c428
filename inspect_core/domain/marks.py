"""Marks on photographs and the readings taken from them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import Shape


class Category(StrEnum):
    """What a mark shows."""

    CUT = "cut"
    BURN = "burn"
    FRAY = "fray"
    RUST = "rust"
    DEPLOYED_ABSORBER = "deployed absorber"
    ABRASION = "abrasion"
    BROKEN_STITCH = "broken stitch"
    DISCOLOURATION = "discolouration"
    CHEMICAL = "chemical"
    DEFORMATION = "deformation"
    CRACK = "crack"
    WEAR = "wear"
    MOVING_PART = "moving part"
    KNOT_OR_SPLICE = "knot or splice"
    BROKEN_WIRE = "broken wire"
    LABEL = "label"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Reading:
    """A number from a mark or by hand. `uncertainty` is expanded, k = 2, in the same unit.

    Not measured is no reading at all, never a zero. `method` says how it was got ("by hand, steel rule",
    "photo, known length", …) and is empty only where a case file left it out.
    """

    measure: str
    value: float
    unit: str
    uncertainty: float
    method: str = ""

    def __post_init__(self) -> None:
        if not math.isfinite(self.value):
            raise BadInput(f"The reading of {self.measure} is not a number.", "Measure it again or leave it out.")
        if not (math.isfinite(self.uncertainty) and self.uncertainty >= 0):
            raise BadInput(
                f"The uncertainty of {self.measure} must be zero or more.",
                "Give the expanded uncertainty (k = 2) in the reading's own unit.",
            )


@dataclass(frozen=True, slots=True)
class Mark:
    """A shape on a photo with what it shows. `made_by` names the person, or the method with its version."""

    id: str
    photo_id: str
    component: Component
    category: Category
    shape: Shape
    readings: tuple[Reading, ...] = ()
    note: str = ""
    made_by: str = ""
