"""A camera roll from its files to drafts: kept photo by photo, sorted, changed by hand, begun once."""

from __future__ import annotations

import random
from datetime import timedelta
from pathlib import Path

import pytest

from inspect_core.domain.custody import Move
from inspect_core.domain.errors import BadInput, BadPhoto, NotAllowed, NotFound
from inspect_core.domain.inspection import InspectionType
from inspect_core.usecases import drafts, roll
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.review import item_by_tag
from inspect_core.usecases.roll_plan import Why
from tests.usecases.locked import LockedSite
from tests.usecases.roll_photos import BEGUN, label_photo, part_photo
from tests.usecases.roll_photos import roll as drawn_roll
from tests.usecases.site import Site

ROLL = "f" * 32
TAGS = ("WL-1", "WL-2", "WL-3")


def read(site: Site, files) -> list[bool]:
    roll.begin_roll(site.worker, site.services, roll_id=ROLL)
    return [roll.read_photo(ROLL, data, name, site.services) for name, data in files]


def names(plan) -> dict[str, list[str]]:
    return {tag: [one.photo.name for one in group] for tag, group in plan.groups.items()}


@pytest.fixture
def three(site: Site) -> Site:
    for tag in TAGS:
        site.lanyard(tag)
    return site


def test_a_shuffled_roll_is_sorted_to_its_items(three: Site) -> None:
    files, truth = drawn_roll(TAGS, 13)
    random.Random(3).shuffle(files)
    read(three, files)
    plan = roll.sort_roll(ROLL, three.services)
    assert names(plan) == truth
    assert plan.open == plan.out == ()
    assert {d.why for one in plan.photos for d in one.doubts} == set()


def test_photos_that_were_read_are_kept_and_the_rest_goes_on_after_an_interruption(three: Site) -> None:
    files, truth = drawn_roll(TAGS, 9)
    read(three, files[:4])
    # The browser closed here; all photos are dropped in again.
    assert read(three, files) == [False] * 4 + [True] * 5
    assert names(roll.sort_roll(ROLL, three.services)) == truth
    assert [many for _, many in roll.unfinished_rolls(three.services)] == [9]


def test_originals_are_stored_unchanged(three: Site) -> None:
    files, _ = drawn_roll(TAGS[:1], 2)
    read(three, files)
    stored = {three.services.photos.original(one.photo.photo_id) for one in roll.sort_roll(ROLL, three.services).photos}
    assert stored == {data for _, data in files}


def test_a_file_that_is_no_photo_is_refused_and_the_roll_goes_on(three: Site) -> None:
    read(three, drawn_roll(TAGS[:1], 2)[0])
    with pytest.raises(BadPhoto):
        roll.read_photo(ROLL, b"not a photo", "IMG_9.jpg", three.services)
    assert len(roll.sort_roll(ROLL, three.services).photos) == 2


def test_photos_are_moved_left_out_and_brought_back_by_hand(three: Site) -> None:
    read(three, drawn_roll(TAGS[:2], 6)[0])
    plan = roll.sort_roll(ROLL, three.services)
    last, other = plan.groups["WL-1"][2].photo, plan.groups["WL-2"][2].photo
    roll.move_photos(ROLL, [last.photo_id], "wl-2", three.services)
    roll.leave_out(ROLL, [other.photo_id], three.services)
    plan = roll.sort_roll(ROLL, three.services)
    assert {tag: len(group) for tag, group in plan.groups.items()} == {"WL-1": 2, "WL-2": 3}
    assert [one.photo.photo_id for one in plan.out] == [other.photo_id]
    roll.leave_out(ROLL, [other.photo_id], three.services, out=False)
    assert len(roll.sort_roll(ROLL, three.services).groups["WL-2"]) == 4
    with pytest.raises(NotFound):
        roll.move_photos(ROLL, [last.photo_id], "NONE-1", three.services)


def test_a_draft_begins_for_each_group_once_with_its_photos_in_order(three: Site) -> None:
    read(three, drawn_roll(TAGS, 9)[0])
    plan = roll.sort_roll(ROLL, three.services)
    started, refused = roll.start_drafts(
        ROLL, list(plan.groups), InspectionType.PERIODIC, three.competent, three.services
    )
    assert [(one.tag, one.photos) for one in started] == [(tag, 3) for tag in TAGS]
    assert refused == ()
    body = drafts.find_draft(started[0].draft_id, three.services).body
    assert body["photos"] == [one.photo.photo_id for one in plan.groups["WL-1"]]
    assert body["type"] == "periodic"
    again, _ = roll.start_drafts(ROLL, list(plan.groups), InspectionType.PERIODIC, three.competent, three.services)
    assert again == ()
    assert len(drafts.unfinished(three.services)) == 3
    assert roll.unfinished_rolls(three.services) == ()


def test_a_photo_in_a_draft_is_moved_no_more(three: Site) -> None:
    read(three, drawn_roll(TAGS[:1], 2)[0])
    roll.start_drafts(ROLL, ["WL-1"], InspectionType.BEFORE_USE, three.worker, three.services)
    photo_id = roll.sort_roll(ROLL, three.services).groups["WL-1"][1].photo.photo_id
    with pytest.raises(BadInput):
        roll.move_photos(ROLL, [photo_id], "WL-2", three.services)


def test_withdrawn_gear_gets_no_draft_and_the_others_do(three: Site) -> None:
    make_move(MakeMove("m" * 32, "item-WL-2", Move.WITHDRAW, three.competent, "cut through"), three.services)
    read(three, drawn_roll(TAGS, 6)[0])
    started, refused = roll.start_drafts(ROLL, TAGS, InspectionType.PERIODIC, three.competent, three.services)
    assert [one.tag for one in started] == ["WL-1", "WL-3"]
    assert [(one.tag, "withdrawn" in one.reason) for one in refused] == [("WL-2", True)]
    assert len(roll.unfinished_rolls(three.services)) == 1


def test_a_photo_of_a_recorded_inspection_is_left_out_and_names_it(three: Site) -> None:
    files, _ = drawn_roll(TAGS[:1], 3)
    old = take_photo(files[1].data, three.services)
    three.record(three.check(three.lanyard("WL-9"), photo_ids=(old.id,)))
    read(three, files)
    plan = roll.sort_roll(ROLL, three.services)
    assert [one.photo.photo_id for one in plan.out] == [old.id]
    assert "belongs to WL-9, inspection of 2026-03-02" in plan.out[0].doubts[0].sentence


def test_what_was_read_stays_right_after_the_drafts_are_recorded(three: Site) -> None:
    read(three, drawn_roll(TAGS[:1], 2)[0])
    (begun,), _ = roll.start_drafts(ROLL, ["WL-1"], InspectionType.BEFORE_USE, three.worker, three.services)
    photos = tuple(drafts.find_draft(begun.draft_id, three.services).body["photos"])
    three.record(three.check(item_by_tag("WL-1", three.services).item, begun.draft_id, photo_ids=photos))
    assert roll.sort_roll(ROLL, three.services).out == ()


def test_looking_at_photos_stores_nothing(three: Site) -> None:
    files, truth = drawn_roll(TAGS[:2], 5)
    looked = [roll.look_at(data, name) for name, data in files]
    plan = roll.sort_photos(looked, three.services)
    assert names(plan) == truth
    assert not any(three.services.photos.has(photo.photo_id) for photo in looked)
    assert roll.plan_plain(plan)["groups"][0]["tag"] == "WL-1"


def test_a_label_that_two_tags_share_a_photo_with_and_one_nobody_knows_are_told(three: Site) -> None:
    minute = timedelta(minutes=1)
    files = [
        ("a1.jpg", label_photo(["WL-1", "WL-2"], 1, BEGUN)),
        ("a2.jpg", part_photo(50, BEGUN + minute)),
        ("a3.jpg", label_photo(["NEW-7"], 3, BEGUN + 2 * minute)),
        ("a4.jpg", part_photo(51, BEGUN + 3 * minute)),
    ]
    read(three, files)
    plan = roll.sort_roll(ROLL, three.services)
    assert plan.groups == {}
    assert [one.doubts[0].why for one in plan.open] == [
        Why.TWO_LABELS, Why.TWO_LABELS, Why.UNKNOWN_TAG, Why.UNKNOWN_TAG,
    ]  # fmt: skip


def test_in_a_site_with_sign_in_nobody_touches_a_roll_unless_signed_in(tmp_path: Path) -> None:
    site = LockedSite(tmp_path / "store")
    nobody = site.services
    worker = site.signed_in("worker")
    site.lanyard_by("competent", "WL-1")
    files, _ = drawn_roll(TAGS[:1], 2)
    roll.begin_roll(site.worker, worker, roll_id=ROLL)
    for name, data in files:
        assert roll.read_photo(ROLL, data, name, worker)
    before = roll.sort_roll(ROLL, nobody)
    photo_id = before.photos[1].photo.photo_id
    for attempt in (
        lambda: roll.begin_roll(site.worker, nobody, roll_id=ROLL),
        lambda: roll.read_photo(ROLL, files[0][1], "a.jpg", nobody),
        lambda: roll.move_photos(ROLL, [photo_id], "WL-1", nobody),
        lambda: roll.leave_out(ROLL, [photo_id], nobody),
        lambda: roll.close_roll(ROLL, nobody),
    ):
        with pytest.raises(NotAllowed, match="Nobody is signed in"):
            attempt()
    with pytest.raises(NotAllowed, match="acts only under their own name"):
        roll.begin_roll(site.competent, worker, roll_id=ROLL)
    assert roll.sort_roll(ROLL, nobody) == before
    assert [one.id for one, _ in roll.unfinished_rolls(nobody)] == [ROLL]
    roll.close_roll(ROLL, worker)
    assert roll.unfinished_rolls(nobody) == ()


def test_a_roll_of_two_phones_waits_until_somebody_says_that_each_took_its_own_labels(three: Site) -> None:
    def at(number: int):
        return BEGUN + timedelta(seconds=20 * number)

    files = [
        ("IMG_0001.jpg", label_photo(["WL-1"], 1, at(0), camera="Phone A")),
        ("IMG_0701.jpg", label_photo(["WL-2"], 2, at(1), camera="Phone B")),
        ("IMG_0002.jpg", part_photo(11, at(2), camera="Phone A")),
        ("IMG_0702.jpg", part_photo(12, at(3), camera="Phone B")),
        ("IMG_0003.jpg", part_photo(13, at(4), camera="Phone A")),
    ]
    read(three, files)
    plan = roll.sort_roll(ROLL, three.services)
    assert plan.phones == 2
    assert names(plan) == {"WL-1": ["IMG_0001.jpg"], "WL-2": ["IMG_0701.jpg", "IMG_0702.jpg"]}
    assert {d.why for one in plan.open for d in one.doubts} == {Why.TWO_PHONES}
    assert roll.sort_by_phone(ROLL, three.services) == 2
    settled = roll.sort_roll(ROLL, three.services)
    assert settled.open == ()
    assert names(settled)["WL-1"] == ["IMG_0001.jpg", "IMG_0002.jpg", "IMG_0003.jpg"]
    assert settled.phones == 2


def test_a_label_with_a_tag_of_earlier_leads_to_the_item_under_its_present_tag(three: Site) -> None:
    item = item_by_tag("WL-1", three.services).item
    three.correct(item, tag="WL-9")
    read(three, drawn_roll(("WL-1",), 3)[0])
    plan = roll.sort_roll(ROLL, three.services)
    assert {tag: len(group) for tag, group in plan.groups.items()} == {"WL-9": 3}
    assert plan.open == () and plan.doubtful == 0
    started, refused = roll.start_drafts(ROLL, ["WL-9"], InspectionType.BEFORE_USE, three.worker, three.services)
    assert [(one.tag, one.photos) for one in started] == [("WL-9", 3)] and refused == ()
