"""Why is this still in service? Every rule of a recorded inspection, and the past of a whole store weighed again."""

from __future__ import annotations

from dataclasses import replace

import pytest

from inspect_core.deciding import Verdict
from inspect_core.domain.decision import FindingOutcome, Outcome
from inspect_core.domain.errors import NotFound
from inspect_core.domain.inspection import InspectionType
from inspect_core.rules.loader import make_rule_set
from inspect_core.usecases.reevaluate import recorded_past, reevaluate
from inspect_core.usecases.why import why


def standing(findings):
    return {finding for finding in findings if finding.outcome is not FindingOutcome.CLEARED}


def test_every_rule_is_told_with_the_findings_that_were_recorded(site):
    item = site.lanyard()
    site.record(site.cut(item, 1.2))
    told = why("check-1", site.services)
    assert len(told.weighed) == len(site.services.rules.rules)
    assert told.same_rules
    again = {finding for weighed in told.weighed for finding in weighed.findings}
    assert standing(again) == standing(told.inspection.decision.findings)
    assert next(w.rule for w in told.of(Verdict.MET)) == "webbing-cut-edge-1mm"


def test_gear_in_service_shows_the_rules_that_cleared_it(site):
    item = site.lanyard(maker_max_age_years=10)
    site.record(site.check(item))
    cleared = {weighed.rule: weighed.why for weighed in why("check-1", site.services).of(Verdict.CLEARED)}
    assert "end on 2035-06-01" in cleared["age-maker-limit"]
    assert "inspection-overdue" in cleared


def test_rules_that_have_changed_since_are_told(site):
    item = site.lanyard()
    site.record(site.check(item))
    rules = site.services.rules
    newer = make_rule_set("2", rules.rules[1:], rules.profiles, rules.facts, rules.sources)
    assert not why("check-1", replace(site.services, rules=newer)).same_rules


def test_a_corrected_inspection_can_still_be_opened(site):
    item = site.lanyard()
    site.record(site.check(item, type=InspectionType.PERIODIC, by=site.competent))
    site.clock.move(hours=1)
    correction = site.check(item, "check-2", type=InspectionType.PERIODIC, by=site.competent, corrects="check-1")
    site.record(correction)
    assert why("check-1", site.services).inspection.id == "check-1"
    assert why("check-2", site.services).inspection.id == "check-2"


def test_an_unknown_inspection_is_refused(site):
    with pytest.raises(NotFound):
        why("nothing", site.services)


def test_the_whole_store_weighed_by_its_own_rules_changes_nothing(site):
    one, two = site.lanyard("LAN-001"), site.lanyard("LAN-002")
    site.record(site.check(one))
    site.record(site.cut(two, 0.5, inspection_id="check-2"))
    site.clock.move(days=400)
    site.record(site.check(one, "check-3"))  # overdue by now, so on hold
    rules = site.services.rules
    told = reevaluate(recorded_past(site.services), rules, rules)
    assert (told.cases, told.changes, told.refused) == (3, (), ())


def test_a_stricter_rule_set_tells_the_items_it_would_withdraw_and_alters_nothing(site):
    item = site.lanyard()
    site.record(site.cut(item, 0.5))
    rules = site.services.rules
    stricter = tuple(replace(r, limit=0.4) if r.id == "webbing-cut-edge-1mm" else r for r in rules.rules)
    new = make_rule_set("2", stricter, rules.profiles, rules.facts, rules.sources)
    told = reevaluate(recorded_past(site.services), rules, new)
    assert [(c.id, c.recorded, c.would_be) for c in told.changes] == [("check-1", Outcome.HOLD, Outcome.WITHDRAW)]
    with site.services.unit_of_work() as uow:
        assert uow.inspections.get("check-1").decision.outcome is Outcome.HOLD
