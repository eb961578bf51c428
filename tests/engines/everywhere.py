"""Runs the suite on PostgreSQL: with BARTACK_TEST_ENGINE=postgresql every store that a test opens in a folder keeps its
database on a real server, one database a folder, made from a template and dropped after the test.

Tests of what is SQLite's own carry the mark `sqlite` and are left out there.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path

import psycopg
from sqlalchemy.engine import Engine

import storage.engine
from storage.migrations import upgrade
from tests.engines import pg_server

WANTED = os.environ.get("BARTACK_TEST_ENGINE", "sqlite") == "postgresql"
_TEMPLATE = "bartack_empty"


class Everywhere:
    """The server of this process of the suite, and the databases that stand for folders."""

    def __init__(self) -> None:
        self._stack = ExitStack()
        self._server = self._stack.enter_context(pg_server.serving())
        self._open: Callable[[str | Path], Engine] = storage.engine.open_engine
        engine = self._open(self._server.make_database(_TEMPLATE))
        upgrade(engine)
        engine.dispose()
        self._made: set[str] = set()
        self._engines: list[Engine] = []

    def open_engine(self, place: str | Path) -> Engine:
        """What stands for `storage.engine.open_engine`."""
        text = str(place)
        if "://" in text:
            return self._open(text)
        Path(text).mkdir(mode=0o700, parents=True, exist_ok=True)
        name = "t" + hashlib.sha256(text.encode()).hexdigest()[:24]
        if name not in self._made:
            self._made.add(name)
            self._server.make_database(name, template=_TEMPLATE)
        engine = self._open(self._server.url(name))
        self._engines.append(engine)
        return engine

    def drop(self, keep: frozenset[str] = frozenset()) -> None:
        """Drops the databases that tests made."""
        for engine in self._engines:
            engine.dispose()
        self._engines.clear()
        with psycopg.connect(self._server.url("postgres").replace("+psycopg", ""), autocommit=True) as connection:
            for name in self._made - keep:
                connection.execute(f'DROP DATABASE "{name}" WITH (FORCE)'.encode())
        self._made &= keep

    def close(self) -> None:
        self._stack.close()


def install() -> Everywhere:
    """Puts it in place of the engine that a folder opens, before any test has asked for one."""
    everywhere = Everywhere()
    storage.engine.open_engine = everywhere.open_engine
    return everywhere
