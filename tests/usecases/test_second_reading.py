"""Blind second readings: who is handed which photos, what is recorded, and what is refused."""

from __future__ import annotations

from dataclasses import replace

import pytest

from inspect_core.domain.decision import Answer
from inspect_core.domain.errors import BadInput, Conflict, NotAllowed
from inspect_core.domain.gear import Component, Item, Kind
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.second_reading import SOUND, UnreadPhoto
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.second_reading import RecordReading, photos_to_read, record_second_reading
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
        entry = uow.ledger.head()
    assert {(row.first, row.second) for row in rows} == {("cut", "burn"), (SOUND, "burn")}
    assert {(row.first_by, row.second_by) for row in rows} == {(site.competent, site.second)}
    assert entry is not None and entry.subject == "second reading" and entry.body["answer"] == "burn"
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
