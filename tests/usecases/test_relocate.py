"""A store moves from one folder to another; tests/engines/test_moving.py does the same with servers."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from inspect_core import bootstrap
from inspect_core.domain.custody import Move
from inspect_core.domain.errors import Conflict, NotAllowed, StoreFault
from inspect_core.domain.jobs import JobKind
from inspect_core.usecases import jobs
from inspect_core.usecases import relocate as moving
from inspect_core.usecases.archive import archive
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.due_calendar import keep_calendar, kept_calendar
from inspect_core.usecases.relocate import Relocated, relocate, reopen
from inspect_core.usecases.services import Services
from inspect_core.usecases.verify import verify
from tests.usecases import tampered
from tests.usecases.patient import Patient

pytestmark = pytest.mark.sqlite  # folders are built beside their place and renamed
MANAGER = "person-manager"
HOLD = MakeMove("hold-9", "item-LAN-002", Move.HOLD, MANAGER, "found on the floor")


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("relocated") / "store"
    tampered.filled(folder)
    return folder


@pytest.fixture
def store(template: Path, tmp_path: Path) -> Path:
    return tampered.copy_of(template, tmp_path / "store")


def moved(source: Path, target: Path, by: str = MANAGER, **more: Any) -> Relocated:
    services = bootstrap.open_services(str(source), closed=True)
    try:
        return relocate(services, str(target), by, bootstrap.open_services, **more)
    finally:
        services.close()


def rows(services: Services) -> dict[str, Any]:
    with services.unit_of_work() as uow:
        return {table: list(uow.rows.read(table)) for table in uow.rows.tables(secrets=True)}


def test_every_record_photo_and_head_is_there_afterwards_and_the_old_place_takes_no_more(
    store: Path, tmp_path: Path
) -> None:
    told = moved(store, tmp_path / "new")
    old, new = bootstrap.open_services(str(store)), bootstrap.open_services(str(tmp_path / "new"))
    assert verify(new) == verify(old) and verify(new).faults == ()
    assert rows(new) == rows(old) and list(new.photos.ids()) == list(old.photos.ids())
    assert told.place == str(tmp_path / "new") and told.key_taken
    with pytest.raises(Conflict, match="nothing is recorded here any more"):
        make_move(HOLD, old)
    archive(tmp_path / "bag", MANAGER, old)  # it can still be read, and taken along
    make_move(HOLD, new)
    account = verify(new)
    assert account.faults == () and not any("key was changed" in notice for notice in account.notices)
    old.close()
    new.close()


def test_nobody_records_in_the_old_place_while_it_moves(
    store: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("storage.engine.PATIENCE", 0.1)
    other = bootstrap.open_services(str(store))
    refused: list[str] = []

    def progress(done: int, total: int, words: str) -> None:
        if words in refused:
            return
        with pytest.raises(StoreFault, match="Somebody else is writing"):
            make_move(HOLD, other)
        refused.append(words)

    moved(store, tmp_path / "new", progress=progress)
    other.close()
    assert {"photos", "records: items", "words and counts", "tree", "entries"} <= set(refused)


def test_a_place_that_was_given_up_is_opened_again_on_purpose_only(store: Path, tmp_path: Path) -> None:
    moved(store, tmp_path / "new")
    with pytest.raises(Conflict, match="were moved to"):
        moved(store, tmp_path / "third")
    assert not (tmp_path / "third").exists()
    services = bootstrap.open_services(str(store), closed=True)
    with pytest.raises(NotAllowed):
        reopen(services, "person-worker")
    reopen(services, MANAGER)
    with pytest.raises(Conflict, match="were not moved anywhere"):
        reopen(services, MANAGER)
    services.close()
    services = bootstrap.open_services(str(store))
    make_move(HOLD, services)
    assert verify(services).faults == ()
    services.close()


def test_a_worker_moves_nothing_and_an_empty_store_has_nothing_to_move(store: Path, tmp_path: Path) -> None:
    with pytest.raises(NotAllowed, match="may not move the records"):
        moved(store, tmp_path / "new", by="person-worker")
    with pytest.raises(Conflict, match="is not empty"):
        moved(store, store)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["store"]


def test_a_damaged_photo_stops_the_move_and_nothing_is_left(store: Path, tmp_path: Path) -> None:
    file = next((store / "photos").rglob("original"))
    file.chmod(0o600)
    file.write_bytes(b"another picture")
    with pytest.raises(StoreFault, match="is missing or damaged"):
        moved(store, tmp_path / "new")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["store"]
    services = bootstrap.open_services(str(store))
    make_move(HOLD, services)
    services.close()


def test_a_changed_copy_of_a_photo_stops_the_move(store: Path, tmp_path: Path) -> None:
    file = next((store / "photos").rglob("preview"))
    file.chmod(0o600)
    file.write_bytes(b"another picture")
    with pytest.raises(StoreFault, match="preview copy of photo"):
        moved(store, tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_a_new_place_that_ends_elsewhere_is_thrown_away(
    store: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(moving, "verify", lambda services, **_: replace(verify(services), head="0" * 64))
    with pytest.raises(StoreFault, match="ends elsewhere"):
        moved(store, tmp_path / "new")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["store"]


def test_the_calendar_rests_in_the_new_place_and_the_move_says_so(store: Path, tmp_path: Path) -> None:
    services = bootstrap.open_services(str(store))
    keep_calendar(tmp_path / "due.ics", MANAGER, services)
    services.close()
    told = moved(store, tmp_path / "new")
    assert told.calendar == str(tmp_path / "due.ics")
    services = bootstrap.open_services(str(tmp_path / "new"))
    assert kept_calendar(services) is None
    services.close()


def test_the_settings_file_goes_along_and_one_that_is_there_stays(store: Path, tmp_path: Path) -> None:
    (store / "settings.toml").write_text("", encoding="utf-8")
    moved(store, tmp_path / "new", new_key=True)
    assert (tmp_path / "new" / "settings.toml").exists()
    assert not (tmp_path / "new" / "signing_key.pem").exists()


def test_work_that_waits_is_not_left_behind(store: Path, tmp_path: Path) -> None:
    services = replace(bootstrap.open_services(str(store)), jobs=Patient())
    asked = jobs.ask(JobKind.EXPORT, MANAGER, services)
    with pytest.raises(Conflict, match="would stay behind"):
        moved(store, tmp_path / "new")
    assert not (tmp_path / "new").exists()
    jobs.stop(asked.id, services)
    services.close()
    assert moved(store, tmp_path / "new").entries


def test_a_place_that_was_given_up_is_no_end_of_a_move_that_was_cut_off(store: Path, tmp_path: Path) -> None:
    """A folder in place of a server, which alone may hold the same records already."""
    moved(store, tmp_path / "new")
    services = bootstrap.open_services(str(tmp_path / "new"))
    with services.unit_of_work() as uow:
        head = uow.ledger.head()
    assert head is not None

    def at_the_server(address: str, *, closed: bool = False) -> Services:
        assert address == "postgresql://server/records"
        return bootstrap.open_services(str(store), closed=closed)

    with pytest.raises(Conflict, match="given up for another place"):
        moving._there_already("postgresql://server/records", head, at_the_server)
    old = bootstrap.open_services(str(store), closed=True)
    reopen(old, MANAGER)
    old.close()
    assert moving._there_already("postgresql://server/records", head, at_the_server)
    services.close()
