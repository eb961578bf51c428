"""Lists of items, an item's history, and the photo to show for it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from inspect_core.domain.custody import State
from inspect_core.domain.gear import Kind
from inspect_core.ports import UnitOfWork, UnitOfWorkFactory
from tests.storage import made


def _tags(unit: UnitOfWork, **filters: object) -> list[str]:
    return [row.item.tag for row in unit.items.rows(**filters)]  # type: ignore[arg-type]


def test_lists_come_soonest_due_first_then_by_tag_and_undated_last(units: UnitOfWorkFactory) -> None:
    due = {1: date(2025, 5, 1), 2: None, 3: date(2025, 4, 1), 4: date(2025, 5, 1), 5: date(2025, 4, 2)}
    states = {4: State.ON_HOLD, 5: State.WITHDRAWN}
    with units(write=True) as unit:
        for number, day in due.items():
            item = made.item(number, site="South yard" if number == 1 else "", kind=Kind.HARNESS)
            state = states.get(number, State.IN_SERVICE)
            unit.items.add(item, made.standing(item.id, state, next_due=day))
        assert _tags(unit) == ["RIG-3", "RIG-5", "RIG-1", "RIG-4", "RIG-2"]
        assert _tags(unit, limit=2) == ["RIG-3", "RIG-5"]
        assert _tags(unit, states=[State.ON_HOLD, State.WITHDRAWN]) == ["RIG-5", "RIG-4"]
        assert _tags(unit, sites=["South yard"]) == ["RIG-1"]
        assert _tags(unit, kinds=[Kind.CONNECTOR]) == []
        assert _tags(unit, due_by=date(2025, 5, 1)) == ["RIG-3", "RIG-1", "RIG-4"]
        assert _tags(unit, due_by=date(2025, 4, 30), kinds=[Kind.HARNESS]) == ["RIG-3"]
        assert unit.items.sites() == ("South yard",)
        counts = unit.items.counts()
        assert counts == {State.IN_SERVICE: 3, State.ON_HOLD: 1, State.WITHDRAWN: 1, State.DESTROYED: 0}


def test_changing_the_item_leaves_its_standing_and_the_other_way_round(units: UnitOfWorkFactory) -> None:
    changed = made.item(1, maker="Other Maker", maker_limits={"pull-out": 10.0})
    held = made.standing("item-1", State.ON_HOLD, damage_used=0.5)
    with units(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))
        unit.items.update(changed)
        assert unit.items.standing("item-1") == made.standing("item-1")
        unit.items.set_standing(held)
        assert (unit.items.get("item-1"), unit.items.standing("item-1")) == (changed, held)


def test_history_is_newest_first_and_can_be_cut_short(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))
        for number in (2, 4, 1, 3):
            unit.inspections.add(made.inspection(number))
        unit.inspections.add(made.inspection(5, at=made.inspection(4).at))
        found = [inspection.id for inspection in unit.inspections.of_item("item-1")]
        assert found == [f"inspection-{n}" for n in (5, 4, 3, 2, 1)]
        assert [i.id for i in unit.inspections.of_item("item-1", limit=2)] == found[:2]
        assert unit.inspections.of_item("item-2") == ()


def test_a_history_longer_than_one_query_takes_comes_whole(units: UnitOfWorkFactory) -> None:
    photo = made.photo_of(b"one")
    with units(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))
        unit.photos.add(photo)
        for number in range(520):
            unit.inspections.add(made.inspection(number, photos=(photo.id,)))
        history = unit.inspections.of_item("item-1")
        assert len(history) == 520
        assert all(len(i.marks) == len(i.photo_ids) == len(i.decision.findings) == 1 for i in history)


def test_short_forms_of_ids_name_at_most_ten(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))
        for number in range(12):
            unit.inspections.add(made.inspection(number, id=f"ab{number:02}%"))
        unit.inspections.add(made.inspection(20, id="AB00"))
        assert unit.inspections.by_prefix("ab00") == ("ab00%",)
        assert len(unit.inspections.by_prefix("ab")) == 10
        assert unit.inspections.by_prefix("a_") == unit.inspections.by_prefix("") == ()


def test_lists_show_the_last_marked_photo_of_the_newest_inspection_that_marked_one(units: UnitOfWorkFactory) -> None:
    first, second, third = (made.photo_of(text) for text in (b"1", b"2", b"3"))
    marked = made.inspection(5, photos=(first.id, second.id))
    again = replace(marked.marks[0], id="m2", photo_id=second.id)
    with units(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))
        for photo in (first, second, third):
            unit.photos.add(photo)
        assert unit.items.rows()[0].photo_id is None
        unit.inspections.add(replace(marked, marks=(again, *marked.marks)))
        assert unit.items.rows()[0].photo_id == second.id
        unit.inspections.add(made.inspection(6, photo_ids=(third.id,)))
        assert unit.items.rows()[0].photo_id == second.id, "an unmarked photo changes nothing"
        unit.inspections.add(made.inspection(4, photos=(third.id,)))
        assert unit.items.rows()[0].photo_id == second.id, "an older inspection changes nothing"
        unit.inspections.add(made.inspection(7, photos=(third.id,), at=made.NOW + timedelta(days=7)))
        assert unit.items.rows()[0].photo_id == third.id
