"""A place that is being filled with records from elsewhere, and a store that was given up for another place.

A folder is built beside its place and gets its name when everything in it was looked through. A database on a server
has no such name to be given: its store carries a mark from before the first record until all was looked through, and
while the mark is there nobody opens it and nothing is recorded in it.
"""

from __future__ import annotations

import os
import shutil
import time
import uuid
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from inspect_core.domain.errors import Conflict, StoreFault
from inspect_core.ports import UnitOfWork
from inspect_core.usecases.services import Services

#: The setting that says why nothing may be recorded here: {"unfinished": origin} or {"moved to": place, "on": day}.
CLOSED = "closed"
#: A building site of an interrupted restore or move is cleared away when it is older than this, in seconds.
_OLD = 86_400.0


class OpenStore(Protocol):
    """Opens a store by its address; `closed`: also one that is unfinished, or given up, with leave to write."""

    def __call__(self, store: str, *, closed: bool = False) -> Services: ...


@dataclass(frozen=True)
class Filling:
    """An empty store that is being filled. `again`: an earlier run was stopped, so photos may lie there already."""

    services: Services
    again: bool = False


def refuse_unfinished(services: Services) -> None:
    """Raises StoreFault where a move or a restore into this store was not finished."""
    with services.unit_of_work() as uow:
        closed = _mark(uow)
    if "unfinished" in closed:
        raise _unfinished()


def refuse_closed(uow: UnitOfWork) -> None:
    """Raises where nothing may be recorded here: the last thing that a unit of work asks before it is written."""
    closed = _mark(uow)
    if "unfinished" in closed:
        raise _unfinished()
    if "moved to" in closed:
        raise Conflict(
            f"These records were moved to {closed['moved to']} on {closed['on']}; nothing is recorded here any more.",
            "Work there. If that place is lost, “bartack reopen” opens this one again as it was on that day.",
        )


def close_for(uow: UnitOfWork, place: str, on: str) -> None:
    """Leave the mark of a store that was given up for another place."""
    uow.settings.put(CLOSED, {"moved to": place, "on": on})


def reopen(uow: UnitOfWork) -> bool:
    """Take the mark of a store that was given up away; False where there is none."""
    if not given_up(uow):
        return False
    uow.settings.put(CLOSED, None)
    return True


def given_up(uow: UnitOfWork) -> bool:
    """Whether a store was given up for another place."""
    return "moved to" in _mark(uow)


def check_free(address: str) -> None:
    """Raises Conflict where the address is a folder that holds anything; of a server nothing is asked yet."""
    target = Path(address).expanduser()
    if "://" not in address and target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise Conflict(f"“{target}” is not empty.", "Give a new folder; records are never written over.")


@contextmanager
def filling(address: str, origin: str, open_store: OpenStore) -> Iterator[Filling]:
    """An empty store at that address, which is one when the block ends without an error.

    `origin` names what it is filled with: only a run of the same may go on where one was stopped. Raises Conflict
    where the place holds anything, StoreFault where it cannot be written.
    """
    with (_on_server if "://" in address else _in_folder)(address, origin, open_store) as found:
        yield found


@contextmanager
def _in_folder(address: str, origin: str, open_store: OpenStore) -> Iterator[Filling]:
    check_free(address)
    target = Path(address).expanduser()
    target.parent.mkdir(parents=True, exist_ok=True)
    for left in target.parent.glob(f".{target.name}.restoring-*"):
        if time.time() - left.stat().st_mtime > _OLD:
            shutil.rmtree(left, ignore_errors=True)
    building = target.with_name(f".{target.name}.restoring-{uuid.uuid4().hex[:8]}")
    try:
        services = open_store(str(building), closed=True)
        try:
            yield Filling(services)
        finally:
            services.close()
        if target.exists():
            target.rmdir()
        building.rename(target)
        _sync(target.parent)
    finally:
        shutil.rmtree(building, ignore_errors=True)


@contextmanager
def _on_server(address: str, origin: str, open_store: OpenStore) -> Iterator[Filling]:
    services = open_store(address, closed=True)
    try:
        with services.unit_of_work(write=True) as uow:
            before = _mark(uow).get("unfinished")
            if before is None:
                _check_empty(uow, services)
            elif before != origin:
                raise Conflict(
                    f"{services.place} holds the beginning of other records.",
                    "Run what was begun there again, or give an empty database and an empty place for photos.",
                )
            uow.settings.put(CLOSED, {"unfinished": origin})
            uow.commit()
        yield Filling(services, again=before is not None)
        with services.unit_of_work(write=True) as uow:
            uow.settings.put(CLOSED, None)
            uow.commit()
    finally:
        services.close()


def _check_empty(uow: UnitOfWork, services: Services) -> None:
    if not uow.rows.empty():
        raise Conflict(f"{services.place} holds records.", "Give an empty database; records are never written over.")
    if next(iter(services.photos.ids()), None) is not None:
        raise Conflict(f"The place for the photos of {services.place} holds photos.", "Give one that is empty.")


def _mark(uow: UnitOfWork) -> Mapping[str, Any]:
    return uow.settings.get(CLOSED) or {}


def _unfinished() -> StoreFault:
    return StoreFault(
        "This store is unfinished: a move or a restore into it was interrupted.",
        "Run the same move or restore again; it begins anew by itself. The records lie where they came from.",
    )


def _sync(folder: Path) -> None:
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
