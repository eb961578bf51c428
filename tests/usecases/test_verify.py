"""Whatever another hand does to the store, verify finds it and names it; a store that nobody touched has no fault."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

import storage.unit_of_work  # noqa: F401 - every table stands in the metadata then
from inspect_core.domain.custody import Move
from inspect_core.domain.record import LedgerEntry
from inspect_core.ledger import Frontier, canonical, content_of, digest_of, leaf_hash
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.recorded import OWN_SETTINGS
from storage.tables import metadata
from tests.engines import stores
from tests.usecases import tampered

LEDGER, NODES, HEADS = (metadata.tables[name] for name in ("ledger", "tree_nodes", "tree_heads"))

#: Tables whose rows are no record: work in progress, what is worked out from records, and what is secret or passes.
NO_RECORD = {
    "alembic_version": "the program's own",
    "drafts": "unfinished work; it becomes a record when it is signed",
    "rolls": "unfinished work",
    "roll_photos": "unfinished work",
    "search_docs": "words of the search index, worked out from records",
    "inspection_tallies": "counts, worked out from records",
    "person_tallies": "counts, worked out from records",
    "part_tallies": "counts, worked out from records",
    "category_tallies": "counts, worked out from records",
    "mark_tallies": "counts, worked out from records",
    "mark_items": "counts, worked out from records",
    "shared_photos": "worked out from records",
    "former_tags": "worked out from the items' own column, without which it counts for nothing",
    "saved_searches": "a convenience; it decides nothing",
    "credentials": "secrets; the ledger says when one was set",
    "sign_ins": "they pass",
    "guesses": "they pass",
    "jobs": "work that is done aside; what it writes is recorded by itself, and it passes",
}
#: Columns that carry no statement of their own.
NO_STATEMENT = {
    "number": "the row's own number; rows of others that lean on it are looked at",
    "position": "the order of rows; the records are compared in that order",
    "tree_heads.day": "says only which head the next one replaces",
}


@pytest.fixture(scope="module")
def store(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("tampered") / "store"
    tampered.filled(folder)
    return folder


@pytest.fixture
def mine(store: Path, tmp_path: Path) -> Path:
    return tampered.copy_of(store, tmp_path / "store")


def test_an_untouched_store_has_no_fault(store: Path):
    account = tampered.checked(store)
    assert account.faults == ()
    assert account.signed is not None and account.signed.size == account.entries > 10
    assert account.photos == 3
    assert all(many > 0 for many in account.records.values()), account.records


def columns() -> list[Any]:
    found = []
    for table in metadata.sorted_tables:
        if table.name in NO_RECORD:
            continue
        for column in table.columns:
            named = f"{table.name}.{column.name}"
            if column.name not in NO_STATEMENT and named not in NO_STATEMENT:
                found.append(pytest.param(table, column, id=named))
    return found


@pytest.mark.parametrize(("table", "column"), columns())
def test_a_row_edited_in_any_column_is_found(mine: Path, table: sa.Table, column: sa.Column[Any]):
    with stores.beside(mine) as connection:
        rows = [row for row in connection.execute(sa.select(table)).all() if row[0] not in OWN_SETTINGS]
        assert rows, f"no row of {table.name} in the store of this test"
        row = next((row for row in rows if row._mapping[column] is not None), rows[-1])
        value = tampered.other(column, row._mapping[column])
        keys = [key == row._mapping[key] for key in table.primary_key.columns]
        changed = connection.execute(sa.update(table).where(*keys).values({column: value}))
        assert changed.rowcount == 1
    faults = tampered.checked(mine).faults
    assert faults, f"{table.name}.{column.name}: {row._mapping[column]!r} → {value!r} went unnoticed"


def record_tables() -> list[str]:
    return [table.name for table in metadata.sorted_tables if table.name not in NO_RECORD]


@pytest.mark.parametrize("name", record_tables())
def test_a_row_deleted_from_any_table_is_found(mine: Path, name: str):
    def delete(connection: sa.Connection) -> None:
        table = metadata.tables[name]
        key = next(iter(table.primary_key))
        last = connection.scalar(sa.select(sa.func.max(key)))
        assert connection.execute(sa.delete(table).where(key == last)).rowcount >= 1

    tampered.by_hand(mine, delete)
    account = tampered.checked(mine)
    if name == "tree_nodes":  # worked out from the entries; told, and made good by the next record
        assert any("stand in no tree" in notice for notice in account.notices)
    else:
        assert account.faults


@pytest.mark.parametrize(
    "name", sorted({"items", "inspections", "custody", "people", "setups", "kits", "kit_events", "second_readings"})
)
def test_a_row_inserted_into_any_table_is_found_and_named(mine: Path, name: str):
    def insert(connection: sa.Connection) -> None:
        table = metadata.tables[name]
        row = dict(connection.execute(sa.select(table).order_by(table.c.number.desc()).limit(1)).one()._mapping)
        row |= {"number": row["number"] + 100, "id": "never-entered"}
        row |= {key: "never" for key in ("tag", "photo_id") if key in row and name in ("items", "second_readings")}
        connection.execute(sa.insert(table).values(row))

    tampered.by_hand(mine, insert)
    (fault,) = [fault for fault in tampered.checked(mine).faults if fault.id == "never-entered"][:1]
    assert fault.harm == "inserted" and "no entry wrote it" in fault.words
    if name in ("inspections", "custody"):
        assert fault.tag in ("LAN-001", "LAN-002", "LAN-003") and fault.day


def test_an_edited_inspection_is_named_by_tag_and_day_and_what_differs(mine: Path):
    tampered.by_hand(mine, "UPDATE inspections SET note = 'as it never was' WHERE id = 'cut-1'")
    (fault,) = tampered.checked(mine).faults
    assert (fault.harm, fault.record, fault.tag, fault.day) == ("changed", "inspection", "LAN-001", "2026-03-03")
    assert fault.words.startswith("The inspection of LAN-001 on 2026-03-03 (cut-1) was changed in the store: note")


def test_an_item_made_usable_by_hand_is_found(mine: Path):
    tampered.by_hand(mine, "UPDATE items SET state = 'in service' WHERE tag = 'LAN-001'")
    (fault,) = tampered.checked(mine).faults
    assert (fault.record, fault.tag) == ("standing", "LAN-001") and "state differ" in fault.words


def test_two_swapped_inspections_are_found(mine: Path):
    def swap(connection: sa.Connection) -> None:
        named = metadata.tables["inspections"]
        for new, old in (("aside", "check-2"), ("check-2", "check-3"), ("check-3", "aside")):
            connection.execute(sa.update(named).where(named.c.id == old).values(id=new))

    tampered.by_hand(mine, swap)
    assert {"check-2", "check-3"} <= {fault.id for fault in tampered.checked(mine).faults}


def test_two_swapped_entries_are_found(mine: Path):
    def swap(connection: sa.Connection) -> None:
        for new, old in ((-1, 5), (5, 6), (6, -1)):
            connection.execute(sa.update(LEDGER).where(LEDGER.c.number == old).values(number=new))

    tampered.by_hand(mine, swap)
    faults = tampered.checked(mine).faults
    assert {fault.entry for fault in faults if fault.harm == "chain"} >= {5, 6}
    assert any(fault.harm == "head" for fault in faults)


def cut(folder: Path, many: int, *, heads: bool) -> int:
    """Cuts the last entries off, with everything that they wrote forgotten too; returns how many are left."""
    left = 0

    def change(connection: sa.Connection) -> None:
        nonlocal left
        left = connection.scalar(sa.select(sa.func.max(LEDGER.c.number))) - many
        connection.execute(sa.delete(LEDGER).where(LEDGER.c.number > left))
        connection.execute(sa.delete(NODES).where(NODES.c.number > left))
        if heads:
            connection.execute(sa.delete(HEADS).where(HEADS.c.size > left))

    tampered.by_hand(folder, change)
    return left


def test_the_last_ten_entries_cut_off_are_missed_by_the_signed_head(mine: Path):
    left = cut(mine, 10, heads=False)
    faults = [fault for fault in tampered.checked(mine).faults if fault.harm == "cut off"]
    assert f"entries {left + 1} to {left + 10} are missing" in faults[-1].words


def test_cut_off_with_their_heads_they_are_missed_by_a_head_kept_elsewhere(mine: Path):
    kept = tampered.checked(mine).signed
    assert kept is not None
    left = cut(mine, 10, heads=True)
    # What stands after the head that is left was never signed as the end; and the head kept elsewhere tells all.
    without = tampered.checked(mine).faults
    assert not any(fault.harm == "cut off" for fault in without)
    told = [fault for fault in tampered.checked(mine, heads=[kept]).faults if fault.harm == "cut off"]
    assert f"entries {left + 1} to {left + 10} are missing" in told[0].words
    assert "the file given" in told[0].words


def as_an_older_program_left_it(folder: Path) -> None:
    """Neither tree nor heads, and entries that hold the records alone."""

    def change(connection: sa.Connection) -> None:
        rewritten(connection, lambda body: {k: v for k, v in body.items() if k not in ("standing", "photo_records")})
        for table in (NODES, HEADS):
            connection.execute(sa.delete(table))
        connection.execute(sa.update(metadata.tables["photos"]).values(copies={}))

    tampered.by_hand(folder, change)


def test_a_store_of_an_older_program_has_no_fault_and_is_signed_from_its_next_record_on(mine: Path):
    as_an_older_program_left_it(mine)
    account = tampered.checked(mine)
    assert account.faults == () and account.signed is None
    assert any("No head was signed yet" in notice for notice in account.notices)
    services = tampered.bootstrap.open_services(str(mine))
    hold = MakeMove("hold-9", "item-LAN-002", Move.HOLD, "person-worker", "found on the floor")
    make_move(hold, services)
    services.close()
    after = tampered.checked(mine)
    assert after.faults == () and after.entries == account.entries + 1
    assert any(f"the first covers entries 1 to {after.entries}." in notice for notice in after.notices)


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE items SET state = 'in service' WHERE tag = 'LAN-001'",
        "UPDATE photos SET size = size + 1",
        "UPDATE inspections SET outcome = 'in service' WHERE id = 'cut-1'",
        "UPDATE custody SET reason = 'never' WHERE id = 'hold-1'",
    ],
)
def test_older_entries_tell_what_was_changed_as_well(mine: Path, change: str):
    as_an_older_program_left_it(mine)
    tampered.by_hand(mine, change)
    assert tampered.checked(mine).faults


def rewritten(connection: sa.Connection, change: Callable[[dict[str, Any]], dict[str, Any]]) -> None:
    """Writes every entry anew with what `change` makes of its body, and every digest and node after it."""
    previous, frontier = "0" * 64, Frontier()
    for row in connection.execute(sa.select(LEDGER).order_by(LEDGER.c.number)).all():
        body = change(dict(row.body))
        digest = digest_of(row.number, row.at, row.subject, row.subject_id, body, previous)
        entry = LedgerEntry(row.number, row.at, row.subject, row.subject_id, body, previous, digest)
        nodes = b"".join(frontier.add(leaf_hash(canonical(content_of(entry)))))
        values = {"body": body, "previous": previous, "digest": digest}
        connection.execute(sa.update(LEDGER).where(LEDGER.c.number == row.number).values(values))
        connection.execute(sa.update(NODES).where(NODES.c.number == row.number).values(nodes=nodes))
        previous = digest


def test_a_store_rewritten_from_an_entry_on_is_not_what_was_signed(mine: Path):
    """Somebody who knows the chain but not the key writes an entry anew, and every digest and node after it."""

    def another(body: dict[str, Any]) -> dict[str, Any]:
        inspection = body.get("inspection")
        if isinstance(inspection, dict) and inspection["id"] == "cut-1":
            inspection["note"] = "nothing to see"
        return body

    def rewrite(connection: sa.Connection) -> None:
        rewritten(connection, another)
        connection.exec_driver_sql("UPDATE inspections SET note = 'nothing to see' WHERE id = 'cut-1'")

    tampered.by_hand(mine, rewrite)
    faults = tampered.checked(mine).faults
    assert faults and {fault.harm for fault in faults} == {"head"}
    assert "are not what was signed" in faults[0].words


@pytest.mark.parametrize("name", ["original", "preview", "thumb"])
def test_one_byte_changed_in_a_photo_or_a_copy_is_found_and_named(mine: Path, name: str):
    services = tampered.bootstrap.open_services(str(mine))
    with services.unit_of_work() as uow:
        (photo_id,) = uow.inspections.get("cut-1").photo_ids
    services.close()

    def one_byte(data: bytes) -> bytes:
        half = len(data) // 2
        return data[:half] + bytes([data[half] ^ 1]) + data[half + 1 :]

    stores.change_photo(mine, photo_id, name, one_byte)
    (fault,) = tampered.checked(mine).faults
    assert (fault.record, fault.id, fault.tag, fault.day) == ("photo", photo_id, "LAN-001", "2026-03-03")


def test_a_photo_taken_away_is_found_and_a_file_put_there_is_told(mine: Path):
    stores.move_photo(mine, next(iter(stores.photos_of(mine).ids())), "a" * 64)
    account = tampered.checked(mine)
    assert any(fault.harm == "removed" and fault.record == "photo" for fault in account.faults)
    assert any("have no row" in notice for notice in account.notices)


def test_progress_ends_at_the_end(store: Path):
    steps: list[tuple[int, int]] = []
    tampered.checked(store, progress=lambda done, total, _words: steps.append((done, total)))
    assert steps[-1][0] == steps[-1][1]
    assert [done for done, _ in steps] == sorted(done for done, _ in steps)


def test_what_is_left_out_is_really_there():
    tables = {"alembic_version", *metadata.tables}
    assert set(NO_RECORD) <= tables
    whole = {f"{table.name}.{column.name}" for table in metadata.sorted_tables for column in table.columns}
    names = {column.split(".")[1] for column in whole}
    assert all(name in whole or name in names for name in NO_STATEMENT)
