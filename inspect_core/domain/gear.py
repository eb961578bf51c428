"""Gear in the trade's words: kinds, their components, and the registered item."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from types import MappingProxyType

from inspect_core.domain.errors import BadInput


class Kind(StrEnum):
    """What sort of gear an item is. The values are the identifiers used in files and JSON."""

    HARNESS = "harness"
    WEBBING_LANYARD = "webbing lanyard"
    SYNTHETIC_ROPE_LANYARD = "synthetic rope lanyard"
    WIRE_ROPE_LANYARD = "wire rope lanyard"
    ROPE_GRAB = "rope grab"
    VERTICAL_LIFELINE = "vertical lifeline"
    HORIZONTAL_LIFELINE = "horizontal lifeline"
    SELF_RETRACTING_LIFELINE = "self-retracting lifeline"
    CONNECTOR = "connector"
    ANCHOR_SLING = "anchor sling"


class Component(StrEnum):
    """A part of an item that is looked at by itself."""

    WEBBING = "webbing"
    STITCHING = "stitching"
    ENERGY_ABSORBER = "energy absorber"
    SNAP_HOOK = "snap hook"
    D_RING = "D-ring"
    BUCKLE = "buckle"
    ROPE = "rope"
    WIRE_ROPE = "wire rope"
    THIMBLE = "thimble"
    TERMINATION = "termination"
    GATE = "gate"
    CAM = "cam"
    DIRECTION_ARROW = "direction arrow"
    HOUSING = "housing"
    BRAKE = "brake"
    BODY = "body"
    TENSIONER = "tensioner"
    INDICATOR = "indicator"
    LABEL = "label"


class Fibre(StrEnum):
    """Fibre of webbing or rope, as its label states it."""

    POLYESTER = "polyester"
    NYLON = "nylon"
    POLYPROPYLENE = "polypropylene"
    ARAMID = "aramid"
    UHMWPE = "high-modulus polyethylene"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Part:
    """One component of a kind and whether a sound item may lack it."""

    component: Component
    may_be_absent: bool = False


def _parts(*required: Component, optional: tuple[Component, ...] = ()) -> tuple[Part, ...]:
    return tuple(Part(c) for c in required) + tuple(Part(c, may_be_absent=True) for c in optional)


_C = Component
#: Components of each kind, in the order in which hands meet them. Every kind has its label.
PARTS: Mapping[Kind, tuple[Part, ...]] = MappingProxyType(
    {
        Kind.HARNESS: _parts(_C.LABEL, _C.WEBBING, _C.STITCHING, _C.D_RING, _C.BUCKLE, optional=(_C.INDICATOR,)),
        Kind.WEBBING_LANYARD: _parts(
            _C.LABEL, _C.WEBBING, _C.STITCHING, _C.SNAP_HOOK, optional=(_C.ENERGY_ABSORBER, _C.D_RING, _C.INDICATOR)
        ),
        Kind.SYNTHETIC_ROPE_LANYARD: _parts(
            _C.LABEL, _C.ROPE, _C.TERMINATION, _C.THIMBLE, _C.SNAP_HOOK, optional=(_C.ENERGY_ABSORBER, _C.INDICATOR)
        ),
        Kind.WIRE_ROPE_LANYARD: _parts(
            _C.LABEL,
            _C.WIRE_ROPE,
            _C.TERMINATION,
            _C.THIMBLE,
            _C.SNAP_HOOK,
            optional=(_C.ENERGY_ABSORBER, _C.INDICATOR),
        ),
        Kind.ROPE_GRAB: _parts(_C.LABEL, _C.HOUSING, _C.CAM, _C.DIRECTION_ARROW, optional=(_C.GATE, _C.D_RING)),
        Kind.VERTICAL_LIFELINE: _parts(
            _C.LABEL, _C.ROPE, _C.THIMBLE, _C.TERMINATION, optional=(_C.SNAP_HOOK, _C.STITCHING)
        ),
        Kind.HORIZONTAL_LIFELINE: _parts(
            _C.LABEL,
            _C.TERMINATION,
            optional=(
                _C.ROPE,
                _C.WIRE_ROPE,
                _C.WEBBING,
                _C.STITCHING,
                _C.THIMBLE,
                _C.TENSIONER,
                _C.ENERGY_ABSORBER,
                _C.SNAP_HOOK,
                _C.INDICATOR,
            ),
        ),
        Kind.SELF_RETRACTING_LIFELINE: _parts(
            _C.LABEL,
            _C.HOUSING,
            _C.BRAKE,
            _C.SNAP_HOOK,
            _C.INDICATOR,
            optional=(_C.WEBBING, _C.WIRE_ROPE, _C.ROPE, _C.STITCHING, _C.TERMINATION, _C.THIMBLE, _C.ENERGY_ABSORBER),
        ),
        Kind.CONNECTOR: _parts(_C.LABEL, _C.BODY, _C.GATE),
        Kind.ANCHOR_SLING: _parts(
            _C.LABEL, optional=(_C.WEBBING, _C.STITCHING, _C.WIRE_ROPE, _C.ROPE, _C.TERMINATION, _C.THIMBLE, _C.D_RING)
        ),
    }
)

#: Kinds whose load-bearing line comes in several materials: at least one of these must be there.
LINE_OF: Mapping[Kind, tuple[Component, ...]] = MappingProxyType(
    {
        Kind.HORIZONTAL_LIFELINE: (_C.ROPE, _C.WIRE_ROPE, _C.WEBBING),
        Kind.SELF_RETRACTING_LIFELINE: (_C.WEBBING, _C.WIRE_ROPE, _C.ROPE),
        Kind.ANCHOR_SLING: (_C.WEBBING, _C.WIRE_ROPE, _C.ROPE),
    }
)


def components_of(kind: Kind) -> tuple[Component, ...]:
    """Every component of a kind, in inspection order."""
    return tuple(part.component for part in PARTS[kind])


def may_be_absent(kind: Kind, component: Component) -> bool:
    """Whether a sound item of that kind may lack that component."""
    return any(part.component is component and part.may_be_absent for part in PARTS[kind])


_TAG = re.compile(r"[A-Z0-9][A-Z0-9._/-]{0,31}")


def model_label(maker: str, model: str) -> str:
    """Maker and model in one, as lists and filters name them; "" where neither is entered."""
    return f"{maker} {model}".strip()


def clean_tag(text: str) -> str:
    """The tag as stored: trimmed, upper case. Raises BadInput when it is no tag."""
    tag = text.strip().upper()
    if not _TAG.fullmatch(tag):
        raise BadInput(
            f"“{text.strip()[:40]}” is no tag.",
            "Use 1 to 32 letters, digits, dots, dashes or slashes, starting with a letter or digit.",
        )
    return tag


#: What people write where no serial number can be read.
_NO_SERIAL = ("-", "–", "—", "?", "n/a", "na", "none", "no", "nil", "unknown", "illegible", "unreadable", "notreadable")


def serial_key(text: str) -> str:
    """A serial number as it is compared, case and spaces aside; "" where there is none.

    >>> serial_key(" ab 12-3 "), serial_key("Illegible")
    ('ab12-3', '')
    """
    key = "".join(text.split()).casefold()
    return "" if key in _NO_SERIAL else key


def maker_key(text: str) -> str:
    """A maker's name as it is compared, case and spaces aside."""
    return "".join(text.split()).casefold()


#: Facts of the rule vocabulary that stay as they are for as long as the gear lasts.
LASTING = (
    "absorber class",
    "aluminium fittings",
    "rope construction",
    "wire rope construction",
    "wire rope core",
)
_ABOVE_ZERO = (
    *("webbing_width_mm", "rope_diameter_mm", "packed_length_mm", "throat_mm"),
    *("maker_max_age_years", "maker_max_use_years"),
)


@dataclass(frozen=True, slots=True)
class Item:
    """One piece of gear with its own tag.

    Lengths in millimetres. None means not known, never zero. `maker_limits` are the maker's own limits for this
    model, measure name to number (see the rule vocabulary), entered with the item because they bind before ours.
    `lasting_facts`: facts of the rule vocabulary that belong to the gear and not to one look at it (LASTING), where
    they are known. `former_tags`: tags that it carried before, oldest first; its old labels still lead to it.
    """

    id: str
    tag: str
    kind: Kind
    site: str = ""
    maker: str = ""
    model: str = ""
    serial: str = ""
    made_on: date | None = None
    first_used_on: date | None = None
    registered_on: date | None = None
    profile: str = "common"
    fibre: Fibre = Fibre.UNKNOWN
    standards: tuple[str, ...] = ()
    webbing_width_mm: float | None = None
    rope_diameter_mm: float | None = None
    rope_range_mm: tuple[float, float] | None = None
    packed_length_mm: float | None = None
    throat_mm: float | None = None
    maker_max_age_years: float | None = None
    maker_limits: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    price: float | None = None
    note: str = ""
    maker_max_use_years: float | None = None
    lasting_facts: Mapping[str, str | bool] = field(default_factory=lambda: MappingProxyType({}))
    former_tags: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for name in _ABOVE_ZERO:
            value = getattr(self, name)
            if value is not None and not 0 < value < 1e6:
                words = name.replace("_", " ")
                raise BadInput(f"The {words} must be above zero.", "Leave it empty when it is not known.")
        if self.rope_range_mm is not None and not 0 < self.rope_range_mm[0] <= self.rope_range_mm[1]:
            raise BadInput(
                "The smallest accepted rope diameter is above the largest.", "Give the range as smallest, then largest."
            )
        if self.made_on and self.first_used_on and self.first_used_on < self.made_on:
            raise BadInput("The first use lies before the day of making.", "Check both dates on the maker's label.")
        if self.price is not None and self.price < 0:
            raise BadInput("The price is below zero.", "Leave it empty when it is not known.")
        strays = sorted(set(self.lasting_facts) - set(LASTING))
        if strays:
            raise BadInput(f"“{strays[0][:60]}” does not last as long as the gear.", f"Use only: {', '.join(LASTING)}.")
