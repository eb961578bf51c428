"""Faults that show only when rules are looked at whole or beside each other."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from datetime import date

from inspect_core.domain.gear import Kind
from inspect_core.domain.measures import MEASURES
from inspect_core.rules.model import COMMON, FactSpec, FactType, LooksAt, Met, Profile, Rule

_ONCE = (LooksAt.INTERVAL, LooksAt.LINE, LooksAt.UNSETTLED, LooksAt.MAKER)
_NUMERIC = (Met.AT_LEAST, Met.MORE_THAN, Met.LESS_THAN)


def rule_faults(rule: Rule, facts: Mapping[str, FactSpec]) -> Iterable[tuple[str, str]]:
    """(key, what is wrong) of one rule."""
    if not any(rule.for_kind(kind) for kind in rule.kinds or Kind):
        yield "components", "no kind can reach this rule; none of its kinds has one of its components"
    if rule.first_day and rule.last_day and rule.last_day < rule.first_day:
        yield "last_day", "lies before first_day"
    if rule.met in _NUMERIC and rule.limit is None and rule.limit_fact is None:
        yield "limit", "is missing"
    if rule.limit is not None and rule.limit_fact is not None:
        yield "limit_fact", "give the limit or the fact that holds it, not both"
    if rule.looks_at is LooksAt.MARKS:
        yield from _mark_faults(rule)
    elif rule.measure is not None:
        yield "measure", "only a rule that looks at marks has a measure"
    if rule.looks_at is LooksAt.FACTS:
        yield from _fact_faults(rule, facts)
    if rule.looks_at is LooksAt.AGE:
        if rule.fact is None or facts[rule.fact].type is not FactType.DATE:
            yield "fact", "an age is counted from a fact that is a date"
        if rule.unit != "year":
            yield "unit", "an age is counted in the unit year"
        if rule.limit is None and rule.limit_fact is None:
            yield "limit", "is missing"
    if rule.looks_at is LooksAt.ANSWERS and not rule.answers:
        yield "answers", "is missing"


def _mark_faults(rule: Rule) -> Iterable[tuple[str, str]]:
    if not rule.categories:
        yield "categories", "is missing; a rule that looks at marks names what they show"
    if rule.fact or rule.values:
        yield "fact", "a rule that looks at marks states facts under when"
    if rule.measure is None:
        for key, value in (("limit", rule.limit), ("met", rule.met), ("unit", rule.unit), ("reading", rule.reading)):
            if value is not None:
                yield key, "stands without a measure"
        return
    if rule.met not in _NUMERIC:
        yield "met", "a measured rule is met by at least, more than or less than"
    measure = MEASURES.get(rule.measure)
    if measure is None:
        return
    if rule.unit != measure.unit.value:
        yield "unit", f"“{rule.unit or ''}” is not the unit of {measure.name}, which is {measure.unit.value}"
    if measure.larger_is_worse is None:
        yield "measure", f"{measure.name} by itself is neither good nor bad, so it can carry no limit"
    elif (rule.met is Met.LESS_THAN) is measure.larger_is_worse:
        yield "met", f"points the wrong way for {measure.name}"
    if isinstance(rule.limit, date):
        yield "limit", "must be a number"


def _fact_faults(rule: Rule, facts: Mapping[str, FactSpec]) -> Iterable[tuple[str, str]]:
    spec = facts.get(rule.fact or "")
    if spec is None:
        yield "fact", "is missing"
        return
    if rule.met is Met.IS:
        if not rule.values:
            yield "values", "is missing"
        return
    if rule.met is None:
        yield "met", "is missing"
    if spec.type is FactType.NUMBER:
        if isinstance(rule.limit, date):
            yield "limit", "must be a number"
        if rule.unit != spec.unit:
            yield "unit", f"“{rule.unit or ''}” is not the unit of {spec.name}, which is {spec.unit}"
    elif spec.type is FactType.DATE:
        if not isinstance(rule.limit, date):
            yield "limit", "must be a day"
    else:
        yield "met", f"{spec.name} is no number and no date; use is"


def set_faults(rules: Iterable[tuple[str, Rule]], profiles: Mapping[str, Profile]) -> Iterable[str]:
    """Faults of the whole set, each as "file: key: what is wrong". `rules` come with the file they stand in."""
    rules = list(rules)
    by_id: dict[str, list[tuple[str, Rule]]] = defaultdict(list)
    for file, rule in rules:
        by_id[rule.id].append((file, rule))
    for id_, found in by_id.items():
        yield from _overlaps(id_, found)
    counts = Counter(rule.looks_at for _, rule in rules)
    for looks_at in _ONCE:
        if counts[looks_at] != 1:
            yield f"rules: {looks_at.value}: must stand in the set exactly once and stands {counts[looks_at]} times"
    if COMMON not in profiles:
        yield f"profiles: {COMMON}: is missing"
    elif not any(not i.severe and not i.kinds for i in profiles[COMMON].intervals):
        yield f"profiles: {COMMON}.interval: needs one for every kind in normal service"


def _overlaps(id_: str, found: list[tuple[str, Rule]]) -> Iterable[str]:
    """The same id may stand again for another time, as when a limit changes, but never twice on one day."""
    spans = sorted(found, key=lambda entry: entry[1].first_day or date.min)
    for (_, earlier), (file, later) in zip(spans, spans[1:], strict=False):
        if earlier.first_day == later.first_day and earlier.last_day == later.last_day:
            yield f"{file}: {id_}.id: duplicate; another rule has this id"
        elif (earlier.last_day or date.max) >= (later.first_day or date.min):
            yield f"{file}: {id_}.first_day: overlapping dates; the other rule of this id is still in force then"
