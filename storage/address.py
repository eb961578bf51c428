"""One address says where a whole store lies.

FOLDER                                     database, photos and keys in one folder
postgresql+psycopg://ACCOUNT@HOST/DATABASE?photos=s3%3A%2F%2FBUCKET…&folder=FOLDER
                                           database on a server; photos in a bucket, else in the folder; the signing
                                           key and the settings in the folder

Passwords do not belong into an address that others may see: PGPASSWORD or a password file serve as well, and what the
program shows of an address never holds one.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from inspect_core.domain.errors import BadInput

_OURS = ("photos", "folder")


@dataclass(frozen=True)
class StoreAddress:
    """`database`: a folder's path or a server's address, as `storage.engine.open_engine` takes it. `photos`: address of
    a bucket, or None for the folder. `told`: the address as people may see it."""

    database: str
    folder: Path
    photos: str | None
    told: str

    @property
    def on_server(self) -> bool:
        """Whether the database is on a server, which several programs use at once."""
        return self.database.startswith("postgresql")


def read_address(store: str, default_folder: Path) -> StoreAddress:
    """The parts of a store's address. `default_folder`: where folders of stores on servers lie that name none.
    Raises BadInput for an address that is none."""
    if not store.startswith("postgresql"):
        folder = Path(store).expanduser()
        return StoreAddress(str(folder), folder, None, str(folder))
    try:
        url = make_url(store)
    except (ArgumentError, ValueError):
        url = URL.create("postgresql")
    if not url.host or not url.database:
        raise BadInput(
            "This address names no store.", "Write postgresql+psycopg://ACCOUNT@HOST/DATABASE, or give a folder."
        )
    given = {name: _one(url, name) for name in _OURS}
    server = url.difference_update_query(_OURS)
    place = f"{server.host}:{server.port or 5432}/{server.database}"
    folder = Path(given["folder"] or default_folder / "servers" / hashlib.sha256(place.encode()).hexdigest()[:16])
    return StoreAddress(
        server.render_as_string(hide_password=False), folder.expanduser(), given["photos"], f"postgresql://{place}"
    )


def _one(url: URL, name: str) -> str | None:
    value = url.query.get(name)
    if isinstance(value, tuple):
        raise BadInput(f"This address names “{name}” twice.", "Keep the one that is meant.")
    return value or None
