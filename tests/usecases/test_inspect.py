"""The main job: what is recorded, what moves, and what is refused with nothing written."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from inspect_core.domain.custody import Move, State
from inspect_core.domain.decision import Answer, Outcome
from inspect_core.domain.errors import BadInput, Conflict, NotAllowed, NotFound
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import Shape
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.domain.people import Person, Role
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.falls import ReportFall, report_fall
from inspect_core.usecases.inspect import Judgement, ask
from inspect_core.usecases.register import add_person
from inspect_core.usecases.review import due, history, today
from inspect_core.usecases.site_settings import set_two_persons
from inspect_core.usecases.verify import verify
from tests.engines import stores


def test_a_sound_item_stays_in_service(site):
    item = site.lanyard()
    recorded = site.record(site.check(item))
    assert recorded.inspection.outcome is Outcome.IN_SERVICE
    assert recorded.standing.usable
    assert recorded.standing.last_seen_on == site.clock.now().date()


def test_a_cut_of_one_millimetre_withdraws_the_lanyard_citing_the_published_source(site):
    item = site.lanyard()
    recorded = site.record(site.cut(item, 1.0))
    assert recorded.standing.state is State.WITHDRAWN
    deciding = recorded.inspection.decision.deciding
    assert any("INDG367" in f.source and f.outcome.value == "withdraw" for f in deciding)  # facts row B03
    life = history(item.id, site.services)
    assert life.inspections[0].marks[0].shape == Shape.of("line", [[10, 20], [60, 80]])
    assert [e.move for e in life.custody] == [Move.WITHDRAW, Move.REGISTER]
    assert life.standing.reason == deciding[0].reason


@pytest.mark.parametrize("answer", [Answer.UNSEEN, None])
def test_a_component_nobody_has_seen_is_a_hold(site, answer):
    item = site.lanyard()
    answers = site.sound(item)
    if answer is None:
        del answers[Component.SNAP_HOOK]
    else:
        answers[Component.SNAP_HOOK] = answer
    recorded = site.record(site.check(item, answers=answers))
    assert recorded.standing.state is State.ON_HOLD
    assert not recorded.standing.usable
    assert [row.item.tag for row in today(site.services).on_hold] == ["LAN-001"]


def test_asking_writes_nothing(site):
    item = site.lanyard()
    before = verify(site.services)
    assert ask(site.cut(item, 3.0), site.services).outcome is Outcome.WITHDRAW
    after = verify(site.services)
    assert (after.entries, after.head, after.records) == (before.entries, before.head, before.records)
    assert history(item.id, site.services).inspections == ()


def test_recording_twice_stores_one_inspection(site):
    item = site.lanyard()
    first = site.record(site.check(item))
    again = site.record(site.check(item))
    assert again.inspection == first.inspection
    assert again.entry is None
    assert len(history(item.id, site.services).inspections) == 1
    assert verify(site.services).faults == ()


def test_the_same_identifier_for_another_item_is_refused(site):
    site.record(site.check(site.lanyard()))
    with pytest.raises(Conflict, match="Another inspection"):
        site.record(site.check(site.lanyard("LAN-002")))


def test_a_good_check_does_not_release_held_gear(site):
    item = site.lanyard()
    site.record(site.check(item, answers=site.sound(item) | {Component.LABEL: Answer.UNSEEN}))
    site.clock.move(days=1)
    recorded = site.record(site.check(item, "check-2"))
    assert recorded.inspection.outcome is Outcome.IN_SERVICE
    assert recorded.standing.state is State.ON_HOLD


def test_held_gear_returns_after_a_detailed_inspection_and_a_release(site):
    item = site.lanyard()
    site.record(site.check(item, answers=site.sound(item) | {Component.LABEL: Answer.UNSEEN}))
    site.clock.move(hours=2)
    detailed = site.record(site.check(item, "periodic-1", type=InspectionType.PERIODIC, by=site.competent))
    move = MakeMove("move-1", item.id, Move.RELEASE, site.competent, "fit in detail", detailed.inspection.id)
    with pytest.raises(NotAllowed, match="may not release"):
        make_move(replace(move, by=site.worker), site.services)
    assert make_move(move, site.services).usable
    assert make_move(move, site.services).usable  # the same move a second time moves nothing
    assert len([e for e in history(item.id, site.services).custody if e.move is Move.RELEASE]) == 1


def test_a_site_may_ask_for_a_second_person_to_release(site):
    item = site.lanyard()
    hold = MakeMove("hold-1", item.id, Move.HOLD, site.competent, "looked odd")
    make_move(hold, site.services)
    site.clock.move(hours=1)
    detailed = site.record(site.check(item, "periodic-1", type=InspectionType.PERIODIC, by=site.competent))
    release = MakeMove("move-1", item.id, Move.RELEASE, site.competent, "fit", detailed.inspection.id)
    set_two_persons(True, site.manager, site.services)
    with pytest.raises(NotAllowed, match="whoever raised the hold may not release"):
        make_move(release, site.services)
    with pytest.raises(NotAllowed, match="inspection was made by whoever raised the hold"):
        make_move(replace(release, by=site.second), site.services)
    again = site.record(site.check(item, "periodic-2", type=InspectionType.PERIODIC, by=site.second))
    assert make_move(replace(release, by=site.second, inspection_id=again.inspection.id), site.services).usable


def test_a_worker_changes_no_setting_of_the_site(site):
    with pytest.raises(NotAllowed, match="may not change settings"):
        set_two_persons(True, site.worker, site.services)


def test_a_release_does_not_look_past_a_later_fault(site):
    item = site.lanyard()
    make_move(MakeMove("hold-1", item.id, Move.HOLD, site.worker, "looked odd"), site.services)
    site.clock.move(hours=1)
    good = site.record(site.check(item, "periodic-1", type=InspectionType.PERIODIC, by=site.competent))
    site.clock.move(hours=1)
    site.record(site.check(item, "check-2", answers=site.sound(item) | {Component.WEBBING: Answer.UNSEEN}))
    with pytest.raises(NotAllowed, match="later inspection"):
        make_move(MakeMove("m", item.id, Move.RELEASE, site.competent, "fit", good.inspection.id), site.services)


def test_withdrawn_gear_never_comes_back(site):
    item = site.lanyard()
    site.record(site.cut(item, 2.0))
    site.clock.move(days=1)
    for kind, by in ((InspectionType.BEFORE_USE, site.worker), (InspectionType.PERIODIC, site.competent)):
        with pytest.raises(NotAllowed, match="nothing to inspect"):
            site.record(site.check(item, "later", type=kind, by=by))
    for move in (Move.RELEASE, Move.HOLD):
        with pytest.raises(NotAllowed):
            make_move(MakeMove("m", item.id, move, site.competent, "please"), site.services)


def test_destruction_is_shown_by_a_photo_and_a_witness(site):
    item = site.lanyard()
    site.record(site.cut(item, 2.0))
    destroy = MakeMove(
        "d", item.id, Move.DESTROY, site.manager, "cut up", photo_id=site.photo(9), witness_id=site.worker
    )
    with pytest.raises(BadInput, match="photo"):
        make_move(replace(destroy, photo_id=None), site.services)
    with pytest.raises(NotFound):
        make_move(replace(destroy, photo_id="f" * 64), site.services)
    assert make_move(destroy, site.services).state is State.DESTROYED


def test_a_worker_signs_no_detailed_inspection(site):
    item = site.lanyard()
    for kind in (InspectionType.PERIODIC, InspectionType.AFTER_EVENT):
        with pytest.raises(NotAllowed, match="competent person"):
            site.record(site.check(item, type=kind))
    assert history(item.id, site.services).inspections == ()


def test_judgement_by_hand_settles_a_hold_with_its_reason(site):
    item = site.lanyard()
    answers = site.sound(item) | {Component.SNAP_HOOK: Answer.UNSEEN}
    judged = site.check(
        item,
        type=InspectionType.PERIODIC,
        by=site.competent,
        answers=answers,
        hand=Judgement(Outcome.WITHDRAW, "Gate spring weak; not worth a repair."),
    )
    recorded = site.record(judged)
    assert recorded.inspection.decision.outcome is Outcome.HOLD
    assert recorded.standing.state is State.WITHDRAWN
    assert "Gate spring weak" in recorded.standing.reason


def test_a_detailed_inspection_sets_the_next_date_and_a_check_does_not(site):
    item = site.lanyard()
    first = history(item.id, site.services).standing.next_due
    site.clock.move(days=20)
    assert site.record(site.check(item)).standing.next_due == first
    after = site.record(site.check(item, "p", type=InspectionType.PERIODIC, by=site.competent)).standing
    assert after.next_due is not None and first is not None and after.next_due > first
    assert after.last_periodic_on == site.clock.now().date()


def test_overdue_gear_is_held_at_its_check_and_cured_by_a_detailed_inspection(site):
    item = site.lanyard()
    site.clock.move(days=800)
    assert [row.item.tag for row in due(site.services).overdue] == ["LAN-001"]
    held = site.record(site.check(item))
    assert held.standing.state is State.ON_HOLD
    site.clock.move(hours=1)
    detailed = site.record(site.check(item, "p", type=InspectionType.PERIODIC, by=site.competent))
    assert detailed.inspection.outcome is Outcome.IN_SERVICE
    assert detailed.standing.next_due > site.clock.now().date()


def test_an_inspection_entered_late_does_not_hide_what_was_found_since(site):
    item = site.lanyard()
    site.clock.move(days=30)
    newer = site.record(site.check(item, "p", type=InspectionType.PERIODIC, by=site.competent)).standing
    late = site.record(site.check(item, "late", at=site.clock.now() - timedelta(days=10)))
    assert late.standing.last_inspection_id == "p"
    assert late.standing.last_seen_on == newer.last_seen_on
    assert len(history(item.id, site.services).inspections) == 2


@pytest.mark.parametrize(
    ("changes", "error", "said"),
    [
        ({"by": "nobody"}, NotFound, " "),
        ({"item_id": "nothing"}, NotFound, " "),
        ({"answers": {Component.CAM: Answer.SOUND}}, BadInput, "has no cam"),
        ({"photo_ids": ("e" * 64,)}, NotFound, " "),
        ({"note": "x" * 5000}, BadInput, "longer"),
        ({"corrects": "unknown"}, NotFound, " "),
        ({"photo_ids": tuple(f"{n:064d}" for n in range(61))}, BadInput, "More than 60 photos"),
        ({"hand": Judgement(Outcome.HOLD, "I would rather not say.")}, NotAllowed, "decide by hand"),
    ],
)
def test_a_wrong_command_is_refused_and_writes_nothing(site, changes, error, said):
    item = site.lanyard()
    before = verify(site.services)
    with pytest.raises(error, match=said):
        site.record(site.check(item, **changes))
    after = verify(site.services)
    assert (after.entries, after.head, after.records) == (before.entries, before.head, before.records)
    assert history(item.id, site.services).standing.last_inspection_id is None


def test_the_time_of_an_inspection_cannot_lie_ahead(site):
    item = site.lanyard()
    with pytest.raises(BadInput, match="future"):
        site.record(site.check(item, at=site.clock.now() + timedelta(hours=1)))


def test_a_mark_off_its_photo_is_refused(site):
    item = site.lanyard()
    command = site.cut(item, 1.0)
    off = replace(command.marks[0], shape=Shape.of("line", [[10, 20], [6000, 80]]))
    with pytest.raises(BadInput, match="beyond its photo"):
        site.record(replace(command, marks=(off,)))


def test_a_correction_names_what_it_corrects_and_both_stay(site):
    item = site.lanyard()
    site.record(site.check(item, "first"))
    site.clock.move(hours=1)
    corrected = site.record(site.check(item, "second", corrects="first", note="Serial was misread."))
    assert corrected.inspection.corrects == "first"
    assert [i.id for i in history(item.id, site.services).inspections] == ["second", "first"]
    other = site.lanyard("LAN-002")
    with pytest.raises(BadInput, match="another item"):
        site.record(site.check(other, "third", corrects="first"))


def test_the_account_notices_a_row_edited_behind_its_back(site, tmp_path):
    item = site.lanyard()
    site.record(site.check(item, note="as it was"))
    assert verify(site.services).faults == ()
    assert stores.changed(tmp_path / "store", "UPDATE inspections SET note = 'as it never was'") == 1
    assert any("check-1" in fault.words for fault in verify(site.services).faults)


def test_the_first_due_date_counts_from_the_first_use(site):
    item = site.lanyard(first_used_on="2026-01-05")
    due_on = history(item.id, site.services).standing.next_due
    assert due_on is not None and due_on > date(2026, 1, 5)


OLD = {"made_on": "2010-01-01", "first_used_on": "2012-01-05", "maker_max_age_years": 10, "standards": "CSA Z259.11"}


def test_gear_past_its_makers_age_limit_is_withdrawn_at_its_check(site):
    recorded = site.record(site.check(site.lanyard(**OLD)))
    assert recorded.standing.state is State.WITHDRAWN
    assert "age-maker-limit" in [finding.rule for finding in recorded.inspection.decision.deciding]


@pytest.mark.parametrize("kind", list(InspectionType))
@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ({"made on": "2026-01-01"}, "made on: the register says 2010-01-01, not 2026-01-01"),
        ({"first used on": "2026-01-01"}, "first used on: the register says 2012-01-05"),
        ({"maker's age limit": 50}, "maker's age limit: the register says 10"),
        ({"webbing width": 400}, "webbing width: the register says 45"),
        ({"packed length": 500}, "packed length: the register says 210"),
        ({"fibre": "aramid"}, "fibre: the register says polyester"),
        ({"maker limit: depth from edge": 40}, "maker limit: depth from edge: the register says 1"),
        ({"next due": "2030-01-01"}, "next due: the records say 2013-"),
        ({"last periodic inspection": "2026-02-01"}, "last periodic inspection: the records know of none"),
    ],
)
def test_an_inspection_never_overrides_what_the_register_knows(site, kind, facts, said):
    item = site.lanyard(**OLD, maker_limits={"depth from edge": 1.0})
    command = site.check(item, facts=facts, type=kind, by=site.competent)
    before = verify(site.services)
    for attempt in (ask, lambda wanted, services: site.record(wanted)):
        with pytest.raises(BadInput, match=said):
            attempt(command, site.services)
    assert verify(site.services).entries == before.entries


def test_facts_that_agree_with_the_register_are_no_harm(site):
    item = site.lanyard(**OLD)
    due_on = history(item.id, site.services).standing.next_due
    facts = {"made on": "2010-01-01", "webbing width": 45.0, "next due": due_on.isoformat(), "arrested fall": False}
    recorded = site.record(site.check(item, facts=facts))
    assert recorded.standing.state is State.WITHDRAWN
    assert recorded.inspection.facts["made on"] == date(2010, 1, 1)
    assert recorded.inspection.facts["next due"] == due_on
    assert recorded.inspection.facts["arrested fall"] is False


def test_what_the_register_does_not_know_may_be_stated_and_a_lost_mark_as_well(site):
    item = site.lanyard(webbing_width_mm=None)
    recorded = site.record(site.check(item, facts={"webbing width": 44, "standard mark present": False}))
    assert recorded.inspection.facts["webbing width"] == 44
    assert recorded.standing.state is State.ON_HOLD


def test_an_inspection_dated_a_little_ahead_counts_from_now_and_answers_no_later_fall(site):
    item = site.lanyard()
    ahead = site.clock.now() + timedelta(minutes=9)
    early = site.check(item, "p", type=InspectionType.PERIODIC, by=site.competent, at=ahead)
    assert site.record(early).inspection.at == site.clock.now()
    site.clock.move(minutes=1)
    report_fall(ReportFall("fall-1", item.id, site.worker, "slipped"), site.services)
    site.clock.move(minutes=1)
    with pytest.raises(NotAllowed, match="older than the hold"):
        make_move(MakeMove("m", item.id, Move.RELEASE, site.competent, "fit", "p"), site.services)


def test_a_qualification_that_has_run_out_signs_nothing_for_the_days_before(site):
    item = site.lanyard()
    today = site.clock.now().date()
    over = Person("person-over", "Over", Role.COMPETENT_PERSON, today - timedelta(days=10))
    by = add_person(over, site.services).id
    before = site.clock.now() - timedelta(days=11)
    with pytest.raises(NotAllowed, match="run out"):
        site.record(site.check(item, type=InspectionType.PERIODIC, by=by, at=before))
    assert history(item.id, site.services).inspections == ()


def test_a_hold_entered_late_is_answered_only_by_an_inspection_after_it_was_recorded(site):
    item = site.lanyard()
    good = site.record(site.check(item, "p", type=InspectionType.PERIODIC, by=site.competent))
    site.clock.move(hours=5)
    bad = site.sound(item) | {Component.WEBBING: Answer.UNSEEN}
    late = site.record(site.check(item, "late", answers=bad, at=site.clock.now() - timedelta(hours=6)))
    assert late.standing.state is State.ON_HOLD
    assert late.standing.since == site.clock.now()
    assert late.inspection.at < good.inspection.at
    release = MakeMove("m", item.id, Move.RELEASE, site.competent, "fit", "p")
    with pytest.raises(NotAllowed, match="older than the hold"):
        make_move(release, site.services)
    site.clock.move(hours=1)
    site.record(site.check(item, "p2", type=InspectionType.PERIODIC, by=site.competent))
    assert make_move(replace(release, inspection_id="p2"), site.services).usable
    assert verify(site.services).faults == ()


@pytest.mark.parametrize("outcome", list(Outcome))
def test_nobody_decides_by_hand_at_a_check_before_use(site, outcome):
    item = site.lanyard()
    hand = Judgement(outcome, "Only a stain, looked at it closely.")
    with pytest.raises(NotAllowed, match="decide by hand at a check before use"):
        site.record(site.check(item, by=site.competent, hand=hand))
    assert history(item.id, site.services).inspections == ()


def test_the_same_identifier_with_other_content_is_refused_and_changes_nothing(site):
    item = site.lanyard(webbing_width_mm=None)
    hand = Judgement(Outcome.HOLD, "The webbing feels stiff to me.")
    first = site.cut(item, 0.1, type=InspectionType.PERIODIC, by=site.competent)
    first = replace(first, facts={"arrested fall": False}, hand=hand, answer_notes={Component.WEBBING: "a nick "})
    recorded = site.record(first).inspection
    again = replace(first, marks=(replace(first.marks[0], id="drawn-again"),))
    assert site.record(again).inspection == recorded
    for other in (
        replace(first, answers=first.answers | {Component.LABEL: Answer.UNSEEN}),
        replace(first, marks=()),
        replace(first, marks=(replace(first.marks[0], component=Component.LABEL),)),
        replace(first, facts={"arrested fall": True}),
        replace(first, facts={}),
        replace(first, facts={"arrested fall": False, "webbing width": 44}),
        replace(first, photo_ids=(*first.photo_ids, site.photo(7))),
        replace(first, hand=None),
        replace(first, hand=replace(hand, outcome=Outcome.IN_SERVICE)),
        replace(first, type=InspectionType.AFTER_EVENT),
        replace(first, note="Seen in the rain."),
    ):
        with pytest.raises(Conflict, match="something else"):
            site.record(other)
    assert history(item.id, site.services).inspections == (recorded,)


def test_a_retry_is_the_same_though_the_register_was_corrected_meanwhile(site):
    item = site.lanyard(maker_limits={"depth from edge": 5.0})
    first = site.record(site.check(item)).inspection
    site.correct(item, webbing_width_mm=50.0, maker_limits={})
    assert site.record(site.check(item)).inspection == first


def test_a_look_at_which_nothing_was_measured_keeps_the_damage_measured_before(site):
    item = site.lanyard(throat_mm=24)
    photo = site.photo()
    reading = Reading("throat increase", 0.02, "share", 0.003, "by hand")
    mark = Mark("m", photo, Component.SNAP_HOOK, Category.OTHER, Shape.of("line", [[1, 2], [30, 40]]), (reading,))
    measured = site.check(
        item, "look-1", type=InspectionType.PERIODIC, by=site.competent, photo_ids=(photo,), marks=(mark,)
    )
    used = site.record(measured).standing.damage_used
    assert used == pytest.approx((0.02 + 0.003) / 0.05)
    site.clock.move(days=1)
    assert site.record(site.check(item, "look-2")).standing.damage_used == used
