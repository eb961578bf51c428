"""The embedded database: durable, private, and clear about what is wrong with it."""

from __future__ import annotations

import sqlite3
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from sqlalchemy import event
from sqlalchemy.engine import Engine

from inspect_core.domain.errors import BadInput, Conflict, StoreFault
from inspect_core.ports import UnitOfWorkFactory
from storage.engine import FILE_NAME, integrity_faults, open_engine
from storage.migrations import upgrade
from storage.unit_of_work import unit_of_work_factory
from tests.storage import made

pytestmark = pytest.mark.sqlite


@pytest.mark.parametrize(
    ("pragma", "value"),
    [
        ("journal_mode", "wal"),
        ("synchronous", 2),  # FULL, https://www.sqlite.org/pragma.html#pragma_synchronous
        ("foreign_keys", 1),
        ("busy_timeout", 15000),
    ],
)
def test_every_connection_is_durable_and_checks_references(engine: Engine, pragma: str, value: object) -> None:
    with engine.connect() as one, engine.connect() as two:
        for connection in (one, two):
            assert connection.exec_driver_sql(f"PRAGMA {pragma}").scalar() == value


def test_a_missing_folder_is_made_for_its_owner_alone(tmp_path: Path) -> None:
    folder = tmp_path / "deep" / "store"
    open_engine(folder).dispose()
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert (folder / FILE_NAME).exists()


def test_a_file_can_be_named_by_url(tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    open_engine(f"sqlite:///{path}").dispose()
    assert path.exists()


@pytest.mark.parametrize(
    "address", ["mysql://host/x", "sqlite://", "sqlite:///:memory:", "://", "http://x", "sqlite:///x?mode=ro"]
)
def test_an_address_that_names_no_store_is_refused(address: str) -> None:
    with pytest.raises(BadInput, match="names no store"):
        open_engine(address)


def test_writing_takes_the_lock_at_once_and_reading_does_not(engine: Engine, units: UnitOfWorkFactory) -> None:
    begun: list[str] = []
    event.listen(engine, "before_cursor_execute", lambda *args: begun.append(args[2]))
    with units(write=True):
        pass
    with units():
        pass
    assert begun == ["BEGIN IMMEDIATE", "BEGIN"]


def test_a_file_that_is_no_database_is_told_and_left_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / FILE_NAME
    path.write_bytes(b"a shopping list, long enough to be read as a page " * 100)
    before = path.read_bytes()
    with pytest.raises(StoreFault, match="damaged"):
        upgrade(open_engine(tmp_path))
    assert path.read_bytes() == before


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(StoreFault):
        open_engine(tmp_path / "file" / "store")


def test_damage_inside_the_file_is_found(folder: Path) -> None:
    engine = open_engine(folder)
    with unit_of_work_factory(engine)(write=True) as unit:
        for number in range(1200):  # so many that the schema lies in the earlier half
            unit.items.add(made.item(number), made.standing(f"item-{number}"))
        unit.commit()
    engine.dispose()
    path = folder / FILE_NAME
    content = bytearray(path.read_bytes())
    for start in range(len(content) // 8192 * 4096, len(content), 4096):  # the later half of the pages
        content[start : start + 64] = b"\xff" * 64
    path.write_bytes(content)
    damaged = open_engine(folder)
    assert integrity_faults(damaged)
    with pytest.raises(StoreFault, match="damaged"), unit_of_work_factory(damaged)() as unit:
        unit.items.rows()
        unit.search.find("RIG-1000 harness lanyard")
    damaged.dispose()


@contextmanager
def _pragma(engine: Engine, *statements: str) -> Iterator[None]:
    """Every connection gets the statements when it is made and whenever it is handed out."""

    def run(connection: sqlite3.Connection, *_rest: object) -> None:
        for statement in statements:
            connection.execute(statement)

    event.listen(engine, "checkout", run)
    yield
    event.remove(engine, "checkout", run)


def test_a_full_disk_is_told_and_loses_nothing_that_was_there(engine: Engine, units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))
        unit.commit()
    pages = 0
    with engine.connect() as connection:
        pages = int(str(connection.exec_driver_sql("PRAGMA page_count").scalar()))
    full = _pragma(engine, f"PRAGMA max_page_count = {pages}")  # SQLite answers SQLITE_FULL beyond it
    with full, pytest.raises(StoreFault, match="disk is full"), units(write=True) as unit:
        for number in range(2, 500):
            unit.items.add(made.item(number, note="x" * 3000), made.standing(f"item-{number}"))
        unit.commit()
    with units() as unit:
        assert [row.item.tag for row in unit.items.rows()] == ["RIG-1"]


def test_a_store_that_may_only_be_read_is_told(engine: Engine, units: UnitOfWorkFactory) -> None:
    closed = _pragma(engine, "PRAGMA query_only = 1")
    with closed, pytest.raises(StoreFault, match="only be read"), units(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))


def test_a_store_that_somebody_keeps_busy_is_told(engine: Engine, units: UnitOfWorkFactory, folder: Path) -> None:
    other = sqlite3.connect(folder / FILE_NAME, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with _pragma(engine, "PRAGMA busy_timeout = 50"), pytest.raises(StoreFault, match="writing"), units(write=True):
        pass
    other.execute("ROLLBACK")
    other.close()
    with units(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))
        with pytest.raises(Conflict):
            unit.items.add(made.item(), made.standing("item-1"))


def test_a_store_that_too_many_use_at_once_is_told(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engine.pool, "_timeout", 0.05)
    held = [engine.connect() for _ in range(32)]
    with pytest.raises(StoreFault, match="Too many"), unit_of_work_factory(engine)():
        pass
    for connection in held:
        connection.close()


def test_a_broken_reference_is_found(engine: Engine, folder: Path) -> None:
    other = sqlite3.connect(folder / FILE_NAME)  # keys are off on a bare connection
    other.execute("INSERT INTO marks VALUES (7, 0, 'm', 'p', 'webbing', 'cut', 'line', '[]', '[]', '', '')")
    other.commit()
    other.close()
    assert any("marks" in fault for fault in integrity_faults(engine))
