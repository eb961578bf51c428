"""From an archive back to a store with the same ledger head. Built beside its place, verified, then renamed."""

from __future__ import annotations

import json
import os
import shutil
import time
import uuid
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

from inspect_core.domain.errors import BadInput, Conflict, StoreFault
from inspect_core.usecases.account import complete
from inspect_core.usecases.archive import FORMAT
from inspect_core.usecases.bag_reader import Bag, reading_bag
from inspect_core.usecases.due_calendar import rest_calendar
from inspect_core.usecases.services import Services
from inspect_core.usecases.verify import Account, verify

Progress = Callable[[int, int, str], object]
#: A building site of an interrupted restore is cleared away when it is older than this, in seconds.
_OLD = 86_400.0


def restore(
    source: Path,
    target: Path,
    open_services: Callable[[str], Services],
    progress: Progress = lambda done, total, words: None,
) -> Account:
    """Restore the archive at `source` into the folder `target`, which must be empty or not there, and return what
    `verify` says of it.

    Whatever stops it leaves no half store: the folder appears when everything in it has been verified. Raises Conflict
    where the folder holds anything, BadInput for an archive that is refused, StoreFault where it cannot be written.
    """
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise Conflict(f"“{target}” is not empty.", "Give a new folder; a restore never writes over records.")
    with reading_bag(source) as bag:
        bag.validate(progress)
        info = bag.info()
        if info.get("Bartack-Format") != FORMAT:
            raise BadInput("This is a bag, but no archive of this program.", "Give one that “bartack archive” wrote.")
        target.parent.mkdir(parents=True, exist_ok=True)
        _check_room(bag, target.parent)
        _clear_old(target)
        building = target.with_name(f".{target.name}.restoring-{uuid.uuid4().hex[:8]}")
        try:
            account = _build(bag, info, building, open_services, progress)
            if target.exists():
                target.rmdir()
            building.rename(target)
            _sync(target.parent)
        finally:
            shutil.rmtree(building, ignore_errors=True)
    return account


def _build(
    bag: Bag,
    info: Mapping[str, str],
    building: Path,
    open_services: Callable[[str], Services],
    progress: Progress,
) -> Account:
    services = open_services(str(building))
    try:
        _put_photos(bag, services, progress)
        with services.unit_of_work(write=True) as uow:
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
    finally:
        services.close()
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


def _check_room(bag: Bag, folder: Path) -> None:
    # Rows take about as much again in the database and its index as in the archive.
    wanted = sum(size * (1 if name.startswith("data/photos/") else 3) for name, size in bag.files.items())
    if shutil.disk_usage(folder).free < wanted:
        raise StoreFault(
            f"There is not enough room: about {wanted // 1_000_000 + 1} MB are needed.", "Make room, or choose a disk."
        )


def _clear_old(target: Path) -> None:
    for left in target.parent.glob(f".{target.name}.restoring-*"):
        if time.time() - left.stat().st_mtime > _OLD:
            shutil.rmtree(left, ignore_errors=True)


def _sync(folder: Path) -> None:
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
