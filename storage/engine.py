"""Opens the database. Everything that is peculiar to SQLite as an engine stands here; `storage.postgres` has the
other one's."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy import event
from sqlalchemy.engine import URL, Engine, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError

from inspect_core.domain.errors import BadInput
from storage.faults import database_faults, disk_faults

#: The database's file inside a store's folder.
FILE_NAME = "bartack.sqlite3"
#: How long a save waits for another one to finish, in seconds.
PATIENCE = 15.0
#: Execution option of a connection whose transactions take the write lock at once.
WRITES = "bartack_writes"


def open_engine(url_or_folder: str | Path) -> Engine:
    """The engine of a store, given as a folder (made with mode 0700 where it is missing), as `sqlite:///FILE` or as
    `postgresql+psycopg://…`.

    Opens no more than one connection to see that the file is a database. `storage.migrations.upgrade` brings the
    tables up to date. Raises BadInput for an address that names no store, StoreFault when it cannot be opened.
    """
    if str(url_or_folder).startswith("postgresql"):
        from storage.postgres import open_postgres

        url = make_url(str(url_or_folder))
        return open_postgres(url, patience=PATIENCE, writes=WRITES, to_json=_to_json)
    path = _file_of(url_or_folder)
    with disk_faults():
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        # In a folder that was there before and that others may read, the file is still its owner's alone; what the
        # database writes beside it takes the same rights.
        if not path.exists():
            path.touch(mode=0o600)
    engine = sa.create_engine(
        URL.create("sqlite", database=str(path)),
        connect_args={"timeout": PATIENCE, "cached_statements": 256},
        json_serializer=_to_json,
        hide_parameters=True,  # an error that reaches a log names no person and no record
        pool_size=8,
        max_overflow=24,
    )
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    try:
        with database_faults(), engine.connect() as connection:
            connection.exec_driver_sql("SELECT count(*) FROM sqlite_master")
    except BaseException:
        engine.dispose()
        raise
    return engine


def _file_of(url_or_folder: str | Path) -> Path:
    text = str(url_or_folder)
    if "://" not in text:
        return Path(text).expanduser() / FILE_NAME
    try:
        url = make_url(text)
    except ArgumentError:
        url = URL.create("unknown")
    if url.get_backend_name() != "sqlite" or not url.database or url.database == ":memory:" or url.query:
        raise BadInput("This address names no store.", "Give a folder, or sqlite:/// followed by the path of a file.")
    return Path(url.database).expanduser()


def _to_json(value: Any) -> str:
    """Compact JSON; NaN and infinity are refused, since no reading, fact or ledger entry may hold them."""
    try:
        return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    except ValueError as error:
        raise BadInput(
            "The record holds a number that is not finite.", "Enter the number again, or leave it out."
        ) from error


def _prepare(connection: sqlite3.Connection, _record: object) -> None:
    # The driver would open transactions by itself, and only before some statements; `_begin` does it instead.
    connection.isolation_level = None
    cursor = connection.cursor()
    cursor.execute("PRAGMA journal_mode = WAL")
    # FULL, because NORMAL may forget the last transactions at a power cut: what was acknowledged must stay.
    cursor.execute("PRAGMA synchronous = FULL")
    cursor.execute("PRAGMA foreign_keys = ON")
    cursor.execute("PRAGMA cache_size = -16000")
    cursor.close()


def _begin(connection: sa.Connection) -> None:
    if connection.get_execution_options().get(WRITES, False):
        connection.exec_driver_sql("BEGIN IMMEDIATE")
        return
    # Takes no lock yet and cannot be refused, so it goes to the driver by the shortest way: every reading begins so.
    cursor = connection.connection.cursor()
    for heard in connection.engine.dispatch.before_cursor_execute:
        heard(connection, cursor, "BEGIN", (), None, False)
    cursor.execute("BEGIN")
    cursor.close()


def integrity_faults(engine: Engine) -> tuple[str, ...]:
    """What SQLite's own check finds wrong with the file, and every broken reference; empty when all is well."""
    try:
        with engine.connect() as connection:
            told = [str(row[0]) for row in connection.exec_driver_sql("PRAGMA integrity_check")]
            strays = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    except DBAPIError as error:
        return (f"The file cannot be checked: {error.orig}.",)
    faults = [line for line in told if line != "ok"]
    return (*faults, *(f"A row of {row[0]} names a missing row of {row[2]}." for row in strays))
