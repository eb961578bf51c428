"""A store as another hand finds it, on either engine: copied, looked into and changed beside the program."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import sqlalchemy as sa

from storage.engine import FILE_NAME
from tests.engines import everywhere


def copy_of(store: Path, place: Path) -> Path:
    """A copy of that store, with all that is in it now."""
    shutil.copytree(store, place)
    if server := everywhere.here():
        server.database_of(place)
    return place


def address_of(store: Path) -> str:
    """What a process of its own is given as its store."""
    server = everywhere.here()
    return server.address_of(store) if server else str(store)


@contextmanager
def beside(store: Path) -> Iterator[sa.Connection]:
    """The store's database as another program opens it: no rule of ours is kept, no reference checked. What was
    changed is written at the end of the block."""
    server = everywhere.here()
    address = server.raw_address_of(store) if server else f"sqlite:///{store / FILE_NAME}"
    engine = sa.create_engine(address, poolclass=sa.NullPool)
    try:
        with engine.begin() as connection:
            if server:
                connection.exec_driver_sql("SET session_replication_role = replica")
            yield connection
    finally:
        engine.dispose()


def changed(store: Path, statement: str, **values: object) -> int:
    """Runs one statement past every rule of the program and returns how many rows it met."""
    with beside(store) as connection:
        return connection.execute(sa.text(statement), values).rowcount


def kept_by(store: Path) -> bytes:
    """The bytes of all files in which a store is kept now, with rows that are dead but not yet gone. A server's log,
    which passes with time, is not among them."""
    kept = [path.read_bytes() for path in sorted(store.rglob("*")) if path.is_file()]
    if everywhere.here():
        with beside(store) as connection:
            connection.exec_driver_sql("CHECKPOINT")
            files = connection.exec_driver_sql(
                "SELECT pg_read_binary_file(pg_relation_filepath(oid)) FROM pg_class "
                "WHERE relkind IN ('r', 'i', 't') AND relnamespace <> 'pg_catalog'::regnamespace"
            )
            kept += [bytes(content) for (content,) in files]
    return b"".join(kept)
