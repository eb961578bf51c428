"""The account: what the tree and its signed head add to a save; a proof of a large tree; verify, archive, export."""

from __future__ import annotations

import atexit
import hashlib
import json
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import cache
from itertools import count
from pathlib import Path

from inspect_core.ledger import Frontier, inclusion_path, leaf_hash, next_entry, node_place
from inspect_core.usecases import account
from inspect_core.usecases.archive import archive
from inspect_core.usecases.export import Export, export
from inspect_core.usecases.verify import verify
from storage.engine import FILE_NAME, open_engine
from storage.unit_of_work import unit_of_work_factory
from tests.bench.registry import Job, bench
from tests.usecases.site import Site

_RECORDS = 1000
_names = count()


@cache
def _folder() -> Path:
    folder = Path(tempfile.mkdtemp(prefix="bench-account-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


@cache
def _site(name: str) -> Site:
    """A thousand inspections of ten items, every tenth with a photo."""
    site = Site(_folder() / name)
    items = [site.lanyard(f"LAN-{number}") for number in range(10)]
    photo = site.photo()
    for number in range(_RECORDS):
        photos = (photo,) if number % 10 == 0 else ()
        site.record(site.check(items[number % 10], f"check-{number}", photo_ids=photos))
    return site


@bench("account: record an inspection with a photo, signed")
def signed_save() -> Job:
    """Against the same save with neither tree nor head nor what stands beside a record, as it was before they came."""
    ours, before = _site("signed"), _site("unsigned")
    units = unit_of_work_factory(open_engine(_folder() / "unsigned"))
    before.services = replace(before.services, unit_of_work=units)
    with ours.services.unit_of_work() as uow:
        item = uow.items.get("item-LAN-1")
    (photo,) = (one.record.id for one in _photos(ours))

    def save(site: Site) -> None:
        site.record(site.check(item, f"bench-{next(_names)}", photo_ids=(photo,)))

    def plain() -> None:
        enter = account.enter
        account.enter = _plain_entry
        try:
            save(before)
        finally:
            account.enter = enter

    return Job(lambda: save(ours), plain, rounds=60, target_ratio=1.5)


def _plain_entry(uow, at, subject, subject_id, body):  # type: ignore[no-untyped-def]
    entry = next_entry(uow.ledger.head(), at, subject, subject_id, body)
    uow.ledger.add(entry)
    return entry


def _photos(site: Site):  # type: ignore[no-untyped-def]
    with site.services.unit_of_work() as uow:
        return uow.records.page("photo")


@bench("account: audit path out of a tree of 1,000,000")
def path() -> Job:
    """Nodes lie in memory, as the store keeps them by entry."""
    frontier, rows = Frontier(), {}
    for number in range(1, 1_000_001):
        rows[number] = frontier.add(leaf_hash(b"%d" % number))

    def node(level: int, position: int) -> bytes:
        number, place = node_place(level, position)
        return rows[number][place]

    return Job(lambda: inclusion_path(123_456, 1_000_000, node), target_ms=5.0)


@bench(f"account: verify a store of {_RECORDS:,} inspections")
def look() -> Job:
    """Every entry, record, photo and head."""
    site = _site("signed")
    return Job(lambda: verify(site.services), rounds=5)


def _written(write: Callable[[Path], object]) -> None:
    place = _folder() / f"out-{next(_names)}"
    write(place)
    shutil.rmtree(place)


@bench(f"account: archive of {_RECORDS:,} inspections with photos")
def bag() -> Job:
    """As a folder, every file forced to disk. The floor writes every row of the same tables as JSON and copies every
    file of the photos, each hashed and forced to disk."""
    site = _site("signed")
    folder = _folder() / "signed"
    return Job(
        lambda: _written(lambda place: archive(place, site.manager, site.services)),
        lambda: _written(lambda place: dump(place, folder)),
        rounds=5,
    )


def dump(place: Path, folder: Path) -> None:
    """Every row as a line of JSON by the bare driver, every photo copied; each file hashed and forced to disk."""
    place.mkdir()
    bare = sqlite3.connect(folder / FILE_NAME)
    made = "SELECT name FROM sqlite_master WHERE type = 'table' AND sql NOT LIKE '%fts5%'"
    for (table,) in bare.execute(made).fetchall():
        if not table.startswith(_LEFT_OUT):
            rows = bare.execute(f'SELECT * FROM "{table}"')  # noqa: S608 - a table of our own
            _write(place / f"{table}.jsonl", (json.dumps(row, default=bytes.hex).encode() + b"\n" for row in rows))
    bare.close()
    for photo in (folder / "photos").rglob("*"):
        if photo.is_file():
            _write(place / f"{photo.parent.name}-{photo.name}", [photo.read_bytes()])


#: What archives leave out, because it is worked out anew.
_LEFT_OUT = (
    "search_",
    "sqlite_",
    "tree_nodes",
    "inspection_tallies",
    "person_tallies",
    "part_tallies",
    "category_",
    "mark_",
)


def _write(path: Path, pieces: Iterable[bytes]) -> None:
    seen = hashlib.sha256()
    with path.open("wb") as file:
        for piece in pieces:
            seen.update(piece)
            file.write(piece)
        file.flush()
        os.fsync(file.fileno())


@bench(f"account: export a store of {_RECORDS:,} inspections as CSV")
def tables() -> Job:
    """Without photos."""
    site = _site("signed")
    wanted = Export(photos=False)
    return Job(lambda: _written(lambda place: export(place, wanted, site.manager, site.services)), rounds=5)
