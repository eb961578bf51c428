"""What a rule is: one criterion as data, with its source, and the set that holds them all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from functools import cached_property

from inspect_core.domain.decision import Basis, FactValue, Outcome, RulesStamp
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component, Kind, components_of
from inspect_core.domain.marks import Category

#: The profile whose rules hold everywhere.
COMMON = "common"
#: A case carries a maker's own limit as a fact of this name followed by the measure.
MAKER_LIMIT = "maker limit: "


class LooksAt(StrEnum):
    """What a rule looks at. The last four are the product's own cautions and stand in the set exactly once."""

    MARKS = "marks"
    ANSWERS = "answers"
    FACTS = "facts"
    AGE = "age"
    INTERVAL = "inspection interval"
    LINE = "load-bearing line"
    UNSETTLED = "marks that no rule settles"
    MAKER = "maker's limits"


class Met(StrEnum):
    """When a number, a date or a word meets the rule; "at least" and "more than" follow the source."""

    AT_LEAST = "at least"
    MORE_THAN = "more than"
    LESS_THAN = "less than"
    IS = "is"


class ReadingUse(StrEnum):
    """`needed`: without the reading the mark is held, with it the rule can settle the mark.
    `if taken`: weighed where the reading is there; it can take gear out, never clear the mark by itself."""

    NEEDED = "needed"
    IF_TAKEN = "if taken"


class FactType(StrEnum):
    """What a fact's value is."""

    YES_NO = "yes or no"
    NUMBER = "number"
    DATE = "date"
    WORD = "word"


class WrittenFor(StrEnum):
    """What a source was written for. A rule from one written for lifting gear is an analogue and says so."""

    FALL_PROTECTION = "fall protection"
    LIFTING_GEAR = "lifting gear"
    GENERAL = "general"


@dataclass(frozen=True, slots=True)
class Source:
    """Where rules come from. `key` is how a rule names it, `title` how people read it."""

    key: str
    title: str
    written_for: WrittenFor
    note: str = ""


@dataclass(frozen=True, slots=True)
class FactSpec:
    """A fact that a case may state. `unit` only for numbers, `values` only for words."""

    name: str
    type: FactType
    meaning: str
    unit: str | None = None
    values: tuple[str, ...] = ()
    lowest: float | None = None
    highest: float | None = None


@dataclass(frozen=True, slots=True)
class Condition:
    """A fact and the values it must have."""

    fact: str
    values: tuple[FactValue, ...]

    def holds(self, facts: Mapping[str, FactValue]) -> bool | None:
        """None where the fact is not stated, or stated as unknown."""
        value = facts.get(self.fact)
        if value is None or (value == "unknown" and "unknown" not in self.values):
            return None
        return value in self.values


@dataclass(frozen=True, slots=True)
class Rule:
    """One criterion.

    Empty `kinds`, `components` or `categories` mean every one. `limit` is in `unit`; `limit_fact` names a fact that
    holds the limit instead. `when`: all must be true; a fact that is not known turns "met" into a hold. `unless`: any
    that is true sets the rule aside; `unless_known` does so when the fact is stated at all, `only_if_known` when it is
    not. `first_day` and `last_day` are inclusive; None is open.
    """

    id: str
    title: str
    looks_at: LooksAt
    outcome: Outcome
    reason: str
    source: Source
    basis: Basis
    section: str = ""
    analogue: bool = False
    row: str = ""
    also: tuple[str, ...] = ()
    kinds: tuple[Kind, ...] = ()
    components: tuple[Component, ...] = ()
    categories: tuple[Category, ...] = ()
    answers: tuple[str, ...] = ()
    without_marks: bool = False
    measure: str | None = None
    reading: ReadingUse | None = None
    fact: str | None = None
    met: Met | None = None
    values: tuple[FactValue, ...] = ()
    limit: float | date | None = None
    limit_fact: str | None = None
    unit: str | None = None
    when: tuple[Condition, ...] = ()
    unless: tuple[Condition, ...] = ()
    unless_known: tuple[str, ...] = ()
    only_if_known: tuple[str, ...] = ()
    hold_if_unknown: bool = False
    profiles: tuple[str, ...] = (COMMON,)
    first_day: date | None = None
    last_day: date | None = None

    def in_force(self, on: date) -> bool:
        """Whether the rule holds on that day; both end days belong to it."""
        return (self.first_day is None or self.first_day <= on) and (self.last_day is None or on <= self.last_day)

    def for_profile(self, profile: str) -> bool:
        return COMMON in self.profiles or profile in self.profiles

    def for_kind(self, kind: Kind) -> bool:
        if self.kinds and kind not in self.kinds:
            return False
        return not self.components or any(c in self.components for c in components_of(kind))

    def why_not(self, profile: str, kind: Kind, on: date) -> str:
        """Why the rule is not even weighed for that profile, kind and day, in words; empty where it is."""
        if not self.in_force(on):
            first = f" from {self.first_day}" if self.first_day else ""
            return f"In force{first}{f' until {self.last_day}' if self.last_day else ''}."
        if not self.for_profile(profile):
            return f"Belongs to the profile {' and '.join(self.profiles)}."
        return "" if self.for_kind(kind) else f"A {kind.value} is not concerned."

    @property
    def citation(self) -> str:
        """Source, section and row of the figures list, as findings print it."""
        return cite(self.source.title, self.section, self.row)

    def stands(self, facts: Mapping[str, FactValue]) -> tuple[bool, tuple[str, ...]]:
        """Whether the conditions leave the rule standing, and the facts it depends on that are not known."""
        if any(name in facts for name in self.unless_known) or any(c.holds(facts) for c in self.unless):
            return False, ()
        if not all(name in facts for name in self.only_if_known):
            return False, ()
        unknown: list[str] = []
        for condition in self.when:
            holds = condition.holds(facts)
            if holds is None:
                unknown.append(condition.fact)
            elif not holds:
                return False, ()
        return True, tuple(unknown)

    def number_limit(self, facts: Mapping[str, FactValue]) -> float | None:
        """The limit as a number; None where it is none, or where the fact that holds it is not known."""
        value = facts.get(self.limit_fact) if self.limit_fact else self.limit
        return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


@dataclass(frozen=True, slots=True)
class Interval:
    """A largest gap between periodic inspections, in whole months."""

    months: int
    severe: bool
    source: Source
    section: str
    basis: Basis
    row: str
    analogue: bool = False
    kinds: tuple[Kind, ...] = ()

    @property
    def citation(self) -> str:
        return cite(self.source.title, self.section, self.row)


@dataclass(frozen=True, slots=True)
class BeforeUse:
    """A duty to look at the gear before use, in plain words, with its source."""

    duty: str
    source: Source
    section: str
    basis: Basis
    row: str


@dataclass(frozen=True, slots=True)
class Profile:
    """The rules of a place, on top of the common ones."""

    name: str
    title: str
    intervals: tuple[Interval, ...] = ()
    before_use: tuple[BeforeUse, ...] = ()


@dataclass(frozen=True, slots=True)
class RuleIndex:
    """Rules by what wakes them, so that a decision looks only at those that can speak.

    `by_fact`: rules silent unless their fact is stated or read. `rest`: those that every case has to pass.
    """

    rules: tuple[Rule, ...]
    by_mark: Mapping[tuple[Component | None, Category], tuple[Rule, ...]]
    by_fact: Mapping[str, tuple[Rule, ...]]
    by_answer: tuple[Rule, ...]
    rest: tuple[Rule, ...]

    @classmethod
    def of(cls, rules: tuple[Rule, ...]) -> RuleIndex:
        by_mark: dict[tuple[Component | None, Category], tuple[Rule, ...]] = {}
        by_fact: dict[str, tuple[Rule, ...]] = {}
        by_answer, rest = [], []
        for rule in rules:
            if rule.looks_at is LooksAt.MARKS:
                for component in rule.components or (None,):
                    for category in rule.categories:
                        by_mark[component, category] = (*by_mark.get((component, category), ()), rule)
            elif rule.looks_at is LooksAt.FACTS and rule.fact and not rule.hold_if_unknown:
                by_fact[rule.fact] = (*by_fact.get(rule.fact, ()), rule)
            elif rule.looks_at is LooksAt.ANSWERS:
                by_answer.append(rule)
            else:
                rest.append(rule)
        return cls(rules, by_mark, by_fact, tuple(by_answer), tuple(rest))


@dataclass(frozen=True)
class RuleSet:
    """All rules with what they lean on. `digest`: SHA-256 of the canonical JSON of the content (RFC 8785)."""

    version: str
    digest: str
    rules: tuple[Rule, ...]
    profiles: tuple[Profile, ...]
    facts: tuple[FactSpec, ...]
    sources: tuple[Source, ...]
    _indices: dict[tuple[str, Kind], RuleIndex] = field(default_factory=dict, repr=False, compare=False)

    @property
    def stamp(self) -> RulesStamp:
        return RulesStamp(self.version, self.digest)

    @cached_property
    def _profiles(self) -> Mapping[str, Profile]:
        return {profile.name: profile for profile in self.profiles}

    @cached_property
    def fact_specs(self) -> Mapping[str, FactSpec]:
        """Facts by name."""
        return {spec.name: spec for spec in self.facts}

    @cached_property
    def order(self) -> Mapping[str, int]:
        """Place of each rule id in the files, which orders equal findings."""
        return {rule.id: place for place, rule in reversed(list(enumerate(self.rules)))}

    def profile(self, name: str) -> Profile:
        """Raises BadInput naming the known ones."""
        try:
            return self._profiles[name]
        except KeyError:
            known = ", ".join(self._profiles)
            raise BadInput(f"“{name}” is no known profile.", f"Use one of: {known}.") from None

    def for_item(self, profile: str, kind: Kind) -> tuple[Rule, ...]:
        """Rules of that profile (and the common ones) that can reach that kind, in file order, any date."""
        return self.index(profile, kind).rules

    def index(self, profile: str, kind: Kind) -> RuleIndex:
        """The same rules by what wakes them. Raises BadInput for an unknown profile."""
        found = self._indices.get((profile, kind))
        if found is None:
            self.profile(profile)
            rules = tuple(r for r in self.rules if r.for_profile(profile) and r.for_kind(kind))
            found = self._indices[profile, kind] = RuleIndex.of(rules)
        return found

    def only(self, looks_at: LooksAt) -> Rule:
        """The one rule that looks at that; for the cautions that stand in the set once."""
        return next(rule for rule in self.rules if rule.looks_at is looks_at)


def cite(title: str, section: str, row: str) -> str:
    """A source as findings print it."""
    words = ", ".join(part for part in (title, section) if part)
    return f"{words} ({row})" if row else words
