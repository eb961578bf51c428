"""The parts of a kit as the set-up check sees them: registered items with what their labels add."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Item, Kind
from inspect_core.rigging.arrest import AbsorberClass
from inspect_core.rigging.units import Quantity


class Role(StrEnum):
    """What a part does in the kit."""

    HARNESS = "harness"
    LANYARD = "lanyard"
    ROPE_GRAB = "rope grab"
    LIFELINE = "lifeline"
    SELF_RETRACTING = "self-retracting lifeline"
    CONNECTOR = "connector"
    ANCHOR = "anchor"


#: Kinds of gear that can play a role.
KINDS_OF: dict[Role, tuple[Kind, ...]] = {
    Role.HARNESS: (Kind.HARNESS,),
    Role.LANYARD: (Kind.WEBBING_LANYARD, Kind.SYNTHETIC_ROPE_LANYARD, Kind.WIRE_ROPE_LANYARD),
    Role.ROPE_GRAB: (Kind.ROPE_GRAB,),
    Role.LIFELINE: (Kind.VERTICAL_LIFELINE, Kind.HORIZONTAL_LIFELINE),
    Role.SELF_RETRACTING: (Kind.SELF_RETRACTING_LIFELINE,),
    Role.CONNECTOR: (Kind.CONNECTOR,),
    Role.ANCHOR: (Kind.ANCHOR_SLING,),
}


class KitUse(StrEnum):
    """What the kit is put together for."""

    ARREST = "fall arrest"
    RESTRAINT = "travel restraint"


class Gate(StrEnum):
    """How the gate of a hook or connector behaves."""

    SELF_LOCKING = "self-closing and self-locking"
    SELF_CLOSING = "self-closing only"
    SCREW = "screw gate"
    OPEN = "no gate"


class JoinedTo(StrEnum):
    """What a hook or connector is clipped to."""

    RING = "ring"
    HOOK = "another hook"
    WEBBING = "webbing"
    ROPE = "rope without thimble"
    STRUCTURE = "structure"


@dataclass(frozen=True, slots=True)
class KitPart:
    """One part. `status` is the custody word (in service, on hold or hold, withdrawn, destroyed); "" is not known.

    `strength_kn` as printed on the label. `absorber` says whether the part holds an energy absorber. `mass_range_kg` is
    the user's mass that the maker allows. Rope words are the maker's own, such as "kernmantle" or "three-strand".
    """

    role: Role
    item: Item
    status: str = ""
    due_on: date | None = None
    strength_kn: float | None = None
    mass_range_kg: tuple[float, float] | None = None
    absorber: bool | None = None
    absorber_class: AbsorberClass | None = None
    rope_type: str = ""
    accepted_rope_types: tuple[str, ...] = ()
    rope_diameter: Quantity | None = None

    def __post_init__(self) -> None:
        if self.item.kind not in KINDS_OF[self.role]:
            wanted = " or ".join(kind.value for kind in KINDS_OF[self.role])
            raise BadInput(
                f"{self.item.tag} is a {self.item.kind.value} and cannot be the {self.role.value}.",
                f"Choose a {wanted}.",
            )
        if self.mass_range_kg is not None and not 0 < self.mass_range_kg[0] <= self.mass_range_kg[1]:
            raise BadInput(
                f"The mass range of {self.item.tag} is upside down.", "Give the smallest mass, then the largest."
            )
        if self.strength_kn is not None and not self.strength_kn > 0:
            raise BadInput(f"The strength of {self.item.tag} must be above zero.", "Leave it out when it is not known.")
        if self.rope_diameter is not None and not self.rope_diameter.value > 0:
            raise BadInput(f"The rope diameter of {self.item.tag} must be above zero.", "Measure it again.")

    @property
    def name(self) -> str:
        """What a line of the result calls the part."""
        return f"{self.role.value} {self.item.tag}"


@dataclass(frozen=True, slots=True)
class Joint:
    """One hook or connector clipped to something. Lengths in metres.

    `bar` is the thickness of the ring or structure that must pass the gate, `throat` the opening of the gate.
    """

    hook: str
    to: str
    joined_to: JoinedTo | None
    gate: Gate | None
    throat: Quantity | None = None
    bar: Quantity | None = None
    alone_in_ring: bool | None = None


@dataclass(frozen=True, slots=True)
class Kit:
    """Everything worn together, for one worker on one day. `user_mass` in kilograms with clothing and tools."""

    profile: str
    use: KitUse
    on: date
    parts: tuple[KitPart, ...]
    joints: tuple[Joint, ...] = ()
    user_mass: Quantity | None = None

    def __post_init__(self) -> None:
        if not self.parts:
            raise BadInput("The kit has no parts.", "Add the harness first.")
        if len(self.parts) > 50 or len(self.joints) > 100:
            raise BadInput("The kit has far too many parts.", "Check one worker's kit at a time.")
        tags = [part.item.tag for part in self.parts]
        twice = next((tag for tag in tags if tags.count(tag) > 1), None)
        if twice:
            raise BadInput(f"{twice} is in the kit twice.", "Name each item once.")

    def having(self, role: Role) -> tuple[KitPart, ...]:
        """The parts of one role."""
        return tuple(part for part in self.parts if part.role is role)
