"""One transaction: whole or nothing, by one hand at a time."""

from __future__ import annotations

import threading

import pytest
from sqlalchemy.engine import Engine

from inspect_core.domain.custody import State
from inspect_core.domain.errors import Conflict, NotFound
from inspect_core.ports import UnitOfWork, UnitOfWorkFactory
from storage.unit_of_work import SqlUnitOfWork, unit_of_work_factory
from storage.work import UnitOfWorkMisuse
from tests.storage import made


def _register(unit: UnitOfWork, number: int = 1) -> None:
    unit.items.add(made.item(number), made.standing(f"item-{number}"))


def test_leaving_without_commit_writes_nothing(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        _register(unit)
        unit.inspections.add(made.inspection())
    with units() as unit:
        assert unit.items.find_tag("RIG-1") is None
        assert unit.search.find("RIG-1").hits == ()


def test_an_error_inside_writes_nothing_and_passes_on(units: UnitOfWorkFactory) -> None:
    with pytest.raises(ZeroDivisionError), units(write=True) as unit:
        _register(unit)
        _ = 1 / 0
    with units() as unit:
        assert unit.items.rows() == ()


def test_commit_writes_everything(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        _register(unit)
        unit.commit()
    with units() as unit:
        assert unit.items.get("item-1") == made.item()


def test_rollback_writes_nothing(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        _register(unit)
        unit.rollback()
    with units() as unit:
        assert unit.items.rows() == ()


def test_a_unit_is_used_up_by_commit_by_rollback_and_by_leaving(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        unit.commit()
        with pytest.raises(UnitOfWorkMisuse, match="is over"):
            unit.items.rows()
        with pytest.raises(UnitOfWorkMisuse, match="is over"):
            unit.commit()
    with units() as other:
        pass
    for use in (other.items.rows, other.commit, other.rollback, other.__enter__):
        with pytest.raises(UnitOfWorkMisuse):
            use()


def test_a_unit_that_was_not_entered_cannot_be_committed(engine: Engine) -> None:
    with pytest.raises(UnitOfWorkMisuse, match="context manager"):
        SqlUnitOfWork(engine).commit()


def test_a_unit_inside_a_writing_one_is_refused_instead_of_waiting_for_ever(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        for write in (True, False):
            with pytest.raises(UnitOfWorkMisuse, match="open here already"), units(write=write):
                pass
        _register(unit)
        unit.commit()
    with units(write=True) as unit:  # the refusals left nothing behind
        assert unit.items.get("item-1")


def test_writing_in_a_reading_unit_is_refused(units: UnitOfWorkFactory) -> None:
    with units() as unit, pytest.raises(UnitOfWorkMisuse, match="write=True"):
        _register(unit)


def test_what_a_reading_unit_reads_does_not_change_under_it(units: UnitOfWorkFactory) -> None:
    def write() -> None:
        with units(write=True) as unit:
            _register(unit)
            unit.commit()

    with units() as unit:
        assert unit.items.rows() == ()
        thread = threading.Thread(target=write)
        thread.start()
        thread.join()
        assert unit.items.rows() == ()
    with units() as unit:
        assert len(unit.items.rows()) == 1


def test_writing_units_of_several_threads_wait_for_each_other(units: UnitOfWorkFactory) -> None:
    def register(first: int) -> None:
        for number in range(first, first + 5):
            with units(write=True) as unit:
                unit.items.rows()
                _register(unit, number)
                unit.commit()

    threads = [threading.Thread(target=register, args=(first,)) for first in (0, 10, 20, 30)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with units() as unit:
        assert len(unit.items.rows()) == 20


def test_a_tag_in_use_is_a_conflict_for_a_new_item_and_for_a_changed_one(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        _register(unit)
        with pytest.raises(Conflict, match="RIG-1 is in use"):
            unit.items.add(made.item(2, tag="rig-1"), made.standing("item-2"))
        _register(unit, 2)
        with pytest.raises(Conflict, match="RIG-1 is in use"):
            unit.items.update(made.item(2, tag="RIG-1"))


def test_the_same_inspection_twice_is_a_conflict(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        _register(unit)
        unit.inspections.add(made.inspection())
        with pytest.raises(Conflict, match="recorded already"):
            unit.inspections.add(made.inspection(note="another text"))
        unit.commit()
    with units() as unit:
        assert unit.inspections.of_item("item-1") == (made.inspection(),)
        assert len(unit.search.find("store room").hits) == 1


def test_the_same_move_and_the_same_ledger_entry_twice_are_conflicts(units: UnitOfWorkFactory) -> None:
    from inspect_core.ledger import next_entry

    entry = next_entry(None, made.NOW, "item", "item-1", {})
    with units(write=True) as unit:
        _register(unit)
        unit.custody.add(made.withdrawal(1, "item-1", None))
        with pytest.raises(Conflict, match="recorded already"):
            unit.custody.add(made.withdrawal(1, "item-1", None))
        unit.ledger.add(entry)
        with pytest.raises(Conflict, match="written already"):
            unit.ledger.add(entry)


def test_an_inspection_of_an_unknown_item_is_refused(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit, pytest.raises(NotFound, match="item-1"):
        unit.inspections.add(made.inspection())


def test_an_inspection_with_an_unknown_photo_is_refused_at_the_end_and_leaves_nothing(
    units: UnitOfWorkFactory,
) -> None:
    with pytest.raises(Conflict, match="does not hold"), units(write=True) as unit:
        _register(unit)
        unit.inspections.add(made.inspection(photos=("ab" * 32,)))
        unit.commit()
    with units() as unit:
        assert unit.items.rows() == ()


def test_a_photo_may_be_added_after_the_inspection_in_the_same_unit(units: UnitOfWorkFactory) -> None:
    photo = made.photo_of(b"one")
    with units(write=True) as unit:
        _register(unit)
        unit.inspections.add(made.inspection(photos=(photo.id,)))
        unit.photos.add(photo)
        unit.commit()
    with units() as unit:
        assert unit.photos.uses(photo.id) == (("item-1", "inspection-1"),)


def test_what_is_not_there_is_told(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        for use in (
            lambda: unit.items.get("x"),
            lambda: unit.items.standing("x"),
            lambda: unit.items.update(made.item(9)),
            lambda: unit.items.set_standing(made.standing("x")),
            lambda: unit.inspections.get("x"),
            lambda: unit.photos.get("x"),
            lambda: unit.people.get("x"),
        ):
            with pytest.raises(NotFound):
                use()
        assert unit.inspections.find("x") is None and unit.people.find_name("x") is None
        unit.drafts.discard("x")


def test_engines_of_two_stores_do_not_get_in_each_others_way(
    engine: Engine, tmp_path_factory: pytest.TempPathFactory
) -> None:
    from storage.engine import open_engine
    from storage.migrations import upgrade

    other = open_engine(tmp_path_factory.mktemp("other"))
    upgrade(other)
    with unit_of_work_factory(engine)(write=True) as one, unit_of_work_factory(other)(write=True) as two:
        _register(one)
        _register(two)
        assert two.items.counts()[State.IN_SERVICE] == 1
    other.dispose()
