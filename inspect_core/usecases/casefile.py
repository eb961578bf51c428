"""Case files: plain JSON data in, a case out, and the decision back as plain JSON data."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from inspect_core.domain.custody import Standing
from inspect_core.domain.decision import Answer, Case, CaseMark, Decision, FactValue
from inspect_core.domain.gear import LASTING, Component, Fibre, Item, Kind
from inspect_core.domain.marks import Category, Reading
from inspect_core.domain.measures import MEASURES, Unit, measure_named
from inspect_core.rules.model import MAKER_LIMIT, FactSpec, FactType, RuleSet
from inspect_core.usecases.plain import decision_plain, finding_json
from inspect_core.usecases.plain_forms import bad, component_of, day_of, list_of, needed, number_of, quoted, table, word
from inspect_core.usecases.vocabulary import vocabulary

__all__ = [
    "check_facts",
    "decision_json",
    "facts_of_item",
    "own_facts",
    "parse_case",
    "readings_of",
    "registered_facts",
    "vocabulary",
]

_KEYS = ("kind", "profile", "on", "facts", "answers", "marks")
_MARK_KEYS = ("id", "component", "category", "readings")
_READING_KEYS = ("measure", "value", "unit", "uncertainty", "method")
_MOST_MARKS = 500
_MOST_READINGS = 50
#: Readings that can lie below zero by themselves or by the noise of measuring; all others start at zero.
_BELOW_ZERO = ("pack length increase", "throat increase", "diameter loss", "exposure temperature")
#: Facts that a case of an inspection gets without anybody stating them; beside these the maker's limits.
_FOLLOWING = frozenset(
    {
        *("fibre", "made on", "first used on", "maker's age limit", "maker's service life"),
        *("last periodic inspection", "next due", *LASTING),
        *("standard mark present", "webbing width", "rope diameter", "accepted rope smallest"),
        *("accepted rope largest", "packed length", "throat", "inspection type"),
    }
)
_GRADES = {"rust grade": (0.0, 10.0), "grey-scale grade": (1.0, 5.0)}


def parse_case(data: object, rules: RuleSet) -> tuple[Case, date]:
    """The case in plain JSON data, and the day it is to be decided on.

    Raises BadInput that names the key at fault and says what to do. Nothing is assumed: a component, fact or
    reading that is left out stays unknown.
    """
    case = table(data, "case", _KEYS)
    kind = word(needed(case, "kind", "case"), "kind", Kind)
    profile = needed(case, "profile", "case")
    if not isinstance(profile, str):
        raise bad("profile", "is no word", f"Use one of: {', '.join(p.name for p in rules.profiles)}")
    rules.profile(profile)
    on = day_of(needed(case, "on", "case"), "on")
    facts = _facts(case.get("facts", {}), rules, on)
    answers = _answers(case.get("answers", {}), kind)
    marks = _marks(case.get("marks", []), kind)
    for mark in marks:
        if answers.get(mark.component) is Answer.ABSENT:
            raise bad(
                f"answers.{mark.component.value}",
                f"says absent, yet mark {mark.id} lies on it",
                "Answer the component as it is, or put the mark on the right one",
            )
    return Case(kind, profile, facts, answers, marks), on


def decision_json(decision: Decision) -> dict[str, Any]:
    """The decision as plain JSON data, keys in the order of the contract; None where a key does not apply."""
    return decision_plain(decision, finding_json)


def facts_of_item(
    item: Item, on: date, *, last_periodic: date | None = None, extra: Mapping[str, FactValue] | None = None
) -> dict[str, FactValue]:
    """What the register knows of an item, as facts of a case; unknown things stay out. `extra` adds and overrides.

    Days after `on` are left out, so that history is decided with what was known on its day.
    """
    facts = {name: value for name, value in registered_facts(item, last_periodic).items() if not _after(value, on)}
    facts.update(extra or {})
    return facts


def registered_facts(item: Item, last_periodic: date | None = None) -> dict[str, FactValue]:
    """Everything the register knows of an item, whatever the day; unknown things stay out."""
    known: dict[str, FactValue | None] = {
        "fibre": None if item.fibre is Fibre.UNKNOWN else item.fibre.value,
        "made on": item.made_on,
        "first used on": item.first_used_on,
        "maker's age limit": item.maker_max_age_years,
        "maker's service life": item.maker_max_use_years,
        "last periodic inspection": last_periodic,
        "standard mark present": True if item.standards else None,
        "webbing width": item.webbing_width_mm,
        "rope diameter": item.rope_diameter_mm,
        "accepted rope smallest": item.rope_range_mm[0] if item.rope_range_mm else None,
        "accepted rope largest": item.rope_range_mm[1] if item.rope_range_mm else None,
        "packed length": item.packed_length_mm,
        "throat": item.throat_mm,
        **item.lasting_facts,
    }
    facts = {name: value for name, value in known.items() if value is not None}
    facts.update({f"{MAKER_LIMIT}{measure}": limit for measure, limit in sorted(item.maker_limits.items())})
    return facts


def own_facts(facts: Mapping[str, FactValue], item: Item, standing: Standing) -> dict[str, FactValue]:
    """What an inspection adds to the register. An inspection never overrides what is registered: by a younger day of
    making or a later due date, gear past its life would pass.

    Raises BadInput for a fact that differs from the register, or a day that only earlier inspections set. A fact that
    agrees is left out. That the standard's mark is gone from the label may be stated: it can only hold the item.
    """
    registered = registered_facts(item)
    dates = {"last periodic inspection": standing.last_periodic_on, "next due": standing.next_due}
    own: dict[str, FactValue] = {}
    for name, value in facts.items():
        if name in dates:
            if value != dates[name]:
                kept = f"the records say {dates[name]}" if dates[name] else "the records know of none"
                raise bad(
                    f"facts.{name}", f"{kept}, not {value}", "Leave it out; it follows from the inspections recorded"
                )
        elif name not in registered or (name == "standard mark present" and value is False):
            own[name] = value
        elif value != registered[name]:
            raise bad(
                f"facts.{name}",
                f"the register says {registered[name]}, not {value}",
                "Leave it out, or have the register corrected first",
            )
    return own


def follows(name: str) -> bool:
    """Whether a fact of that name can come from the register or from earlier inspections, and need not be stated."""
    return name in _FOLLOWING or name.startswith(MAKER_LIMIT)


def _after(value: FactValue, on: date) -> bool:
    return isinstance(value, date) and value > on


def check_facts(facts: Mapping[str, object], rules: RuleSet, on: date) -> dict[str, FactValue]:
    """Facts from a screen or a file, checked against the vocabulary. Raises BadInput."""
    return _facts(facts, rules, on)


# Parts of a case ------------------------------------------------------------------------------------------------


def _facts(data: object, rules: RuleSet, on: date) -> dict[str, FactValue]:
    facts: dict[str, FactValue] = {}
    for name, value in table(data, "facts").items():
        key = f"facts.{name[:60]}"
        if name.startswith(MAKER_LIMIT):
            facts[name] = _maker_limit(name, value)
            continue
        spec = rules.fact_specs.get(name)
        if spec is None:
            raise bad(key, "is no known fact", f"Use one of: {', '.join(rules.fact_specs)}")
        facts[name] = _fact(key, value, spec, on)
    made, first = facts.get("made on"), facts.get("first used on")
    if isinstance(made, date) and isinstance(first, date) and first < made:
        raise bad("facts.first used on", "lies before the day of making", "Check both dates on the label")
    least, most = facts.get("accepted rope smallest"), facts.get("accepted rope largest")
    if isinstance(least, float) and isinstance(most, float) and most < least:
        raise bad("facts.accepted rope largest", "is below the smallest", "Give the range as the label prints it")
    return facts


def _fact(key: str, value: object, spec: FactSpec, on: date) -> FactValue:
    if spec.type is FactType.YES_NO:
        if not isinstance(value, bool):
            raise bad(key, "is neither true nor false", "Write true or false, or leave it out when it is not known")
        return value
    if spec.type is FactType.WORD:
        if value not in spec.values:
            raise bad(key, f"{quoted(value)} is not known", f"Use one of: {', '.join(spec.values)}")
        return str(value)
    if spec.type is FactType.DATE:
        day = day_of(value, key)
        if day > on and spec.name != "next due":
            raise bad(key, f"{day} lies after the day of the case, {on}", "Check both dates")
        return day
    number = number_of(value, key)
    if (spec.lowest is not None and number < spec.lowest) or (spec.highest is not None and number > spec.highest):
        raise bad(key, f"{number:g} is out of range", f"Give {spec.lowest:g} to {spec.highest:g} {spec.unit}")
    return number


def _maker_limit(name: str, value: object) -> float:
    measure = measure_named(name.removeprefix(MAKER_LIMIT))
    limit = number_of(value, f"facts.{name}")
    if measure.larger_is_worse is None:
        raise bad(
            f"facts.{name}",
            f"{measure.name} by itself is neither good nor bad",
            "State the maker's limit for the loss or growth that matters",
        )
    if limit < 0 and measure.unit is not Unit.CELSIUS:
        raise bad(f"facts.{name}", "is below zero", f"Give the maker's limit in {measure.unit.value}")
    return limit


def _answers(data: object, kind: Kind) -> dict[Component, Answer]:
    answers = {}
    for name, value in table(data, "answers").items():
        component = component_of(name, f"answers.{name}", kind)
        answers[component] = word(value, f"answers.{name}", Answer)
    return answers


def _marks(data: object, kind: Kind) -> tuple[CaseMark, ...]:
    marks: list[CaseMark] = []
    seen: set[str] = set()
    for place, entry in enumerate(list_of(data, "marks", _MOST_MARKS), start=1):
        where = f"marks[{place}]"
        mark = table(entry, where, _MARK_KEYS)
        id_ = needed(mark, "id", where)
        if not isinstance(id_, str) or not id_.strip() or len(id_) > 64:
            raise bad(f"{where}.id", "is no identifier", "Give each mark its own word of 1 to 64 characters")
        if id_ in seen:
            raise bad(f"{where}.id", f"“{id_}” stands twice", "Give each mark its own identifier")
        seen.add(id_)
        component = component_of(needed(mark, "component", where), f"{where}.component", kind)
        category = word(needed(mark, "category", where), f"{where}.category", Category)
        marks.append(CaseMark(id_, component, category, readings_of(mark.get("readings", []), f"{where}.readings")))
    return tuple(marks)


def readings_of(data: object, where: str) -> tuple[Reading, ...]:
    """The readings in a list of plain JSON data; `where` names the list in refusals. Raises BadInput."""
    readings: list[Reading] = []
    for place, entry in enumerate(list_of(data, where, _MOST_READINGS), start=1):
        key = f"{where}[{place}]"
        given = table(entry, key, _READING_KEYS)
        name = needed(given, "measure", key)
        if not isinstance(name, str) or name not in MEASURES:
            raise bad(f"{key}.measure", f"{quoted(name)} is no known measure", f"Use one of: {', '.join(MEASURES)}")
        if any(reading.measure == name for reading in readings):
            raise bad(f"{key}.measure", f"“{name}” is read twice on one mark", "Keep the reading that counts")
        unit = needed(given, "unit", key)
        own = MEASURES[name].unit.value
        if unit != own:
            raise bad(f"{key}.unit", f"{quoted(unit)} is not the unit of {name}", f"Give it in {own}")
        value = number_of(needed(given, "value", key), f"{key}.value")
        spread = number_of(needed(given, "uncertainty", key), f"{key}.uncertainty")
        if spread < 0:
            raise bad(f"{key}.uncertainty", "is below zero", "Give the expanded uncertainty (k = 2), zero or more")
        method = given.get("method", "")
        if not isinstance(method, str):
            raise bad(f"{key}.method", "is no text", "Say in words how it was measured, or leave it out")
        _check_size(name, value, f"{key}.value")
        readings.append(Reading(name, value, own, spread, method))
    return tuple(readings)


def _check_size(name: str, value: float, key: str) -> None:
    unit = MEASURES[name].unit
    if name in _GRADES:
        least, most = _GRADES[name]
        if not least <= value <= most:
            raise bad(key, f"{value:g} is no {name}", f"Give a grade from {least:g} to {most:g}")
    elif value < 0 and name not in _BELOW_ZERO:
        raise bad(key, f"{name} cannot be below zero", "Measure it again or leave the reading out")
    elif unit is Unit.COUNT and value != int(value):
        raise bad(key, f"{name} is counted in whole numbers", "Count again or leave the reading out")
    elif unit is Unit.SHARE and value > 1 and name != "throat increase":
        raise bad(key, f"{name} is a share from 0 to 1", "Divide a percentage by 100")
    elif unit is Unit.CELSIUS and value < -273.15:
        raise bad(key, "is colder than anything can be", "Give the temperature in degrees Celsius")
