"""What goes into the store comes out as it was."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inspect_core import ledger
from inspect_core.domain.errors import BadInput
from inspect_core.domain.people import Person, Role
from inspect_core.domain.record import Draft
from inspect_core.ports import UnitOfWorkFactory
from tests.storage import made

_RANDOM = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))


@_RANDOM
@given(st.data())
def test_any_item_comes_back_as_it_was_with_its_standing(units: UnitOfWorkFactory, data: st.DataObject) -> None:
    item = data.draw(made.items())
    standing = data.draw(made.standings(item.id))
    with units(write=True) as unit:
        unit.items.add(item, standing)
        assert unit.items.get(item.id) == item
        assert unit.items.standing(item.id) == standing
        assert unit.items.find_tag(f" {item.tag.lower()} ") == item


@_RANDOM
@given(st.data())
def test_any_inspection_comes_back_as_it_was(units: UnitOfWorkFactory, data: st.DataObject) -> None:
    item = data.draw(made.items())
    inspection = data.draw(made.inspections(item.id))
    with units(write=True) as unit:
        unit.items.add(item, data.draw(made.standings(item.id)))
        for photo_id in inspection.photo_ids:
            unit.photos.add(replace(made.photo_of(b""), id=photo_id))
        unit.inspections.add(inspection)
        found = unit.inspections.get(inspection.id)
        assert found == inspection
        assert found.at.utcoffset() == inspection.at.utcoffset()
        assert list(found.answers) == list(inspection.answers)
        types = {name: type(value) for name, value in inspection.facts.items()}
        assert {name: type(value) for name, value in found.facts.items()} == types
        assert unit.inspections.of_item(item.id) == (inspection,)


def test_photos_keep_the_cameras_clock_with_or_without_its_zone(units: UnitOfWorkFactory) -> None:
    bare = made.photo_of(b"one")
    zoned = replace(made.photo_of(b"two"), captured_at=made.NOW, advice=())
    silent = replace(made.photo_of(b"three"), captured_at=None)
    with units(write=True) as unit:
        for photo in (bare, zoned, silent):
            unit.photos.add(photo)
        unit.photos.add(replace(bare, width=1))
        assert [unit.photos.get(photo.id) for photo in (bare, zoned, silent)] == [bare, zoned, silent]
        found = unit.photos.get(bare.id).captured_at
        assert found is not None and found.tzinfo is None


def test_drafts_are_replaced_found_and_discarded(units: UnitOfWorkFactory) -> None:
    first = Draft("d1", "item-1", {"answers": {"label": "sound"}, "depth": 1.5}, made.NOW)
    second = Draft("d1", "item-1", {"marks": [[1, 2.5]]}, datetime(2025, 3, 5, tzinfo=UTC))
    with units(write=True) as unit:
        unit.drafts.save(first)
        assert unit.drafts.find("d1") == first
        unit.drafts.save(second)
        assert unit.drafts.of_item("item-1") == (second,)
        third = Draft("d2", "item-2", {}, datetime(2025, 3, 4, 23, tzinfo=UTC))
        unit.drafts.save(third)
        assert unit.drafts.newest(5) == (second, third) and unit.drafts.newest(1) == (second,)
        unit.drafts.discard("d1")
        assert unit.drafts.find("d1") is None


def test_people_are_replaced_by_id_and_found_by_name_whatever_its_case(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        unit.people.add(Person("p1", "Anna Ärlig", Role.WORKER))
        unit.people.add(Person("p1", "Anna Ärlig", Role.COMPETENT_PERSON, made.NOW.date(), active=False))
        unit.people.add(Person("p2", "ANNA  ärlig", Role.WORKER))
        assert unit.people.get("p1").role is Role.COMPETENT_PERSON
        found = unit.people.find_name("anna ärlig")
        assert found is not None and found.id == "p2", "one who is active comes first"
        assert [person.id for person in unit.people.all()] == ["p1", "p2"]


def test_the_ledger_comes_back_with_every_digest_whole(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        for number in range(5):
            body = {"n": number, "share": number / 3, "text": "é🙂", "none": None, "list": [1, 2.0, True]}
            unit.ledger.add(ledger.next_entry(unit.ledger.head(), made.NOW, "inspection", f"i{number % 2}", body))
        entries = unit.ledger.entries()
        assert ledger.broken_links(entries) == ()
        assert [entry.number for entry in unit.ledger.entries(after=2, limit=2)] == [3, 4]
        assert [entry.number for entry in unit.ledger.of_subject("inspection", "i1")] == [2, 4]
        assert unit.ledger.head() == entries[-1]


def test_custody_moves_come_back_newest_first(units: UnitOfWorkFactory) -> None:
    first = made.withdrawal(1, "item-1", None, made.NOW)
    later = replace(made.withdrawal(2, "item-1", None, made.NOW), witness="p2", before=None)
    with units(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))
        unit.custody.add(first)
        unit.custody.add(later)
        assert unit.custody.of_item("item-1") == (later, first)


def test_a_time_of_day_among_the_facts_is_refused(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))
        with pytest.raises(BadInput, match="time of day"):
            unit.inspections.add(made.inspection(facts={"event day": made.NOW}))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"facts": {"exposure": float("nan")}}, "not finite"),
        ({"facts": {"exposure": float("inf")}}, "not finite"),
        ({"note": "broken \ud800 sign"}, "broken character"),
        ({"facts": {"fluid": "\udfff"}}, "broken character"),
    ],
)
def test_values_that_no_database_holds_are_refused(
    units: UnitOfWorkFactory, changes: dict[str, Any], words: str
) -> None:
    with units(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))
        with pytest.raises(BadInput, match=words):
            unit.inspections.add(made.inspection(**changes))
