"""Gear that its age alone forbids to use is never handed out, however it came into the register."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar

from inspect_core.domain.custody import Move, State
from inspect_core.domain.decision import Outcome
from inspect_core.domain.errors import BadInput, NotAllowed
from inspect_core.domain.gear import Item, Kind
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.kits import KitMove
from inspect_core.rules.loader import load_rules
from inspect_core.usecases.ages import age_findings, cuts, ends_on, past_age, too_old
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.due import due_work, glance, sheets_of
from inspect_core.usecases.due_calendar import due_calendar
from inspect_core.usecases.due_mail import digest_text
from inspect_core.usecases.import_columns import guess_columns
from inspect_core.usecases.import_register import import_rows, preview
from inspect_core.usecases.import_table import read_table
from inspect_core.usecases.inspect import Judgement
from inspect_core.usecases.kits import ChangeKit, change_kit, kits_now
from inspect_core.usecases.plain import standing_plain
from inspect_core.usecases.review import history, item_by_tag
from inspect_core.usecases.verify import verify
from tests.reports.reading import words
from tests.usecases.site import Site


def standing(site: Site, item_id: str):
    return history(item_id, site.services).standing


def make_kit(site: Site, *item_ids: str) -> None:
    change_kit(ChangeKit("k1", "kit-1", KitMove.MAKE, site.manager, name="K", item_ids=item_ids), site.services)


def issue(site: Site) -> None:
    change_kit(ChangeKit("k2", "kit-1", KitMove.ISSUE, site.manager, holder=site.worker), site.services)


def test_gear_past_its_makers_age_limit_is_registered_on_hold_and_goes_into_no_kit(site: Site) -> None:
    old = site.lanyard(made_on="1999-01-01", first_used_on="", maker_max_age_years=10)
    life = history(old.id, site.services)
    assert life.standing.state is State.ON_HOLD
    assert "ended on 2009-01-01" in life.standing.reason
    assert sorted((e.move, e.by) for e in life.custody) == [(Move.HOLD, site.worker), (Move.REGISTER, site.worker)]
    with pytest.raises(NotAllowed, match="on hold"):
        make_kit(site, old.id)
    assert verify(site.services).faults == ()


@pytest.mark.parametrize("fields", [{"made_on": "", "maker_max_age_years": 10}, {"made_on": "2015-01-01"}])
def test_gear_whose_age_cannot_be_told_or_judged_by_itself_is_registered_on_hold(site: Site, fields) -> None:
    assert standing(site, site.lanyard(**fields).id).state is State.ON_HOLD


def test_gear_within_its_age_limit_is_registered_in_service(site: Site) -> None:
    assert standing(site, site.lanyard(maker_max_age_years=10).id).state is State.IN_SERVICE


def test_an_import_enters_gear_past_its_age_limit_on_hold(site: Site) -> None:
    data = b"tag,kind,made on,webbing width,max age\nH-1,harness,2009-01-01,45,10\nH-2,harness,2024-01-01,45,10\n"
    table = read_table(data, "gear.csv")
    import_rows(
        preview(table, guess_columns(table.header), site.services), site.competent, site.services, skip_bad=False
    )
    assert item_by_tag("H-1", site.services).standing.state is State.ON_HOLD
    assert item_by_tag("H-2", site.services).standing.state is State.IN_SERVICE
    assert verify(site.services).faults == ()


def test_a_kit_with_gear_that_grew_too_old_since_is_not_issued(site: Site) -> None:
    item = site.lanyard(made_on="2016-03-10", first_used_on="2026-01-05", maker_max_age_years=10)
    make_kit(site, item.id)
    assert kits_now(site.services)[0].wearable
    site.clock.move(days=8)
    assert "ended on 2026-03-10" in kits_now(site.services)[0].why
    with pytest.raises(NotAllowed, match="LAN-001: 10 years counted from"):
        issue(site)


def test_a_hold_for_age_that_a_competent_person_judged_does_not_stop_the_issue(site: Site) -> None:
    item = site.lanyard(made_on="2015-01-01")
    site.clock.move(minutes=5)
    judged = Judgement(Outcome.IN_SERVICE, "The maker wrote: fifteen years for this model.")
    site.record(site.check(item, "look", type=InspectionType.PERIODIC, by=site.competent, hand=judged))
    make_move(MakeMove("free", item.id, Move.RELEASE, site.competent, "Judged fit.", "look"), site.services)
    row = item_by_tag(item.tag, site.services)
    assert too_old(row, site.clock.at.date(), site.services) == ""
    make_kit(site, item.id)
    issue(site)
    limited = replace(row, item=replace(row.item, maker_max_age_years=10.0))
    assert "ended on 2025-01-01" in too_old(limited, site.clock.at.date(), site.services)


def test_a_correction_that_shows_gear_to_be_too_old_puts_it_on_hold(site: Site) -> None:
    item = site.lanyard(maker_max_age_years=10)
    site.correct(item, made_on=date(2010, 1, 1))
    assert standing(site, item.id).state is State.ON_HOLD
    assert verify(site.services).faults == ()


def test_a_corrected_first_use_moves_the_first_due_date_to_an_earlier_day_only(site: Site) -> None:
    item = site.lanyard(first_used_on="")
    registered = standing(site, item.id).next_due
    assert registered is not None and registered > site.clock.at.date()
    earlier = site.correct(item, first_used_on=date(2023, 1, 1), made_on=date(2022, 1, 1)).item
    due = standing(site, item.id).next_due
    assert due is not None and due.year <= 2024
    assert not standing(site, item.id).usable_on(site.clock.at.date())
    site.correct(earlier, first_used_on=date(2026, 3, 1))
    assert standing(site, item.id).next_due == due
    assert verify(site.services).faults == ()


def test_a_correction_after_an_inspection_in_detail_leaves_its_due_date(site: Site) -> None:
    item = site.lanyard()
    site.record(site.check(item, "look", type=InspectionType.PERIODIC, by=site.competent))
    due = standing(site, item.id).next_due
    site.correct(item, first_used_on=date(2025, 6, 2))
    assert standing(site, item.id).next_due == due


def past(site: Site, at: str | None = None) -> list[str]:
    return [one.row.item.tag for one in past_age(site.services, site=at)]


def test_gear_that_grew_too_old_while_nobody_looked_is_named_in_every_list_and_nothing_is_written(site: Site) -> None:
    growing = site.lanyard("OLD-1", made_on="2016-03-10", first_used_on="2026-01-05", maker_max_age_years=10)
    site.lanyard("NEW-1")
    before = standing(site, growing.id)
    assert past(site) == []
    site.clock.move(days=8)
    (found,) = past_age(site.services)
    assert found.row.item.id == growing.id and "ended on 2026-03-10" in found.why
    assert past(site, "North Quay") == ["OLD-1"] and past(site, "elsewhere") == []
    work = due_work(site.services)
    assert [one.row.item.tag for one in work.past_age] == ["OLD-1"]
    assert [one.row.item.tag for one in glance(site.services).past_age] == ["OLD-1"]
    (at_site,) = work.sites
    assert "Past its age: do not use (1)\n  OLD-1  webbing lanyard: 10 years counted" in digest_text(at_site, work)
    assert words(sheets_of(work, site.services)).count("Past its age (1)") == 1
    told = standing_plain(before, site.clock.at.date(), found.why)
    assert told["usable"] is False and told["past_age"] == found.why
    assert standing(site, growing.id) == before  # nothing is written by looking


def test_the_calendar_tells_the_day_from_which_gear_is_past_its_age(site: Site) -> None:
    site.lanyard("OLD-1", made_on="2016-09-10", first_used_on="2026-01-05", maker_max_age_years=10)
    site.lanyard("NEW-1")
    book = Calendar.from_ical(due_calendar(site.services))
    ends = [event for event in book.walk("VEVENT") if str(event["summary"]).startswith("Past its age")]
    assert [(str(event["summary"]), event["dtstart"].dt) for event in ends] == [
        ("Past its age, do not use: OLD-1, webbing lanyard", date(2026, 9, 10))
    ]
    uids = [str(event["uid"]) for event in book.walk("VEVENT")]
    assert len(set(uids)) == len(uids) == 3


def test_the_makers_limit_of_the_time_in_use_counts_from_the_first_use(site: Site) -> None:
    site.lanyard("USED-1", first_used_on="2025-09-01", made_on="2025-06-01", maker_max_use_years=1)
    assert past(site) == []
    site.clock.move(days=183)
    assert past(site) == ["USED-1"]
    assert standing(site, site.lanyard("USED-2", first_used_on="", maker_max_use_years=1).id).state is State.ON_HOLD


def test_the_day_a_life_ends_is_the_first_on_which_age_speaks(site: Site) -> None:
    rules = site.services.rules
    item = site.lanyard(made_on="2025-06-01", first_used_on="2025-07-01")
    assert ends_on(item, rules) == date(2035, 6, 1)
    limited = replace(item, maker_max_age_years=12.0)
    assert ends_on(limited, rules) == date(2037, 6, 1)
    assert ends_on(replace(limited, maker_max_use_years=5.0), rules) == date(2030, 7, 1)
    assert ends_on(replace(item, made_on=None), rules) is None


@given(made=st.dates(date(1990, 1, 1), date(2026, 3, 2)), limit=st.sampled_from([None, 0.5, 5.0, 10.0, 12.5, 20.0]))
def test_no_gear_past_its_age_lies_outside_the_cuts_that_the_store_is_asked_for(
    made: date, limit: float | None
) -> None:
    rules, on = load_rules(), date(2026, 3, 2)
    item = Item("i", "T-1", Kind.HARNESS, made_on=made, maker_max_age_years=limit)
    inside = any(
        not cut.in_use and cut.limit_years == limit and made <= cut.day for cut in cuts(rules, [(limit, None)], on)
    )
    assert inside or not age_findings(item, on, rules)


@pytest.mark.parametrize("field", ["maker_max_age_years", "maker_max_use_years"])
def test_a_year_in_place_of_a_number_of_years_is_refused_and_one_that_stands_there_stops_nobody(
    site: Site, field: str
) -> None:
    with pytest.raises(BadInput, match="more than 100"):
        site.lanyard(**{field: 2030})
    item = site.lanyard(**{field: 100})
    with site.services.unit_of_work(write=True) as uow:  # as older programs let it in
        uow.items.update(replace(item, **{field: 2030.0}))
        uow.commit()
    assert past_age(site.services) == () and glance(site.services)
    assert b"BEGIN:VCALENDAR" in due_calendar(site.services)
    end = ends_on(replace(item, **{field: 99999.0}), site.services.rules)
    assert end is None or end > site.clock.now().date()
