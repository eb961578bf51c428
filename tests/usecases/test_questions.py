"""What is asked of people and what may be measured, from the rules that weigh it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import LASTING, Component, Kind
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category
from inspect_core.usecases.questions import contradictions, lasting_of, measures_for, questions, registered_at
from inspect_core.usecases.register import parse_item
from tests.usecases.site import Site

BEFORE_USE, PERIODIC = InspectionType.BEFORE_USE, InspectionType.PERIODIC


def item(kind: Kind, **fields):
    return parse_item({"tag": "A-1", "kind": kind.value, **fields}, "1" * 32)


def facts(site: Site, kind: Kind, type_: InspectionType, **fields) -> set[str]:
    return {q.fact for q in questions(item(kind, **fields), type_, site.services)}


def test_a_check_before_use_asks_what_may_have_happened(site: Site) -> None:
    asked = facts(site, Kind.WEBBING_LANYARD, BEFORE_USE)
    assert {"arrested fall", "impact load", "chemical exposure", "heat exposure"} <= asked
    assert "service severity" not in asked and "label legible" not in asked


def test_an_inspection_in_detail_asks_everything_that_a_check_asks_and_more(site: Site) -> None:
    for kind in Kind:
        assert facts(site, kind, BEFORE_USE) < facts(site, kind, PERIODIC), kind


def test_a_rope_grab_is_asked_for_its_arrow_at_every_use(site: Site) -> None:
    asked = {q.fact: q for q in questions(item(Kind.ROPE_GRAB), BEFORE_USE, site.services)}
    assert asked["arrow points to anchor"].component is Component.DIRECTION_ARROW
    assert asked["rope diameter"].unit == "mm"


def test_a_self_retracting_lifeline_is_pulled_at_every_use(site: Site) -> None:
    assert {"locks on a sharp pull", "retracts smoothly"} <= facts(site, Kind.SELF_RETRACTING_LIFELINE, BEFORE_USE)


def test_what_is_registered_is_not_asked_again(site: Site) -> None:
    ontario = {"profile": "canada ontario"}
    assert "rope diameter" in facts(site, Kind.VERTICAL_LIFELINE, PERIODIC, **ontario)
    assert "rope diameter" not in facts(site, Kind.VERTICAL_LIFELINE, PERIODIC, rope_diameter_mm=16, **ontario)


def test_which_chemical_is_asked_only_after_that_one_touched_it(site: Site) -> None:
    asked = {q.fact: q for q in questions(item(Kind.HARNESS), BEFORE_USE, site.services)}
    assert asked["chemical"].follows == "chemical exposure"
    assert asked["exposure temperature"].follows == "heat exposure"


def test_every_question_that_is_no_event_has_its_place(site: Site) -> None:
    for kind in Kind:
        for question in questions(item(kind), PERIODIC, site.services):
            placed = question.event or question.follows or question.component or question.fact == "service severity"
            assert placed, (kind, question.fact)


def test_a_cut_in_webbing_is_measured_from_the_edge(site: Site) -> None:
    names = [m.name for m in measures_for(item(Kind.WEBBING_LANYARD), Component.WEBBING, Category.CUT, site.services)]
    assert "depth from edge" in names and "throat increase" not in names


def test_a_makers_own_limit_adds_its_measure(site: Site) -> None:
    one = item(Kind.HARNESS, maker_limits={"section loss": 0.1})
    names = [m.name for m in measures_for(one, Component.BUCKLE, Category.RUST, site.services)]
    assert names[-1] == "section loss"


def test_lasting_facts_are_offered_for_kinds_whose_rules_weigh_them(site: Site) -> None:
    def names(kind: Kind) -> set[str]:
        return {spec.name for spec in lasting_of(kind, site.services)}

    assert "absorber class" in names(Kind.WEBBING_LANYARD)
    assert {"wire rope construction", "wire rope core"} <= names(Kind.WIRE_ROPE_LANYARD)
    assert "wire rope core" not in names(Kind.HARNESS)
    assert "rope construction" in names(Kind.VERTICAL_LIFELINE)


def test_every_lasting_fact_is_in_the_vocabulary(site: Site) -> None:
    assert set(LASTING) <= set(site.services.rules.fact_specs)


def test_a_registered_lasting_fact_is_not_asked_and_one_that_differs_is_refused(site: Site) -> None:
    item = site.lanyard(profile="canada ontario", lasting_facts={"absorber class": "other"})
    assert "absorber class" not in {q.fact for q in questions(item, InspectionType.PERIODIC, site.services)}
    look = site.check(item, type=InspectionType.PERIODIC, by=site.competent)
    with pytest.raises(BadInput, match="the register says other, not E4"):
        site.record(replace(look, facts={"absorber class": "E4"}))
    recorded = site.record(replace(look, facts={"absorber class": "other"})).inspection
    assert recorded.facts["absorber class"] == "other"
    assert [one.fact for one in contradictions({"absorber class": "E4", "mould": True}, item)] == ["absorber class"]
    assert registered_at(item, Component.ENERGY_ABSORBER) == (("absorber class", "other"),)
    assert registered_at(item, None) == ()
