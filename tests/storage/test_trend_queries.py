"""Counts that trends are made of. The expected figures are counted by hand from the records each test makes."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from inspect_core.domain.counted import MarkCount, Tally
from inspect_core.domain.custody import State
from inspect_core.domain.damage import damage_of
from inspect_core.domain.decision import Answer, Decision, FindingOutcome, Outcome
from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.inspection import Inspection
from inspect_core.domain.marks import Category
from inspect_core.ports import UnitOfWork, UnitOfWorkFactory
from tests.storage import made

PHOTO = made.photo_of(b"one")
LANYARD = Kind.WEBBING_LANYARD


#: What every made-up item is, in one label.
MODEL = "Made-up Maker Model 7"


def _items(unit: UnitOfWork, *changes: dict[str, object]) -> None:
    unit.photos.add(PHOTO)
    for number, one in enumerate(changes, 1):
        state = one.pop("state", State.IN_SERVICE)
        damage = one.pop("damage", None)
        item = made.item(number, **one)
        assert isinstance(state, State)
        unit.items.add(item, made.standing(item.id, state, damage_used=damage))


def _on(number: int, item: int, day: date, *, bad: bool = False, **changes: object) -> Inspection:
    at = datetime(day.year, day.month, day.day, 9, tzinfo=UTC)
    return made.inspection(number, f"item-{item}", (PHOTO.id,) if bad else (), at=at, **changes)


def test_a_life_ends_on_the_first_day_of_withdrawal_or_not_at_all(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        _items(
            unit,
            {"first_used_on": date(2022, 1, 2), "registered_on": date(2022, 2, 3), "note": "Kept in store 1."},
            {},
        )
        unit.custody.add(made.withdrawal(1, "item-1", None))
        first, second = unit.reviews.lives()
    assert (first.tag, first.first_used_on, first.registered_on) == ("RIG-1", date(2022, 1, 2), date(2022, 2, 3))
    assert (first.left_on, first.note) == (date(2025, 3, 4), "Kept in store 1.")
    assert (second.tag, second.left_on) == ("RIG-2", None)


def test_tallies_count_by_kind_site_and_month_and_leave_corrected_inspections_out(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        _items(unit, {}, {"kind": Kind.HARNESS})
        unit.inspections.add(_on(1, 1, date(2025, 1, 5)))
        unit.inspections.add(_on(2, 1, date(2025, 1, 20), bad=True))
        unit.inspections.add(_on(3, 1, date(2025, 1, 21), corrects="inspection-2"))
        unit.inspections.add(_on(4, 2, date(2025, 2, 1), bad=True, site="South yard"))
        found = unit.reviews.tallies()
        late = unit.reviews.tallies(since=date(2025, 1, 21), until=date(2025, 1, 31))
    assert found == (
        Tally(LANYARD, "North yard", "2025-01", 2, 0, MODEL),
        Tally(Kind.HARNESS, "South yard", "2025-02", 1, 1, MODEL),
    )
    assert late == (Tally(LANYARD, "North yard", "2025-01", 1, 0, MODEL),)


def test_a_month_whose_only_inspection_was_corrected_elsewhere_is_gone(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        _items(unit, {})
        unit.inspections.add(_on(1, 1, date(2025, 1, 5), bad=True))
        unit.inspections.add(_on(2, 1, date(2025, 3, 5), corrects="inspection-1"))
        assert unit.reviews.tallies() == (Tally(LANYARD, "North yard", "2025-03", 1, 0, MODEL),)
        assert unit.reviews.found_defects() == ()
        assert unit.reviews.marked(LANYARD, Component.WEBBING) == ()
        assert unit.reviews.mark_counts(LANYARD) == ()


def test_found_defects_are_newest_first_and_filtered(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        _items(unit, {}, {"kind": Kind.HARNESS})
        for number, item, month in ((1, 1, 1), (2, 2, 2), (3, 1, 3)):
            unit.inspections.add(_on(number, item, date(2025, month, 5), bad=True))
        unit.inspections.add(_on(4, 1, date(2025, 4, 5)))
        reviews = unit.reviews
        assert [one.inspection_id for one in reviews.found_defects()] == [
            "inspection-3",
            "inspection-2",
            "inspection-1",
        ]
        assert [one.tag for one in reviews.found_defects(kind=Kind.HARNESS)] == ["RIG-2"]
        assert [one.on for one in reviews.found_defects(until=date(2025, 1, 31))] == [date(2025, 1, 5)]
        assert reviews.found_defects(site="South yard") == ()
        assert len(reviews.found_defects(limit=1)) == 1


def test_marks_are_counted_by_component_with_the_items_and_inspections_behind_them(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        _items(unit, {}, {"kind": Kind.HARNESS}, {})
        for number, item in ((1, 1), (2, 2), (3, 1), (4, 3)):
            unit.inspections.add(_on(number, item, date(2025, 1, 4 + number), bad=True))
        two = _on(5, 3, date(2025, 2, 1), bad=True)
        cut = two.marks[0]
        burn = replace(cut, id="m2", category=Category.BURN)
        label = replace(cut, id="m3", component=Component.LABEL, category=Category.LABEL)
        unit.inspections.add(replace(two, marks=(cut, burn, label)))
        reviews = unit.reviews
        assert reviews.mark_counts(LANYARD) == (
            MarkCount(Component.LABEL, 1, 1, 1, ((Category.LABEL, 1),)),
            MarkCount(Component.WEBBING, 5, 2, 4, ((Category.CUT, 4), (Category.BURN, 1))),
        )
        found = reviews.marked(LANYARD, Component.WEBBING)
        assert [(mark.tag, mark.category) for mark in found[:2]] == [("RIG-3", Category.CUT), ("RIG-3", Category.BURN)]
        assert [mark.inspection_id for mark in found[2:]] == ["inspection-4", "inspection-3", "inspection-1"]
        assert len(reviews.marked(LANYARD, Component.WEBBING, limit=1)) == 1
        assert reviews.marked(LANYARD, Component.WEBBING, until=date(2025, 1, 4)) == ()
        assert reviews.mark_counts(LANYARD, site="South yard") == ()


@pytest.mark.parametrize(
    ("answer", "marked", "seen"),
    [
        (Answer.SOUND, False, 1),
        (Answer.DEFECT, True, 1),
        (Answer.UNSEEN, False, 0),
        (Answer.ABSENT, False, 0),
        (Answer.UNSEEN, True, 1),
        (None, True, 1),
        (None, False, 0),
    ],
)
def test_a_component_was_looked_at_where_it_was_answered_or_marked(
    units: UnitOfWorkFactory, answer: Answer | None, marked: bool, seen: int
) -> None:
    answers = {Component.ENERGY_ABSORBER: Answer.SOUND} | ({Component.D_RING: answer} if answer else {})
    changes: dict[str, object] = {"answers": answers}
    with units(write=True) as unit:
        _items(unit, {})
        inspection = _on(1, 1, date(2025, 1, 5), bad=marked, **changes)
        if marked:
            inspection = replace(inspection, marks=(replace(inspection.marks[0], component=Component.D_RING),))
        unit.inspections.add(inspection)
        looked = unit.reviews.looked_at(LANYARD)
        assert looked.get(Component.D_RING, 0) == seen
        assert looked[Component.ENERGY_ABSORBER] == 1
        assert unit.reviews.looked_at(Kind.HARNESS) == {}
        assert unit.reviews.looked_at(LANYARD, until=date(2025, 1, 4)) == {}
        assert unit.reviews.looked_at(LANYARD, site="South yard") == {}


def test_only_gear_that_is_not_withdrawn_is_ahead(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        _items(
            unit,
            {"made_on": date(2020, 1, 1), "maker_max_age_years": 10.0},
            {"state": State.ON_HOLD},
            {"state": State.WITHDRAWN},
            {"state": State.DESTROYED},
        )
        ahead = unit.reviews.ahead()
    assert [one.tag for one in ahead] == ["RIG-1", "RIG-2"]
    assert (ahead[0].made_on, ahead[0].max_age_years) == (date(2020, 1, 1), 10.0)


def test_damage_is_the_largest_of_a_day_as_the_decision_counts_it(units: UnitOfWorkFactory) -> None:
    wear = replace(
        made.CUT, outcome=FindingOutcome.CLEARED, measure="section loss", value=0.04, uncertainty=0.01, limit=0.1
    )
    more = replace(wear, value=0.05)
    with units(write=True) as unit:
        _items(unit, {"damage": 0.6}, {"damage": 0.6, "state": State.WITHDRAWN})
        for number, item in ((1, 1), (2, 2)):
            decision = Decision(Outcome.IN_SERVICE, 0.6, (wear, more), made.RULES)
            unit.inspections.add(replace(_on(number, item, date(2025, 1, 5), bad=True), decision=decision))
        (row,) = unit.reviews.damages()
    assert (row.item_id, row.component, row.on) == ("item-1", Component.WEBBING, date(2025, 1, 5))
    assert row.damage == damage_of(more) == pytest.approx(0.6)
