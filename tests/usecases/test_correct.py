"""The register corrected: who may, what is kept, what is weighed again, and that nothing is ever released by it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from inspect_core.domain.custody import Move, State
from inspect_core.domain.decision import Outcome
from inspect_core.domain.errors import BadInput, Conflict, NotAllowed
from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.geometry import Shape
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.usecases.ages import aged
from inspect_core.usecases.correct import CorrectItem, correct_item, corrections
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.inspect import Judgement
from inspect_core.usecases.register import RegisterItem, parse_item, register
from inspect_core.usecases.review import history, item_by_tag
from inspect_core.usecases.search import Query, search
from inspect_core.usecases.verify import verify
from tests.usecases.locked import PINS, LockedSite
from tests.usecases.site import Site


def standing(site: Site, item_id: str):
    return history(item_id, site.services).standing


def test_a_correction_keeps_the_old_value_who_when_and_why_in_the_account(site: Site) -> None:
    item = site.lanyard()
    site.clock.move(days=3)
    done = site.correct(item, serial="S-9", made_on=date(2024, 5, 1), reason="  Read again\non its label ")
    assert done.fields == ("serial", "made_on") and not done.held
    (told,) = corrections(item.id, site.services)
    assert (told.at, told.by, told.reason) == (site.clock.at, site.manager, "Read again on its label.")
    assert told.before == {"serial": "S-LAN-001", "made_on": "2025-06-01"}
    assert told.after == {"serial": "S-9", "made_on": "2024-05-01"}
    assert verify(site.services).faults == ()


def test_a_worker_corrects_nothing(site: Site) -> None:
    item = site.lanyard()
    with pytest.raises(NotAllowed, match="may not correct what is registered"):
        site.correct(item, by=site.worker, serial="S-9")
    assert item_by_tag(item.tag, site.services).item == item


def test_a_price_is_the_offices_also_in_a_correction(site: Site) -> None:
    item = site.lanyard()
    with pytest.raises(NotAllowed, match="may not set prices"):
        site.correct(item, by=site.competent, price=80.0)
    assert site.correct(item, price=80.0).item.price == 80.0


@pytest.mark.parametrize("reason", ["", "  ", "ok"])
def test_a_correction_without_its_reason_is_refused(site: Site, reason: str) -> None:
    item = site.lanyard()
    with pytest.raises(BadInput, match="needs its reason"):
        site.correct(item, serial="S-9", reason=reason)


def test_the_kind_is_never_corrected_and_nothing_is_no_correction(site: Site) -> None:
    item = site.lanyard()
    with pytest.raises(BadInput, match="keeps its kind"):
        site.correct(item, kind=Kind.HARNESS)
    with pytest.raises(BadInput, match="Nothing differs"):
        site.correct(item)
    with pytest.raises(BadInput, match="lies in the future"):
        site.correct(item, made_on=date(2026, 4, 1), first_used_on=None)
    assert corrections(item.id, site.services) == ()


def test_the_same_correction_again_is_entered_once_and_another_of_the_same_field_is_told(site: Site) -> None:
    item = site.lanyard()
    site.correct(item, serial="S-9")
    assert site.correct(item, serial="S-9").fields == ()
    with pytest.raises(Conflict, match="corrected the same meanwhile"):
        site.correct(item, serial="S-10")
    assert site.correct(item, model="A20").item.serial == "S-9"
    assert len(corrections(item.id, site.services)) == 2


def test_an_old_tag_still_leads_to_the_item_and_belongs_to_no_other(site: Site) -> None:
    item = site.lanyard("LAN-001")
    other = site.lanyard("LAN-002")
    with pytest.raises(Conflict, match="The tag LAN-002 is in use by LAN-002"):
        site.correct(item, tag="lan-002")
    site.correct(item, tag="lan-101")
    found = item_by_tag("lan-001", site.services).item
    assert (found.id, found.tag, found.former_tags) == (item.id, "LAN-101", ("LAN-001",))
    assert [hit.item.id for hit in search(Query("LAN-001"), site.services).hits] == [item.id]
    with pytest.raises(Conflict, match="LAN-001 was the tag of LAN-101"):
        site.correct(other, tag="LAN-001")
    with pytest.raises(Conflict, match="LAN-001 was the tag of LAN-101"):
        register(
            RegisterItem(parse_item({"tag": "LAN-001", "kind": "harness"}, "new"), site.worker),
            site.services,
        )
    back = site.correct(found, tag="LAN-001").item
    assert back.former_tags == ("LAN-101",)
    assert item_by_tag("LAN-101", site.services).item.tag == "LAN-001"
    assert verify(site.services).faults == ()


def fit(site: Site, item, id_: str = "look", **changes):
    """A periodic inspection; the item is found fit unless `changes` say otherwise."""
    site.clock.move(minutes=5)
    return site.record(site.check(item, id_, type=InspectionType.PERIODIC, by=site.competent, **changes)).inspection


def test_gear_whose_inspection_would_have_failed_with_the_right_width_goes_on_hold(site: Site) -> None:
    fields = {"tag": "HAR-1", "kind": "harness", "webbing_width_mm": 45, "made_on": "2025-06-01", "standards": "EN 361"}
    item = register(RegisterItem(parse_item(fields, "item-h"), site.worker), site.services)
    assert fit(site, item).outcome is Outcome.IN_SERVICE
    site.clock.move(minutes=5)
    done = site.correct(item, webbing_width_mm=38.0, reason="Measured again")
    assert done.standing.state is State.ON_HOLD
    assert done.held.startswith("The register was corrected: Measured again. With the right register")
    assert [finding.rule for one in done.reweighed for finding in one.appearing] == ["webbing-narrow"]
    assert standing(site, item.id).reason == done.held
    # What was recorded stays, and correcting it back proves nothing by itself: only a new inspection frees the gear.
    assert history(item.id, site.services).inspections[0].outcome is Outcome.IN_SERVICE
    with pytest.raises(NotAllowed, match="older than the hold"):
        make_move(MakeMove("r", item.id, Move.RELEASE, site.second, "All fine.", "look"), site.services)
    back = site.correct(done.item, webbing_width_mm=45.0, reason="The first reading was right")
    assert back.standing.state is State.ON_HOLD and not back.held
    fit(site, back.item, "look again")
    make_move(MakeMove("r2", item.id, Move.RELEASE, site.second, "All fine.", "look again"), site.services)
    assert standing(site, item.id).state is State.IN_SERVICE
    assert verify(site.services).faults == ()


def test_damage_measured_long_ago_counts_under_a_corrected_limit_though_it_was_not_marked_since(site: Site) -> None:
    item = site.lanyard(throat_mm=24)
    photo = site.photo()
    reading = Reading("throat increase", 0.02, "share", 0.003, "by hand")
    mark = Mark("m", photo, Component.SNAP_HOOK, Category.OTHER, Shape.of("line", [[1, 2], [30, 40]]), (reading,))
    judged = Judgement(Outcome.IN_SERVICE, "Measured: within the maker's limit of five per cent.")
    fit(site, item, photo_ids=(photo,), marks=(mark,), hand=judged)
    site.clock.move(days=30)
    fit(site, item, "look-2")
    assert standing(site, item.id).state is State.IN_SERVICE
    done = site.correct(item, maker_limits={"throat increase": 0.01})
    assert [(one.inspection_id, one.would_be) for one in done.reweighed] == [("look", Outcome.WITHDRAW)]
    assert done.standing.state is State.ON_HOLD  # a person withdraws; the register alone holds


def test_gear_on_hold_is_held_anew_so_that_older_evidence_no_longer_releases_it(site: Site) -> None:
    item = site.lanyard()
    make_move(MakeMove("h", item.id, Move.HOLD, site.worker, "Stiff after rain."), site.services)
    site.clock.move(minutes=5)
    site.record(site.check(item, "look", type=InspectionType.PERIODIC, by=site.competent))
    site.clock.move(minutes=5)
    done = site.correct(item, made_on=date(2012, 1, 1))
    assert done.standing.since == site.clock.at
    with pytest.raises(NotAllowed, match="older than the hold"):
        make_move(MakeMove("r", item.id, Move.RELEASE, site.second, "All fine.", "look"), site.services)


def test_withdrawn_gear_can_be_corrected_and_stays_withdrawn(site: Site) -> None:
    item = site.lanyard()
    make_move(MakeMove("w", item.id, Move.WITHDRAW, site.competent, "Burnt."), site.services)
    done = site.correct(item, made_on=date(2012, 1, 1))
    assert (done.standing.state, done.held) == (State.WITHDRAWN, "")


def test_a_registered_class_that_the_day_of_making_contradicts_holds_the_gear(site: Site) -> None:
    item = site.lanyard(profile="canada ontario")
    fit(site, item)
    done = site.correct(item, lasting_facts={"absorber class": "E4"}, reason="Read on the pack")
    assert [finding.rule for one in done.reweighed for finding in one.appearing] == ["absorber-class-withdrawn"]
    assert done.standing.state is State.ON_HOLD


def test_what_an_inspection_saw_against_the_register_is_not_corrected_away(site: Site) -> None:
    item = site.lanyard()
    site.clock.move(minutes=5)
    seen = site.check(
        item, "look", type=InspectionType.PERIODIC, by=site.competent, facts={"standard mark present": False}
    )
    held = site.record(seen)
    assert held.inspection.outcome is Outcome.HOLD
    done = site.correct(item, standards=("CSA Z259.11", "EN 354"))
    assert done.reweighed == () and done.standing.state is State.ON_HOLD


def test_other_rules_of_place_ask_for_the_inspection_earlier_and_never_later(site: Site) -> None:
    item = site.lanyard()
    site.clock.move(minutes=5)
    site.record(site.check(item, "look", type=InspectionType.PERIODIC, by=site.competent))
    due = standing(site, item.id).next_due
    assert due is not None
    for profile in site.services.rules.profiles:
        site.correct(history(item.id, site.services).item, note=f"was {profile.name}", profile=profile.name)
        now = standing(site, item.id).next_due
        assert now is not None and now <= due
        due = now


def test_an_unknown_lasting_fact_is_refused(site: Site) -> None:
    item = site.lanyard()
    with pytest.raises(BadInput, match="is not known"):
        site.correct(item, lasting_facts={"absorber class": "E7"})
    with pytest.raises(BadInput, match="does not last"):
        replace(item, lasting_facts={"mould": True})


def test_a_correction_may_be_asked_again_with_the_command_as_it_was_given(site: Site) -> None:
    item = site.lanyard()
    command = CorrectItem(item, replace(item, note="blue bag"), site.manager, "Seen in the store.")
    assert correct_item(command, site.services).fields == ("note",)
    assert correct_item(command, site.services).fields == ()


def test_in_a_site_with_sign_in_a_correction_is_signed_with_the_pin(tmp_path: Path) -> None:
    locked = LockedSite(tmp_path / "store")
    item = locked.lanyard_by("worker")
    changed = replace(item, serial="S-9")

    def correct(name: str, pin: str | None) -> None:
        command = CorrectItem(item, changed, f"person-{name}", "Read again on its label.", pin)
        correct_item(command, locked.signed_in(name))

    with pytest.raises(BadInput, match="has to be signed"):
        correct("manager", None)
    with pytest.raises(NotAllowed, match="PIN is not right"):
        correct("manager", "111111")
    with pytest.raises(NotAllowed, match="qualification has run out"):
        correct("expired", PINS["expired"])
    assert corrections(item.id, locked.services) == ()
    correct("manager", PINS["manager"])
    (told,) = corrections(item.id, locked.services)
    assert told.signature is not None and told.signature.by == locked.manager
    assert verify(locked.services).faults == ()


def test_what_was_judged_by_hand_on_numbers_that_were_wrong_goes_on_hold_though_the_same_rule_spoke(site: Site) -> None:
    item = site.lanyard(made_on="2015-12-01", first_used_on="2016-01-05")
    judged = Judgement(Outcome.IN_SERVICE, "Ten years old; kept in its box, looked at thread by thread.")
    fit(site, item, hand=judged)
    site.clock.move(minutes=5)
    make_move(MakeMove("r", item.id, Move.RELEASE, site.second, "Judged fit.", "look"), site.services)
    assert standing(site, item.id).state is State.IN_SERVICE
    site.clock.move(minutes=5)
    untouched = site.correct(item, price=80.0)
    assert (untouched.standing.state, untouched.held) == (State.IN_SERVICE, "")
    done = site.correct(untouched.item, made_on=date(1996, 12, 1))
    assert done.standing.state is State.ON_HOLD and "1996-12-01 ended on 2006-12-01" in done.held
    assert [one.inspection_id for one in done.reweighed] == ["look"]


def test_a_rope_judged_by_hand_against_a_range_that_was_wrong_holds_the_rope_grab(site: Site) -> None:
    item = site.lanyard(
        "RG-1", kind="rope grab", rope_range_mm="10-12", webbing_width_mm=None, packed_length_mm=None, fibre="unknown"
    )
    judged = Judgement(Outcome.IN_SERVICE, "The maker confirms 12.2 mm in writing.")
    fit(site, item, facts={"rope diameter": 12.2}, hand=judged)
    assert standing(site, item.id).state is State.IN_SERVICE
    done = site.correct(item, rope_range_mm=(6.0, 8.0))
    assert done.standing.state is State.ON_HOLD and "more than the limit of 8 mm" in done.held


def test_a_correction_never_takes_the_word_of_age_away_without_an_inspection(site: Site) -> None:
    item = site.lanyard(made_on="2021-06-01", first_used_on="2022-01-01", maker_max_age_years=5)
    fit(site, item)
    site.clock.move(days=120)
    assert aged(item, standing(site, item.id), site.services)
    done = site.correct(item, maker_max_age_years=8.0, reason="Another paper says eight")
    assert done.standing.state is State.ON_HOLD
    assert done.held.endswith("Age spoke against it until now: it needs an inspection in detail.")
    site.clock.move(minutes=5)
    fit(site, done.item, "look again")
    make_move(MakeMove("r", item.id, Move.RELEASE, site.second, "All fine.", "look again"), site.services)
    assert not aged(done.item, standing(site, item.id), site.services)


def test_a_correction_used_directly_keeps_the_tag_in_its_letters_and_nothing_unseen(site: Site) -> None:
    item = site.lanyard("AB1")
    with pytest.raises(BadInput, match="Nothing differs"):
        site.correct(item, tag="ab1")
    unseen = {"note": "a\u202eb\u2068c\0d\nwet", "maker": "Ma\u202eker\x1b"}
    done = site.correct(item, tag="ab2", **unseen, reason="x\u202e\u2068y on its\0 label")
    assert (done.item.tag, done.item.former_tags) == ("AB2", ("AB1",))
    assert (done.item.note, done.item.maker) == ("abcd\nwet", "Maker")
    assert corrections(item.id, site.services)[0].reason == "xy on its label."
    back = site.correct(done.item, tag="ab1").item
    assert (back.tag, back.former_tags) == ("AB1", ("AB2",))
