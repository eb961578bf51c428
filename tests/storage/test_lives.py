"""An item's life is read a page at a time: every entry once, in order, and never more than a page needs."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import event
from sqlalchemy.engine import Engine

from inspect_core.domain.custody import CustodyEvent, Move, State
from inspect_core.domain.errors import BadInput, Conflict
from inspect_core.domain.gear import Component
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.life import Look, Wanted
from inspect_core.domain.marks import Category
from inspect_core.domain.saved_search import SavedSearch
from inspect_core.ports import UnitOfWork, UnitOfWorkFactory
from storage.work import Work
from tests.storage import made

PHOTOS = tuple(made.photo_of(f"photo {n}".encode()) for n in range(5))


def fill(unit: UnitOfWork, many: int) -> None:
    """A life of that many inspections; every second with five photos and two marks, every tenth a release by hand."""
    for photo in PHOTOS:
        unit.photos.add(photo)
    unit.items.add(made.item(), made.standing("item-1"))
    for number in range(1, many + 1):
        photos = tuple(photo.id for photo in PHOTOS) if number % 2 == 0 else ()
        kind = InspectionType.PERIODIC if number % 3 else InspectionType.BEFORE_USE
        one = made.inspection(number, photos=photos, type=kind, at=made.NOW + timedelta(days=3 * (number // 2)))
        if photos:
            cut = one.marks[0]
            burn = replace(cut, id="m2", photo_id=photos[3], component=Component.LABEL, category=Category.BURN)
            one = replace(one, marks=(cut, burn) if number % 4 else (cut,))
        unit.inspections.add(one)
        if number % 10 == 0:
            unit.custody.add(
                CustodyEvent(
                    f"move-{number}",
                    "item-1",
                    one.at,
                    "p1",
                    Move.RELEASE,
                    State.ON_HOLD,
                    State.IN_SERVICE,
                    "Found fit.",
                    one.id,
                )
            )


@pytest.fixture
def filled(units: UnitOfWorkFactory) -> UnitOfWorkFactory:
    with units(write=True) as unit:
        fill(unit, 60)
        unit.commit()
    return units


def every_page(unit: UnitOfWork, wanted: Wanted, limit: int) -> list[Any]:
    found: list[Any] = []
    after: str | None = None
    while True:
        page = unit.life.page("item-1", wanted, limit=limit, after=after)
        assert len(page.entries) <= limit
        found += page.entries
        if (after := page.after) is None:
            return found


@pytest.mark.parametrize("limit", [1, 7, 20, 5000])
def test_pages_together_are_the_whole_life_each_entry_once(filled: UnitOfWorkFactory, limit: int) -> None:
    with filled() as unit:
        whole = unit.inspections.of_item("item-1")
        found = every_page(unit, Wanted(), limit)
        looks = [entry for entry in found if isinstance(entry, Look)]
        moves = [entry for entry in found if not isinstance(entry, Look)]
        assert [look.id for look in looks] == [one.id for one in whole]
        assert [move.id for move in moves] == [f"move-{n}" for n in range(60, 0, -10)]
        assert [entry.at for entry in found] == sorted((entry.at for entry in found), reverse=True)
        for look, one in zip(looks, whole, strict=True):
            assert (look.type, look.at, look.by, look.outcome, look.note) == (
                one.type,
                one.at,
                one.by,
                one.outcome,
                one.note,
            )
            assert look.marks == one.marks
            assert look.deciding == one.decision.deciding
            assert tuple(photo.id for photo in look.photos) == one.photo_ids


@pytest.mark.parametrize(
    "wanted",
    [
        Wanted(component=Component.LABEL),
        Wanted(category=Category.CUT),
        Wanted(component=Component.LABEL, category=Category.CUT),
        Wanted(type=InspectionType.PERIODIC),
        Wanted(category=Category.BURN, type=InspectionType.BEFORE_USE, year=2025),
        Wanted(year=2024),
    ],
)
def test_filters_leave_what_fits(filled: UnitOfWorkFactory, wanted: Wanted) -> None:
    def fits(one: Any) -> bool:
        marked = any(
            wanted.component in (None, mark.component) and wanted.category in (None, mark.category)
            for mark in one.marks
        )
        return (
            (marked or (wanted.component is None and wanted.category is None))
            and wanted.type in (None, one.type)
            and wanted.year in (None, one.at.year)
        )

    with filled() as unit:
        whole = [one for one in unit.inspections.of_item("item-1") if fits(one)]
        found = every_page(unit, wanted, 7)
        assert [entry.id for entry in found if isinstance(entry, Look)] == [one.id for one in whole]
        assert all(isinstance(entry, Look) for entry in found) or not wanted.inspections_only


def test_a_corrected_inspection_says_so(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))
        unit.inspections.add(made.inspection(1))
        unit.inspections.add(made.inspection(2, corrects="inspection-1"))
        page = unit.life.page("item-1", Wanted())
        assert [(entry.id, entry.corrected) for entry in page.entries if isinstance(entry, Look)] == [
            ("inspection-2", False),
            ("inspection-1", True),
        ]
        assert [one.inspection_id for one in unit.life.measured("item-1")] == []
        told = {hit.inspection_id: hit.corrected for hit in unit.search.find("").hits}
        assert told == {None: False, "inspection-2": False, "inspection-1": True}


def test_what_lies_around_an_inspection_is_what_its_whole_life_says(filled: UnitOfWorkFactory) -> None:
    with filled(write=True) as unit:
        for number, corrected in ((90, 4), (91, 4)):
            at = made.NOW + timedelta(days=500 + number)
            unit.inspections.add(made.inspection(number, corrects=f"inspection-{corrected}", at=at))
        unit.commit()
    with filled() as unit:
        life = unit.inspections.of_item("item-1")
        for one in life:
            earlier = sum(other.at < one.at for other in life)
            correcting = sorted((o for o in life if o.corrects == one.id), key=lambda o: o.at, reverse=True)
            assert unit.life.around(one.id) == (earlier, tuple(o.id for o in correcting))
    assert [one.id for one in life if one.corrects] != []


def test_a_row_that_comes_again_makes_the_same_entry_and_a_changed_one_another(filled: UnitOfWorkFactory) -> None:
    with filled() as unit:
        first, again = unit.life.page("item-1", Wanted()), unit.life.page("item-1", Wanted())
    assert first == again
    newest = next(entry for entry in first.entries if isinstance(entry, Look))
    with filled(write=True) as unit:
        unit.inspections.add(made.inspection(90, corrects=newest.id, at=newest.at + timedelta(days=1)))
        unit.commit()
    with filled() as unit:
        entries = unit.life.page("item-1", Wanted()).entries
    changed = next(entry for entry in entries if isinstance(entry, Look) and entry.id == newest.id)
    assert not newest.corrected and changed == replace(newest, corrected=True)


def test_pictures_come_in_the_order_taken_of_the_newest_inspection_first(filled: UnitOfWorkFactory) -> None:
    with filled() as unit:
        whole = [(one.id, photo) for one in unit.inspections.of_item("item-1") for photo in one.photo_ids]
        found: list[Any] = []
        after = None
        while True:
            page = unit.life.pictures("item-1", Wanted(), limit=24, after=after)
            found += page.pictures
            if (after := page.after) is None:
                break
        assert [(one.inspection_id, one.photo.id) for one in found] == whole
        burnt = unit.life.pictures("item-1", Wanted(category=Category.BURN), limit=100).pictures
        assert {one.photo.id for one in burnt} == {PHOTOS[3].id} and len(burnt) == 15
        assert burnt[0].shown == ((Component.LABEL, Category.BURN),)


def test_figures_count_the_life(filled: UnitOfWorkFactory) -> None:
    with filled() as unit:
        figures = unit.life.figures("item-1")
    assert (figures.inspections, figures.photos) == (60, 150)
    assert figures.photos_by_year == {2025: 150}
    assert figures.shown == ((Component.LABEL, Category.BURN), (Component.WEBBING, Category.CUT))
    assert figures.types == (InspectionType.BEFORE_USE, InspectionType.PERIODIC)


def test_readings_come_oldest_first_with_the_limit_that_weighed_them(filled: UnitOfWorkFactory) -> None:
    with filled() as unit:
        found = [one for one in unit.life.measured("item-1") if one.component is Component.WEBBING]
        assert len(found) == 30
        assert found == sorted(found, key=lambda one: one.at)
        assert found[0].limits == ((0.0, "webbing-cut"),)
        assert (found[0].reading.value, found[0].reading.uncertainty) == (1.0, 0.3)
        seen = unit.life.comparable("item-1", Component.LABEL)
        assert len(seen) == 15 and {one.photo.id for one in seen} == {PHOTOS[3].id}
        assert seen == tuple(sorted(seen, key=lambda one: one.at, reverse=True))


@contextmanager
def counted(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> Iterator[dict[str, int]]:
    """Statements sent, and rows fetched."""
    seen = {"statements": 0, "rows": 0}

    def sent(*_arguments: object) -> None:
        seen["statements"] += 1

    def fetched(name: str) -> None:
        real = getattr(Work, name)

        def wrapped(self: Work, *arguments: Any, **named: Any) -> Any:
            rows = real(self, *arguments, **named)
            seen["rows"] += len(rows)
            return rows

        monkeypatch.setattr(Work, name, wrapped)

    fetched("rows")
    fetched("driven")
    event.listen(engine, "before_cursor_execute", sent)
    yield seen
    event.remove(engine, "before_cursor_execute", sent)
    monkeypatch.undo()


@pytest.mark.parametrize("wanted", [Wanted(), Wanted(category=Category.CUT)])
def test_the_first_page_reads_as_much_of_a_long_life_as_of_a_short_one(
    engine: Engine, units: UnitOfWorkFactory, monkeypatch: pytest.MonkeyPatch, wanted: Wanted
) -> None:
    with units(write=True) as unit:
        fill(unit, 200)
        unit.commit()
    with units() as unit, counted(engine, monkeypatch) as page:
        assert len(unit.life.page("item-1", wanted).entries) == 20
    # Inspections, moves, marks, findings, photos: one statement each, and not a row more than the page shows and one.
    assert page["statements"] <= 5
    assert page["rows"] <= 21 + 21 + 20 * (2 + 1 + 5)
    with units() as unit, counted(engine, monkeypatch) as pictures:
        assert len(unit.life.pictures("item-1", wanted).pictures) == 24
    assert pictures["statements"] <= 3 and pictures["rows"] <= 25 + 24 * 2


@pytest.mark.parametrize("after", ["", "x", "1.2", "1.2.3.4", "-1.2.3", "9" * 30 + ".1.1", "99999999999999999999.1.1"])
def test_a_key_that_no_page_gave_is_refused(filled: UnitOfWorkFactory, after: str) -> None:
    with filled() as unit:
        if not after:
            assert unit.life.page("item-1", Wanted(), after=after).entries
            return
        with pytest.raises(BadInput):
            unit.life.page("item-1", Wanted(), after=after)
        with pytest.raises(BadInput):
            unit.life.pictures("item-1", Wanted(), after=after)


def test_searches_are_saved_changed_and_deleted(units: UnitOfWorkFactory) -> None:
    mine = SavedSearch("s1", "Cuts this year", "p1", {"text": "cut"}, "p1", made.NOW)
    ours = SavedSearch("s2", "Burns", "", {"categories": ["burn"]}, "p1", made.NOW)
    with units(write=True) as unit:
        unit.saved_searches.save(mine)
        unit.saved_searches.save(ours)
        unit.commit()
    with units(write=True) as unit:
        assert [one.id for one in unit.saved_searches.of("p1")] == ["s2", "s1"]
        assert [one.id for one in unit.saved_searches.of("p2")] == ["s2"]
        with pytest.raises(Conflict, match="saved already"):
            unit.saved_searches.save(replace(mine, id="s3", name="cuts  THIS year"))
        unit.saved_searches.save(replace(mine, name="Cuts", query={"text": "cut rope"}))
        assert unit.saved_searches.find("s1") == replace(mine, name="Cuts", query={"text": "cut rope"})
        unit.saved_searches.delete("s1")
        assert unit.saved_searches.find("s1") is None
        unit.commit()
