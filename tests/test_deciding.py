"""The answer to single cases, told in the words that people read."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from inspect_core.deciding import Verdict, decide, weigh
from inspect_core.domain.decision import Answer, Basis, Case, CaseMark, Decision, Finding, FindingOutcome, Outcome
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component, Kind, components_of
from inspect_core.domain.marks import Category, Reading
from inspect_core.rules.loader import load_rules, make_rule_set
from inspect_core.rules.model import RuleSet

RULES = load_rules()
DAY = date(2026, 5, 4)


def case(kind: Kind = Kind.WEBBING_LANYARD, **changes: Any) -> Case:
    return replace(Case(kind, "common", {}, dict.fromkeys(components_of(kind), Answer.SOUND)), **changes)


def mark(component: Component, category: Category, *readings: Reading, id_: str = "m1") -> CaseMark:
    return CaseMark(id_, component, category, readings)


def cut(depth: float, spread: float) -> CaseMark:
    return mark(Component.WEBBING, Category.CUT, Reading("depth from edge", depth, "mm", spread))


def findings(decision: Decision, rule: str) -> list[Finding]:
    return [finding for finding in decision.findings if finding.rule == rule]


def test_a_one_millimetre_edge_cut_is_withdrawn_citing_the_published_list():
    """HSE INDG367 defect list, row B03: edge cuts of 1 mm or more."""
    decision = decide(case(marks=(cut(1.0, 0.0),)), RULES, DAY)
    first = decision.deciding[0]
    assert decision.outcome is Outcome.WITHDRAW
    assert first.source == "HSE INDG367 defect list, detailed inspection (B03)"
    assert (first.rule, first.basis, first.mark) == ("webbing-cut-edge-1mm", Basis.PUBLISHED, "m1")


@pytest.mark.parametrize(
    ("depth", "spread", "b03"),
    [
        (0.5, 0.2, FindingOutcome.CLEARED),
        (0.9, 0.3, FindingOutcome.HOLD),
        (0.9, 0.1, FindingOutcome.HOLD),  # 0.9 + 0.1 reaches 1.0 as people add, whatever binary fractions make of it
        (1.0, 0.3, FindingOutcome.WITHDRAW),
    ],
)
def test_guarded_acceptance_of_an_edge_cut(depth: float, spread: float, b03: FindingOutcome):
    decision = decide(case(marks=(cut(depth, spread),)), RULES, DAY)
    assert [f.outcome for f in findings(decision, "webbing-cut-edge-1mm")] == [b03]
    assert decision.outcome is not Outcome.IN_SERVICE


def test_a_cut_without_a_reading_is_a_hold_that_says_which_reading_is_missing():
    decision = decide(case(marks=(mark(Component.WEBBING, Category.CUT),)), RULES, DAY)
    [finding] = findings(decision, "webbing-cut-edge-1mm")
    assert finding.outcome is FindingOutcome.HOLD
    assert "no reading of depth from edge; measure it by hand. The limit is 1 mm." in finding.reason
    assert (finding.value, finding.limit, finding.unit) == (None, 1.0, "mm")


def test_a_deployed_absorber_is_withdrawn_citing_b06():
    decision = decide(case(marks=(mark(Component.ENERGY_ABSORBER, Category.DEPLOYED_ABSORBER),)), RULES, DAY)
    assert decision.outcome is Outcome.WITHDRAW
    assert decision.deciding[0].source == "HSE INDG367 defect list, detailed inspection (B06)"
    assert decision.damage_used == 1.0


def test_an_unseen_component_is_a_hold():
    answers = {**case().answers, Component.STITCHING: Answer.UNSEEN}
    decision = decide(case(answers=answers), RULES, DAY)
    assert (decision.outcome, decision.deciding[0].component) == (Outcome.HOLD, Component.STITCHING)


@pytest.mark.parametrize("kind", list(Kind))
def test_a_sound_item_of_every_kind_stays_in_service(kind: Kind):
    decision = decide(case(kind), RULES, DAY)
    assert (decision.outcome, decision.damage_used, decision.findings) == (Outcome.IN_SERVICE, 0.0, ())


def test_no_rust_is_allowed_on_a_rope_grab():
    decision = decide(case(Kind.ROPE_GRAB, marks=(mark(Component.HOUSING, Category.RUST),)), RULES, DAY)
    assert (decision.outcome, decision.deciding[0].rule) == (Outcome.WITHDRAW, "rope-grab-rust")
    assert decision.deciding[0].basis is Basis.COMMON_PRACTICE


def test_both_limits_are_shown_and_the_stricter_counts():
    facts = {"maker limit: depth from edge": 0.4}
    decision = decide(case(facts=facts, marks=(cut(0.5, 0.2),)), RULES, DAY)
    first = decision.deciding[0]
    assert (decision.outcome, first.basis, first.limit) == (Outcome.WITHDRAW, Basis.MAKER, 0.4)
    assert "Other limits for this reading: 1 mm (HSE INDG367 defect list, detailed inspection (B03))" in first.reason
    assert [f.outcome for f in findings(decision, "webbing-cut-edge-1mm")] == [FindingOutcome.CLEARED]


def test_an_analogue_and_a_memory_say_so_in_their_reasons():
    worn = mark(Component.SNAP_HOOK, Category.WEAR, Reading("section loss", 0.2, "share", 0.0))
    analogue = findings(decide(case(marks=(worn,)), RULES, DAY), "hook-worn-10")[0]
    assert analogue.analogue and "Written for lifting gear; it serves here as an analogue." in analogue.reason
    fall = decide(case(profile="us construction", facts={"arrested fall": True}), RULES, DAY)
    memory = findings(fall, "arrested-fall-construction")[0]
    assert memory.basis is Basis.FROM_MEMORY and "Quoted from memory; check it in print." in memory.reason


def test_numbers_in_reasons_carry_unit_and_uncertainty():
    worn = mark(Component.SNAP_HOOK, Category.WEAR, Reading("section loss", 0.08, "share", 0.03))
    [finding] = findings(decide(case(marks=(worn,)), RULES, DAY), "hook-worn-10")
    assert finding.reason.startswith("Section loss 8 ± 3 % leaves the limit of 10 % within its uncertainty; measure it")


def test_a_withdrawal_that_depends_on_an_unknown_fact_is_a_hold_that_names_it():
    decision = decide(case(facts={"exposure temperature": 85.0}), RULES, DAY)
    [finding] = findings(decision, "heat-nylon-polyester")
    assert (decision.outcome, finding.outcome) == (Outcome.HOLD, FindingOutcome.HOLD)
    assert "It depends on what is not known here: fibre." in finding.reason


def test_damage_used_is_the_largest_share_of_a_limit():
    marks = (
        mark(Component.SNAP_HOOK, Category.WEAR, Reading("section loss", 0.05, "share", 0.01)),
        mark(Component.WEBBING, Category.CUT, Reading("depth from edge", 0.5, "mm", 0.2), id_="m2"),
    )
    decision = decide(case(marks=marks), RULES, DAY)
    assert decision.damage_used == 0.7  # (0.5 + 0.2) / 1.0 against (0.05 + 0.01) / 0.10


def test_the_worst_finding_comes_first_and_decides():
    marks = (cut(0.5, 0.2), mark(Component.SNAP_HOOK, Category.DEFORMATION, id_="a"))
    decision = decide(case(marks=marks), RULES, DAY)
    severities = [finding.outcome.severity for finding in decision.findings]
    assert severities == sorted(severities, reverse=True)
    assert decision.outcome is Outcome.WITHDRAW and decision.findings[0].mark == "a"


def test_history_is_decided_by_the_rules_of_its_day():
    new_limit_from = date(2026, 7, 1)
    cut_rule = next(rule for rule in RULES.rules if rule.id == "webbing-cut-edge-1mm")
    ended = replace(cut_rule, last_day=date(2026, 6, 30))
    stricter = replace(cut_rule, limit=0.5, first_day=new_limit_from)
    others = tuple(rule for rule in RULES.rules if rule is not cut_rule)
    rules = make_rule_set("next", (ended, stricter, *others), RULES.profiles, RULES.facts, RULES.sources)
    lanyard = case(marks=(cut(0.6, 0.0),))
    assert decide(lanyard, rules, date(2026, 6, 30)).outcome is Outcome.HOLD  # cleared by B03, held as any cut
    assert decide(lanyard, rules, new_limit_from).outcome is Outcome.WITHDRAW


def test_the_stamp_names_the_rule_set():
    decision = decide(case(), RULES, DAY)
    assert (decision.rules.version, decision.rules.digest) == (RULES.version, RULES.digest)


def test_a_case_outside_the_vocabulary_is_refused():
    with pytest.raises(BadInput, match="no known profile"):
        decide(case(profile="atlantis"), RULES, DAY)
    with pytest.raises(BadInput, match="A webbing lanyard has no cam"):
        decide(case(answers={Component.CAM: Answer.SOUND}), RULES, DAY)
    with pytest.raises(BadInput, match="A webbing lanyard has no rope"):
        decide(case(marks=(mark(Component.ROPE, Category.CUT),)), RULES, DAY)


# Why is this still in service? ----------------------------------------------------------------------------------


def told(weighed_case: Case, rule: str, rules: RuleSet = RULES, on: date = DAY) -> tuple[Verdict, str]:
    [weighed] = [w for w in weigh(weighed_case, rules, on) if w.rule == rule]
    return weighed.verdict, weighed.why


def test_every_rule_is_told_with_its_source_and_what_became_of_it():
    weighed = weigh(case(), RULES, DAY)
    assert [w.rule for w in weighed] == [rule.id for rule in RULES.rules]
    assert all(w.why and w.source and w.title for w in weighed)


@pytest.mark.parametrize(
    ("facts", "rule", "verdict", "why"),
    [
        ({}, "arrested-fall", Verdict.NOT_KNOWN, "Not stated: arrested fall."),
        ({"arrested fall": False}, "arrested-fall", Verdict.NOTHING_TO_WEIGH, "Nothing of the kind was found."),
        ({"arrested fall": True}, "arrested-fall", Verdict.MET, "Arrested fall: yes. Gear that took an impact"),
        ({}, "age-maker-limit", Verdict.NOT_KNOWN, "Not stated: made on."),
        (
            {"made on": date(2024, 1, 1), "maker's age limit": 5},
            "age-maker-limit",
            Verdict.CLEARED,
            "5 years counted from “made on” 2024-01-01 end on 2029-01-01.",
        ),
        (
            {"made on": date(2024, 1, 1), "maker's age limit": 5},
            "age-10-years",
            Verdict.DOES_NOT_APPLY,
            "A fact of this case sets it aside.",
        ),
        ({}, "rope-grab-rust", Verdict.DOES_NOT_APPLY, "A webbing lanyard is not concerned."),
        ({}, "guide-hardware", Verdict.DOES_NOT_APPLY, "Belongs to the profile us construction."),
        (
            {"last periodic inspection": date(2026, 1, 1)},
            "inspection-overdue",
            Verdict.CLEARED,
            "The periodic inspection is due on 2027-01-01, 12 months after the last one.",
        ),
        ({"exposure temperature": 20.0, "fibre": "nylon"}, "heat-nylon-polyester", Verdict.CLEARED, "stays within"),
    ],
)
def test_a_rule_tells_why_it_did_or_did_not_speak(facts: dict[str, Any], rule: str, verdict: Verdict, why: str):
    found, reason = told(case(facts=facts), rule)
    assert found is verdict
    assert why in reason


def test_a_measured_rule_tells_cleared_not_ruled_out_and_met_apart():
    spoken = [told(case(marks=(cut(*size),)), "webbing-cut-edge-1mm")[0] for size in ((0.5, 0.2), (0.9, 0.3), (1.1, 0))]
    assert spoken == [Verdict.CLEARED, Verdict.NOT_RULED_OUT, Verdict.MET]
    doubtful = mark(Component.STITCHING, Category.OTHER, Reading("stitch side difference", 0, "count", 1))
    assert told(case(marks=(doubtful,)), "stitching-sides-count")[0] is Verdict.NOT_RULED_OUT


def test_a_rule_not_yet_in_force_says_from_when():
    lanyard = case(profile="canada ontario")
    verdict, why = told(lanyard, "absorber-class-withdrawn", on=date(2020, 1, 31))
    assert (verdict, why) == (Verdict.DOES_NOT_APPLY, "In force from 2020-02-01.")
