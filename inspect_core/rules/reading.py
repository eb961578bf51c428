"""Tables of the rule files turned into sources, facts, profiles and rules."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, datetime

from inspect_core.domain.decision import Answer, Basis, FactValue, Outcome
from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.marks import Category
from inspect_core.domain.measures import MEASURES
from inspect_core.rules.model import (
    COMMON,
    BeforeUse,
    Condition,
    FactSpec,
    FactType,
    Interval,
    LooksAt,
    Met,
    Profile,
    ReadingUse,
    Rule,
    Source,
    WrittenFor,
)
from inspect_core.rules.table import Table

#: An answer rule may also look at components that nobody answered.
UNANSWERED = "unanswered"
#: Units of facts besides those of the measures.
FACT_UNITS = ("mm", "degC", "year", "month", "kg")
_ROW = re.compile(r"[A-F]\d\d")
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_NO_SOURCE = Source("", "", WrittenFor.GENERAL)


def read_source(table: Table) -> Source:
    source = Source(
        table.text("key", needed=True),
        table.text("title", needed=True),
        table.one_of("written_for", WrittenFor, needed=True) or WrittenFor.GENERAL,
        table.text("note"),
    )
    table.done()
    return source


def read_fact(table: Table) -> FactSpec:
    type_ = table.one_of("type", FactType, needed=True) or FactType.YES_NO
    unit = table.text("unit", needed=type_ is FactType.NUMBER) or None
    values = table.texts("values", needed=type_ is FactType.WORD)
    if unit and unit not in FACT_UNITS:
        table.fault("unit", f"“{unit}” is no known unit of a fact; use one of: {', '.join(FACT_UNITS)}")
    if type_ is not FactType.NUMBER and unit:
        table.fault("unit", "only a number has a unit")
    if type_ is not FactType.WORD and values:
        table.fault("values", "only a word has a list of values")
    spec = FactSpec(
        table.text("name", needed=True),
        type_,
        table.text("meaning", needed=True),
        unit,
        values,
        table.number("lowest"),
        table.number("highest"),
    )
    table.done()
    return spec


def read_profile(table: Table, sources: Mapping[str, Source]) -> Profile:
    intervals = []
    for part in table.tables("interval"):
        months = part.number("months")
        if months is None or months != int(months) or not 0 < months <= 120:
            part.fault("months", "must be whole months, 1 to 120")
            months = 1
        source, basis, row = _cited(part, sources)
        analogue = _analogue(part, source)
        severe = part.flag("severe")
        kinds = part.some_of("kinds", Kind)
        intervals.append(Interval(int(months), severe, source, part.text("section"), basis, row, analogue, kinds))
        part.done()
    duties = []
    for part in table.tables("before_use"):
        source, basis, row = _cited(part, sources)
        duties.append(BeforeUse(part.text("duty", needed=True), source, part.text("section"), basis, row))
        part.done()
    profile = Profile(
        table.text("name", needed=True), table.text("title", needed=True), tuple(intervals), tuple(duties)
    )
    table.done()
    return profile


def read_rule(
    table: Table, sources: Mapping[str, Source], facts: Mapping[str, FactSpec], profiles: Mapping[str, Profile]
) -> Rule:
    id_ = table.text("id", needed=True)
    if id_ and not _ID.fullmatch(id_):
        table.fault("id", "use lower-case words joined by dashes")
    source, basis, row = _cited(table, sources)
    outcome = table.one_of("outcome", Outcome, needed=True) or Outcome.HOLD
    if outcome is Outcome.IN_SERVICE:
        table.fault("outcome", "a rule can hold or withdraw; none puts gear in service")
    looks_at = table.one_of("looks_at", LooksAt, needed=True) or LooksAt.MARKS
    answers = table.texts("answers")
    for word in answers:
        if word not in (Answer.UNSEEN, Answer.ABSENT, Answer.DEFECT, UNANSWERED):
            table.fault("answers", f"“{word}” is not known; use unseen, absent, defect or unanswered")
    measure = table.text("measure") or None
    if measure and measure not in MEASURES:
        table.fault("measure", f"“{measure}” is no known measure")
    fact = _fact(table, "fact", facts)
    also = table.texts("also")
    for extra in also:
        _check_row(table, "also", extra)
    named = table.texts("profiles") or (COMMON,)
    for name in named:
        if name not in profiles:
            table.fault("profiles", f"“{name}” is no known profile; use one of: {', '.join(profiles)}")
    rule = Rule(
        id=id_,
        title=table.text("title", needed=True),
        looks_at=looks_at,
        outcome=outcome,
        reason=table.text("reason", needed=True),
        source=source,
        basis=basis,
        section=table.text("section"),
        analogue=_analogue(table, source),
        row=row,
        also=also,
        kinds=table.some_of("kinds", Kind),
        components=table.some_of("components", Component),
        categories=table.some_of("categories", Category),
        answers=answers,
        without_marks=table.flag("without_marks"),
        measure=measure,
        reading=table.one_of("reading", ReadingUse, needed=measure is not None),
        fact=fact,
        met=table.one_of("met", Met),
        values=_values(table, "values", table.raw("values"), facts.get(fact or "")),
        limit=_limit(table),
        limit_fact=_fact(table, "limit_fact", facts),
        unit=table.text("unit") or None,
        when=_conditions(table, "when", facts),
        unless=_conditions(table, "unless", facts),
        unless_known=_facts(table, "unless_known", facts),
        only_if_known=_facts(table, "only_if_known", facts),
        hold_if_unknown=table.flag("hold_if_unknown"),
        profiles=named,
        first_day=table.day("first_day"),
        last_day=table.day("last_day"),
    )
    table.done()
    return rule


def _cited(table: Table, sources: Mapping[str, Source]) -> tuple[Source, Basis, str]:
    """Source, basis and row; every rule and interval states all of them."""
    key = table.text("source", needed=True)
    source = sources.get(key)
    if key and source is None:
        table.fault("source", f"“{key}” is missing from the sources")
    basis = table.one_of("basis", Basis, needed=True) or Basis.COMMON_PRACTICE
    row = table.text("row")
    if row:
        _check_row(table, "row", row)
    elif basis in (Basis.PUBLISHED, Basis.FROM_MEMORY):
        table.fault("row", f"is missing; a rule {basis.value} names its row in the list of figures")
    return source or _NO_SOURCE, basis, row


def _check_row(table: Table, key: str, row: str) -> None:
    if not _ROW.fullmatch(row):
        table.fault(key, f"“{row}” is no row of the list of figures, such as B03")


def _analogue(table: Table, source: Source) -> bool:
    """Stated in so many words by every rule from a source written for lifting gear, and by no other."""
    stated = table.flag("analogue")
    lifting = source.written_for is WrittenFor.LIFTING_GEAR
    if lifting and not stated:
        table.fault("analogue", "is missing; the source was written for lifting gear, so write analogue = true")
    if stated and source.key and not lifting:
        table.fault("analogue", "the source was not written for lifting gear")
    return stated


def _fact(table: Table, key: str, facts: Mapping[str, FactSpec]) -> str | None:
    name = table.text(key) or None
    if name and name not in facts:
        table.fault(key, f"“{name}” is no known fact")
        return None
    return name


def _facts(table: Table, key: str, facts: Mapping[str, FactSpec]) -> tuple[str, ...]:
    names = table.texts(key)
    for name in names:
        if name not in facts:
            table.fault(key, f"“{name}” is no known fact")
    return names


def _limit(table: Table) -> float | date | None:
    value = table.raw("limit")
    if isinstance(value, date):
        return table.day("limit")
    return table.number("limit")


def _conditions(table: Table, key: str, facts: Mapping[str, FactSpec]) -> tuple[Condition, ...]:
    found = []
    for name, values in table.mapping(key).items():
        if name in facts:
            found.append(Condition(name, _values(table, f"{key}.{name}", values, facts[name])))
        else:
            table.fault(key, f"“{name}” is no known fact")
    return tuple(found)


def _values(table: Table, key: str, value: object, spec: FactSpec | None) -> tuple[FactValue, ...]:
    """A list of values that fit the fact's type."""
    if value is None:
        return ()
    if not isinstance(value, list) or not value:
        table.fault(key, "must be a list with at least one value")
        return ()
    if spec is not None:
        for entry in value:
            if not _fits(entry, spec):
                table.fault(key, f"“{entry}” does not fit the fact “{spec.name}”")
    return tuple(value)


def _fits(value: object, spec: FactSpec) -> bool:
    if spec.type is FactType.YES_NO:
        return isinstance(value, bool)
    if spec.type is FactType.WORD:
        return value in spec.values
    if spec.type is FactType.DATE:
        return isinstance(value, date) and not isinstance(value, datetime)
    return isinstance(value, int | float) and not isinstance(value, bool)
