"""What if the past were weighed by other rules."""

from __future__ import annotations

import sys
import types
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from inspect_core.deciding import decide
from inspect_core.domain.decision import Answer, Case, CaseMark, Decision, HandDecision, Outcome
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component, Item, Kind, components_of
from inspect_core.domain.inspection import Inspection, InspectionType
from inspect_core.domain.marks import Category, Reading
from inspect_core.rules.loader import load_rules, make_rule_set
from inspect_core.rules.model import RuleSet
from inspect_core.usecases.reevaluate import Past, past_of, reevaluate

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


def test_processes_start_although_a_page_server_has_put_its_page_in_place_of_the_main_script(monkeypatch, tmp_path):
    page = tmp_path / "page.py"
    page.write_text("raise SystemExit('a page is not to be run by a worker')")
    stand_in = types.ModuleType("__main__")
    stand_in.__file__ = str(page)
    monkeypatch.setitem(sys.modules, "__main__", stand_in)
    assert reevaluate(past(3), OLD, OLD, workers=2).cases == len(past(3))


def test_fewer_than_one_process_is_refused():
    with pytest.raises(BadInput, match="at least one process"):
        reevaluate([], OLD, OLD, workers=0)


def test_nothing_to_weigh_is_no_fault():
    assert reevaluate([], OLD, OLD).cases == 0


# Recorded inspections as cases ------------------------------------------------------------------------------------

HARNESS = Item(id="i", tag="H-1", kind=Kind.HARNESS, made_on=date(2020, 1, 1), first_used_on=date(2024, 1, 10))


def recorded(id_: str, type_: InspectionType, at: date, **changes: Any) -> Inspection:
    answers = dict.fromkeys(components_of(Kind.HARNESS), Answer.SOUND)
    decision = Decision(Outcome.IN_SERVICE, 0.0, (), OLD.stamp)
    when = datetime(at.year, at.month, at.day, 9, tzinfo=UTC)
    values = {"profile": "common", "answers": answers, "facts": {}, "marks": (), "photo_ids": (), "decision": decision}
    return Inspection(id_, "i", type_, when, "p", "", **{**values, **changes})


def test_recorded_inspections_become_cases_with_what_was_known_on_their_day():
    before_use, periodic = InspectionType.BEFORE_USE, InspectionType.PERIODIC
    inspections = [
        recorded("c", before_use, date(2025, 3, 1), facts={"arrested fall": False}),
        recorded("a", before_use, date(2024, 1, 5)),
        recorded("b", periodic, date(2024, 6, 1), next_due=date(2025, 6, 1)),
    ]
    first, second, third = past_of(HARNESS, inspections)
    assert [first[0], second[0], third[0]] == ["a", "b", "c"]
    assert first[1].facts == {"made on": date(2020, 1, 1), "inspection type": "before use"}  # not yet in use
    assert second[1].facts["inspection type"] == "periodic" and "last periodic inspection" not in second[1].facts
    assert third[1].facts["last periodic inspection"] == date(2024, 6, 1)
    assert (third[1].facts["next due"], third[1].facts["arrested fall"]) == (date(2025, 6, 1), False)
    assert reevaluate(past_of(HARNESS, inspections), OLD, OLD).changes == ()


def test_a_corrected_inspection_is_not_weighed_again():
    wrong = recorded("a", InspectionType.PERIODIC, date(2024, 6, 1))
    right = recorded("b", InspectionType.PERIODIC, date(2024, 6, 2), corrects="a")
    assert [past[0] for past in past_of(HARNESS, [right, wrong])] == ["b"]


def test_the_outcome_compared_is_the_rules_own_and_not_the_judgement_by_hand():
    hand = HandDecision(Outcome.HOLD, "Seen on the roof, set aside.", "p")
    [past] = past_of(HARNESS, [recorded("a", InspectionType.PERIODIC, date(2024, 6, 1), hand=hand)])
    assert past[3] is Outcome.IN_SERVICE
