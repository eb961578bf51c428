"""A store as another hand finds it, on either engine: copied, looked into and changed beside the program."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import sqlalchemy as sa

from inspect_core.ports import PhotoStore
from storage import photos_on_disk
from storage.engine import FILE_NAME
from storage.photos_in_bucket import PhotosInBucket
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


def photos_of(store: Path) -> PhotoStore:
    """The store's photos as they are kept now, in the folder or in a bucket."""
    return photos_on_disk.PhotosOnDisk(store / "photos")


def change_photo(store: Path, photo_id: str, name: str, change: Callable[[bytes], bytes]) -> None:
    """Writes over a photo's original or one of its copies, as a damaged disk or another hand would."""
    photos = photos_of(store)
    if isinstance(photos, PhotosInBucket):
        key = f"{photo_id[:2]}/{photo_id}/{name}"
        photos._bucket.put(key, change(bytes(photos._bucket.get(key).bytes())), mode="overwrite")
        return
    file = store / "photos" / photo_id[:2] / photo_id / name
    file.chmod(0o600)
    file.write_bytes(change(file.read_bytes()))


def move_photo(store: Path, photo_id: str, to: str) -> None:
    """Puts an original away under another name, where no row knows it."""
    photos = photos_of(store)
    old, new = (f"{name[:2]}/{name}/original" for name in (photo_id, to))
    if isinstance(photos, PhotosInBucket):
        photos._bucket.rename(old, new)
        return
    (store / "photos" / new).parent.mkdir(parents=True)
    (store / "photos" / old).rename(store / "photos" / new)


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
