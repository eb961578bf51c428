"""A store of any size, made in minutes: a pattern of inspections goes in as the program writes them, and the database
copies it on, further along in time, until there are enough.

A hundred inspections per item, every third with three photos and marks; ten kinds, twenty models, four sites, thirty
people. `BENCH_FOLDER` names a folder in which stores are kept for the next run; else they are removed at the end.
"""

# ruff: noqa: S608 - the SQL is made of names and numbers of this file alone

from __future__ import annotations

import atexit
import os
import shutil
import sqlite3
import tempfile
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from functools import cache
from itertools import count
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Engine

from inspect_core.domain.gear import Item, Kind
from inspect_core.domain.inspection import Inspection
from inspect_core.domain.photos import Photo
from storage import inspection_mapping as mapping
from storage.derived import tally_faults
from storage.engine import FILE_NAME, WRITES, open_engine
from storage.fts5 import REBUILD
from storage.indexed_words import facet, inspection_facets, inspection_words, words_about
from storage.migrations import upgrade
from storage.tables import (
    findings,
    inspection_photos,
    inspections,
    marks,
    photos,
    search_docs,
)
from storage.unit_of_work import unit_of_work_factory
from tests.storage import made

PER_ITEM = 100
FIRST = datetime(2015, 1, 1, 8, tzinfo=UTC)
WORDS = ("dusty", "wet", "sun", "hook", "stiff", "paint", "loose", "clean", "frayed", "old", "mud")
#: The pattern's length: it holds every turn of words (11), photos (3) and people (30) whole.
_PATTERN = 6600
_MINUTES = 5
_KINDS, _SITES, _MODELS, _PEOPLE = tuple(Kind), ("North yard", "South yard", "Mill", "Quay"), 20, 30


@dataclass(frozen=True)
class Store:
    """A filled store: our engine on it, a bare connection with the same settings, and numbers not yet in use."""

    size: int
    folder: Path
    engine: Engine
    bare: sqlite3.Connection
    fresh: Any

    @property
    def items(self) -> int:
        return max(1, self.size // PER_ITEM)

    def new_number(self) -> int:
        """Of an inspection with photos that is not in the store yet."""
        return 3 * (self.size // 3 + next(self.fresh))


def item_of(number: int) -> Item:
    return made.item(
        number,
        kind=_KINDS[number % len(_KINDS)],
        model=f"Model {number % _MODELS}",
        site=_SITES[number % len(_SITES)],
        price=100.0 + number % 7,
        first_used_on=(FIRST + timedelta(days=number % 900)).date(),
    )


def photos_of(number: int) -> tuple[Photo, ...]:
    """The three photos of an inspection that has some."""
    return tuple(made.photo_of(f"photo {number} {place}".encode()) for place in range(3))


def inspection_of(number: int, items: int) -> Inspection:
    words = [WORDS[(number * step) % len(WORDS)] for step in (1, 5, 7)]
    note = " ".join([*words, "zirconium"] if number == 7 else words)
    photos = tuple(photo.id for photo in photos_of(number)) if number % 3 == 0 else ()
    item = item_of(number % items)
    plain = made.inspection(
        number,
        item.id,
        photos,
        at=FIRST + timedelta(minutes=_MINUTES * number),
        note=note,
        site=item.site,
        by=f"p{number % _PEOPLE}",
    )
    drawn = tuple(replace(plain.marks[0], id=f"m{n}", photo_id=photo) for n, photo in enumerate(photos, 1))
    return replace(plain, marks=drawn)


@cache
def store_of(size: int) -> Store:
    """The store of so many inspections, filled the first time it is asked for."""
    kept = os.environ.get("BENCH_FOLDER")
    folder = Path(kept) / str(size) if kept else Path(tempfile.mkdtemp(prefix="bench-store-"))
    if not kept:
        atexit.register(shutil.rmtree, folder, ignore_errors=True)
    done = folder / "filled"
    if not done.exists():
        shutil.rmtree(folder, ignore_errors=True)
        _fill(folder, size)
        done.touch()
    engine = open_engine(folder)
    upgrade(engine)
    bare = sqlite3.connect(folder / FILE_NAME, isolation_level=None)
    for pragma in ("synchronous = FULL", "foreign_keys = ON", "cache_size = -16000"):
        bare.execute(f"PRAGMA {pragma}")
    (used,) = bare.execute("SELECT max(CAST(substr(id, 12) AS INTEGER)) FROM inspections").fetchone()
    return Store(size, folder, engine, bare, count((used - size) // 3 + 2))


def _fill(folder: Path, size: int) -> None:
    engine = open_engine(folder)
    upgrade(engine)
    items = max(1, size // PER_ITEM)
    with unit_of_work_factory(engine)(write=True) as unit:
        for number in range(3, min(size, _PATTERN) + 1, 3):
            for photo in photos_of(number):
                unit.photos.add(photo)
        for number in range(items):
            due = (FIRST + timedelta(days=number % 900)).date()
            unit.items.add(item_of(number), made.standing(f"item-{number}", next_due=due))
        for number in range(0, items, 4):
            unit.custody.add(made.withdrawal(number, f"item-{number}", None))
        unit.commit()
    bare = sqlite3.connect(folder / FILE_NAME, isolation_level=None)
    (trigger,) = bare.execute("SELECT sql FROM sqlite_master WHERE name = 'search_docs_added'").fetchone()
    bare.execute("DROP TRIGGER search_docs_added")
    pattern = [(n, inspection_of(n, items)) for n in range(1, min(size, _PATTERN) + 1)]
    with engine.connect().execution_options(**{WRITES: True}) as connection, connection.begin():
        for table, rows in _rows(pattern, items).items():
            connection.execute(sa.insert(table), rows)
    bare.executescript("PRAGMA synchronous = OFF; PRAGMA cache_size = -400000; BEGIN;")
    for statement in _copies(size, items):
        bare.execute(statement)
    for statement in _TALLIES:
        bare.execute(statement)
    # Withdrawals with the inspection behind them, so that retirements have reasons to look up.
    bare.execute(
        "UPDATE custody SET inspection_id = (SELECT id FROM inspections WHERE item_id = custody.item_id"
        " AND outcome = 'withdraw' LIMIT 1)"
    )
    bare.execute(trigger)
    bare.execute("COMMIT")
    for making in REBUILD:
        bare.execute(making)
    bare.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    bare.close()
    if size <= 20_000:
        with engine.connect() as connection:
            faults = tally_faults(connection)
            if faults:
                raise AssertionError(f"the bench counts otherwise than the program: {faults[:3]}")
    engine.dispose()


def _rows(pattern: list[tuple[int, Inspection]], items: int) -> dict[sa.Table, list[dict[str, Any]]]:
    return {
        inspections: [{"number": number, **mapping.inspection_values(one)} for number, one in pattern],
        inspection_photos: [row for number, one in pattern for row in mapping.photo_rows(number, one)],
        marks: [row for number, one in pattern for row in mapping.mark_rows(number, one)],
        findings: [row for number, one in pattern for row in mapping.finding_rows(number, one)],
        search_docs: [
            {
                "id": int((one.at - datetime(1, 1, 1, tzinfo=UTC)).total_seconds()) * 64,
                "item_id": one.item_id,
                "inspection_id": one.id,
                "day": one.at.date(),
                "own": inspection_words(one),
                "about": words_about(item_of(number % items)),
                "facets": inspection_facets(one, ""),
            }
            for number, one in pattern
        ],
    }


#: A photo of its own for each copy.
_PHOTO = "substr(n.photo_id, 1, 52) || printf('%012d', k.step)"


def _copies(size: int, items: int) -> list[str]:
    """SQL that copies the pattern on until there are `size` inspections."""
    if size <= _PATTERN:
        return []
    own = "(n.number + k.step)"
    changed = {
        "number": own,
        "id": f"'inspection-' || {own}",
        "item_id": f"'item-' || ({own} % {items})",
        "at": f"strftime('%Y-%m-%d %H:%M:%f', n.at, (k.step * {_MINUTES}) || ' minutes') || '000'",
        "day": f"date(n.at, (k.step * {_MINUTES}) || ' minutes')",
        "month": f"strftime('%Y-%m', n.at, (k.step * {_MINUTES}) || ' minutes')",
        "site": f"(SELECT w.site FROM bench_words w WHERE w.item = {own} % {items})",
        "photo_id": _PHOTO,
        "by": f"'p' || ({own} % {_PEOPLE})",
    }
    until = f"WHERE n.number <= {_PATTERN} AND {own} <= {size}"
    children = f"WHERE n.inspection <= {_PATTERN} AND n.inspection + k.step <= {size}"
    statements = [
        "CREATE TEMP TABLE bench_steps (step INTEGER PRIMARY KEY)",
        f"WITH RECURSIVE s (step) AS (SELECT {_PATTERN} UNION ALL SELECT step + {_PATTERN} FROM s"
        f" WHERE step + {_PATTERN} < {size}) INSERT INTO bench_steps SELECT step FROM s",
        "CREATE TEMP TABLE bench_words (item INTEGER PRIMARY KEY, about, facet, site, site_facet)",
        *(
            f"INSERT INTO bench_words VALUES ({number}, '{words_about(item_of(number))}',"
            f" '{facet('item', f'item-{number}')}', '{item_of(number).site}',"
            f" '{facet('site', item_of(number).site)}')"
            for number in range(items)
        ),
        _copy(photos, {"id": _PHOTO.replace("photo_id", "id")}, "n", ""),
        _copy(inspections, changed, "n", until),
    ]
    for table in (inspection_photos, marks, findings):
        of_inspection = {"inspection": "n.inspection + k.step", "photo_id": _PHOTO}
        statements.append(_copy(table, of_inspection, "n", children))
    # A document's facets name item, site and person; the others are the pattern's own.
    number = "(n.number + k.step)"
    statements.append(
        "INSERT INTO search_docs (id, item_id, inspection_id, day, own, about, facets)"
        f" SELECT d.id + k.step * {_MINUTES * 60 * 64}, 'item-' || w.item, 'inspection-' || {number},"
        f" date(n.at, (k.step * {_MINUTES}) || ' minutes'), replace(d.own, ' zirconium', ''), w.about,"
        " replace(replace(d.facets, o.facet, w.facet), o.site_facet, w.site_facet)"
        f" FROM search_docs d JOIN bench_steps k JOIN bench_words w ON w.item = {number} % {items}"
        " JOIN inspections n ON n.id = d.inspection_id"
        f" JOIN bench_words o ON o.item = n.number % {items}"
        f" WHERE n.number <= {_PATTERN} AND {number} <= {size}"
    )
    return statements


def _copy(table: sa.Table, changed: dict[str, str], alias: str, where: str) -> str:
    names = [column.name for column in table.columns]
    columns = ", ".join(f'"{name}"' for name in names)
    values = ", ".join(changed.get(name, f'{alias}."{name}"') for name in names)
    source = f"FROM {table.name} {alias} CROSS JOIN bench_steps k {where}"
    return f"INSERT INTO {table.name} ({columns}) SELECT {values} {source}"


_MODEL = "trim(i.maker || ' ' || i.model)"
_OF = "FROM inspections n JOIN items i ON i.id = n.item_id"
#: What `storage.tallies` keeps, counted in one go. Checked against it in the small stores.
_TALLIES = (
    *(f"DELETE FROM {name}" for name in ("inspection_tallies", "person_tallies", "part_tallies", "category_tallies")),
    "DELETE FROM mark_tallies",
    "DELETE FROM mark_items",
    f"INSERT INTO inspection_tallies SELECT n.month, i.kind, {_MODEL}, n.site, n.outcome, count(*) {_OF}"
    " GROUP BY 1, 2, 3, 4, 5",
    f'INSERT INTO person_tallies SELECT n.month, n."by", i.kind, {_MODEL}, n.site, n.type, n.outcome, count(*) {_OF}'
    " GROUP BY 1, 2, 3, 4, 5, 6, 7",
    # Every inspection of the pattern answers the same two parts, and marks only the webbing.
    f"INSERT INTO part_tallies SELECT i.kind, n.month, a.key, {_MODEL}, n.site, count(*),"
    f" sum(a.key = 'webbing' AND n.number % 3 = 0) {_OF} JOIN json_each(n.answers) a GROUP BY 1, 2, 3, 4, 5",
    f"INSERT INTO category_tallies SELECT n.month, i.kind, {_MODEL}, n.site, 'cut', count(*) {_OF}"
    " WHERE n.number % 3 = 0 GROUP BY 1, 2, 3, 4",
    f"INSERT INTO mark_tallies SELECT i.kind, n.month, 'webbing', 'cut', {_MODEL}, n.site, 3 * count(*) {_OF}"
    " WHERE n.number % 3 = 0 GROUP BY 1, 2, 5, 6",
    f"INSERT INTO mark_items SELECT i.kind, 'webbing', n.month, {_MODEL}, n.site, i.id, 3 * count(*) {_OF}"
    " WHERE n.number % 3 = 0 GROUP BY 1, 3, 4, 5, 6",
)
