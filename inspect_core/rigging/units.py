"""Lengths, forces and masses: one exact conversion each, never a number copied from a page.

Inside `rigging` every length is in metres, every force in kilonewtons, every mass in kilograms; where a line of
a result shows millimetres its unit says so. Factors are the definitions of the units (international foot and
pound of 1959, standard gravity for the pound-force), all exact.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from inspect_core.domain.errors import BadInput


class Dimension(StrEnum):
    """What a number measures."""

    LENGTH = "length"
    FORCE = "force"
    MASS = "mass"


#: Unit to its exact size in the base unit of its dimension (m, kN, kg).
UNITS: Mapping[Dimension, Mapping[str, Decimal]] = {
    Dimension.LENGTH: {
        "m": Decimal(1),
        "cm": Decimal("0.01"),
        "mm": Decimal("0.001"),
        "ft": Decimal("0.3048"),
        "in": Decimal("0.0254"),
    },
    Dimension.FORCE: {"kN": Decimal(1), "N": Decimal("0.001"), "lbf": Decimal("0.0044482216152605")},
    Dimension.MASS: {"kg": Decimal(1), "lb": Decimal("0.45359237")},
}
#: What a bare number means under each system of units.
SYSTEMS: Mapping[str, Mapping[Dimension, str]] = {
    "SI": {Dimension.LENGTH: "m", Dimension.FORCE: "kN", Dimension.MASS: "kg"},
    "feet": {Dimension.LENGTH: "ft", Dimension.FORCE: "lbf", Dimension.MASS: "lb"},
}
#: No set-up has a length, force or mass above this many base units; more is a slip of the pen.
LARGEST = {Dimension.LENGTH: 10_000.0, Dimension.FORCE: 100_000.0, Dimension.MASS: 1_000_000.0}


def to_base(value: float, unit: str, dimension: Dimension) -> float:
    """`value` in metres, kilonewtons or kilograms, correctly rounded. Raises BadInput for an unknown unit."""
    known = UNITS[dimension]
    if unit not in known:
        raise BadInput(f"“{unit[:20]}” is no unit of {dimension.value} here.", f"Use one of: {', '.join(known)}.")
    if not math.isfinite(value):
        raise BadInput(f"A {dimension.value} is not a number.", "Measure it again or leave it out.")
    return float(Decimal(repr(float(value))) * known[unit])


def from_base(value: float, unit: str, dimension: Dimension) -> float:
    """The reverse of `to_base`."""
    return float(Decimal(repr(float(value))) / UNITS[dimension][unit])


def dimension_of(unit: str) -> Dimension:
    """The dimension a unit belongs to. Raises BadInput for an unknown unit."""
    for dimension, known in UNITS.items():
        if unit in known:
            return dimension
    every = ", ".join(unit for known in UNITS.values() for unit in known)
    raise BadInput(f"“{unit[:20]}” is no unit known here.", f"Use one of: {every}.")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A length (m), force (kN) or mass (kg) with its expanded uncertainty (k = 2) in the same unit.

    Raises BadInput when the value is no finite number or the uncertainty is below zero.
    """

    value: float
    uncertainty: float = 0.0

    def __post_init__(self) -> None:
        if not math.isfinite(self.value):
            raise BadInput("A reading is not a number.", "Measure it again or leave it out.")
        if not (math.isfinite(self.uncertainty) and self.uncertainty >= 0):
            raise BadInput("An uncertainty must be zero or more.", "Give the expanded uncertainty (k = 2).")

    @property
    def low(self) -> float:
        """Lower end of the interval."""
        return self.value - self.uncertainty

    @property
    def high(self) -> float:
        """Upper end of the interval."""
        return self.value + self.uncertainty

    def times(self, factor: float) -> Quantity:
        """The quantity in a unit `factor` times smaller, or scaled by a number."""
        return Quantity(self.value * factor, self.uncertainty * abs(factor))


_TEXT = re.compile(r"(-?\d{1,9}(?:\.\d{1,9})?)\s*(m|cm|mm|ft|in|kN|N|lbf|kg|lb)")
_FEET_AND_INCHES = re.compile(r"(\d{1,6})\s*ft\s+(\d{1,2}(?:\.\d{1,6})?)\s*in")


def parse(raw: object, dimension: Dimension, system: str | None) -> Quantity:
    """Read a quantity as people and files give it.

    Accepted: text with its unit ("3.5 ft", "3 ft 6 in", "1067 mm"); an object with `value`, `unit` and an optional
    `uncertainty` in that unit; a bare number when the case names its `units` ("SI" or "feet"). A number
    without a unit is refused, because a foot taken for a metre is a fall.
    """
    if isinstance(raw, bool):
        raise BadInput("A yes or no stands where a number belongs.", "Give a number with its unit.")
    if isinstance(raw, (int, float)):
        if system is None:
            raise BadInput("A number has no unit.", 'Write it as "3.5 ft" or name the units of the whole case.')
        return _checked(_number(raw), 0.0, SYSTEMS[system][dimension], dimension)
    if isinstance(raw, str):
        both = _FEET_AND_INCHES.fullmatch(raw.strip())
        if both and dimension is Dimension.LENGTH:
            return _checked(float(Decimal(both[1]) * 12 + Decimal(both[2])), 0.0, "in", dimension)
        one = _TEXT.fullmatch(raw.strip())
        if one is None:
            raise BadInput(f"“{raw[:40]}” is no {dimension.value}.", 'Write a number and its unit, such as "3.5 ft".')
        return _checked(float(one[1]), 0.0, one[2], dimension)
    if isinstance(raw, Mapping):
        extra = set(raw) - {"value", "unit", "uncertainty"}
        if extra:
            raise BadInput(
                f"A {dimension.value} has the unknown key “{str(min(extra, key=str))[:40]}”.",
                "Use value, unit and uncertainty.",
            )
        unit = raw.get("unit", SYSTEMS[system][dimension] if system else None)
        if not isinstance(unit, str):
            raise BadInput("A number has no unit.", "Give its unit beside the value.")
        return _checked(_number(raw.get("value")), _number(raw.get("uncertainty", 0.0)), unit, dimension)
    raise BadInput(f"A {dimension.value} is missing or unreadable.", 'Write a number and its unit, such as "3.5 ft".')


def _number(raw: object) -> float:
    if isinstance(raw, bool) or not isinstance(raw, (int, float)):
        raise BadInput("A value is no number.", "Give a plain number.")
    try:
        return float(raw)
    except OverflowError:
        raise BadInput("A number is far too large.", "Check the number and its unit.") from None


def _checked(value: float, uncertainty: float, unit: str, dimension: Dimension) -> Quantity:
    quantity = Quantity(to_base(value, unit, dimension), to_base(uncertainty, unit, dimension))
    if abs(quantity.value) > LARGEST[dimension] or quantity.uncertainty > LARGEST[dimension]:
        raise BadInput(f"A {dimension.value} is far beyond any set-up.", "Check the number and its unit.")
    return quantity


def show_length(metres: float) -> str:
    """A length for people, in both systems: "1.07 m (3 ft 6.0 in)"; below 0.3 m "89 mm (3.5 in)"."""
    inches = from_base(abs(metres), "in", Dimension.LENGTH)
    minus = "−" if metres < 0 else ""
    if 0 < abs(metres) < 0.3:
        digits = 0 if abs(metres) >= 0.01 else 1
        return f"{minus}{abs(metres) * 1000:.{digits}f} mm ({minus}{inches:.{digits + 1}f} in)"
    tenths = round(inches * 10)
    feet, rest = divmod(tenths, 120)
    return f"{minus}{abs(metres):.2f} m ({minus}{feet} ft {rest / 10:.1f} in)"


def show_spread(metres: float) -> str:
    """An uncertainty of a length for people, with its sign: " ± 12 mm"; empty for none."""
    return "" if metres == 0 else f" ± {metres * 1000:.{1 if metres < 0.01 else 0}f} mm"


def show_force(kilonewtons: float) -> str:
    """A force for people, in both systems: "8.007 kN (1800 lbf)"."""
    return f"{kilonewtons:.3f} kN ({from_base(kilonewtons, 'lbf', Dimension.FORCE):.0f} lbf)"


def show_mass(kilograms: float) -> str:
    """A mass for people, in both systems: "140.6 kg (310 lb)"."""
    return f"{kilograms:.1f} kg ({from_base(kilograms, 'lb', Dimension.MASS):.0f} lb)"
