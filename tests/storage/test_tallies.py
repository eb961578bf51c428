"""Tallies say what the records say, whatever was recorded, corrected, mended or rolled back."""

from __future__ import annotations

import shutil
from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
import sqlalchemy as sa
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from sqlalchemy.engine import Engine

from inspect_core.domain.decision import Answer, Outcome
from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.inspection import Inspection, InspectionType
from inspect_core.domain.marks import Category
from inspect_core.ports import UnitOfWorkFactory
from storage.derived import is_fresh, refresh, tally_faults
from storage.engine import WRITES, open_engine
from storage.migrations import upgrade
from storage.tables import settings as kept_settings
from storage.tables import shared_photos
from storage.tallies import TABLES, whole_months
from storage.unit_of_work import unit_of_work_factory
from tests.storage import made

PHOTO = made.photo_of(b"one")
LANYARD = Kind.WEBBING_LANYARD


def _faults(engine: Engine) -> tuple[str, ...]:
    with engine.connect() as connection:
        return tally_faults(connection)


@st.composite
def _histories(draw: st.DrawFn) -> list[Inspection]:
    """Inspections of two items, some of which correct an earlier one."""
    found: list[Inspection] = []
    for number in range(draw(st.integers(1, 8))):
        item = draw(st.sampled_from(["item-1", "item-2"]))
        one = draw(made.inspections(item))
        parts = draw(st.lists(st.sampled_from([Component.WEBBING, Component.LABEL]), max_size=3))
        shown = draw(st.lists(st.sampled_from([Category.CUT, Category.BURN]), min_size=3, max_size=3))
        template = made.inspection(1, photos=(PHOTO.id,)).marks[0]
        marks = tuple(
            replace(template, id=f"m{place}", component=part, category=shown[place]) for place, part in enumerate(parts)
        )
        earlier = [before.id for before in found if before.item_id == item]
        found.append(
            replace(
                one,
                id=f"inspection-{number}",
                photo_ids=(PHOTO.id,),
                marks=marks,
                by=draw(st.sampled_from(["p1", "p2"])),
                site=draw(st.sampled_from(["North yard", "South yard", ""])),
                at=made.NOW + timedelta(days=draw(st.integers(0, 70))),
                corrects=draw(st.none() | st.sampled_from(earlier)) if earlier else None,
                answers=draw(
                    st.dictionaries(st.sampled_from([Component.WEBBING, Component.LABEL]), st.sampled_from(Answer))
                ),
            )
        )
    return found


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    phases=(Phase.explicit, Phase.reuse, Phase.generate),  # each history opens a store: making it smaller takes minutes
)
@given(
    _histories(),
    st.sampled_from(Kind),
    st.dates(date(2025, 2, 20), date(2025, 5, 20)),
    st.dates(date(2025, 2, 20), date(2025, 5, 20)),
)
def test_tallies_equal_the_counted_truth(
    tmp_path_factory: pytest.TempPathFactory, history: list[Inspection], mended: Kind, one: date, other: date
) -> None:
    since, until = min(one, other), max(one, other)
    engine = open_engine(_fresh_store(tmp_path_factory))
    units = unit_of_work_factory(engine)
    with units(write=True) as unit:
        unit.photos.add(PHOTO)
        for number in (1, 2):
            unit.items.add(made.item(number), made.standing(f"item-{number}"))
        for inspection in history:
            unit.inspections.add(inspection)
        unit.commit()
    assert _faults(engine) == ()
    with units(write=True) as unit:
        unit.items.update(made.item(1, kind=mended, maker="Another maker"))
        unit.commit()
    assert _faults(engine) == ()
    _agrees_with_plain_counting(units, history, mended, since, until)
    engine.dispose()


def _fresh_store(folders: pytest.TempPathFactory) -> Path:
    """A new store, copied from one whose tables are made: making them takes longer than a whole history."""
    pattern = folders.getbasetemp() / "pattern"
    if not pattern.exists():
        engine = open_engine(pattern)
        upgrade(engine)
        engine.dispose()
    return Path(shutil.copytree(pattern, folders.mktemp("tallies") / "store"))


def _agrees_with_plain_counting(
    units: UnitOfWorkFactory, history: list[Inspection], mended: Kind, since: date, until: date
) -> None:
    """Every count of a period against the inspections themselves, counted here without any query."""
    corrected = {inspection.corrects for inspection in history}
    kinds = {"item-1": mended, "item-2": LANYARD}
    inside = [i for i in history if i.id not in corrected and since <= i.at.date() <= until]
    with units() as unit:
        tallies = unit.reviews.tallies(since=since, until=until)
        assert Counter({(t.kind, t.site, t.month): t.inspections for t in tallies if "Another" not in t.model}) == (
            Counter((LANYARD, i.site, f"{i.at:%Y-%m}") for i in inside if i.item_id == "item-2")
        )
        assert sum(t.defects for t in tallies) == sum(i.outcome is not Outcome.IN_SERVICE for i in inside)
        for kind in {mended, LANYARD}:
            own = [i for i in inside if kinds[i.item_id] is kind]
            marks = Counter(m.component for i in own for m in i.marks)
            found = unit.reviews.mark_counts(kind, since=since, until=until)
            assert {count.component: count.marks for count in found} == dict(marks)
            for count in found:
                holding = [i for i in own if any(m.component is count.component for m in i.marks)]
                assert (count.inspections, count.items) == (len(holding), len({i.item_id for i in holding}))
            seen = Counter(
                part
                for i in own
                for part in {m.component for m in i.marks}
                | {p for p, a in i.answers.items() if a in (Answer.SOUND, Answer.DEFECT)}
            )
            assert dict(unit.reviews.looked_at(kind, since=since, until=until)) == dict(seen)
            order = {i.id: place for place, i in enumerate(history)}
            newest = sorted(own, key=lambda i: (i.at.date(), order[i.id]), reverse=True)
            webbing = [i.id for i in newest for m in i.marks if m.component is Component.WEBBING]
            marked = unit.reviews.marked(kind, Component.WEBBING, since=since, until=until, limit=2)
            assert [row.inspection_id for row in marked] == webbing[:2]
        shared = unit.reviews.shared_photos(since=since, until=until)
        assert {use.inspection_id for use in shared} == ({i.id for i in inside} if len(history) > 1 else set())
        people = unit.reviews.inspector_counts(since=since, until=until)
        assert Counter({(p.by, p.in_detail): 0 for p in people}) | Counter(
            (i.by, i.type is not InspectionType.BEFORE_USE) for i in inside
        ) == _summed((p.by, p.in_detail, p.inspections) for p in people)
        shown = unit.reviews.category_counts(since=since, until=until)
        assert dict(shown) == dict(Counter(c for i in inside for c in {m.category for m in i.marks}))


def _summed(rows: object) -> Counter[tuple[str, bool]]:
    total = Counter[tuple[str, bool]]()
    for by, detail, many in rows:  # type: ignore[attr-defined]
        total[by, detail] += many
    return total


def test_what_is_rolled_back_leaves_neither_count_nor_word(engine: Engine, units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        unit.photos.add(PHOTO)
        unit.items.add(made.item(), made.standing("item-1"))
        unit.inspections.add(made.inspection(1))
        unit.commit()
    before = _everything(engine)
    with units(write=True) as unit:
        unit.inspections.add(made.inspection(2, photos=(PHOTO.id,), corrects="inspection-1", note="zirconium"))
        assert unit.search.find("zirconium").hits
        unit.rollback()
    assert _everything(engine) == before
    assert _faults(engine) == ()
    with units() as unit:
        assert unit.search.find("zirconium").hits == ()


def _everything(engine: Engine) -> list[list[tuple[object, ...]]]:
    with engine.connect() as connection:
        return [[tuple(row) for row in connection.execute(sa.select(table))] for table in TABLES]


@pytest.mark.sqlite
def _shared(engine: Engine) -> list[str]:
    with engine.connect() as connection:
        return [row.photo_id for row in connection.execute(sa.select(shared_photos))]


@pytest.mark.sqlite
def test_a_tally_that_is_wrong_is_told(engine: Engine, units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))
        unit.inspections.add(made.inspection(1))
        unit.commit()
    with engine.begin() as connection:
        connection.exec_driver_sql("UPDATE inspection_tallies SET many = 5")
    assert [fault.split(" ")[0] for fault in _faults(engine)] == ["inspection_tallies"]


def test_a_store_that_was_filled_before_is_counted_and_worded_when_it_is_opened(folder: Path, engine: Engine) -> None:
    units = unit_of_work_factory(engine)
    with units(write=True) as unit:
        unit.photos.add(PHOTO)
        unit.items.add(made.item(7, tag="WL-0007"), made.standing("item-7"))
        unit.inspections.add(made.inspection(1, "item-7", photos=(PHOTO.id,)))
        unit.commit()
    kept = _everything(engine)
    with engine.connect().execution_options(**{WRITES: True}) as connection, connection.begin():
        for table in TABLES:
            connection.execute(sa.delete(table))
        connection.exec_driver_sql("UPDATE search_docs SET own = 'old', about = 'old', facets = 'old'")
        connection.execute(sa.delete(kept_settings))
        assert not is_fresh(connection)
    with units() as unit:
        assert unit.search.find("INDG367").hits == ()
    upgrade(engine)
    assert _everything(engine) == kept
    assert _faults(engine) == ()
    with units() as unit:
        assert [hit.inspection_id for hit in unit.search.find("INDG367").hits] == ["inspection-1"]
        assert [hit.inspection_id for hit in unit.search.find("wl-7").hits] == [None]
        assert unit.search.find("old").hits == ()
    with units(write=True) as unit:  # and the index follows again
        unit.items.update(made.item(7, tag="WL-0007", note="beryllium"))
        assert unit.search.find("beryllium").hits


@pytest.mark.sqlite
def test_an_upgrade_that_fails_while_it_counts_leaves_the_store_as_it_was(engine: Engine) -> None:
    with engine.begin() as connection:
        connection.execute(sa.delete(kept_settings))
        connection.exec_driver_sql("DROP TRIGGER search_docs_changed")
    with pytest.raises((TypeError, ValueError, IndexError)):
        upgrade(engine)
    with engine.connect() as connection:
        assert not is_fresh(connection)


@pytest.mark.parametrize(
    ("since", "until", "months", "edges"),
    [
        (None, None, (None, None), []),
        ("2025-01-01", "2025-03-31", ("2025-01", "2025-03"), []),
        ("2025-01-02", None, ("2025-02", None), [("2025-01-02", "2025-01-31")]),
        (None, "2025-03-30", (None, "2025-02"), [("2025-03-01", "2025-03-30")]),
        ("2025-01-02", "2025-01-05", None, [("2025-01-02", "2025-01-05")]),
        ("2025-01-01", "2025-01-05", None, [("2025-01-01", "2025-01-05")]),
        ("2025-01-05", "2025-01-31", None, [("2025-01-05", "2025-01-31")]),
        ("2025-01-31", "2025-02-01", None, [("2025-01-31", "2025-01-31"), ("2025-02-01", "2025-02-01")]),
        ("2024-12-31", "2025-02-28", ("2025-01", "2025-02"), [("2024-12-31", "2024-12-31")]),
    ],
)
def test_a_period_is_its_whole_months_and_the_days_outside_them(
    since: str | None, until: str | None, months: object, edges: list[tuple[str, str]]
) -> None:
    bounds = [date.fromisoformat(day) if day else None for day in (since, until)]
    expected = [(date.fromisoformat(a), date.fromisoformat(b)) for a, b in edges]
    assert whole_months(bounds[0], bounds[1]) == (months, expected)


def test_every_tally_is_refreshed_in_one_go_as_it_is_kept_step_by_step(engine: Engine) -> None:
    units = unit_of_work_factory(engine)
    other = made.photo_of(b"other")
    with units(write=True) as unit:
        unit.photos.add(PHOTO)
        unit.photos.add(other)
        unit.items.add(made.item(), made.standing("item-1"))
        for number in range(1, 4):
            photos = (PHOTO.id, other.id) if number == 3 else (PHOTO.id,)
            unit.inspections.add(
                made.inspection(number, photos=photos, corrects="inspection-1" if number == 2 else None)
            )
        unit.commit()
    kept = _everything(engine)
    assert _shared(engine) == [PHOTO.id]
    with engine.connect().execution_options(**{WRITES: True}) as connection, connection.begin():
        refresh(connection)
    assert _shared(engine) == [PHOTO.id]
    again = _everything(engine)
    assert [sorted(row for row in table if row[-1]) for table in again] == [
        sorted(row for row in table if row[-1]) for table in kept
    ]
