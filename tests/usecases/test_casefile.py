"""Case files: good ones are read whole, bad ones refused with the key and what to do."""

from __future__ import annotations

import json
import math
from datetime import date, datetime
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspect_core.deciding import decide
from inspect_core.domain.decision import Answer
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import PARTS, Component, Fibre, Item, Kind, components_of
from inspect_core.domain.marks import Category
from inspect_core.domain.measures import MEASURES
from inspect_core.rules.loader import load_rules
from inspect_core.usecases.casefile import (
    check_facts,
    decision_json,
    facts_of_item,
    follows,
    parse_case,
    registered_facts,
    vocabulary,
)

RULES = load_rules()


def case_file(**changes: Any) -> dict[str, Any]:
    sound = {
        "kind": "webbing lanyard",
        "profile": "common",
        "on": "2026-05-04",
        "facts": {"fibre": "polyester", "made on": "2024-02-01", "webbing width": 45},
        "answers": {component.value: "sound" for component in components_of(Kind.WEBBING_LANYARD)},
        "marks": [mark()],
    }
    return {**sound, **changes}


def mark(**changes: Any) -> dict[str, Any]:
    return {"id": "m1", "component": "webbing", "category": "cut", "readings": [reading()], **changes}


def reading(**changes: Any) -> dict[str, Any]:
    return {"measure": "depth from edge", "value": 1.2, "unit": "mm", "uncertainty": 0.3, **changes}


def test_a_case_file_is_read_whole():
    case, on = parse_case(case_file(), RULES)
    assert (case.kind, case.profile, on) == (Kind.WEBBING_LANYARD, "common", date(2026, 5, 4))
    assert case.facts == {"fibre": "polyester", "made on": date(2024, 2, 1), "webbing width": 45.0}
    assert case.answers[Component.STITCHING] is Answer.SOUND
    assert (case.marks[0].category, case.marks[0].readings[0].value) == (Category.CUT, 1.2)


def test_facts_answers_and_marks_may_be_left_out():
    case, _ = parse_case({"kind": "connector", "profile": "common", "on": "2026-05-04"}, RULES)
    assert (case.facts, case.answers, case.marks) == ({}, {}, ())


BAD = [
    ("no table at all", [], "case: is no table"),
    ("nothing", None, "case: is no table"),
    ("unknown key", case_file(colour="red"), "case.colour: is an unknown key"),
    ("kind missing", {k: v for k, v in case_file().items() if k != "kind"}, "kind: is missing"),
    ("kind null", case_file(kind=None), "kind: is missing"),
    ("kind unknown", case_file(kind="ladder"), "kind: “ladder” is not known"),
    ("kind no word", case_file(kind=["harness"]), "kind: a list is not known"),
    ("kind a table", case_file(kind={"a": 1}), "kind: a table is not known"),
    ("fact number too long", case_file(facts={"webbing width": 10**5000}), "is no number"),
    ("key of great length", case_file(**{"x" * 5000: 1}), "is an unknown key"),
    ("profile missing", {k: v for k, v in case_file().items() if k != "profile"}, "profile: is missing"),
    ("profile unknown", case_file(profile="atlantis"), "“atlantis” is no known profile"),
    ("profile no word", case_file(profile=3), "profile: is no word"),
    ("day missing", {k: v for k, v in case_file().items() if k != "on"}, "on: is missing"),
    ("day impossible", case_file(on="2026-02-30"), "on: “2026-02-30” is no day"),
    ("day the other way round", case_file(on="04/05/2026"), "on: “04/05/2026” is no day"),
    ("day with a time", case_file(on=datetime(2026, 5, 4)), "is no day"),  # noqa: DTZ001 - the mistake under test
    ("facts no table", case_file(facts=[1]), "facts: is no table"),
    ("fact unknown", case_file(facts={"mood": True}), "facts.mood: is no known fact"),
    ("fact yes as a word", case_file(facts={"arrested fall": "yes"}), "facts.arrested fall: is neither true nor false"),
    ("fact word unknown", case_file(facts={"fibre": "straw"}), "facts.fibre: “straw” is not known"),
    ("fact number as text", case_file(facts={"webbing width": "45"}), "facts.webbing width: “45” is no number"),
    ("fact number as yes", case_file(facts={"webbing width": True}), "facts.webbing width: “True” is no number"),
    ("fact number endless", case_file(facts={"webbing width": math.inf}), "facts.webbing width: “inf” is no number"),
    ("fact out of range", case_file(facts={"webbing width": 0}), "facts.webbing width: 0 is out of range"),
    ("fact date wrong", case_file(facts={"made on": "2024"}), "facts.made on: “2024” is no day"),
    ("fact date to come", case_file(facts={"made on": "2027-01-01"}), "lies after the day of the case"),
    (
        "used before made",
        case_file(facts={"made on": "2024-02-02", "first used on": "2024-02-01"}),
        "facts.first used on: lies before the day of making",
    ),
    (
        "rope range upside down",
        case_file(
            kind="rope grab", answers={}, marks=[], facts={"accepted rope smallest": 18, "accepted rope largest": 16}
        ),
        "facts.accepted rope largest: is below the smallest",
    ),
    ("maker limit of nothing known", case_file(facts={"maker limit: mood": 1}), "“mood” is no known measure"),
    (
        "maker limit below zero",
        case_file(facts={"maker limit: length": -1}),
        "facts.maker limit: length: is below zero",
    ),
    ("maker limit both ways", case_file(facts={"maker limit: lay length": 1}), "by itself is neither good nor bad"),
    ("answers no table", case_file(answers=["sound"]), "answers: is no table"),
    ("answer unknown", case_file(answers={"webbing": "fine"}), "answers.webbing: “fine” is not known"),
    ("component unknown", case_file(answers={"hull": "sound"}), "answers.hull: “hull” is not known"),
    ("component of another kind", case_file(answers={"cam": "sound"}), "answers.cam: a webbing lanyard has no cam"),
    (
        "mark on an absent component",
        case_file(answers={"webbing": "absent"}),
        "answers.webbing: says absent, yet mark m1 lies on it",
    ),
    ("marks no list", case_file(marks={"id": "m1"}), "marks: is no list"),
    ("too many marks", case_file(marks=[mark(id=f"m{n}") for n in range(501)]), "marks: holds 501 entries"),
    ("mark no table", case_file(marks=["cut"]), "marks[1]: is no table"),
    ("mark key unknown", case_file(marks=[mark(size=3)]), "marks[1].size: is an unknown key"),
    ("mark without id", case_file(marks=[mark(id=None)]), "marks[1].id: is missing"),
    ("mark id blank", case_file(marks=[mark(id=" ")]), "marks[1].id: is no identifier"),
    ("mark id twice", case_file(marks=[mark(), mark()]), "marks[2].id: “m1” stands twice"),
    ("mark component missing", case_file(marks=[mark(component=None)]), "marks[1].component: is missing"),
    ("mark on another kind's component", case_file(marks=[mark(component="rope")]), "has no rope"),
    ("mark category unknown", case_file(marks=[mark(category="bite")]), "marks[1].category: “bite” is not known"),
    ("readings no list", case_file(marks=[mark(readings=1.2)]), "marks[1].readings: is no list"),
    (
        "reading of nothing known",
        case_file(marks=[mark(readings=[reading(measure="strength")])]),
        "marks[1].readings[1].measure: “strength” is no known measure",
    ),
    (
        "reading twice",
        case_file(marks=[mark(readings=[reading(), reading()])]),
        "marks[1].readings[2].measure: “depth from edge” is read twice",
    ),
    (
        "reading in inches",
        case_file(marks=[mark(readings=[reading(unit="in")])]),
        "marks[1].readings[1].unit: “in” is not the unit of depth from edge",
    ),
    ("reading without unit", case_file(marks=[mark(readings=[reading(unit=None)])]), "unit: is missing"),
    ("reading without value", case_file(marks=[mark(readings=[reading(value=None)])]), "value: is missing"),
    ("reading as text", case_file(marks=[mark(readings=[reading(value="1.2")])]), "value: “1.2” is no number"),
    ("reading not a number", case_file(marks=[mark(readings=[reading(value=math.nan)])]), "value: “nan” is no number"),
    ("reading below zero", case_file(marks=[mark(readings=[reading(value=-1)])]), "cannot be below zero"),
    ("uncertainty missing", case_file(marks=[mark(readings=[reading(uncertainty=None)])]), "uncertainty: is missing"),
    (
        "uncertainty below zero",
        case_file(marks=[mark(readings=[reading(uncertainty=-1)])]),
        "uncertainty: is below zero",
    ),
    ("method no text", case_file(marks=[mark(readings=[reading(method=3)])]), "method: is no text"),
    (
        "a part of a stitch",
        case_file(marks=[mark(readings=[reading(measure="missing stitches", unit="count", value=0.5)])]),
        "missing stitches is counted in whole numbers",
    ),
    (
        "a share in per cent",
        case_file(marks=[mark(readings=[reading(measure="area share", unit="share", value=12)])]),
        "area share is a share from 0 to 1",
    ),
    (
        "a grade that is none",
        case_file(marks=[mark(readings=[reading(measure="rust grade", unit="grade", value=11)])]),
        "11 is no rust grade",
    ),
]


@pytest.mark.parametrize(("name", "data", "told"), BAD, ids=[name for name, _, _ in BAD])
def test_bad_input_is_refused_with_its_key_and_what_to_do(name: str, data: object, told: str):
    with pytest.raises(BadInput) as refusal:
        parse_case(data, RULES)
    assert told in refusal.value.problem
    assert len(refusal.value.remedy) > 8
    assert "Traceback" not in str(refusal.value)


def test_at_least_twenty_kinds_of_bad_input_are_tried():
    assert len({name for name, _, _ in BAD}) >= 20


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20) | st.just(10**400),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=10), inner, max_size=3),
    max_leaves=6,
)
PLACES = [
    (),
    ("kind",),
    ("profile",),
    ("on",),
    ("facts",),
    ("facts", "made on"),
    ("facts", "fibre"),
    ("facts", "webbing width"),
    ("facts", "maker limit: length"),
    ("answers",),
    ("answers", "webbing"),
    ("marks",),
    ("marks", 0),
    ("marks", 0, "id"),
    ("marks", 0, "component"),
    ("marks", 0, "readings"),
    ("marks", 0, "readings", 0),
    ("marks", 0, "readings", 0, "measure"),
    ("marks", 0, "readings", 0, "value"),
    ("marks", 0, "readings", 0, "uncertainty"),
]


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.sampled_from(PLACES), ANYTHING)
def test_anything_at_all_in_any_place_is_read_or_refused_in_words(place: tuple[Any, ...], value: Any):
    data: Any = case_file()
    if place:
        inner = data
        for step in place[:-1]:
            inner = inner[step]
        inner[place[-1]] = value
    else:
        data = value
    try:
        case, on = parse_case(data, RULES)
    except BadInput as refusal:
        assert len(str(refusal)) < 3000
        return
    assert decide(case, RULES, on).outcome


KEYS = [
    "rule",
    "outcome",
    "mark",
    "component",
    "measure",
    "value",
    "uncertainty",
    "limit",
    "unit",
    "reason",
    "source",
    "basis",
]


def test_a_decision_has_the_keys_of_the_contract_in_their_order():
    case, on = parse_case(case_file(), RULES)
    data = decision_json(decide(case, RULES, on))
    assert list(data) == ["outcome", "damage_used", "findings", "rules"]
    assert all(list(finding) == KEYS for finding in data["findings"])
    assert list(data["rules"]) == ["version", "digest"]
    first = data["findings"][0]
    assert (data["outcome"], first["rule"], first["value"], first["limit"]) == (
        "withdraw",
        "webbing-cut-edge-1mm",
        1.2,
        1.0,
    )
    assert data["damage_used"] == 1.5  # (1.2 + 0.3) / 1.0


def test_the_same_case_gives_the_same_bytes():
    def once() -> bytes:
        case, on = parse_case(case_file(), RULES)
        return json.dumps(decision_json(decide(case, RULES, on)), ensure_ascii=False).encode()

    assert len({once() for _ in range(5)}) == 1


def test_the_vocabulary_lists_everything_a_case_may_say_in_the_same_bytes_each_time():
    words = vocabulary(RULES)
    assert json.dumps(words) == json.dumps(vocabulary(RULES))
    assert [kind["kind"] for kind in words["kinds"]] == [kind.value for kind in PARTS]
    lanyard = words["kinds"][1]["components"]
    assert {"component": "energy absorber", "may_be_absent": True} in lanyard
    assert words["categories"] == [category.value for category in Category]
    assert [measure["measure"] for measure in words["measures"]] == list(MEASURES)
    assert {profile["profile"] for profile in words["profiles"]} == {
        "common",
        "canada ontario",
        "us construction",
        "us general industry",
        "uk europe",
    }
    assert len(words["rules"]["list"]) == len(RULES.rules)
    cut = next(rule for rule in words["rules"]["list"] if rule["rule"] == "webbing-cut-edge-1mm")
    assert (cut["source"], cut["row"], cut["basis"], cut["limit"]) == (
        "HSE INDG367 defect list",
        "B03",
        "published",
        1.0,
    )
    dated = next(rule for rule in words["rules"]["list"] if rule["rule"] == "absorber-class-withdrawn")
    assert (dated["first_day"], dated["limit"]) == ("2020-02-01", "2020-02-01")


def test_every_rule_is_listed_with_its_source_and_analogues_say_so():
    for rule in vocabulary(RULES)["rules"]["list"]:
        assert rule["source"] and rule["basis"] and rule["reason"]
        lifting = next(r for r in RULES.rules if r.id == rule["rule"]).source.written_for == "lifting gear"
        assert rule["analogue"] is lifting


ITEM = Item(
    id="i",
    tag="H-1",
    kind=Kind.HARNESS,
    fibre=Fibre.NYLON,
    made_on=date(2024, 2, 1),
    first_used_on=date(2024, 3, 1),
    standards=("EN 361",),
    webbing_width_mm=44.5,
    maker_max_age_years=10,
    maker_limits={"depth from edge": 0.5},
)


def test_what_the_register_knows_becomes_facts():
    facts = facts_of_item(ITEM, date(2026, 5, 4), last_periodic=date(2026, 1, 1), extra={"arrested fall": False})
    assert facts == {
        "fibre": "nylon",
        "made on": date(2024, 2, 1),
        "first used on": date(2024, 3, 1),
        "maker's age limit": 10,
        "last periodic inspection": date(2026, 1, 1),
        "standard mark present": True,
        "webbing width": 44.5,
        "maker limit: depth from edge": 0.5,
        "arrested fall": False,
    }
    assert check_facts(facts, RULES, date(2026, 5, 4)) == facts


def test_what_the_register_does_not_know_stays_unknown():
    assert facts_of_item(Item(id="i", tag="H-1", kind=Kind.HARNESS), date(2026, 5, 4)) == {}


def test_days_that_had_not_come_are_left_out_of_history():
    facts = facts_of_item(ITEM, date(2024, 2, 15), last_periodic=date(2026, 1, 1))
    assert "first used on" not in facts and "last periodic inspection" not in facts and "made on" in facts


def test_every_fact_of_the_register_is_one_that_follows_by_itself():
    assert registered_facts(ITEM, date(2026, 1, 1))
    assert all(follows(name) for name in registered_facts(ITEM, date(2026, 1, 1)))
    assert not follows("arrested fall")
