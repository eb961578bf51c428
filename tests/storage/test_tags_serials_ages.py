"""Finding items by a tag they carried before, by serial number, and by their age."""

from __future__ import annotations

from datetime import date

import pytest
import sqlalchemy as sa
from sqlalchemy.engine import Engine

from inspect_core.domain.ages import AgeCut
from inspect_core.domain.custody import State
from inspect_core.domain.errors import Conflict
from inspect_core.ports import UnitOfWorkFactory
from storage.tag_tables import former_tags
from tests.storage import made


def test_an_item_is_found_by_the_tag_it_carried_before_and_by_search(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))
        renamed = made.item(1, tag="NEW-7", former_tags=("RIG-1",))
        unit.items.update(renamed)
        assert unit.items.find_tag("rig-1") == renamed
        assert unit.items.find_tag("NEW-7") == renamed
        assert unit.items.find_tag("RIG-2") is None
        assert [hit.item.tag for hit in unit.search.find("rig1").hits] == ["NEW-7"]


def test_a_tag_in_use_goes_before_one_that_was(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        back = made.item(1, former_tags=("NEW-7", "RIG-1"))
        unit.items.add(back, made.standing("item-1"))
        assert unit.items.find_tag("RIG-1") == back


def test_two_items_cannot_have_carried_one_tag(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        unit.items.add(made.item(1, former_tags=("OLD",)), made.standing("item-1"))
        with pytest.raises(Conflict, match="in use"):
            unit.items.add(made.item(2, former_tags=("OLD",)), made.standing("item-2"))


def test_an_old_tag_that_the_item_itself_does_not_name_leads_nowhere(units: UnitOfWorkFactory, engine: Engine) -> None:
    with units(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))
        unit.commit()
    with engine.begin() as connection:
        connection.execute(sa.insert(former_tags).values(tag="FORGED", item_id="item-1"))
    with units() as unit:
        assert unit.items.find_tag("FORGED") is None


def test_serial_numbers_are_found_through_their_index(units: UnitOfWorkFactory, engine: Engine) -> None:
    asked: list[str] = []
    sa.event.listen(engine, "before_cursor_execute", lambda _c, _u, sql, *_r: asked.append(sql))
    with units(write=True) as unit:
        unit.items.add(made.item(1, serial="AB 12-3"), made.standing("item-1"))
        asked.clear()
        assert [row.item.id for row in unit.items.with_serials(["ab12-3"])] == ["item-1"]
        assert unit.items.with_serials(["", "ab12"]) == ()
    if engine.dialect.name == "sqlite":
        with engine.connect() as connection:
            sql = next(sql for sql in asked if "replace(items.serial" in sql)
            plan = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {sql}", ("ab12-3",)).all()
        assert "USING INDEX ix_items_serial_key" in plan[0][3]


def test_gear_in_service_is_found_by_the_day_it_was_made_or_first_used(units: UnitOfWorkFactory) -> None:
    made_2015, used_2015 = {"made_on": date(2015, 1, 1)}, {"first_used_on": date(2015, 1, 1)}
    gear = {
        1: made_2015,
        2: made_2015 | {"maker_max_age_years": 12.0},
        3: {"maker_max_age_years": 12.0},
        4: used_2015 | {"maker_max_use_years": 5.0},
        5: made_2015,
        6: {"made_on": date(2015, 1, 2)},
    }
    with units(write=True) as unit:
        for number, fields in gear.items():
            state = State.ON_HOLD if number == 5 else State.IN_SERVICE
            unit.items.add(made.item(number, **fields), made.standing(f"item-{number}", state))

        def found(*cuts: AgeCut, **filters: object) -> list[str]:
            return [row.item.id for row in unit.items.maybe_aged(cuts, **filters)]  # type: ignore[arg-type]

        day = date(2015, 1, 1)
        assert found(AgeCut(False, None, day, False)) == ["item-1"]
        assert found(AgeCut(False, 12.0, day, False)) == ["item-2"]
        assert found(AgeCut(False, 12.0, day, True)) == ["item-2", "item-3"]
        assert found(AgeCut(True, 5.0, day, True), AgeCut(False, None, day, False)) == ["item-1", "item-4"]
        assert found(AgeCut(False, None, day, False), sites=["elsewhere"]) == []
        assert found() == []
        assert set(unit.items.age_limits()) == {(12.0, None), (None, 5.0)}
