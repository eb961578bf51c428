"""Counts over the whole store: retirements with their reasons, inspections per month."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

from inspect_core.domain.custody import Move
from inspect_core.domain.decision import Decision, FindingOutcome, HandDecision, Outcome
from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.marks import Category
from inspect_core.ports import UnitOfWork, UnitOfWorkFactory
from tests.storage import made

PHOTO = made.photo_of(b"one")
CUT_REASON = (Category.CUT, Component.WEBBING, "webbing-cut")


def _items(unit: UnitOfWork, many: int = 1) -> None:
    unit.photos.add(PHOTO)
    for number in range(1, many + 1):
        item = made.item(number, price=80.0, first_used_on=date(2022, 1, 2))
        unit.items.add(item, made.standing(item.id))


def _held_by(*findings: object, **changes: object) -> Decision:
    return Decision(Outcome.HOLD, 0.0, findings, made.RULES, **changes)  # type: ignore[arg-type]


def test_a_retirement_names_what_withdrew_the_item(units: UnitOfWorkFactory) -> None:
    cleared = replace(made.CUT, rule="cleared", outcome=FindingOutcome.CLEARED)
    held = replace(made.CUT, rule="held", outcome=FindingOutcome.HOLD)
    label = replace(made.CUT, rule="label-missing", mark=None, component=Component.LABEL)
    on_mark = replace(made.CUT, component=None)
    decision = Decision(Outcome.WITHDRAW, 1.3, (cleared, on_mark, held, label), made.RULES)
    with units(write=True) as unit:
        _items(unit)
        unit.inspections.add(made.inspection(1, photos=(PHOTO.id,), decision=decision))
        unit.custody.add(made.withdrawal(1, "item-1", "inspection-1"))
        (found,) = unit.reviews.retirements()
    assert found.reasons == (CUT_REASON, (None, Component.LABEL, "label-missing"))
    assert (found.tag, found.kind, found.site) == ("RIG-1", Kind.WEBBING_LANYARD, "North yard")
    assert (found.on, found.first_day, found.price) == (date(2025, 3, 4), date(2022, 1, 2), 80.0)


def test_a_withdrawal_by_hand_is_put_down_to_what_held_the_item(units: UnitOfWorkFactory) -> None:
    held = replace(made.CUT, rule="rust-unlimited", outcome=FindingOutcome.HOLD)
    unseen = replace(held, rule="unseen", mark=None, component=Component.LABEL)
    hand = HandDecision(Outcome.WITHDRAW, "Rusted through at the eye.", "p1")
    with units(write=True) as unit:
        _items(unit, 3)
        on_mark = made.inspection(1, "item-1", (PHOTO.id,), decision=_held_by(unseen, held), hand=hand)
        no_mark = made.inspection(2, "item-2", decision=_held_by(unseen), hand=hand)
        for number, inspection in enumerate((on_mark, no_mark), 1):
            unit.inspections.add(inspection)
            unit.custody.add(made.withdrawal(number, inspection.item_id, inspection.id))
        unit.custody.add(made.withdrawal(3, "item-3", None))
        reasons = [retirement.reasons for retirement in unit.reviews.retirements()]
    assert reasons == [
        ((Category.CUT, Component.WEBBING, "rust-unlimited"),),
        ((None, Component.LABEL, "unseen"),),
        (),
    ]


def test_a_corrected_inspection_counts_as_its_last_correction_says(units: UnitOfWorkFactory) -> None:
    burn = replace(made.CUT, rule="burn", mark=None, component=Component.STITCHING)
    decision = Decision(Outcome.WITHDRAW, 1.0, (burn,), made.RULES)
    with units(write=True) as unit:
        _items(unit)
        unit.inspections.add(made.inspection(1, photos=(PHOTO.id,)))
        unit.custody.add(made.withdrawal(1, "item-1", "inspection-1"))
        unit.inspections.add(made.inspection(2, corrects="inspection-1"))
        unit.inspections.add(made.inspection(3, corrects="inspection-2", decision=decision))
        (found,) = unit.reviews.retirements()
        assert found.reasons == ((None, Component.STITCHING, "burn"),)
        assert [(t.month, t.inspections, t.defects) for t in unit.reviews.tallies()] == [("2025-03", 1, 1)]


def test_retirements_are_bounded_by_the_day_on_site_and_are_withdrawals_only(units: UnitOfWorkFactory) -> None:
    far_east = timezone(timedelta(hours=12))
    moments = (datetime(2025, 1, 1, 1, tzinfo=far_east), datetime(2025, 2, 1, tzinfo=UTC))
    with units(write=True) as unit:
        _items(unit, 3)
        for number, at in enumerate(moments, 1):
            unit.custody.add(made.withdrawal(number, f"item-{number}", None, at))
        unit.custody.add(replace(made.withdrawal(3, "item-3", None, moments[0]), move=Move.HOLD))
        reviews = unit.reviews
        assert [r.on for r in reviews.retirements()] == [date(2025, 1, 1), date(2025, 2, 1)]
        assert [r.tag for r in reviews.retirements(since=date(2025, 1, 1), until=date(2025, 1, 1))] == ["RIG-1"]
        assert [r.tag for r in reviews.retirements(since=date(2025, 1, 2))] == ["RIG-2"]
        assert reviews.retirements(until=date(2024, 12, 31)) == ()


def test_inspections_are_counted_by_month_and_outcome(units: UnitOfWorkFactory) -> None:
    days = (datetime(2025, 1, 31, 23, 30, tzinfo=timezone(timedelta(hours=-5))), datetime(2025, 2, 1, tzinfo=UTC))
    with units(write=True) as unit:
        _items(unit)
        for number, at in enumerate((*days, days[1]), 1):
            unit.inspections.add(made.inspection(number, at=at))
        unit.inspections.add(made.inspection(9, photos=(PHOTO.id,), at=days[1]))
        counted = [(t.month, t.inspections, t.defects) for t in unit.reviews.tallies()]
        assert counted == [("2025-01", 1, 0), ("2025-02", 3, 1)]
