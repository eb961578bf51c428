"""What has to be asked of a person, and what may be measured, because a rule of that item weighs it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from inspect_core.domain.decision import FactValue
from inspect_core.domain.gear import LASTING, Component, Item, Kind, components_of
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category
from inspect_core.domain.measures import MEASURES, Measure
from inspect_core.rules.model import FactSpec, FactType, LooksAt, Rule
from inspect_core.usecases.casefile import facts_of_item, registered_facts
from inspect_core.usecases.services import Services

#: What can happen to gear between two looks at it. Asked together: "has anything happened?"
_EVENTS = ("arrested fall", "impact load", "chemical exposure", "heat exposure")
_EVENTS_IN_DETAIL = (*_EVENTS, "stored in sunlight", "stored beside chemicals", "altered or repaired")
#: Asked only after the other fact was answered by yes.
_FOLLOWS: Mapping[str, str] = MappingProxyType(
    {
        "chemical": "chemical exposure",
        "aluminium fittings": "chemical exposure",
        "exposure temperature": "heat exposure",
    }
)
_C = Component
#: Answered with the part in the hand. The first of these components that the kind has is the place.
_AT_PART: Mapping[str, tuple[Component, ...]] = MappingProxyType(
    {
        "label legible": (_C.LABEL,),
        "standard mark present": (_C.LABEL,),
        "gate closes by itself": (_C.GATE, _C.SNAP_HOOK),
        "double action works": (_C.GATE, _C.SNAP_HOOK),
        "stitching sides alike": (_C.STITCHING,),
        "absorber class": (_C.ENERGY_ABSORBER,),
        "brittle": (_C.WEBBING, _C.ROPE),
        "mould": (_C.WEBBING, _C.ROPE),
        "core visible": (_C.ROPE,),
        "rope construction": (_C.ROPE,),
        "wire rope construction": (_C.WIRE_ROPE,),
        "wire rope core": (_C.WIRE_ROPE,),
        "termination stops the rope grab": (_C.TERMINATION,),
        "arrow points to anchor": (_C.DIRECTION_ARROW,),
        "accepted rope type": (_C.CAM,),
        "rope diameter": (_C.ROPE, _C.CAM),
        "locks on a sharp pull": (_C.BRAKE,),
        "retracts smoothly": (_C.BRAKE,),
    }
)
#: Trials that belong to every use of that kind, not only to an inspection in detail.
_AT_EVERY_USE: Mapping[Kind, tuple[str, ...]] = MappingProxyType(
    {
        Kind.ROPE_GRAB: ("arrow points to anchor", "accepted rope type", "rope diameter"),
        Kind.SELF_RETRACTING_LIFELINE: ("locks on a sharp pull", "retracts smoothly"),
    }
)


@dataclass(frozen=True, slots=True)
class Question:
    """A fact that only people know.

    Parameters
    ----------
    event: it may have happened since the last look. `follows`: asked only where that other fact is true.
    component: the part in the hand when it is answered. `unit` only for numbers, `values` only for words.
    """

    fact: str
    meaning: str
    type: FactType
    event: bool = False
    follows: str | None = None
    component: Component | None = None
    unit: str | None = None
    values: tuple[str, ...] = ()
    lowest: float | None = None
    highest: float | None = None


def questions(item: Item, type_: InspectionType, services: Services) -> tuple[Question, ...]:
    """The facts that rules of this item weigh and that are not registered with it, in the order of the vocabulary.

    A check before use asks what may have happened, what follows from it, and the trials that belong to every use.
    """
    known = facts_of_item(item, services.today(), last_periodic=None, extra={})
    in_detail = type_ is not InspectionType.BEFORE_USE
    wanted = {fact for rule in services.rules.for_item(item.profile, item.kind) for fact in _facts_of(rule)}
    if in_detail:
        wanted.add("service severity")  # it sets the next date, not the outcome
    events = _EVENTS_IN_DETAIL if in_detail else _EVENTS
    asked = []
    for spec in services.rules.facts:
        component = next((c for c in _AT_PART.get(spec.name, ()) if c in components_of(item.kind)), None)
        if spec.name not in wanted or known.get(spec.name, "unknown") != "unknown":
            continue
        at_use = spec.name in (*events, *_FOLLOWS, *_AT_EVERY_USE.get(item.kind, ()))
        placed = component is not None or spec.name == "service severity"
        if at_use or (in_detail and placed):
            asked.append(
                Question(
                    spec.name,
                    spec.meaning,
                    spec.type,
                    spec.name in events,
                    _FOLLOWS.get(spec.name),
                    component,
                    spec.unit,
                    spec.values,
                    spec.lowest,
                    spec.highest,
                )
            )
    return tuple(asked)


def lasting_of(kind: Kind, services: Services) -> tuple[FactSpec, ...]:
    """Facts that last as long as gear of that kind, and that some rule of it weighs; they may be registered with it."""
    rules = services.rules
    weighed = {
        fact for profile in rules.profiles for rule in rules.for_item(profile.name, kind) for fact in _facts_of(rule)
    }
    placed = {
        name: not _AT_PART.get(name) or any(part in components_of(kind) for part in _AT_PART[name]) for name in LASTING
    }
    return tuple(spec for spec in rules.facts if spec.name in weighed and placed.get(spec.name, False))


@dataclass(frozen=True, slots=True)
class Contradiction:
    """A fact that was answered, and of which the register says something else by now."""

    fact: str
    answered: FactValue
    registered: FactValue


def contradictions(facts: Mapping[str, FactValue], item: Item) -> tuple[Contradiction, ...]:
    """Answers that cannot be recorded, because what is registered says otherwise: the register was corrected, or filled
    in, after they were given. What the register does not bind may differ (see `own_facts`)."""
    registered = registered_facts(item)
    return tuple(
        Contradiction(name, value, registered[name])
        for name, value in facts.items()
        if name in registered and value != registered[name] and not (name == "standard mark present" and value is False)
    )


def registered_at(item: Item, component: Component | None) -> tuple[tuple[str, str | bool], ...]:
    """Lasting facts that are registered of an item and so not asked, with the part at which they would be; None: at no
    part."""
    parts = components_of(item.kind)

    def place(name: str) -> Component | None:
        return next((part for part in _AT_PART.get(name, ()) if part in parts), None)

    return tuple((name, value) for name, value in item.lasting_facts.items() if place(name) is component)


def measures_for(item: Item, component: Component, category: Category, services: Services) -> tuple[Measure, ...]:
    """The measures that a rule or the maker's own limits hold against such a mark, in the order of the rules."""
    today = services.today()
    wanted = [
        rule.measure
        for rule in services.rules.for_item(item.profile, item.kind)
        if rule.measure is not None
        and rule.looks_at is LooksAt.MARKS
        and (not rule.components or component in rule.components)
        and (not rule.categories or category in rule.categories)
        and rule.in_force(today)
    ]
    wanted += list(item.maker_limits)
    return tuple(MEASURES[name] for name in dict.fromkeys(wanted) if name in MEASURES)


def _facts_of(rule: Rule) -> set[str]:
    names = {condition.fact for condition in (*rule.when, *rule.unless)}
    return names | {name for name in (rule.fact, rule.limit_fact) if name is not None}
