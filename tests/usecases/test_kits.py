"""Kits and arrested falls, through the use cases and a real store."""

from dataclasses import replace
from itertools import count

import pytest

from inspect_core.domain.custody import Move, State
from inspect_core.domain.decision import Answer, Outcome
from inspect_core.domain.errors import BadInput, Conflict, NotAllowed, NotFound
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import Shape
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.kits import KitMove
from inspect_core.domain.marks import Category, Mark
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.falls import ReportFall, report_fall, worn_unasked
from inspect_core.usecases.inspect import Judgement
from inspect_core.usecases.kits import (
    ChangeKit,
    change_kit,
    kit_named,
    kit_of,
    kit_past,
    kits_now,
    whereabouts,
    worn_by,
)
from inspect_core.usecases.review import history
from inspect_core.usecases.verify import verify
from tests.usecases.site import Site

_numbers = count(1)


def change(site: Site, kit_id: str, move: KitMove, **more):
    by = more.pop("by", site.competent)
    command = ChangeKit(more.pop("id", f"event-{next(_numbers)}"), kit_id, move, by, **more)
    return change_kit(command, site.services)


@pytest.fixture
def gear(site):
    return [site.lanyard(f"LAN-00{n}") for n in range(1, 5)]


@pytest.fixture
def kit(site, gear):
    return change(site, "kit-1", KitMove.MAKE, name="Roof 1", item_ids=tuple(i.id for i in gear[:3]))


def state_of(site, item):
    return history(item.id, site.services).standing.state


def test_a_kit_is_made_issued_returned_and_its_history_tells_who_wore_what_when(site, gear, kit):
    site.clock.move(days=1)
    change(site, kit.id, KitMove.ISSUE, holder=site.worker)
    site.clock.move(days=1)
    change(site, kit.id, KitMove.SWAP, taken_out=gear[0].id, put_in=gear[3].id)
    site.clock.move(days=1)
    back = change(site, kit.id, KitMove.RETURN, by=site.worker, note="wet")
    assert back.holder is None
    past = kit_past(kit.id, site.services)
    assert [(e.move, past.names.get(e.holder or "")) for e in past.events] == [
        (KitMove.RETURN, "Worker"),
        (KitMove.SWAP, "Worker"),
        (KitMove.ISSUE, "Worker"),
        (KitMove.MAKE, None),
    ]
    assert [past.tags[i] for i in past.events[1].item_ids] == ["LAN-004", "LAN-002", "LAN-003"]
    assert past.events[0].note == "wet"
    first = worn_by(gear[0].id, site.services)
    assert [(w.event.move, w.person) for w in first] == [
        (KitMove.SWAP, "Worker"),
        (KitMove.ISSUE, "Worker"),
        (KitMove.MAKE, ""),
    ]
    assert verify(site.services).faults == ()


def test_the_same_event_twice_happens_once(site, gear, kit):
    for _ in range(2):
        assert change(site, kit.id, KitMove.ISSUE, holder=site.worker, id="issue-1").holder == site.worker
    assert len(kit_past(kit.id, site.services).events) == 2


def test_only_gear_that_may_be_used_today_is_put_into_a_kit_or_issued(site, gear, kit):
    make_move(MakeMove("h", gear[1].id, Move.HOLD, site.worker, "looked odd"), site.services)
    with pytest.raises(NotAllowed, match="LAN-002 is on hold"):
        change(site, kit.id, KitMove.ISSUE, holder=site.worker)
    make_move(MakeMove("h4", gear[3].id, Move.HOLD, site.worker, "looked odd"), site.services)
    with pytest.raises(NotAllowed, match="LAN-004 is on hold"):
        change(site, kit.id, KitMove.SWAP, taken_out=gear[1].id, put_in=gear[3].id)
    change(site, kit.id, KitMove.TAKE_OUT, taken_out=gear[1].id)
    assert change(site, kit.id, KitMove.ISSUE, holder=site.worker).holder == site.worker


def test_gear_overdue_for_its_inspection_is_not_issued(site, gear, kit):
    site.clock.move(days=3 * 366)
    (view,) = kits_now(site.services)
    assert not view.wearable and "overdue" in view.why
    with pytest.raises(NotAllowed, match="LAN-001 is overdue"):
        change(site, kit.id, KitMove.ISSUE, holder=site.worker)


def test_an_item_is_in_one_kit_at_most(site, gear, kit):
    with pytest.raises(Conflict, match="LAN-002 is in the kit Roof 1"):
        change(site, "kit-2", KitMove.MAKE, name="Roof 2", item_ids=(gear[1].id, gear[3].id))
    assert kit_of(gear[3].id, site.services) is None
    change(site, kit.id, KitMove.TAKE_OUT, taken_out=gear[1].id)
    assert change(site, "kit-2", KitMove.MAKE, name="Roof 2", item_ids=(gear[1].id,)).name == "Roof 2"


@pytest.mark.parametrize(
    ("move", "more", "error", "said"),
    [
        (KitMove.MAKE, {"name": "roof 1", "item_ids": ("item-LAN-004",)}, Conflict, "called roof 1 already"),
        (KitMove.MAKE, {"name": "Roof 9"}, BadInput, "at least one item"),
        (KitMove.MAKE, {"name": " ", "item_ids": ("item-LAN-004",)}, BadInput, "needs a name"),
        (KitMove.MAKE, {"name": "R", "item_ids": ("item-LAN-004",) * 2}, BadInput, "named twice"),
        (KitMove.ISSUE, {}, BadInput, "issued to somebody"),
        (KitMove.ISSUE, {"holder": "nobody"}, NotFound, "no such person"),
        (KitMove.RETURN, {}, NotAllowed, "issued to nobody"),
        (KitMove.SWAP, {"put_in": "item-LAN-004"}, BadInput, "not clear which"),
        (KitMove.SWAP, {"taken_out": "item-LAN-004", "put_in": "item-LAN-001"}, BadInput, "not in this kit"),
        (KitMove.PUT_IN, {"put_in": "item-LAN-001"}, BadInput, "in this kit already"),
    ],
)
def test_what_makes_no_sense_is_refused_with_nothing_written(site, gear, kit, move, more, error, said):
    kit_id = "kit-new" if move is KitMove.MAKE else kit.id
    with pytest.raises(error, match=said):
        change(site, kit_id, move, **more)
    assert len(kit_past(kit.id, site.services).events) == 1
    assert len(kits_now(site.services)) == 1


def test_a_worker_takes_a_kit_back_and_neither_makes_nor_issues_one(site, gear, kit):
    for move, more in ((KitMove.ISSUE, {"holder": site.worker}), (KitMove.DISSOLVE, {})):
        with pytest.raises(NotAllowed, match="A worker may not"):
            change(site, kit.id, move, by=site.worker, **more)
    change(site, kit.id, KitMove.ISSUE, holder=site.worker)
    with pytest.raises(NotAllowed, match="issued to Worker already"):
        change(site, kit.id, KitMove.ISSUE, holder=site.second)
    with pytest.raises(NotAllowed, match="Take it back first"):
        change(site, kit.id, KitMove.DISSOLVE)
    change(site, kit.id, KitMove.RETURN, by=site.worker)
    gone = change(site, kit.id, KitMove.DISSOLVE)
    assert gone.dissolved and kits_now(site.services) == ()
    assert kit_of(gear[0].id, site.services) is None
    with pytest.raises(NotAllowed, match="was dissolved"):
        change(site, kit.id, KitMove.ISSUE, holder=site.worker)
    assert verify(site.services).faults == ()


def test_held_gear_says_who_has_it_now(site, gear, kit):
    change(site, kit.id, KitMove.ISSUE, holder=site.worker)
    on = site.clock.now().date().isoformat()
    make_move(MakeMove("h", gear[1].id, Move.HOLD, site.second, "looked odd"), site.services)
    found = whereabouts([gear[1].id, gear[3].id], site.services)
    assert found == {gear[1].id: f"With Worker since {on}: fetch it."}
    view = kit_past(kit_named("roof 1", site.services).id, site.services).view
    assert not view.wearable and view.holder.name == "Worker"


def test_an_after_event_inspection_that_tells_of_a_fall_holds_everything_worn_with_the_item(site, gear, kit):
    change(site, kit.id, KitMove.ISSUE, holder=site.worker)
    site.clock.move(hours=2)
    command = site.check(gear[0], type=InspectionType.AFTER_EVENT, by=site.competent, facts={"arrested fall": True})
    recorded = site.record(command)
    assert recorded.held == ("LAN-002", "LAN-003")
    assert [state_of(site, item) for item in gear[1:]] == [State.ON_HOLD, State.ON_HOLD, State.IN_SERVICE]
    event = history(gear[1].id, site.services).custody[0]
    assert event.reason == "Worn with LAN-001 when it arrested a fall."
    assert state_of(site, gear[0]) is not State.IN_SERVICE
    assert site.record(command).held == ()  # recorded once
    assert verify(site.services).faults == ()


def test_a_check_before_use_that_tells_of_a_fall_holds_the_worn_gear_too(site, gear, kit):
    assert site.record(site.check(gear[2], facts={"arrested fall": True})).held == ("LAN-001", "LAN-002")
    assert site.record(site.check(gear[3], "check-2", facts={"arrested fall": False})).held == ()


def test_gear_counts_as_worn_by_the_moment_of_the_fall_not_of_the_telling(site, gear, kit):
    change(site, kit.id, KitMove.ISSUE, holder=site.worker)
    site.clock.move(hours=1)
    fall = site.clock.now()
    site.clock.move(hours=1)
    change(site, kit.id, KitMove.SWAP, taken_out=gear[1].id, put_in=gear[3].id)
    site.clock.move(hours=1)
    command = site.check(
        gear[0], type=InspectionType.AFTER_EVENT, by=site.competent, facts={"arrested fall": True}, at=fall
    )
    # What is in the kit now is held as well: in doubt more, never less.
    assert set(site.record(command).held) == {"LAN-002", "LAN-003", "LAN-004"}


def test_a_fall_is_reported_by_anybody_in_one_step_and_only_once(site, gear, kit):
    report = ReportFall("fall-1", gear[1].id, site.worker, "slipped at the eaves")
    assert set(report_fall(report, site.services)) == {"LAN-001", "LAN-002", "LAN-003"}
    assert set(report_fall(report, site.services)) == {"LAN-001", "LAN-002", "LAN-003"}
    for item in gear[:3]:
        holds = [e for e in history(item.id, site.services).custody if e.move is Move.HOLD]
        assert len(holds) == 1
        assert "reported on LAN-002" in holds[0].reason and "slipped at the eaves" in holds[0].reason
    assert state_of(site, gear[3]) is State.IN_SERVICE
    with pytest.raises(BadInput, match="future"):
        report_fall(replace(report, id="f2", on=site.clock.now().date().replace(year=2030)), site.services)


def test_a_fall_renews_a_hold_so_that_no_older_inspection_releases_the_item(site, gear, kit):
    make_move(MakeMove("h", gear[0].id, Move.HOLD, site.worker, "looked odd"), site.services)
    site.clock.move(hours=1)
    good = site.record(site.check(gear[0], type=InspectionType.PERIODIC, by=site.competent))
    site.clock.move(hours=1)
    report_fall(ReportFall("fall-1", gear[0].id, site.worker), site.services)
    release = MakeMove("r", gear[0].id, Move.RELEASE, site.competent, "fit", good.inspection.id)
    with pytest.raises(NotAllowed, match="older than the hold"):
        make_move(release, site.services)


def test_withdrawn_gear_in_a_kit_stays_withdrawn_at_a_fall(site, gear, kit):
    unseen = site.sound(gear[0]) | {Component.WEBBING: Answer.UNSEEN}
    site.record(site.check(gear[0], answers=unseen))
    make_move(MakeMove("w", gear[0].id, Move.WITHDRAW, site.competent, "worn out"), site.services)
    assert report_fall(ReportFall("fall-1", gear[1].id, site.worker), site.services) == ("LAN-002", "LAN-003")
    assert state_of(site, gear[0]) is State.WITHDRAWN


def test_a_fall_told_after_the_kit_came_back_holds_what_was_worn_since_the_last_inspection(site, gear, kit):
    change(site, kit.id, KitMove.ISSUE, holder=site.worker)
    site.clock.move(hours=3)
    change(site, kit.id, KitMove.RETURN, by=site.worker)
    site.clock.move(minutes=1)
    change(site, kit.id, KitMove.SWAP, taken_out=gear[0].id, put_in=gear[3].id)
    site.clock.move(days=3)
    held = report_fall(ReportFall("fall-1", gear[0].id, site.worker, "fell some day last week"), site.services)
    assert held == ("LAN-001", "LAN-002", "LAN-003")
    assert state_of(site, gear[3]) is State.IN_SERVICE  # they never shared the kit


def test_what_left_the_kit_before_the_last_inspection_that_found_the_item_fit_stays_in_service(site, gear, kit):
    change(site, kit.id, KitMove.TAKE_OUT, taken_out=gear[1].id)
    site.clock.move(days=1)
    fit = site.check(gear[0], type=InspectionType.PERIODIC, by=site.competent)
    site.record(fit)
    site.clock.move(days=1)
    # Neither of these closes the time in question: one is no inspection in detail, one did not find it fit.
    change(site, kit.id, KitMove.TAKE_OUT, taken_out=gear[2].id)
    site.clock.move(days=1)
    site.record(site.check(gear[0], "check-2"))
    site.clock.move(days=1)
    unseen = site.sound(gear[0]) | {Component.WEBBING: Answer.UNSEEN}
    site.record(site.check(gear[0], "check-3", type=InspectionType.PERIODIC, by=site.competent, answers=unseen))
    assert report_fall(ReportFall("fall-1", gear[0].id, site.worker), site.services) == ("LAN-001", "LAN-003")


def test_an_inspection_that_was_corrected_or_tells_of_the_fall_itself_closes_no_time(site, gear, kit):
    site.clock.move(days=1)
    site.record(site.check(gear[0], type=InspectionType.PERIODIC, by=site.competent))
    site.clock.move(days=1)
    change(site, kit.id, KitMove.TAKE_OUT, taken_out=gear[2].id)
    site.clock.move(days=1)
    site.record(site.check(gear[0], "wrong", type=InspectionType.PERIODIC, by=site.competent))
    unseen = site.sound(gear[0]) | {Component.WEBBING: Answer.UNSEEN}
    right = {"answers": unseen, "corrects": "wrong", "at": site.clock.now()}
    site.record(site.check(gear[0], "right", type=InspectionType.PERIODIC, by=site.competent, **right))
    site.clock.move(days=1)
    judged = Judgement(Outcome.IN_SERVICE, "Looked at every thread: nothing is loaded, it was a slip.")
    command = site.check(
        gear[0],
        "told",
        type=InspectionType.AFTER_EVENT,
        by=site.competent,
        facts={"arrested fall": True},
        hand=judged,
    )
    assert set(site.record(command).held) == {"LAN-002", "LAN-003"}


def test_where_the_day_of_the_fall_is_known_only_what_was_worn_from_that_day_on_is_held(site, gear, kit):
    site.clock.move(days=5)
    change(site, kit.id, KitMove.TAKE_OUT, taken_out=gear[1].id)
    site.clock.move(days=5)
    day = site.clock.now()
    site.clock.move(hours=1)
    change(site, kit.id, KitMove.TAKE_OUT, taken_out=gear[2].id)
    site.clock.move(days=1)
    site.record(site.check(gear[0], type=InspectionType.PERIODIC, by=site.competent))  # did not know of the fall
    report = ReportFall("fall-1", gear[0].id, site.worker, on=day.date())
    assert report_fall(report, site.services) == ("LAN-001", "LAN-003")
    reason = history(gear[2].id, site.services).custody[0].reason
    assert f"A fall was arrested on {day:%Y-%m-%d} (reported on LAN-001)." in reason


def test_a_deployed_absorber_without_a_word_of_a_fall_asks_whether_there_was_one(site, gear, kit):
    photo_id = site.photo()
    line = Shape.of("line", [[10, 20], [60, 80]])
    mark = Mark("m1", photo_id, Component.ENERGY_ABSORBER, Category.DEPLOYED_ABSORBER, line)
    answers = site.sound(gear[0]) | {Component.ENERGY_ABSORBER: Answer.DEFECT}
    command = site.check(gear[0], answers=answers, marks=(mark,), photo_ids=(photo_id,))
    recorded = site.record(command)
    assert state_of(site, gear[0]) is State.WITHDRAWN
    assert recorded.held == ()
    assert worn_unasked(recorded.inspection, site.services) == ("LAN-002", "LAN-003")
    assert worn_unasked(replace(recorded.inspection, facts={"arrested fall": True}), site.services) == ()
    # Answered with no, the absorber still says otherwise.
    denied = replace(recorded.inspection, facts={"arrested fall": False})
    assert worn_unasked(denied, site.services) == ("LAN-002", "LAN-003")
    sound = replace(recorded.inspection, marks=(), answers=site.sound(gear[0]))
    assert worn_unasked(sound, site.services) == ()
    # The answer yes, given on the withdrawn item, holds them.
    assert report_fall(ReportFall("fall-1", gear[0].id, site.worker), site.services) == ("LAN-002", "LAN-003")
