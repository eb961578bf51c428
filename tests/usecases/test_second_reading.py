"""Blind second readings: who is handed which photos, what is recorded, and what is refused."""

from __future__ import annotations

from dataclasses import replace

import pytest

from inspect_core.domain.custody import State
from inspect_core.domain.decision import Answer
from inspect_core.domain.errors import BadInput, Conflict, NotAllowed
from inspect_core.domain.gear import Component, Item, Kind
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.second_reading import CANNOT_TELL, SOUND, UnreadPhoto
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.second_reading import (
    HOLD_REASON,
    RecordReading,
    doubts,
    photos_to_read,
    record_second_reading,
)
from inspect_core.usecases.verify import verify
from tests.usecases.site import Site, picture


def _cut(site: Site, item: Item, number: int) -> str:
    """An inspection with a marked cut; returns its photo."""
    command = site.cut(item, 30.0, inspection_id=f"cut-{number}")
    photo = take_photo(picture(100 + number), site.services)
    mark = replace(command.marks[0], photo_id=photo.id)
    site.record(replace(command, type=InspectionType.PERIODIC, by=site.competent, marks=(mark,), photo_ids=(photo.id,)))
    return photo.id


def _sound(site: Site, item: Item, number: int) -> str:
    photo = take_photo(picture(200 + number), site.services)
    command = replace(site.check(item, f"sound-{number}"), by=site.competent, photo_ids=(photo.id,))
    site.record(replace(command, type=InspectionType.PERIODIC))
    return photo.id


def _photos(site: Site, *, damaged: int, sound: int) -> tuple[set[str], set[str]]:
    first = {_cut(site, site.lanyard(f"LAN-{n:03}"), n) for n in range(1, damaged + 1)}
    second = {_sound(site, site.lanyard(f"LAN-1{n:02}"), n) for n in range(1, sound + 1)}
    return first, second


def _answer(site: Site, photo: UnreadPhoto, by: str, answer: str = "cut", number: int = 1) -> RecordReading:
    return RecordReading(f"reading-{number}-{by}", photo.photo_id, photo.inspection_id, by, answer)


def test_half_of_what_is_handed_out_carries_a_mark_and_nothing_says_which(site: Site) -> None:
    damaged, sound = _photos(site, damaged=4, sound=6)
    handed = photos_to_read(site.second, site.services).photos
    assert len(handed) == 6
    assert len({one.photo_id for one in handed} & damaged) == 3
    assert len({one.photo_id for one in handed} & sound) == 3
    assert {one.kind for one in handed} == {Kind.WEBBING_LANYARD}
    assert set(UnreadPhoto.__dataclass_fields__) == {"photo_id", "inspection_id", "kind"}


def test_where_one_half_is_short_the_other_fills_up(site: Site) -> None:
    _photos(site, damaged=1, sound=4)
    assert len(photos_to_read(site.second, site.services, most=4).photos) == 4
    assert len(photos_to_read(site.second, site.services).photos) == 5


def test_nobody_is_handed_a_photo_they_recorded_or_read(site: Site) -> None:
    _photos(site, damaged=2, sound=0)
    assert photos_to_read(site.competent, site.services).photos == ()
    first, second = photos_to_read(site.second, site.services).photos
    record_second_reading(_answer(site, first, site.second), site.services)
    left = photos_to_read(site.second, site.services)
    assert (left.photos, left.read) == ((second,), 1)


def test_a_photo_that_shows_two_kinds_of_damage_or_was_held_without_a_mark_is_not_handed_out(site: Site) -> None:
    item = site.lanyard()
    photo = take_photo(picture(9), site.services)
    held = site.check(item, "held")
    answers = dict(held.answers) | {Component.WEBBING: Answer.UNSEEN}
    site.record(replace(held, answers=answers, photo_ids=(photo.id,)))
    assert photos_to_read(site.second, site.services).photos == ()


def test_a_reading_stands_beside_the_first_look_and_in_the_account(site: Site) -> None:
    _photos(site, damaged=1, sound=1)
    for number, photo in enumerate(photos_to_read(site.second, site.services).photos):
        record_second_reading(_answer(site, photo, site.second, "burn", number), site.services)
    with site.services.unit_of_work() as uow:
        rows = uow.second_readings.all()
        (entry,) = uow.ledger.of_subject("second reading", f"reading-0-{site.second}")
    assert {(row.first, row.second) for row in rows} == {("cut", "burn"), (SOUND, "burn")}
    assert {(row.first_by, row.second_by) for row in rows} == {(site.competent, site.second)}
    assert entry.body["answer"] == "burn"
    assert verify(site.services).faults == ()


def test_a_double_click_records_once_and_a_second_reading_of_the_same_photo_is_refused(site: Site) -> None:
    _photos(site, damaged=1, sound=0)
    (photo,) = photos_to_read(site.second, site.services).photos
    command = _answer(site, photo, site.second)
    assert record_second_reading(command, site.services) == record_second_reading(command, site.services)
    with pytest.raises(NotAllowed, match="read it before"):
        record_second_reading(replace(command, id="another"), site.services)
    with pytest.raises(NotAllowed, match="they recorded it"):
        record_second_reading(_answer(site, photo, site.competent), site.services)
    with pytest.raises(Conflict, match="Another reading"):
        record_second_reading(replace(command, by=site.manager), site.services)
    with site.services.unit_of_work() as uow:
        assert uow.second_readings.count(site.second) == 1


def test_a_worker_may_not_and_an_answer_that_is_none_is_refused(site: Site) -> None:
    _photos(site, damaged=1, sound=0)
    (photo,) = photos_to_read(site.second, site.services).photos
    with pytest.raises(NotAllowed, match="worker"):
        record_second_reading(_answer(site, photo, site.worker), site.services)
    with pytest.raises(BadInput, match="no answer"):
        record_second_reading(_answer(site, photo, site.second, "looks bad"), site.services)


def _seen(site: Site, photo_id: str, inspection_id: str, answer: str, number: int = 1, by: str = "") -> None:
    command = RecordReading(f"seen-{number}", photo_id, inspection_id, by or site.second, answer)
    record_second_reading(command, site.services)


def _person(site: Site, person_id: str):
    with site.services.unit_of_work() as uow:
        return uow.people.get(person_id)


def _standing(site: Site, item: Item):
    with site.services.unit_of_work() as uow:
        return uow.items.standing(item.id)


def test_damage_that_only_the_blind_reading_sees_holds_the_gear_until_it_is_inspected_in_detail(site: Site) -> None:
    item = site.lanyard()
    photo = _sound(site, item, 1)
    site.clock.move(minutes=5)
    _seen(site, photo, "sound-1", "cut")
    held = _standing(site, item)
    assert held.state is State.ON_HOLD and held.reason == HOLD_REASON
    assert "cut" not in held.reason.split() and photo not in held.reason
    (doubt,) = doubts(_person(site, site.second), site.services)
    assert doubt.row.item == item and doubt.seen is not None and [one.second for one in doubt.seen] == ["cut"]
    assert verify(site.services).faults == ()
    site.clock.move(minutes=5)
    again = site.check(item, "again", type=InspectionType.PERIODIC, by=site.competent)
    site.record(again)
    assert doubts(_person(site, site.second), site.services) == ()


def test_who_may_still_read_the_photo_blind_is_told_of_the_gear_and_not_of_what_was_seen(site: Site) -> None:
    item = site.lanyard()
    photo = _sound(site, item, 1)
    _seen(site, photo, "sound-1", "cut", by=site.manager)
    (to_reader,) = doubts(_person(site, site.second), site.services)
    assert (to_reader.row.item, to_reader.seen) == (item, None)
    assert [one.photo_id for one in photos_to_read(site.second, site.services).photos] == [photo]
    for knows in (site.competent, site.manager):
        (told,) = doubts(_person(site, knows), site.services)
        assert told.seen is not None
    assert doubts(_person(site, site.worker), site.services) == ()


@pytest.mark.parametrize("answer", [SOUND, CANNOT_TELL])
def test_a_blind_reading_that_sees_nothing_holds_nothing(site: Site, answer: str) -> None:
    item = site.lanyard()
    _seen(site, _sound(site, item, 1), "sound-1", answer)
    assert _standing(site, item).state is State.IN_SERVICE


def test_gear_inspected_in_detail_since_the_photo_is_not_held_by_what_an_old_photo_shows(site: Site) -> None:
    item = site.lanyard()
    photo = _sound(site, item, 1)
    site.clock.move(days=30)
    _sound(site, item, 2)
    _seen(site, photo, "sound-1", "cut")
    assert _standing(site, item).state is State.IN_SERVICE
    assert doubts(_person(site, site.second), site.services) == ()


def test_other_damage_than_the_first_look_marked_is_no_new_doubt(site: Site) -> None:
    item = site.lanyard()
    photo = _cut(site, item, 1)
    _seen(site, photo, "cut-1", "burn")
    assert doubts(_person(site, site.second), site.services) == ()
