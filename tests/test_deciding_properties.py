"""What holds for every case: worse input is never answered more mildly, and order changes nothing."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inspect_core.deciding import Verdict, decide, weigh
from inspect_core.domain.decision import Answer, Case, Decision, FindingOutcome
from inspect_core.domain.gear import components_of
from inspect_core.domain.marks import Reading
from inspect_core.domain.measures import MEASURES
from inspect_core.usecases.casefile import decision_json
from tests.rules.made import DAY, RULES, cases, marks

QUICK, THOROUGH = 40, 10_000


def answer(case: Case, on: date = DAY) -> Decision:
    return decide(case, RULES, on)


def as_bytes(decision: Decision) -> bytes:
    return json.dumps(decision_json(decision), ensure_ascii=False).encode()


def never_milder(worse: Decision, base: Decision) -> None:
    assert worse.outcome.severity >= base.outcome.severity, (base, worse)


def a_mark_more(data: st.DataObject, case: Case) -> None:
    """A mark that describes a defect until then undescribed is left out: it removes the hold for lack of one."""
    extra = data.draw(marks(case.kind, "extra"))
    undescribed = case.answers.get(extra.component) is Answer.DEFECT
    if undescribed and not any(mark.component is extra.component for mark in case.marks):
        return
    never_milder(answer(replace(case, marks=(*case.marks, extra))), answer(case))


def an_unseen_answer(data: st.DataObject, case: Case) -> None:
    """An absent component is left as it is: seen to be absent is more than not seen."""
    component = data.draw(st.sampled_from(components_of(case.kind)))
    if case.answers.get(component) is Answer.ABSENT:
        return
    worse = answer(replace(case, answers={**case.answers, component: Answer.UNSEEN}))
    never_milder(worse, answer(case))
    assert worse.outcome.severity >= 1


def an_answer_less(data: st.DataObject, case: Case) -> None:
    component = data.draw(st.sampled_from(components_of(case.kind)))
    if case.answers.get(component) is Answer.ABSENT:
        return
    worse = answer(replace(case, answers={c: a for c, a in case.answers.items() if c is not component}))
    never_milder(worse, answer(case))
    assert worse.outcome.severity >= 1


def a_worse_reading(data: st.DataObject, case: Case) -> None:
    """In the direction in which the measure is worse; a temperature is worse both ways and is kept above freezing."""
    step = data.draw(st.sampled_from((0.01, 0.1, 1.0, 10.0)))

    def worse(reading: Reading) -> Reading:
        direction = {True: 1, False: -1, None: 0}[MEASURES[reading.measure].larger_is_worse]
        return replace(reading, value=reading.value + direction * step)

    never_milder(answer(with_readings(case, worse)), answer(case))


def a_wider_uncertainty(data: st.DataObject, case: Case) -> None:
    step = data.draw(st.sampled_from((0.001, 0.1, 1.0, 10.0)))
    wider = with_readings(case, lambda reading: replace(reading, uncertainty=reading.uncertainty + step))
    base, worse = answer(case), answer(wider)
    never_milder(worse, base)
    assert worse.damage_used >= base.damage_used


def another_order(data: st.DataObject, case: Case) -> None:
    shuffled = Case(
        case.kind,
        case.profile,
        dict(data.draw(st.permutations(list(case.facts.items())))),
        dict(data.draw(st.permutations(list(case.answers.items())))),
        tuple(
            replace(mark, readings=tuple(data.draw(st.permutations(mark.readings))))
            for mark in data.draw(st.permutations(case.marks))
        ),
    )
    assert as_bytes(answer(shuffled)) == as_bytes(answer(case))


def the_same_again(data: st.DataObject, case: Case) -> None:
    first = answer(case)
    assert as_bytes(answer(case)) == as_bytes(first)
    worst = max((f.outcome.severity for f in first.findings), default=0)
    assert first.outcome.severity == worst
    assert (first.damage_used >= 1) or not any(f.outcome is FindingOutcome.WITHDRAW for f in first.findings)


def a_profile_on_top(data: st.DataObject, case: Case) -> None:
    never_milder(answer(case), answer(replace(case, profile="common")))


def a_later_day(data: st.DataObject, case: Case) -> None:
    """Ages and due dates only run out; this rule set has no rule that ends."""
    days = data.draw(st.integers(1, 4000))
    never_milder(answer(case, DAY + timedelta(days=days)), answer(case))


def a_maker_limit_more(data: st.DataObject, case: Case) -> None:
    measure = data.draw(st.sampled_from(sorted(m.name for m in MEASURES.values() if m.larger_is_worse is not None)))
    limit = data.draw(st.sampled_from((0.0, 0.05, 0.5, 1.0, 2.0, 20.0)))
    name = f"maker limit: {measure}"
    if name not in case.facts:
        never_milder(answer(replace(case, facts={**case.facts, name: limit})), answer(case))


def the_weighing_agrees(data: st.DataObject, case: Case) -> None:
    """`weigh` tells every rule once and gives the very findings that decided."""
    decision, told = answer(case), weigh(case, RULES, DAY)
    assert [weighed.rule for weighed in told] == [rule.id for rule in RULES.rules]
    standing = {f for w in told for f in w.findings if f.outcome is not FindingOutcome.CLEARED}
    assert standing == {f for f in decision.findings if f.outcome is not FindingOutcome.CLEARED}
    assert all(w.why for w in told)
    speaking = (Verdict.MET, Verdict.NOT_RULED_OUT, Verdict.CLEARED)
    assert all(bool(w.findings) == (w.verdict in speaking) for w in told)


def with_readings(case: Case, change: Callable[[Reading], Reading]) -> Case:
    return replace(case, marks=tuple(replace(m, readings=tuple(change(r) for r in m.readings)) for m in case.marks))


PROPERTIES = [
    a_mark_more,
    an_unseen_answer,
    an_answer_less,
    a_worse_reading,
    a_wider_uncertainty,
    another_order,
    the_same_again,
    a_profile_on_top,
    a_later_day,
    a_maker_limit_more,
    the_weighing_agrees,
]
_LOOSE = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much]


@pytest.mark.parametrize("holds", PROPERTIES, ids=lambda holds: holds.__name__)
def test_property_holds_for_some_cases(holds: Callable[[st.DataObject, Case], None]):
    @settings(max_examples=QUICK, deadline=None, derandomize=True, suppress_health_check=_LOOSE)
    @given(st.data())
    def check(data: st.DataObject) -> None:
        holds(data, data.draw(cases()))

    check()


@pytest.mark.slow
def test_ten_thousand_cases_each_with_three_worsened_forms():
    """Every case is decided twice over, and against three forms of itself drawn from the properties above."""

    @settings(max_examples=THOROUGH, deadline=None, derandomize=True, database=None, suppress_health_check=_LOOSE)
    @given(st.data())
    def check(data: st.DataObject) -> None:
        case = data.draw(cases())
        the_same_again(data, case)
        for holds in data.draw(st.lists(st.sampled_from(PROPERTIES), min_size=3, max_size=3, unique=True)):
            holds(data, case)

    check()
