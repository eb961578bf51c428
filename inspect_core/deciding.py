"""The rules' answer to one case: pure, the same input gives the same findings in the same order.

Guarded acceptance after JCGM 106:2012: a reading clears a limit only when the whole of its uncertainty does.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Any

from inspect_core.domain.damage import damage_used
from inspect_core.domain.dates import add_months
from inspect_core.domain.decision import (
    Answer,
    Basis,
    Case,
    CaseMark,
    Decision,
    Finding,
    FindingOutcome,
    Outcome,
)
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import LINE_OF, Component, components_of, may_be_absent
from inspect_core.domain.guard import Reach, reach
from inspect_core.domain.marks import Reading
from inspect_core.domain.measures import MEASURES
from inspect_core.domain.wording import fact_stated, mark_seen, shown, shown_reading
from inspect_core.rules.intervals import due_of
from inspect_core.rules.model import (
    MAKER_LIMIT,
    LooksAt,
    Met,
    ReadingUse,
    Rule,
    RuleSet,
)

_ANALOGUE = "Written for lifting gear; it serves here as an analogue."
_MEMORY = "Quoted from memory; check it in print."


class Verdict(StrEnum):
    """What became of one rule when it was weighed."""

    MET = "met"
    NOT_RULED_OUT = "not ruled out"
    CLEARED = "cleared"
    NOTHING_TO_WEIGH = "nothing to weigh"
    NOT_KNOWN = "not known"
    DOES_NOT_APPLY = "does not apply"


@dataclass(frozen=True, slots=True)
class Weighed:
    """One rule of the set and why it did or did not speak. `findings` are those it gave."""

    rule: str
    title: str
    verdict: Verdict
    why: str
    source: str
    basis: Basis
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class _Weighing:
    """One case on one day against one rule set."""

    case: Case
    rules: RuleSet
    on: date
    parts: tuple[Component, ...]
    explain: bool  # whether rules that a fact, an age or a date clears say so, which only people ask for

    def answer(self, component: Component) -> str:
        return self.case.answers.get(component, "unanswered")


def decide(case: Case, rules: RuleSet, on: date) -> Decision:
    """What the rules in force on that day say of the case.

    Raises BadInput for a profile the rules do not know, or a mark or answer on a component the kind lacks.
    """
    findings = _all_findings(_open(case, rules, on, explain=False))
    worst = max((f.outcome.severity for f in findings), default=0)
    return Decision(list(Outcome)[worst], damage_used(findings), tuple(findings), rules.stamp)


def weigh(case: Case, rules: RuleSet, on: date) -> tuple[Weighed, ...]:
    """Every rule of the set in file order with what became of it: why gear is still in service, or is not."""
    weighing = _open(case, rules, on, explain=True)
    by_rule: dict[str, list[Finding]] = {}
    for finding in _all_findings(weighing):
        by_rule.setdefault(finding.rule, []).append(finding)
    told = []
    for rule in rules.rules:
        verdict, why, found = _told(rule, weighing, tuple(by_rule.get(rule.id, ())))
        told.append(Weighed(rule.id, rule.title, verdict, why, rule.citation, rule.basis, found))
    return tuple(told)


def _open(case: Case, rules: RuleSet, on: date, *, explain: bool) -> _Weighing:
    rules.profile(case.profile)
    parts = components_of(case.kind)
    for component in (*case.answers, *(mark.component for mark in case.marks)):
        if component not in parts:
            raise BadInput(
                f"A {case.kind.value} has no {component.value}.", f"Use one of: {', '.join(c.value for c in parts)}."
            )
    return _Weighing(case, rules, on, parts, explain)


def _awake(w: _Weighing) -> Iterable[Rule]:
    """The rules in force that something in the case wakes."""
    case, index = w.case, w.rules.index(w.case.profile, w.case.kind)
    found = list(index.rest)
    if any(w.answer(component) is not Answer.SOUND for component in w.parts):
        found += index.by_answer
    for name in {*case.facts, *(reading.measure for mark in case.marks for reading in mark.readings)}:
        found += index.by_fact.get(name, ())
    for component, category in {(mark.component, mark.category) for mark in case.marks}:
        found += index.by_mark.get((component, category), ())
        found += index.by_mark.get((None, category), ())
    return (rule for rule in {id(rule): rule for rule in found}.values() if rule.in_force(w.on))


def _all_findings(w: _Weighing) -> list[Finding]:
    findings: list[Finding] = []
    settled: set[str] = set()
    for rule in _awake(w):
        for finding in _FINDERS[rule.looks_at](rule, w):
            standing = finding.outcome is not FindingOutcome.CLEARED
            if rule.looks_at is LooksAt.MARKS and finding.mark and (standing or rule.reading is ReadingUse.NEEDED):
                settled.add(finding.mark)
            if standing or rule.looks_at in (LooksAt.MARKS, LooksAt.MAKER):
                findings.append(finding)
    findings.extend(_unsettled(w, settled))
    findings = _with_both_limits(findings)
    places: Mapping[Component | None, int] = {component: place for place, component in enumerate(w.parts)}

    def rank(f: Finding) -> tuple[object, ...]:
        where = (places.get(f.component, -1), f.mark or "", w.rules.order.get(f.rule, 0))
        return -f.outcome.severity, *where, f.measure or "", f.value or 0.0

    findings.sort(key=rank)
    return findings


def _say(rule: Rule, outcome: FindingOutcome, *words: str, **where: Any) -> Finding:
    """A finding with its reason and what the figure rests on. `where`: mark, component and figures of the finding."""
    tail = (_ANALOGUE,) if rule.analogue else ()
    if rule.basis is Basis.FROM_MEMORY:
        tail = (*tail, _MEMORY)
    reason = " ".join((*words, *tail))
    return Finding(rule.id, outcome, reason, rule.citation, rule.basis, analogue=rule.analogue, **where)


def _met(rule: Rule, unknown: tuple[str, ...], words: str, **where: Any) -> Finding:
    """The rule's outcome, or a hold where a fact it depends on is not known."""
    if unknown:
        lacking = f"It depends on what is not known here: {', '.join(unknown)}."
        return _say(rule, FindingOutcome.HOLD, words, rule.reason, lacking, **where)
    return _say(rule, FindingOutcome(rule.outcome.value), words, rule.reason, **where)


def _weigh_number(
    rule: Rule, unknown: tuple[str, ...], reading: Reading, limit: float, met: Met, whose: str = "", **where: Any
) -> Finding:
    """One number against one limit, in words and in figures."""
    stands, name, unit = _stands(reading, limit, met), reading.measure, reading.unit
    number = f"{name[:1].upper()}{name[1:]} {shown_reading(reading.value, reading.uncertainty, unit)}"
    limit_words = f"the limit of {shown(limit, unit)}{whose}"
    where |= {"measure": name, "value": reading.value, "uncertainty": reading.uncertainty, "limit": limit, "unit": unit}
    if stands is Reach.REACHED:
        verb = {Met.AT_LEAST: "reaches", Met.MORE_THAN: "is more than", Met.LESS_THAN: "is less than"}[met]
        return _met(rule, unknown, f"{number} {verb} {limit_words}.", **where)
    if stands is Reach.NOT_RULED_OUT:
        told = f"{number} leaves {limit_words} within its uncertainty; measure it by hand."
        return _say(rule, FindingOutcome.HOLD, told, **where)
    side = "above" if met is Met.LESS_THAN else "below" if met is Met.AT_LEAST else "within"
    return _say(rule, FindingOutcome.CLEARED, f"{number} stays {side} {limit_words}.", **where)


def _from_marks(rule: Rule, w: _Weighing) -> Iterable[Finding]:
    for mark in w.case.marks:
        if mark.category not in rule.categories or (rule.components and mark.component not in rule.components):
            continue
        stands, unknown = rule.stands(w.case.facts)
        if not stands:
            return
        yield from _from_mark(rule, unknown, mark, w)


def _from_mark(rule: Rule, unknown: tuple[str, ...], mark: CaseMark, w: _Weighing) -> Iterable[Finding]:
    where: dict[str, Any] = {"mark": mark.id, "component": mark.component}
    if rule.measure is None:
        yield _met(rule, unknown, f"{mark_seen(mark.category)} is marked on the {mark.component.value}.", **where)
        return
    limit = rule.number_limit(w.case.facts)
    readings = [r for r in mark.readings if r.measure == rule.measure]
    if limit is not None and rule.met is not None:
        for reading in readings:
            yield _weigh_number(rule, unknown, reading, limit, rule.met, **where)
    if rule.reading is ReadingUse.NEEDED and not unknown and (not readings or limit is None):
        lacking = f"no reading of {rule.measure}" if not readings else f"{rule.limit_fact} is not known"
        limit_words = f" The limit is {shown(limit, rule.unit)}." if limit is not None else ""
        told = f"{mark_seen(mark.category)} is marked and there is {lacking}; measure it by hand.{limit_words}"
        figures = {"measure": rule.measure, "limit": limit, "unit": rule.unit}
        yield _say(rule, FindingOutcome.HOLD, told, **where, **figures)


def _unsettled(w: _Weighing, settled: set[str]) -> Iterable[Finding]:
    """A mark that no rule with a limit has settled is a hold; a limit is never invented."""
    rule = w.rules.only(LooksAt.UNSETTLED)
    for mark in w.case.marks:
        if mark.id not in settled:
            told = f"{mark_seen(mark.category)} is marked on the {mark.component.value}."
            yield _met(rule, (), told, mark=mark.id, component=mark.component)


def _from_maker(rule: Rule, w: _Weighing) -> Iterable[Finding]:
    """The maker's own limits, entered with the item. They can only make the answer stricter."""
    for name, limit in w.case.facts.items():
        if not name.startswith(MAKER_LIMIT) or isinstance(limit, bool) or not isinstance(limit, int | float):
            continue
        measure = MEASURES.get(name.removeprefix(MAKER_LIMIT))
        if measure is None:
            continue
        for mark, reading in _readings_of(measure.name, w):
            where: dict[str, Any] = {"mark": mark.id, "component": mark.component}
            if measure.larger_is_worse is None:
                told = f"Compare {measure.name} with the maker's figure by hand."
                yield _say(rule, FindingOutcome.HOLD, told, measure=measure.name, **where)
                continue
            # A limit of nil allows none, and a reading of nil is none.
            upper = Met.AT_LEAST if limit > 0 else Met.MORE_THAN
            met = upper if measure.larger_is_worse else Met.LESS_THAN
            yield _weigh_number(rule, (), reading, float(limit), met, " set by the maker", **where)


def _readings_of(measure: str, w: _Weighing) -> list[tuple[CaseMark, Reading]]:
    return [(mark, reading) for mark in w.case.marks for reading in mark.readings if reading.measure == measure]


def _with_both_limits(findings: list[Finding]) -> list[Finding]:
    """Where one reading meets several limits, the findings that count name the others, so that both show."""
    groups: dict[tuple[str | None, str | None, float | None], list[Finding]] = {}
    for finding in findings:
        if finding.mark is not None and finding.value is not None and finding.limit is not None:
            groups.setdefault((finding.mark, finding.measure, finding.value), []).append(finding)
    told = []
    for finding in findings:
        group = groups.get((finding.mark, finding.measure, finding.value), [])
        others = sorted({f"{shown(f.limit, f.unit)} ({f.source})" for f in group if f.limit != finding.limit})  # type: ignore[arg-type]
        if others and finding.value is not None and finding.outcome is not FindingOutcome.CLEARED:
            finding = replace(
                finding,
                reason=f"{finding.reason} Other limits for this reading: {'; '.join(others)}; the stricter counts.",
            )
        told.append(finding)
    return told


def _from_answers(rule: Rule, w: _Weighing) -> Iterable[Finding]:
    for component in rule.components or w.parts:
        if component not in w.parts or w.answer(component) not in rule.answers:
            continue
        answer = w.answer(component)
        if answer == Answer.ABSENT and may_be_absent(w.case.kind, component):
            continue
        if rule.without_marks and any(mark.component is component for mark in w.case.marks):
            continue
        stands, unknown = rule.stands(w.case.facts)
        if stands:
            told = {
                Answer.UNSEEN.value: f"The {component.value} was not seen.",
                Answer.ABSENT.value: f"The {component.value} is missing.",
                Answer.DEFECT.value: f"The {component.value} was answered with a defect.",
            }.get(answer, f"The {component.value} was not answered.")
            yield _met(rule, unknown, told, component=component)


def _from_line(rule: Rule, w: _Weighing) -> Iterable[Finding]:
    line = LINE_OF.get(w.case.kind, ())
    if line and all(w.answer(component) == Answer.ABSENT for component in line):
        told = f"All of these are answered absent: {', '.join(c.value for c in line)}."
        yield _met(rule, (), told)


def _from_fact(rule: Rule, w: _Weighing) -> Iterable[Finding]:
    name = rule.fact or ""
    value, readings = w.case.facts.get(name), _readings_of(name, w)
    if value is None and not readings and not rule.hold_if_unknown:
        return
    stands, unknown = rule.stands(w.case.facts)
    if not stands:
        return
    if value is None and not readings:
        yield _say(rule, FindingOutcome.HOLD, f"Not known: {name}.", rule.reason)
        return
    if rule.met is Met.IS:
        if value in rule.values:
            yield _met(rule, unknown, fact_stated(name, value))
        return
    limit = rule.number_limit(w.case.facts)
    if isinstance(rule.limit, date) and isinstance(value, date) and rule.met is not None:
        day = Reading(name, value.toordinal(), "", 0.0)
        if _stands(day, rule.limit.toordinal(), rule.met) is Reach.REACHED:
            yield _met(rule, unknown, fact_stated(name, value))
    if limit is None or rule.met is None:
        return
    if isinstance(value, int | float) and not isinstance(value, bool):
        yield _weigh_number(rule, unknown, Reading(name, value, rule.unit or "", 0.0), limit, rule.met)
    for mark, reading in readings:
        yield _weigh_number(rule, unknown, reading, limit, rule.met, mark=mark.id, component=mark.component)


def _from_age(rule: Rule, w: _Weighing) -> Iterable[Finding]:
    limit = rule.number_limit(w.case.facts)
    stands, unknown = rule.stands(w.case.facts)
    if limit is None or not stands:
        return
    begun, years = w.case.facts.get(rule.fact or ""), shown(limit, "year")
    if not isinstance(begun, date):
        if rule.hold_if_unknown:
            told = f"The limit is {years} and this is not known: {rule.fact}."
            yield _say(rule, FindingOutcome.HOLD, told, rule.reason)
        return
    end = add_months(begun, int(limit * 12))
    if w.on >= end:
        yield _met(rule, unknown, f"{years} counted from “{rule.fact}” {begun} ended on {end}.")
    elif w.explain:
        yield _say(rule, FindingOutcome.CLEARED, f"{years} counted from “{rule.fact}” {begun} end on {end}.")


def _from_interval(rule: Rule, w: _Weighing) -> Iterable[Finding]:
    stands, unknown = rule.stands(w.case.facts)
    due = due_of(w.case, w.rules) if stands else None
    if due is None or (w.on <= due[0] and not w.explain):
        return
    day, why, interval = due
    words = f"The periodic inspection {'was' if w.on > day else 'is'} due on {day}, {why}."
    finding = _met(rule, unknown, words) if w.on > day else _say(rule, FindingOutcome.CLEARED, words)
    if interval is not None:
        reason = f"{finding.reason} {_ANALOGUE}" if interval.analogue else finding.reason
        finding = replace(
            finding, reason=reason, source=interval.citation, basis=interval.basis, analogue=interval.analogue
        )
    yield finding


def _told(rule: Rule, w: _Weighing, found: tuple[Finding, ...]) -> tuple[Verdict, str, tuple[Finding, ...]]:
    aside = rule.why_not(w.case.profile, w.case.kind, w.on)
    if aside:
        return Verdict.DOES_NOT_APPLY, aside, ()
    found = found or tuple(_FINDERS[rule.looks_at](rule, w))
    if found:
        worst = max(found, key=lambda f: f.outcome.severity)
        return _verdict(rule, worst), worst.reason, found
    if not rule.stands(w.case.facts)[0]:
        return Verdict.DOES_NOT_APPLY, "A fact of this case sets it aside.", ()
    for name in (rule.fact, rule.limit_fact):
        if name and name not in w.case.facts:
            return Verdict.NOT_KNOWN, f"Not stated: {name}.", ()
    return Verdict.NOTHING_TO_WEIGH, "Nothing of the kind was found.", ()


def _verdict(rule: Rule, worst: Finding) -> Verdict:
    if worst.outcome is FindingOutcome.CLEARED:
        return Verdict.CLEARED
    if worst.outcome.value != rule.outcome.value:
        return Verdict.NOT_RULED_OUT
    if worst.value is None or worst.limit is None or rule.met is None:
        return Verdict.MET
    return Verdict.MET if _stands(worst, worst.limit, rule.met) is Reach.REACHED else Verdict.NOT_RULED_OUT


def _stands(number: Reading | Finding, limit: float, met: Met) -> Reach:
    value, spread = number.value or 0.0, number.uncertainty or 0.0
    return reach(value, spread, limit, lower=met is Met.LESS_THAN, includes_limit=met is Met.AT_LEAST)


_FINDERS: Mapping[LooksAt, Callable[[Rule, _Weighing], Iterable[Finding]]] = {
    LooksAt.MARKS: _from_marks,
    LooksAt.ANSWERS: _from_answers,
    LooksAt.FACTS: _from_fact,
    LooksAt.AGE: _from_age,
    LooksAt.INTERVAL: _from_interval,
    LooksAt.LINE: _from_line,
    LooksAt.MAKER: _from_maker,
    LooksAt.UNSETTLED: lambda rule, w: (),  # needs what all others found; see _unsettled
}
