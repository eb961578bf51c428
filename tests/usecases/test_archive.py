"""An archive holds everything, is a valid bag, and comes back as the same account; what is not one is refused whole."""

from __future__ import annotations

import hashlib
import io
import json
import os
import shutil
import zipfile
from collections.abc import Callable
from pathlib import Path

import bagit
import pytest

from inspect_core import bootstrap
from inspect_core.domain.custody import Move
from inspect_core.domain.errors import BadInput, Conflict, NotAllowed, StoreFault
from inspect_core.usecases import archive as archiving
from inspect_core.usecases import bag_reader
from inspect_core.usecases.archive import archive
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.due_calendar import keep_calendar, kept_calendar
from inspect_core.usecases.register import RegisterItem, parse_item, register
from inspect_core.usecases.restore import restore
from inspect_core.usecases.review import history
from inspect_core.usecases.search import Query, search
from inspect_core.usecases.verify import verify
from storage.derived import tally_faults
from storage.engine import open_engine
from tests.engines import stores
from tests.usecases import tampered

MANAGER = "person-manager"


@pytest.fixture(scope="module")
def store(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("archived") / "store"
    tampered.filled(folder)
    return folder


@pytest.fixture(scope="module")
def bag(store: Path, tmp_path_factory) -> Path:
    return written(store, tmp_path_factory.mktemp("bags") / "bag")


def written(store: Path, place: Path) -> Path:
    services = bootstrap.open_services(str(store))
    try:
        archive(place, MANAGER, services)
    finally:
        services.close()
    return place


def content(bag: Path) -> dict[str, bytes]:
    """Every file of a bag by its path, without the two that hold the date."""
    dated = ("bag-info.txt", "tagmanifest-sha256.txt")
    if bag.is_dir():
        every = {path.relative_to(bag).as_posix(): path.read_bytes() for path in bag.rglob("*") if path.is_file()}
    else:
        with zipfile.ZipFile(bag) as packed:
            every = {name.split("/", 1)[1]: packed.read(name) for name in packed.namelist()}
    return {name: data for name, data in every.items() if name not in dated}


def test_the_bagit_library_accepts_the_bag(bag: Path):
    made = bagit.Bag(str(bag))
    made.validate()
    assert made.info["Bartack-Format"] == archiving.FORMAT
    assert made.version_info == (1, 0)


def test_the_zip_holds_the_same_bag(store: Path, bag: Path, tmp_path: Path):
    packed = written(store, tmp_path / "bag.zip")
    assert content(packed) == content(bag)
    with zipfile.ZipFile(packed) as file:
        file.extractall(tmp_path / "out")
    bagit.Bag(str(tmp_path / "out" / "bartack-archive")).validate()
    assert packed.stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize("form", ["folder", "zip"])
def test_it_comes_back_as_the_same_account_and_archives_to_the_same_bytes(store, bag, tmp_path, form):
    source = bag if form == "folder" else written(store, tmp_path / "bag.zip")
    target = tmp_path / "restored"
    account = restore(source, target, bootstrap.open_services)
    assert account.faults == ()
    before, after = bootstrap.open_services(str(store)), bootstrap.open_services(str(target))
    assert verify(after) == verify(before)
    with before.unit_of_work() as one, after.unit_of_work() as other:
        assert other.tree.newest_head() == one.tree.newest_head()
        for table in one.rows.tables():
            assert list(other.rows.read(table)) == list(one.rows.read(table)), table
        assert list(after.photos.ids()) == list(before.photos.ids())
    assert history("item-LAN-001", after) == history("item-LAN-001", before)
    assert [hit.inspection_id for hit in search(Query("gate"), after).hits] == ["cut-1"]
    after.close()
    before.close()
    engine = open_engine(target)
    with engine.connect() as connection:
        assert tally_faults(connection) == ()
    engine.dispose()
    assert content(written(target, tmp_path / "again")) == content(bag)


def test_a_restored_store_goes_on_under_a_key_of_its_own_and_says_so(bag: Path, tmp_path: Path):
    target = tmp_path / "restored"
    restore(bag, target, bootstrap.open_services)
    services = bootstrap.open_services(str(target))
    make_move(MakeMove("hold-2", "item-LAN-002", Move.HOLD, MANAGER, "found on the floor"), services)
    account = verify(services)
    assert account.faults == ()
    assert any("The key was changed once" in notice for notice in account.notices)
    services.close()


def test_two_restores_on_one_day_change_the_key_twice_and_nothing_is_wrong(bag: Path, tmp_path: Path):
    source = bag
    for number in (1, 2):
        target = tmp_path / f"restored-{number}"
        restore(source, target, bootstrap.open_services)
        services = bootstrap.open_services(str(target))
        register(
            RegisterItem(parse_item({"tag": f"NEW-{number}", "kind": "connector"}, f"new-{number}"), MANAGER), services
        )
        account = verify(services)
        services.close()
        assert account.faults == ()
        source = written(target, tmp_path / f"bag-{number}")
    assert any("The key was changed 2 times" in notice for notice in account.notices)


def test_a_restored_store_rewrites_no_file_that_the_archive_names_until_one_is_chosen(store: Path, tmp_path: Path):
    live = tmp_path / "live.ics"
    mine = bootstrap.open_services(str(tampered.copy_of(store, tmp_path / "store")))
    keep_calendar(live, MANAGER, mine)
    archive(tmp_path / "bag", MANAGER, mine)
    mine.close()
    before = live.read_bytes()
    target = tmp_path / "restored"
    assert restore(tmp_path / "bag", target, bootstrap.open_services).faults == ()
    services = bootstrap.open_services(str(target))
    register(RegisterItem(parse_item({"tag": "NEW-1", "kind": "connector"}, "new-1"), MANAGER), services)
    services.close()
    assert live.read_bytes() == before
    services = bootstrap.open_services(str(target))
    assert kept_calendar(services) is None
    assert content(written(target, tmp_path / "again")).keys() == content(tmp_path / "bag").keys()
    keep_calendar(live, MANAGER, services)
    assert kept_calendar(services) == live and live.read_bytes() != before
    assert verify(services).faults == ()
    services.close()


def test_a_place_that_is_taken_is_refused(store: Path, bag: Path, tmp_path: Path):
    with pytest.raises(Conflict, match="is there already"):
        written(store, bag)
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "file").write_text("precious")
    with pytest.raises(Conflict, match="is not empty"):
        restore(bag, tmp_path / "mine", bootstrap.open_services)
    assert (tmp_path / "mine" / "file").read_text() == "precious"


def test_a_worker_makes_no_archive(store: Path, tmp_path: Path):
    services = bootstrap.open_services(str(store))
    with pytest.raises(NotAllowed, match="may not make an archive"):
        archive(tmp_path / "bag", "person-worker", services)
    services.close()
    assert list(tmp_path.iterdir()) == []


def test_a_damaged_photo_stops_the_archive_and_nothing_is_left(store: Path, tmp_path: Path):
    mine = tampered.copy_of(store, tmp_path / "store")
    stores.change_photo(mine, next(iter(stores.photos_of(mine).ids())), "original", lambda _: b"another picture")
    with pytest.raises(StoreFault, match="missing or damaged"):
        written(mine, tmp_path / "bag")
    assert [path.name for path in tmp_path.iterdir()] == ["store"]


# Bags that are refused ----------------------------------------------------------------------------------------------


def _manifests(bag: Path) -> None:
    """Writes every manifest anew, as a forger would."""
    payload = sorted(path for path in (bag / "data").rglob("*") if path.is_file() and not path.is_symlink())
    lines = [f"{_sha(path)}  {path.relative_to(bag).as_posix()}\n" for path in payload]
    (bag / "manifest-sha256.txt").write_text("".join(lines))
    size = sum(path.stat().st_size for path in payload)
    info = [line for line in (bag / "bag-info.txt").read_text().splitlines() if not line.startswith("Payload-Oxum")]
    (bag / "bag-info.txt").write_text("\n".join([*info, f"Payload-Oxum: {size}.{len(payload)}"]) + "\n")
    tags = ("bag-info.txt", "bagit.txt", "manifest-sha256.txt")
    (bag / "tagmanifest-sha256.txt").write_text("".join(f"{_sha(bag / name)}  {name}\n" for name in tags))


def _sha(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _flip(path: Path) -> None:
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 1
    path.write_bytes(bytes(data))


def _row(bag: Path, table: str, change: Callable[[str], str]) -> None:
    path = bag / "data" / "records" / f"{table}.jsonl"
    path.write_text(change(path.read_text()))
    _manifests(bag)


def _name_outside(bag: Path) -> None:
    manifest = bag / "manifest-sha256.txt"
    manifest.write_text(manifest.read_text() + f"{'0' * 64}  data/../../outside\n")


def _link(bag: Path) -> None:
    place = bag / "data" / "README.txt"
    place.unlink()
    place.symlink_to("/etc/hostname")


def _rename_photo(bag: Path) -> None:
    place = next((bag / "data" / "photos").glob("*/*"))
    place.rename(place.with_name("f" * 64))
    _manifests(bag)


REFUSED = {
    "a byte of a photo": (lambda bag: _flip(next(bag.rglob("original"))), "checksum is wrong"),
    "a byte of the records": (lambda bag: _flip(bag / "data/records/items.jsonl"), "checksum is wrong"),
    "a byte of the manifest": (lambda bag: _flip(bag / "manifest-sha256.txt"), "refused"),
    "a byte of bag-info": (lambda bag: _flip(bag / "bag-info.txt"), "refused"),
    "a missing photo": (lambda bag: next(bag.rglob("original")).unlink(), "missing"),
    "a missing manifest": (lambda bag: (bag / "manifest-sha256.txt").unlink(), "missing"),
    "a file too many": (lambda bag: (bag / "data/more").write_text("x"), "not named by the manifest"),
    "a tag file too many": (lambda bag: (bag / "more.txt").write_text("x"), "not named by the manifest"),
    "files to be fetched": (lambda bag: (bag / "fetch.txt").write_text("x"), "fetch files"),
    "another version": (lambda bag: (bag / "bagit.txt").write_text("BagIt-Version: 9\n"), "version"),
    "a path that leads out": (_name_outside, "not allowed"),
    "a link": (_link, "a link"),
    "a photo under another name": (_rename_photo, "does not match its name"),
    "a row edited with new checksums": (
        lambda bag: _row(bag, "items", lambda text: text.replace("North Quay", "South Quay", 1)),
        "does not hold together",
    ),
    "an entry edited with new checksums": (
        lambda bag: _row(bag, "ledger", lambda text: text.replace("seen at the gate", "nothing to see", 1)),
        "does not hold together",
    ),
    "the last entry taken out with new checksums": (
        lambda bag: _row(bag, "ledger", lambda text: "\n".join(text.splitlines()[:-1]) + "\n"),
        "does not hold together",
    ),
    "a column that no table has": (
        lambda bag: _row(bag, "items", lambda text: text.replace('"tag"', '"label"', 1)),
        "does not fit",
    ),
    "a line that is no JSON": (lambda bag: _row(bag, "people", lambda text: "{" + text), "no JSON object"),
}


@pytest.mark.parametrize("harm", REFUSED)
def test_a_bag_with_a_fault_is_refused_and_leaves_no_store(bag: Path, tmp_path: Path, harm: str):
    mine = tmp_path / "bag"
    shutil.copytree(bag, mine)
    change, told = REFUSED[harm]
    change(mine)
    with pytest.raises((BadInput, StoreFault), match=told):
        restore(mine, tmp_path / "restored", bootstrap.open_services)
    assert [path.name for path in tmp_path.iterdir()] == ["bag"]


def _zip_with(bag: Path, place: Path, name: str, data: bytes = b"x", mode: int = 0o644) -> Path:
    with zipfile.ZipFile(place, "w", zipfile.ZIP_DEFLATED) as packed:
        for path in sorted(path for path in bag.rglob("*") if path.is_file()):
            packed.write(path, f"bag/{path.relative_to(bag).as_posix()}")
        about = zipfile.ZipInfo(name)
        about.compress_type = zipfile.ZIP_DEFLATED
        about.external_attr = mode << 16
        packed.writestr(about, data)
    return place


@pytest.mark.parametrize(
    ("name", "data", "mode", "told"),
    [
        ("bag/data/../../out", b"x", 0o644, "not allowed"),
        ("/etc/out", b"x", 0o644, "not allowed"),
        ("other/data/out", b"x", 0o644, "not allowed"),
        ("bag/data/c:out", b"x", 0o644, "not allowed"),
        ("bag/data/link", b"/etc/hostname", 0o120777, "a link"),
        ("bag/data/README.txt", b"x", 0o644, "twice"),
        ("bag/data/bomb", bytes(40_000_000), 0o644, "grow beyond measure"),
    ],
)
@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_zip_with_tricks_is_refused(bag: Path, tmp_path: Path, name: str, data: bytes, mode: int, told: str):
    source = _zip_with(bag, tmp_path / "bag.zip", name, data, mode)
    with pytest.raises(BadInput, match=told):
        restore(source, tmp_path / "restored", bootstrap.open_services)
    assert [path.name for path in tmp_path.iterdir()] == ["bag.zip"]


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04", b"no archive at all" * 100])
def test_files_that_are_no_archive_are_refused(tmp_path: Path, data: bytes):
    (tmp_path / "file.zip").write_bytes(data)
    with pytest.raises(BadInput, match=r"no archive|refused"):
        restore(tmp_path / "file.zip", tmp_path / "restored", bootstrap.open_services)
    with pytest.raises(BadInput, match="no archive"):
        restore(tmp_path / "nothing", tmp_path / "restored", bootstrap.open_services)


def test_a_bag_of_somebody_else_is_no_archive(tmp_path: Path):
    (tmp_path / "bag").mkdir()
    (tmp_path / "bag" / "file.txt").write_text("hello")
    bagit.make_bag(str(tmp_path / "bag"), checksums=["sha256"])
    with pytest.raises(BadInput, match="no archive of this program"):
        restore(tmp_path / "bag", tmp_path / "restored", bootstrap.open_services)


def test_a_restore_that_is_stopped_leaves_no_half_store(bag: Path, tmp_path: Path):
    def stopped(done: int, total: int, words: str) -> None:
        if words == "entries":
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        restore(bag, tmp_path / "restored", bootstrap.open_services, stopped)
    assert list(tmp_path.iterdir()) == []


def test_a_zip_cut_off_anywhere_is_refused(store: Path, tmp_path: Path):
    whole = written(store, tmp_path / "bag.zip").read_bytes()
    for cut in range(1, len(whole), len(whole) // 12):
        (tmp_path / "cut.zip").write_bytes(whole[:cut])
        with pytest.raises(BadInput):
            restore(tmp_path / "cut.zip", tmp_path / "restored", bootstrap.open_services)
    assert not (tmp_path / "restored").exists()


def test_names_that_lead_out_are_told_on_every_system():
    inside = bag_reader._inside
    assert inside("data/records/items.jsonl")
    for name in ("", "/a", "../a", "a/../b", "a\\b", "c:a", "~a", "a//b", "./a", "a/", "a\0b"):
        assert not inside(name), name


def test_reading_a_bag_never_changes_the_working_directory(bag: Path):
    before = os.getcwd()  # noqa: PTH109 - what the bagit library would change
    with bag_reader.reading_bag(bag) as one:
        one.validate()
    assert os.getcwd() == before  # noqa: PTH109


def test_a_zip_whose_files_lie_over_each_other_or_grow_together_is_refused(bag: Path, tmp_path: Path, monkeypatch):
    packed = tmp_path / "bag.zip"
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_STORED) as file:
        for name, data in content(bag).items():
            file.writestr(f"bag/{name}", data)
        file.writestr("bag/data/twice", b"x" * 50_000)
        # The same bytes under many names: the central directory may say so, and no room is taken.
        (first,) = (member for member in file.infolist() if member.filename == "bag/data/twice")
        for number in range(200):
            again = zipfile.ZipInfo(f"bag/data/{number:05}")
            for field in ("header_offset", "file_size", "compress_size", "CRC", "compress_type", "external_attr"):
                setattr(again, field, getattr(first, field))
            file.filelist.append(again)
    with pytest.raises(BadInput, match="grow beyond measure"):
        restore(packed, tmp_path / "restored", bootstrap.open_services)
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as file:
        for number in range(40):
            file.writestr(f"bag/data/{number}", bytes(1_000_000))
    monkeypatch.setattr(bag_reader, "_ALL_FREE_TO_GROW", 10_000_000)
    with pytest.raises(BadInput, match="grow beyond measure"):
        restore(packed, tmp_path / "restored", bootstrap.open_services)


def test_a_photo_larger_than_any_is_refused_before_it_is_read(bag: Path, tmp_path: Path, monkeypatch):
    monkeypatch.setattr(bag_reader, "_MOST_WHOLE", 1_000)
    with pytest.raises(BadInput, match="larger than any photo"):
        restore(bag, tmp_path / "restored", bootstrap.open_services)
    assert not (tmp_path / "restored").exists()


@pytest.mark.parametrize("size", [1, 2, 3, 7, 1000])
def test_lines_are_the_same_in_whatever_pieces_they_come(size: int, monkeypatch):
    text = b"first\n\nthird, longer\n\n\nlast without an end"
    monkeypatch.setattr(bag_reader, "_PART", size)
    found = bag_reader.Bag({"a": len(text)}, lambda _name: io.BytesIO(text))
    assert list(found.lines("a")) == text.split(b"\n")
    monkeypatch.setattr(bag_reader, "_LONGEST_LINE", 5)
    if size < 1000:
        with pytest.raises(BadInput, match="too long"):
            list(found.lines("a"))


def test_a_setting_that_no_archive_holds_is_not_taken_from_one_that_was_made_by_hand(bag: Path, tmp_path: Path):
    bag = Path(shutil.copytree(bag, tmp_path / "bag"))
    place = bag / "data" / "records" / "settings.jsonl"
    closed = {"name": "closed", "value": {"moved to": "somewhere else", "on": "2026-01-01"}}
    place.write_text((place.read_text() if place.exists() else "") + json.dumps(closed) + "\n")
    _manifests(bag)
    restore(bag, tmp_path / "back", bootstrap.open_services)
    services = bootstrap.open_services(str(tmp_path / "back"))
    with services.unit_of_work() as uow:
        assert uow.settings.get("closed") is None
    services.close()
