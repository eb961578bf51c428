"""From an archive back to a store with the same ledger head, in a new folder or on a server."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

from inspect_core.domain.errors import BadInput, StoreFault
from inspect_core.usecases.account import complete
from inspect_core.usecases.archive import FORMAT
from inspect_core.usecases.bag_reader import Bag, reading_bag
from inspect_core.usecases.due_calendar import rest_calendar
from inspect_core.usecases.new_store import OpenStore, check_free, filling
from inspect_core.usecases.services import Services
from inspect_core.usecases.verify import Account, verify

Progress = Callable[[int, int, str], object]
#: What reading a row raises in which something else stands than this program writes. Anybody can make an archive whose
#: checksums fit.
_MISFITS = (LookupError, TypeError, ValueError, AttributeError, ArithmeticError, RecursionError)


def restore(
    source: Path,
    target: Path | str,
    open_store: OpenStore,
    progress: Progress = lambda done, total, words: None,
) -> Account:
    """Restore the archive at `source` into `target`, a folder that is empty or not there, or the address of a server
    with an empty database and no photos; return what `verify` says of it.

    Whatever stops it leaves no half store: a folder appears when everything in it has been verified, and a store on a
    server opens only then. Raises Conflict where the place holds anything, BadInput for an archive that is refused,
    StoreFault where it cannot be written.
    """
    check_free(str(target))
    with reading_bag(source) as bag:
        bag.validate(progress)
        info = bag.info()
        if info.get("Bartack-Format") != FORMAT:
            raise BadInput("This is a bag, but no archive of this program.", "Give one that “bartack archive” wrote.")
        if "://" not in str(target):
            _check_room(bag, Path(target).expanduser())
        with filling(str(target), f"archive {info.get('Bartack-Head')}", open_store) as new:
            try:
                return _build(bag, info, new.services, progress)
            except _MISFITS as fault:
                raise BadInput(
                    f"The archive's records do not fit together ({type(fault).__name__}: {str(fault)[:80]}).",
                    "Nothing was restored. Use another copy of the archive.",
                ) from fault


def _build(bag: Bag, info: Mapping[str, str], services: Services, progress: Progress) -> Account:
    _put_photos(bag, services, progress)
    with services.unit_of_work(write=True) as uow:
        uow.rows.hold()
        uow.rows.clear()
        for table in uow.rows.tables():
            name = f"data/records/{table}.jsonl"
            if name in bag.files:
                progress(0, 1, f"records: {table}")
                uow.rows.write(table, _rows(bag, name))
        uow.rows.work_out()
        rest_calendar(uow)  # an archive never says which of this machine's files is rewritten
        complete(uow)
        uow.commit()
    account = verify(services, progress=progress)
    if account.faults:
        raise StoreFault(
            f"The archive does not hold together: {account.faults[0].words}",
            "Nothing was restored. Use another archive, or ask who keeps the signed heads.",
        )
    signed = account.signed.root.hex() if account.signed else ""
    if (account.head or "", signed, str(account.entries)) != (
        info.get("Bartack-Head"),
        info.get("Bartack-Root"),
        info.get("Bartack-Entries"),
    ):
        raise StoreFault(
            "The archive's records end elsewhere than the archive says.", "Nothing was restored. Use another archive."
        )
    return account


def _put_photos(bag: Bag, services: Services, progress: Progress) -> None:
    photos: dict[str, list[str]] = {}
    for name in bag.files:
        parts = name.split("/")
        if parts[:2] == ["data", "photos"] and len(parts) == 5:
            photos.setdefault(parts[3], []).append(name)
    for done, (photo_id, names) in enumerate(sorted(photos.items()), start=1):
        files = {name.rsplit("/", 1)[1]: bag.content(name) for name in sorted(names)}
        original = files.pop("original", None)
        if original is None:
            raise BadInput(f"The archive holds no original of photo {photo_id[:64]}.", "Use another copy of it.")
        services.photos.put(photo_id, original, files)
        progress(done, len(photos), "photos")


def _rows(bag: Bag, name: str) -> Iterator[Mapping[str, Any]]:
    for number, line in enumerate(bag.lines(name), start=1):
        try:
            row = json.loads(line)
        except (ValueError, RecursionError):
            row = None
        if not isinstance(row, dict):
            raise BadInput(f"Line {number} of “{name}” is no JSON object.", "Use another copy of the archive.")
        yield row


def _check_room(bag: Bag, target: Path) -> None:
    folder = next(place for place in (target, *target.parents) if place.exists())
    # Rows take about as much again in the database and its index as in the archive.
    wanted = sum(size * (1 if name.startswith("data/photos/") else 3) for name, size in bag.files.items())
    if shutil.disk_usage(folder).free < wanted:
        raise StoreFault(
            f"There is not enough room: about {wanted // 1_000_000 + 1} MB are needed.", "Make room, or choose a disk."
        )
