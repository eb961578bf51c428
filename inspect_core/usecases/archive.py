"""The whole record as a BagIt bag: everything that is needed to restore the store to the same ledger head.

    data/README.txt                 what is in it
    data/heads.jsonl                every signed head with its public key
    data/records/TABLE.jsonl        the rows of each table, the ledger's entries among them
    data/photos/3f/3fa9…/original   the photos as they came, and their copies

Left out are PINs and sign-ins, the private signing key, and what is worked out anew (search words, tallies, the tree).
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from inspect_core.domain.access import Action
from inspect_core.domain.errors import BartackError, NotFound, StoreFault
from inspect_core.domain.photos import Photo
from inspect_core.ledger import head_plain
from inspect_core.ports import UnitOfWork
from inspect_core.usecases.acting import acting
from inspect_core.usecases.bag_writer import BagWriter, writing_bag
from inspect_core.usecases.services import Services

Progress = Callable[[int, int, str], object]
FORMAT = "bartack archive 1"
_COPIES = ("preview", "thumb")
_PAGE = 500
_README = """\
An archive of Bartack, which keeps the record of fall-protection gear. The format is described in docs/records.md.

records/TABLE.jsonl holds one JSON object a line, one file for each table; records/ledger.jsonl is the account, in which
each entry's digest is SHA-256 over the canonical JSON (RFC 8785) of its other keys. heads.jsonl holds signed heads of
the Merkle tree (RFC 6962) over the entries. photos/ holds each photo as it came, under its SHA-256, WITH the place
where it was taken if the camera wrote it down, and the copies that screens show.

Restore it with: bartack --store NEW_FOLDER restore ARCHIVE
"""


@dataclass(frozen=True, slots=True)
class Archived:
    """What an archive holds. `head`: digest of the last entry. `root`: of the newest signed head."""

    path: str
    entries: int
    photos: int
    head: str | None
    root: str | None

    def plain(self) -> dict[str, Any]:
        """As JSON data."""
        return {
            "path": self.path,
            "entries": self.entries,
            "photos": self.photos,
            "head": self.head,
            "root": self.root,
        }


def archive(path: Path, by: str, services: Services, progress: Progress = lambda done, total, words: None) -> Archived:
    """Write everything into a bag at `path`: a zip file where its name ends in .zip, else a folder.

    Other people may go on recording; the archive holds the record of the moment at which it began. Raises NotAllowed,
    Conflict where the place is taken, StoreFault where a photo is missing or damaged (“bartack verify” names it).
    """
    with services.unit_of_work(write=True) as uow:
        acting(uow, services, by, Action.ARCHIVE)
    with services.unit_of_work() as uow, writing_bag(path) as bag:
        uow.rows.hold()
        head, signed = uow.ledger.head(), uow.tree.newest_head()
        photos = uow.records.count("photo")
        tables = uow.rows.tables()
        total = len(tables) + photos
        bag.add("README.txt", [_README.encode()])
        bag.add("heads.jsonl", (_line(head_plain(one)) for one in uow.tree.heads()))
        for done, table in enumerate(tables):
            progress(done, total, "records")
            bag.add(f"records/{table}.jsonl", map(_line, uow.rows.read(table)))
        for done, photo in enumerate(_photos(uow), start=len(tables) + 1):
            _add_photo(bag, photo, services)
            progress(done, total, "photos")
        bag.finish(
            {
                "Bagging-Date": services.today().isoformat(),
                "Bag-Software-Agent": f"bartack {_version()}",
                "External-Description": "Everything recorded of a site's fall-protection gear",
                "Bartack-Format": FORMAT,
                "Bartack-Schema": uow.rows.schema(),
                "Bartack-Entries": str(head.number if head else 0),
                "Bartack-Head": head.digest if head else "",
                "Bartack-Root": signed.root.hex() if signed else "",
            }
        )
    return Archived(
        path=str(path),
        entries=head.number if head else 0,
        photos=photos,
        head=head.digest if head else None,
        root=signed.root.hex() if signed else None,
    )


def _photos(uow: UnitOfWork) -> Iterator[Photo]:
    after: int | str | None = None
    while page := uow.records.page("photo", after=after, limit=_PAGE):
        after = page[-1].key
        yield from (one.record for one in page)


def _add_photo(bag: BagWriter, photo: Photo, services: Services) -> None:
    place = f"photos/{photo.id[:2]}/{photo.id}"
    try:
        bag.add(f"{place}/original", [services.photos.original(photo.id)])
    except BartackError as fault:
        raise StoreFault(
            f"The archive was not written: photo {photo.id} is missing or damaged.",
            "Run “bartack verify”. To keep the store as it is now, copy its whole folder.",
        ) from fault
    for name in sorted({*_COPIES, *photo.copies}):
        try:
            bag.add(f"{place}/{name}", [services.photos.copy(photo.id, name)])
        except NotFound:
            continue  # copies are made anew where they are missing


def _line(row: Any) -> bytes:
    return json.dumps(row, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")).encode() + b"\n"


def _version() -> str:
    try:
        return version("bartack")
    except PackageNotFoundError:
        return "from source"
