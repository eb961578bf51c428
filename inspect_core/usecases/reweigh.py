"""Past decisions weighed again with a corrected register: which of them rested on what was wrong."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date

from inspect_core.deciding import decide
from inspect_core.domain.decision import Case, Finding, FindingOutcome, Outcome
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Item
from inspect_core.domain.inspection import Inspection
from inspect_core.rules.model import RuleSet
from inspect_core.usecases.casefile import registered_facts
from inspect_core.usecases.reevaluate import past_of


@dataclass(frozen=True, slots=True)
class Reweighed:
    """An inspection that the corrected register makes stricter: what it would end in, and what would be found that was
    not found then, worst first."""

    inspection_id: str
    on: date
    would_be: Outcome
    appearing: tuple[Finding, ...]


def reweigh(before: Item, after: Item, inspections: Iterable[Inspection], rules: RuleSet) -> tuple[Reweighed, ...]:
    """Inspections of an item, oldest first, in which the corrected register finds something more to hold or withdraw.

    Both sides are weighed by the rules of today on the inspection's own day, so that nothing but the correction tells.
    Damage does not heal: an old inspection counts as well as the newest. What a competent person judged fit by hand was
    judged on the numbers of that day: a finding that tells of other ones now counts as new. What was recorded is not
    changed.
    """
    inspections = tuple(inspections)
    by_hand = {one.id for one in inspections if one.hand is not None}
    was, now = registered_facts(before), registered_facts(after)
    names = {name for name in {*was, *now} if was.get(name) != now.get(name)}
    if not names and before.profile == after.profile:
        return ()
    found = []
    for id_, case, on, _ in past_of(before, inspections):
        facts = dict(case.facts)
        for name in names:
            if name == "standard mark present" and facts.get(name) is False:
                continue  # seen on the gear; the register says otherwise, and it can only hold the item
            value = now.get(name)
            if value is None or (isinstance(value, date) and value > on):
                if value is not None or facts.get(name) == was.get(name):
                    facts.pop(name, None)
            else:
                facts[name] = value
        corrected = replace(case, facts=facts)
        if before.profile != after.profile:
            corrected = replace(corrected, profile=after.profile)
        one = _stricter(id_, case, corrected, on, rules, _told if id_ in by_hand else _same)
        if one is not None:
            found.append(one)
    return tuple(found)


_Key = Callable[[Finding], tuple[object, ...]]


def _stricter(id_: str, before: Case, after: Case, on: date, rules: RuleSet, key: _Key) -> Reweighed | None:
    try:
        then, would = decide(before, rules, on), decide(after, rules, on)
    except BadInput:  # the rules of today know a word of that day no more
        return None
    known = {key(finding) for finding in then.findings}
    standing = (finding for finding in would.findings if finding.outcome is not FindingOutcome.CLEARED)
    appearing = tuple(finding for finding in standing if key(finding) not in known)
    return Reweighed(id_, on, would.outcome, appearing) if appearing else None


def _same(finding: Finding) -> tuple[object, ...]:
    return finding.rule, finding.outcome, finding.mark, finding.component, finding.measure


def _told(finding: Finding) -> tuple[object, ...]:
    """The same, and everything it rests on: value, limit, and the days that only its words name."""
    return *_same(finding), finding.value, finding.limit, finding.reason
