"""Runs saves in processes of their own, which a test may kill or set against each other.

    python -m tests.storage.in_processes kill STORE FOLDER    kill a save before its 1st, 2nd, … step, each in a
                                                              copy of STORE under FOLDER, till one gets to its end
    python -m tests.storage.in_processes race STORE FOLDER    save one inspection from three processes at once, in
                                                              each of four copies of STORE under FOLDER

The processes are forks, so that each does not load everything anew; nothing is open when they fork.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import sys
from collections.abc import Callable
from itertools import count
from pathlib import Path
from typing import Any

from sqlalchemy import event
from sqlalchemy.engine import Engine

from inspect_core.domain.custody import State
from inspect_core.domain.errors import Conflict
from inspect_core.ledger import next_entry
from storage.engine import open_engine
from storage.photos_on_disk import PhotosOnDisk
from storage.unit_of_work import unit_of_work_factory
from tests.storage import made

ORIGINAL = made.picture("a cut")
PHOTO = made.photo_of(ORIGINAL)
COPIES = {"preview": b"smaller", "thumb": b"small"}
INSPECTION = made.inspection(1, photos=(PHOTO.id,))
_STEPS = ("open", "write", "fsync", "rename", "mkdir", "close", "link", "unlink", "rmdir")


def save(engine: Engine, photos: PhotosOnDisk) -> None:
    """A full save: the photo with its copies, then everything that belongs to the inspection."""
    photos.put(PHOTO.id, ORIGINAL, COPIES)
    with unit_of_work_factory(engine)(write=True) as unit:
        unit.photos.add(PHOTO)
        unit.inspections.add(INSPECTION)
        unit.custody.add(made.withdrawal(1, "item-1", INSPECTION.id))
        unit.items.set_standing(made.standing("item-1", State.WITHDRAWN, last_inspection_id=INSPECTION.id))
        unit.ledger.add(next_entry(unit.ledger.head(), made.NOW, "inspection", INSPECTION.id, {"outcome": "withdraw"}))
        unit.drafts.discard("draft-1")
        unit.commit()


def _killed_before(step: int, engine: Engine) -> None:
    """Every file operation of ours and every statement counts as a step; before that one the process is killed."""
    steps = count(1)

    def one_step(*_args: Any) -> None:
        if next(steps) == step:
            os.kill(os.getpid(), signal.SIGKILL)

    def counted(real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any, **kwargs: Any) -> Any:
            one_step()
            return real(*args, **kwargs)

        return call

    for name in _STEPS:
        setattr(os, name, counted(getattr(os, name)))
    event.listen(engine, "before_cursor_execute", one_step)
    event.listen(engine, "commit", one_step)


def _in_fork(work: Callable[[], int]) -> int:
    """The process id of a fork that does the work and ends with its answer."""
    process = os.fork()
    if process:
        return process
    answer = 99
    try:
        answer = work()
    finally:
        os._exit(answer)


def kill(store: Path, folder: Path) -> dict[str, int]:
    """How each try ended, by the name of its folder: -9 killed, 0 at its end."""
    ends: dict[str, int] = {}
    for step in count(1):
        place = folder / f"{step:03}"
        shutil.copytree(store, place)

        def save_and_die(step: int = step, place: Path = place) -> int:
            engine = open_engine(place)
            _killed_before(step, engine)
            save(engine, PhotosOnDisk(place / "photos"))
            # Ends like a killed process would, with nothing tidied up.
            return 0

        _, status = os.waitpid(_in_fork(save_and_die), 0)
        ends[place.name] = os.waitstatus_to_exitcode(status)
        if ends[place.name] != -signal.SIGKILL:
            return ends
    return ends


def race(store: Path, folder: Path) -> dict[str, list[int]]:
    """By the name of each copy's folder: 0 for every process that saved, 1 for one told that it is recorded."""
    ends: dict[str, list[int]] = {}
    for name in "abcd":
        shutil.copytree(store, folder / name)
        ends[name] = _race(folder / name)
    return ends


def _race(store: Path, many: int = 3) -> list[int]:
    ready, go = os.pipe()

    def save_at_the_signal() -> int:
        os.close(go)
        engine = open_engine(store)
        os.read(ready, 1)
        try:
            save(engine, PhotosOnDisk(store / "photos"))
        except Conflict:
            return 1
        return 0

    processes = [_in_fork(save_at_the_signal) for _ in range(many)]
    os.close(go)  # every one reads the end of the pipe at the same time
    os.close(ready)
    return sorted(os.waitstatus_to_exitcode(os.waitpid(process, 0)[1]) for process in processes)


if __name__ == "__main__":
    way, store, folder = sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3])
    open_engine(folder / "warm").dispose()  # loads what the first engine loads, before the forks
    print(json.dumps(kill(store, folder) if way == "kill" else race(store, folder)))
