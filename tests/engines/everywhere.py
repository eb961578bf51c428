"""Runs the suite on PostgreSQL: with BARTACK_TEST_ENGINE=postgresql every store that a test opens in a folder keeps its
database on a real server, made from a template and dropped after the test.

Where the embedded engine keeps its file, the folder has a note of its database's name. The note moves with the folder
when it is renamed and goes when it is deleted; a copy of it is told from the original by its inode, and stands for a
copy of the database. So tests of archives, restores and tampering say the same on both engines.

Tests of what is SQLite's own carry the mark `sqlite` and are left out there.
"""

from __future__ import annotations

import os
import uuid
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from urllib.parse import quote

import psycopg
from sqlalchemy.engine import Engine

import storage.engine
from storage.engine import FILE_NAME
from storage.migrations import upgrade
from tests.engines import pg_server

WANTED = os.environ.get("BARTACK_TEST_ENGINE", "sqlite") == "postgresql"
#: Where a process of a test finds the server that the suite has started.
_PORT = "BARTACK_TEST_ENGINE_PORT"
_TEMPLATE = "bartack_empty"


class Everywhere:
    """The server of this process of the suite, and the databases that stand for folders."""

    def __init__(self) -> None:
        self._stack = ExitStack()
        self._open: Callable[[str | Path], Engine] = storage.engine.open_engine
        self._lasting = 0
        self._made: set[str] = set()
        self._engines: list[Engine] = []
        if port := os.environ.get(_PORT):
            self._server = pg_server.PgServer(Path(), int(port))
        else:
            self._server = self._stack.enter_context(pg_server.serving(throw_away=True))
            engine = self._open(self._server.make_database(_TEMPLATE))
            upgrade(engine)
            engine.dispose()
            os.environ[_PORT] = str(self._server.port)
            self._stack.callback(os.environ.pop, _PORT, None)
        # Databases are made from others, which nobody may be using: this connection uses none of them.
        self._hand = self._stack.enter_context(psycopg.connect(self._plain("postgres"), autocommit=True))

    def open_engine(self, place: str | Path) -> Engine:
        """What stands for `storage.engine.open_engine`."""
        text = str(place)
        if "://" in text:
            return self._open(text)
        engine = self._open(self._server.url(self.database_of(Path(text).expanduser())))
        if not self._lasting:
            self._engines.append(engine)
        return engine

    def database_of(self, folder: Path) -> str:
        """The database that stands for the folder; made where there is none, copied where the folder is a copy."""
        note = folder / FILE_NAME
        template = _TEMPLATE
        with storage.engine.disk_faults():
            if note.exists():
                template, _, inode = note.read_text().partition(" ")
                if int(inode) == note.stat().st_ino:
                    return template
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            name = f"t{uuid.uuid4().hex[:16]}"
            note.touch()
            note.write_text(f"{name} {note.stat().st_ino}")
        if template != _TEMPLATE:
            ends = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = %s"
            self._hand.execute(ends, [template])
        self._hand.execute(f'CREATE DATABASE "{name}" TEMPLATE "{template}" STRATEGY FILE_COPY'.encode())
        if not self._lasting:
            self._made.add(name)
        return name

    def address_of(self, folder: Path) -> str:
        """The address under which another process opens the same store."""
        return f"{self._server.url(self.database_of(folder))}?folder={quote(str(folder), safe='')}"

    def raw_address_of(self, folder: Path) -> str:
        return self._server.url(self.database_of(folder))

    @contextmanager
    def lasting(self) -> Iterator[None]:
        """What is made inside outlives the test: it belongs to a module or to the session."""
        self._lasting += 1
        try:
            yield
        finally:
            self._lasting -= 1

    def drop(self) -> None:
        """Drops the databases that the test made."""
        for engine in self._engines:
            engine.dispose()
        self._engines.clear()
        for name in self._made:
            self._hand.execute(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)'.encode())
        self._made.clear()

    def close(self) -> None:
        self._stack.close()

    def _plain(self, database: str) -> str:
        return self._server.url(database).replace("+psycopg", "")


_here: Everywhere | None = None


def install() -> Everywhere:
    """Puts it in place of the engine that a folder opens, before any test has asked for one. A process that a test
    starts calls it as well, and uses the server of the suite."""
    global _here
    if pg_server.program("initdb") is None:
        raise RuntimeError("BARTACK_TEST_ENGINE=postgresql asks for PostgreSQL, which is not installed")
    _here = Everywhere()
    storage.engine.open_engine = _here.open_engine
    return _here


def here() -> Everywhere | None:
    """What stands for folders in this process; None on the embedded engine."""
    return _here
