"""Due work: which items are overdue, soon due or on hold, at which site, on days worked out by hand."""

from __future__ import annotations

from datetime import date

import pytest

from inspect_core.domain.custody import Move
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Kind
from inspect_core.domain.inspection import InspectionType
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.due import NO_SITE, due_work, glance, sheet_of
from inspect_core.usecases.review import item_by_tag
from tests.reports.reading import words as words_of
from tests.usecases.site import Site


def tags(rows) -> list[str]:
    return [row.item.tag for row in rows]


def hold(site: Site, tag: str) -> None:
    make_move(
        MakeMove(site.services.new_id(), f"item-{tag}", Move.HOLD, site.worker, "fell from the van"), site.services
    )


# The clock stands at 2026-03-02. Common profile: every 12 months from the first use (EN 365, "at least every 12
# months"), worked by hand: first used 2025-03-01 is due 2026-03-01, one day late; 2025-03-02 is due today.
@pytest.mark.parametrize(
    ("first_used", "due", "where"),
    [
        ("2025-03-01", date(2026, 3, 1), "overdue"),
        ("2025-03-02", date(2026, 3, 2), "soon"),
        ("2025-04-01", date(2026, 4, 1), "soon"),
        ("2025-04-02", date(2026, 4, 2), "neither"),
        ("2024-02-29", date(2025, 2, 28), "overdue"),
    ],
)
def test_an_item_is_due_a_year_after_its_first_use_to_the_day(
    site: Site, first_used: str, due: date, where: str
) -> None:
    site.lanyard("LAN-1", made_on="2024-01-01", first_used_on=first_used)
    assert item_by_tag("LAN-1", site.services).standing.next_due == due
    work = due_work(site.services, within_days=30)
    assert (tags(work.overdue), tags(work.soon)) == {
        "overdue": (["LAN-1"], []), "soon": ([], ["LAN-1"]), "neither": ([], []),
    }[where]  # fmt: skip


def test_the_united_states_construction_profile_is_due_after_six_months(site: Site) -> None:
    # ANSI/ASSE A10.32 6.3.2 as the rules cite it: 2025-10-05 + 6 months = 2026-04-05.
    site.lanyard("LAN-1", profile="us construction", first_used_on="2025-10-05")
    assert item_by_tag("LAN-1", site.services).standing.next_due == date(2026, 4, 5)


def test_an_inspection_in_detail_sets_the_next_date(site: Site) -> None:
    item = site.lanyard("LAN-1", made_on="2024-01-01", first_used_on="2025-01-01")
    assert tags(due_work(site.services).overdue) == ["LAN-1"]
    site.record(site.check(item, type=InspectionType.PERIODIC, by=site.competent))
    assert item_by_tag("LAN-1", site.services).standing.next_due == date(2027, 3, 2)
    assert due_work(site.services).sites == ()


def test_work_is_told_site_by_site_and_gear_on_hold_whenever_it_is_due(site: Site) -> None:
    site.lanyard("A-1", site="North Quay", made_on="2024-01-01", first_used_on="2025-01-01")
    site.lanyard("A-2", site="Mill Street", first_used_on="2025-12-01", made_on="2025-01-01")
    site.lanyard("A-3", site="", made_on="2024-01-01", first_used_on="2025-03-10")
    site.lanyard("A-4", site="Hall 4")
    hold(site, "A-2")
    work = due_work(site.services)
    assert [(s.name, tags(s.overdue), tags(s.soon), tags(s.on_hold)) for s in work.sites] == [
        (NO_SITE, [], ["A-3"], []),
        ("Mill Street", [], [], ["A-2"]),
        ("North Quay", ["A-1"], [], []),
    ]


def test_work_of_one_site_or_one_kind_can_be_asked_for(site: Site) -> None:
    for tag, place in (("A-1", "North Quay"), ("A-2", "Mill Street")):
        site.lanyard(tag, site=place, made_on="2024-01-01", first_used_on="2025-01-01")
    assert tags(due_work(site.services, site="Mill Street").overdue) == ["A-2"]
    assert due_work(site.services, kind=Kind.HARNESS).sites == ()
    with pytest.raises(BadInput):
        due_work(site.services, within_days=-1)


def test_withdrawn_gear_is_due_nowhere(site: Site) -> None:
    site.lanyard("A-1", made_on="2024-01-01", first_used_on="2025-01-01")
    make_move(MakeMove("m" * 32, "item-A-1", Move.WITHDRAW, site.competent, "cut through"), site.services)
    assert due_work(site.services).sites == ()


def test_the_sheet_names_every_item_with_its_state_and_has_the_cautions(site: Site) -> None:
    site.lanyard("A-1", made_on="2024-01-01", first_used_on="2025-01-01")
    site.lanyard("A-2", made_on="2024-01-01", first_used_on="2025-03-12")
    site.lanyard("A-3")
    hold(site, "A-3")
    work = due_work(site.services)
    pdf = sheet_of(work.sites[0], work, site.services)
    words = words_of(pdf)
    assert "Due work: North Quay" in words
    assert "1 overdue, 1 due within 30 days, 1 on hold. As of 2026-03-02." in words
    assert "2026-01-01, 60 days late" in words  # 31 days of January less one, 28 of February, 2 of March
    assert "2026-03-12" in words and "fell from the van" in words
    assert "come first" in words and "Only a recorded inspection" in words
    assert pdf == sheet_of(work.sites[0], work, site.services)


def test_a_glance_counts_what_the_whole_list_holds_and_shows_its_first_rows(site: Site) -> None:
    for n in range(24):
        site.lanyard(
            f"B-{n:02}",
            site=("North Quay", "Mill Street", "")[n % 3],
            made_on="2024-01-01",
            first_used_on=f"2025-{n % 4 + 1:02}-{n + 1:02}",
        )
        if n % 5 == 0:
            hold(site, f"B-{n:02}")
    work, seen = due_work(site.services), glance(site.services, limit=3)
    assert [(s.name, s.overdue, s.soon, s.on_hold) for s in seen.sites] == [
        (s.name, len(s.overdue), len(s.soon), len(s.on_hold)) for s in work.sites
    ]
    assert (tags(seen.overdue), tags(seen.soon)) == (tags(work.overdue)[:3], tags(work.soon)[:3])
    total = seen.total(None)
    assert (total.overdue, total.soon, total.on_hold) == (len(work.overdue), len(work.soon), len(work.on_hold))
    assert total.overdue > 3 and total.soon > 0 and total.on_hold == 5
    one = glance(site.services, site="Mill Street")
    assert {row.item.site for row in (*one.overdue, *one.soon, *one.on_hold)} == {"Mill Street"}
    assert one.total("Mill Street").overdue == len(one.overdue)
    assert one.sites == seen.sites


def test_a_glance_at_a_store_without_gear_says_so(site: Site) -> None:
    assert glance(site.services).no_gear
    site.lanyard("A-1")
    seen = glance(site.services)
    assert not seen.no_gear and seen.sites == ()
    assert (seen.total(None).overdue, seen.total(None).soon) == (0, 0)
