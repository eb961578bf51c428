"""The store: one save, one item's history, pages of search, lists and counts, each against bare SQL.

`BENCH_INSPECTIONS=1000000 python -m tests.bench store` fills a store of that size first (default 20,000; a hundred
inspections per item, every third with three photos and marks). A floor sends the statements that ours sends
through Python's own driver on the same file, fetches every row and builds nothing from it.
"""

from __future__ import annotations

import atexit
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import cache
from itertools import count
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy import event
from sqlalchemy.engine import Engine

from inspect_core.domain.decision import Outcome
from inspect_core.domain.inspection import Inspection
from inspect_core.domain.marks import Category
from inspect_core.ledger import next_entry
from inspect_core.ports import UnitOfWork
from storage import inspection_mapping as mapping
from storage.engine import FILE_NAME, WRITES, open_engine
from storage.indexed_words import inspection_facets, inspection_words, words_about
from storage.migrations import upgrade
from storage.tables import findings, inspection_photos, inspections, marks, search_docs
from storage.unit_of_work import unit_of_work_factory
from tests.bench.registry import Job, bench
from tests.storage import made

_MANY = int(os.environ.get("BENCH_INSPECTIONS", "20000"))
_PER_ITEM = 100
_ITEMS = max(1, _MANY // _PER_ITEM)
_FIRST = datetime(2015, 1, 1, 8, tzinfo=UTC)
_PHOTOS = tuple(made.photo_of(f"photo {n}".encode()) for n in range(3))
_WORDS = ("dusty", "wet", "sun", "hook", "stiff", "paint", "loose", "clean", "frayed", "old", "mud")
_SIZE = f"store of {_MANY:,} inspections: "
_fresh = count(_MANY + 1)


def _inspection(number: int) -> Inspection:
    words = [_WORDS[(number * step) % len(_WORDS)] for step in (1, 5, 7)]
    note = " ".join([*words, "zirconium"] if number == 7 else words)
    at = _FIRST + timedelta(minutes=5 * number)
    photos = tuple(photo.id for photo in _PHOTOS) if number % 3 == 0 else ()
    plain = made.inspection(number, f"item-{number % _ITEMS}", photos, at=at, note=note)
    drawn = tuple(replace(plain.marks[0], id=f"m{n}", photo_id=photo) for n, photo in enumerate(photos, 1))
    return replace(plain, marks=drawn)


@cache
def _store() -> tuple[Engine, sqlite3.Connection]:
    """The filled store, and a bare connection to it with the same settings."""
    folder = Path(tempfile.mkdtemp(prefix="bench-store-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    engine = open_engine(folder)
    upgrade(engine)
    with unit_of_work_factory(engine)(write=True) as unit:
        for photo in _PHOTOS:
            unit.photos.add(photo)
        for item in range(_ITEMS):
            due = (_FIRST + timedelta(days=item % 900)).date()
            unit.items.add(made.item(item), made.standing(f"item-{item}", next_due=due))
        for item in range(0, _ITEMS, 4):
            unit.custody.add(made.withdrawal(item, f"item-{item}", None))
        unit.commit()
    for start in range(1, _MANY + 1, 5000):
        with engine.connect().execution_options(**{WRITES: True}) as connection, connection.begin():
            _fill(connection, [(n, _inspection(n)) for n in range(start, min(start + 5000, _MANY + 1))])
    bare = sqlite3.connect(folder / FILE_NAME, isolation_level=None)
    bare.execute("PRAGMA synchronous = FULL")
    bare.execute("PRAGMA foreign_keys = ON")
    bare.execute("PRAGMA cache_size = -16000")
    # Withdrawals with the inspection behind them, so that retirements have reasons to look up.
    bare.execute(
        "UPDATE custody SET inspection_id = (SELECT id FROM inspections WHERE item_id = custody.item_id"
        " AND outcome = 'withdraw' LIMIT 1)"
    )
    bare.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return engine, bare


def _fill(connection: sa.Connection, batch: list[tuple[int, Inspection]]) -> None:
    rows: dict[sa.Table, list[dict[str, Any]]] = {
        inspections: [{"number": number, **mapping.inspection_values(one)} for number, one in batch],
        inspection_photos: [row for number, one in batch for row in mapping.photo_rows(number, one)],
        marks: [row for number, one in batch for row in mapping.mark_rows(number, one)],
        findings: [row for number, one in batch for row in mapping.finding_rows(number, one)],
        search_docs: [
            {
                "id": int((one.at - datetime(1, 1, 1, tzinfo=UTC)).total_seconds()) * 64,
                "item_id": one.item_id,
                "inspection_id": one.id,
                "day": one.at.date(),
                "own": inspection_words(one),
                "about": words_about(made.item(number % _ITEMS)),
                "facets": inspection_facets(one, ""),
            }
            for number, one in batch
        ],
    }
    for table, values in rows.items():
        if values:
            connection.execute(sa.insert(table), values)


Sent = list[tuple[str, Any, bool]]


def _sent(call: Callable[[], object]) -> Sent:
    """The statements that a call sends, with their values."""
    engine, _ = _store()
    sent: Sent = []

    def note(_connection: Any, _cursor: Any, sql: str, values: Any, _context: Any, many: bool) -> None:
        sent.append((sql, values, many))

    event.listen(engine, "before_cursor_execute", note)
    call()
    event.remove(engine, "before_cursor_execute", note)
    return sent


def _replay(sent: Iterable[tuple[str, Any, bool]], end: str) -> None:
    _, bare = _store()
    for sql, values, many in sent:
        if many:
            bare.executemany(sql, values)
        else:
            bare.execute(sql, values).fetchall()
    bare.execute(end)


def _reading(read: Callable[[UnitOfWork], object], **aims: Any) -> Job:
    engine, _ = _store()
    units = unit_of_work_factory(engine)

    def ours() -> object:
        with units() as unit:
            return read(unit)

    sent = _sent(ours)
    return Job(ours, lambda: _replay(sent, "ROLLBACK"), note=f"{len(sent) - 1} statements", **aims)


@bench(_SIZE + "save one with 3 photos, marks, move, ledger")
def save() -> Job:
    """Everything that recording one inspection writes, durable; the floor repeats its statements with new keys."""
    engine, bare = _store()
    units = unit_of_work_factory(engine)

    def record(number: int) -> None:
        one = _inspection(number)
        with units(write=True) as unit:
            assert unit.inspections.find(one.id) is None
            unit.inspections.add(one)
            unit.custody.add(made.withdrawal(number, one.item_id, one.id))
            unit.items.set_standing(made.standing(one.item_id, last_inspection_id=one.id))
            unit.ledger.add(next_entry(unit.ledger.head(), made.NOW, "inspection", one.id, {"id": one.id}))
            unit.commit()

    pattern = _new_number()
    sent = _sent(lambda: record(pattern))
    top = "SELECT (SELECT max(number) FROM inspections), (SELECT max(number) FROM ledger), max(id) FROM search_docs"
    row, _, document = bare.execute(top + " WHERE inspection_id = ?", (f"inspection-{pattern}",)).fetchone()

    def floor() -> None:
        number = _new_number()
        rows, entries, _ = bare.execute(top + " WHERE id = 0").fetchone()
        keys = {
            f"inspection-{pattern}": f"inspection-{number}",
            f"move-{pattern}": f"move-{number}",
            row: rows + 1,
            document: document + (number - pattern) * 300 * 64,  # five minutes, as `_inspection` counts
        }
        _replay([(sql, _with(keys, sql, values, many, entries), many) for sql, values, many in sent], "COMMIT")

    return Job(lambda: record(_new_number()), floor, rounds=40, target_ratio=3.0, note=f"{len(sent) + 1} statements")


def _new_number() -> int:
    """Of an inspection with photos that is not in the store yet."""
    return 3 * next(_fresh)


def _with(keys: dict[Any, Any], sql: str, values: Any, many: bool, entries: int) -> Any:
    if many:
        return [_with(keys, sql, row, False, entries) for row in values]
    if sql.startswith("INSERT INTO ledger"):
        return (entries + 1, *values[1:-1], os.urandom(32).hex())
    return tuple(keys.get(value, value) for value in values)


@bench(_SIZE + "history of one item, whole")
def history() -> Job:
    """A hundred inspections with their photos, marks and findings."""
    return _reading(lambda unit: unit.inspections.of_item("item-3"))


@bench(_SIZE + "history of one item, newest 20")
def history_page() -> Job:
    """What a history page shows first."""
    return _reading(lambda unit: unit.inspections.of_item("item-3", limit=20), target_ms=5.0, target_ratio=2.0)


@bench(_SIZE + "search, rare word")
def search_rare() -> Job:
    """One inspection of all holds it."""
    return _reading(lambda unit: unit.search.find("zirconium"), target_ms=50.0, target_ratio=2.0)


@bench(_SIZE + "search, common word")
def search_common() -> Job:
    """A third of all inspections hold it."""
    return _reading(lambda unit: unit.search.find("frayed"), target_ms=50.0, target_ratio=2.0)


@bench(_SIZE + "search, three words and a tag")
def search_words() -> Job:
    """The item's tag with words of its inspections."""
    return _reading(lambda unit: unit.search.find("RIG-3 frayed store room"), target_ms=50.0, target_ratio=2.0)


@bench(_SIZE + "search, two letters")
def search_letters() -> Job:
    """What the third key press would send."""
    return _reading(lambda unit: unit.search.find("fr"), target_ms=50.0)


@bench(_SIZE + "search, one letter")
def search_letter() -> Job:
    """What the first key press would send."""
    return _reading(lambda unit: unit.search.find("f"), target_ms=50.0)


@bench(_SIZE + "search, word with filters")
def search_filtered() -> Job:
    """Every filter at once, on a common word."""
    return _reading(
        lambda unit: unit.search.find(
            "frayed",
            sites=["North yard"],
            categories=[Category.CUT],
            outcomes=[Outcome.WITHDRAW],
            since=date(2015, 1, 10),
            until=date(2015, 1, 20),
        ),
        target_ms=50.0,
    )


@bench(_SIZE + "what is due, first 50")
def due() -> Job:
    """The list of the first screen."""
    return _reading(lambda unit: unit.items.rows(due_by=date(2016, 1, 1), limit=50), target_ratio=2.0)


@bench(_SIZE + "retirements with reasons")
def retirements() -> Job:
    """A quarter of all items."""
    return _reading(lambda unit: unit.reviews.retirements(), rounds=5)


@bench(_SIZE + "inspections per month")
def per_month() -> Job:
    """Counted over everything."""
    return _reading(lambda unit: unit.reviews.inspections_per_month(), rounds=5)
