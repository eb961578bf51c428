"""What if the past were weighed by other rules."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from inspect_core.deciding import decide
from inspect_core.domain.decision import Answer, Case, CaseMark, Outcome
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component, Kind, components_of
from inspect_core.domain.marks import Category, Reading
from inspect_core.rules.loader import load_rules, make_rule_set
from inspect_core.rules.model import RuleSet
from inspect_core.usecases.reevaluate import Past, reevaluate

OLD = load_rules()
DAY = date(2026, 5, 4)


def worn(loss: float) -> Case:
    readings = (Reading("section loss", loss, "share", 0.0),)
    answers = dict.fromkeys(components_of(Kind.CONNECTOR), Answer.SOUND)
    return Case(Kind.CONNECTOR, "common", {}, answers, (CaseMark("m", Component.BODY, Category.WEAR, readings),))


def past(count: int = 10) -> list[Past]:
    """Connectors worn by 0, 1, 2 … per cent, decided by the old rules on days one after another."""
    cases = [(f"i{n}", worn(n / 100), DAY + timedelta(days=n)) for n in range(count)]
    return [(id_, case, on, decide(case, OLD, on).outcome) for id_, case, on in cases]


def with_limit(limit: float, first_day: date | None = None) -> RuleSet:
    rules = tuple(
        replace(rule, limit=limit, first_day=first_day) if rule.id == "hook-worn-10" else rule for rule in OLD.rules
    )
    return make_rule_set("next", rules, OLD.profiles, OLD.facts, OLD.sources)


def test_the_same_rules_change_nothing():
    told = reevaluate(past(), OLD, OLD)
    assert (told.cases, told.changes, told.refused) == (10, (), ())


def test_a_stricter_limit_tells_which_would_change_and_why():
    told = reevaluate(past(), OLD, with_limit(0.05))
    assert [change.id for change in told.changes] == ["i5", "i6", "i7", "i8", "i9"]
    first = told.changes[0]
    assert (first.recorded, first.would_be, first.stricter) == (Outcome.IN_SERVICE, Outcome.WITHDRAW, True)
    assert [finding.rule for finding in first.appearing] == ["hook-worn-10"]
    assert "Section loss 5 % reaches the limit of 5 %" in first.appearing[0].reason
    assert told.by_rule == {"hook-worn-10": 5}
    assert told.old_digest != told.new_digest


def test_a_milder_limit_tells_the_finding_that_would_vanish():
    told = reevaluate(past(12), OLD, with_limit(0.5))
    assert [(c.id, c.would_be, c.stricter) for c in told.changes] == [("i10", Outcome.IN_SERVICE, False)]
    assert [finding.rule for finding in told.changes[0].vanishing] == ["hook-worn-10"]  # i11 is held to by B55


def test_each_case_is_weighed_as_of_its_own_day():
    told = reevaluate(past(), OLD, with_limit(0.05, first_day=DAY + timedelta(days=8)))
    # Before its first day the rule is silent, so its marks are held for lack of a limit.
    assert [(c.id, c.would_be.value) for c in told.changes if c.would_be is Outcome.WITHDRAW] == [
        ("i8", "withdraw"),
        ("i9", "withdraw"),
    ]


def test_what_the_new_rules_cannot_weigh_is_told_and_the_rest_goes_on():
    stray = ("stray", replace(worn(0.01), profile="atlantis"), DAY, Outcome.IN_SERVICE)
    told = reevaluate([stray, *past(7)], OLD, with_limit(0.05))
    assert [(refused.id, refused.problem) for refused in told.refused] == [("stray", "“atlantis” is no known profile.")]
    assert (told.cases, len(told.changes)) == (8, 2)


def test_processes_give_the_same_answer_in_the_same_order_and_tell_their_progress():
    cases = past(12) * 250
    seen: list[int] = []
    new = with_limit(0.05)
    assert reevaluate(iter(cases), OLD, new, workers=2, progress=seen.append) == reevaluate(cases, OLD, new)
    assert seen == [1000, 2000, 3000]


def test_fewer_than_one_process_is_refused():
    with pytest.raises(BadInput, match="at least one process"):
        reevaluate([], OLD, OLD, workers=0)


def test_nothing_to_weigh_is_no_fault():
    assert reevaluate([], OLD, OLD).cases == 0
