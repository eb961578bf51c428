"""What can be tapped, in plain words and in the order in which it is likely."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType

from inspect_core.domain.decision import Answer
from inspect_core.domain.gear import Component, Kind, components_of, may_be_absent
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category

ANSWER_WORDS: Mapping[Answer, str] = MappingProxyType(
    {
        Answer.SOUND: "Sound",
        Answer.DEFECT: "Defect",
        Answer.UNSEEN: "Not seen",
        Answer.ABSENT: "Has none",
    }
)
ANSWER_ICONS: Mapping[Answer, str] = MappingProxyType(
    {
        Answer.SOUND: ":material/check_circle:",
        Answer.DEFECT: ":material/warning:",
        Answer.UNSEEN: ":material/visibility_off:",
        Answer.ABSENT: ":material/block:",
    }
)
TYPE_WORDS: Mapping[InspectionType, str] = MappingProxyType(
    {
        InspectionType.BEFORE_USE: "Check before use",
        InspectionType.PERIODIC: "Periodic inspection",
        InspectionType.AFTER_EVENT: "Inspection after an event",
    }
)

_TEXTILE = (
    Category.CUT,
    Category.ABRASION,
    Category.BURN,
    Category.FRAY,
    Category.BROKEN_STITCH,
    Category.DISCOLOURATION,
    Category.CHEMICAL,
    Category.KNOT_OR_SPLICE,
)
_METAL = (Category.RUST, Category.DEFORMATION, Category.CRACK, Category.WEAR, Category.MOVING_PART)
_WIRE = (Category.BROKEN_WIRE, Category.RUST, Category.WEAR, Category.DEFORMATION, Category.KNOT_OR_SPLICE)
_BY_COMPONENT: Mapping[Component, tuple[Category, ...]] = MappingProxyType(
    {
        Component.WEBBING: tuple(c for c in _TEXTILE if c is not Category.BROKEN_STITCH),
        Component.STITCHING: (Category.BROKEN_STITCH, Category.CUT, Category.ABRASION, Category.BURN),
        Component.ENERGY_ABSORBER: (Category.DEPLOYED_ABSORBER, Category.CUT, Category.BURN, Category.ABRASION),
        Component.ROPE: tuple(c for c in _TEXTILE if c is not Category.BROKEN_STITCH),
        Component.WIRE_ROPE: _WIRE,
        Component.TERMINATION: (
            Category.CUT,
            Category.BROKEN_WIRE,
            Category.RUST,
            Category.CRACK,
            Category.DEFORMATION,
        ),
        Component.INDICATOR: (Category.DEPLOYED_ABSORBER, Category.OTHER),
        Component.LABEL: (Category.LABEL,),
        Component.DIRECTION_ARROW: (Category.LABEL, Category.WEAR),
    }
)


def answers_for(kind: Kind, component: Component) -> tuple[Answer, ...]:
    """What may be tapped for a component; "has none" only where a sound item may lack it."""
    allowed = (Answer.SOUND, Answer.DEFECT, Answer.UNSEEN)
    return (*allowed, Answer.ABSENT) if may_be_absent(kind, component) else allowed


def categories_first(kind: Kind, first: Iterable[Component] = ()) -> tuple[Category, ...]:
    """All categories, those that fit the components named in `first` before those that fit the kind's others."""
    wanted: list[Category] = []
    for component in (*first, *components_of(kind)):
        wanted += _BY_COMPONENT.get(component, _METAL)
    return tuple(dict.fromkeys([*wanted, *Category]))


def components_first(kind: Kind, first: Iterable[Component] = ()) -> tuple[Component, ...]:
    """The kind's components, those named in `first` before the others."""
    known = components_of(kind)
    return tuple(dict.fromkeys([*(c for c in first if c in known), *known]))
