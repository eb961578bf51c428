"""Saves, moves, imports and archives in processes that are killed at any moment; run as a program by the test.

    python -m tests.usecases.killed ROUNDS SEED FOLDER

Each round forks a process from this one, which is warm, lets it work and kills it with SIGKILL at a random moment after
it has begun. The process writes a line into a pipe for everything that it was told is recorded. After each round
`verify` looks through the whole store, and everything that was told has to be there. Prints what it saw as JSON.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import sys
import time
import traceback
from collections import Counter
from itertools import count
from pathlib import Path

import cv2

from inspect_core import bootstrap
from inspect_core.domain.custody import Move
from inspect_core.domain.errors import BartackError
from inspect_core.usecases.archive import archive
from inspect_core.usecases.bag_reader import reading_bag
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.import_columns import guess_columns
from inspect_core.usecases.import_register import import_rows, preview
from inspect_core.usecases.import_table import read_table
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.services import Services
from inspect_core.usecases.verify import verify
from tests.usecases.site import Site, picture

#: So many rounds go into one store; then it starts anew, so that looking through it stays quick.
_ROUNDS_IN_ONE = 25
_ITEMS = 6
#: A process is killed so long after it began at the latest, in seconds; it never gets to its end by itself.
_LONGEST = 0.3


class _Told:
    """Writes what was acknowledged into a pipe, one line at a time; short writes to a pipe are whole."""

    def __init__(self, pipe: int) -> None:
        self._pipe = pipe

    def __call__(self, *words: str) -> None:
        os.write(self._pipe, (" ".join(words) + "\n").encode())


def _work(store: Path, folder: Path, seed: int, told: _Told) -> None:
    """Records without end, in a random order."""
    rng = random.Random(seed)
    services = bootstrap.open_services(str(store))
    site = Site.__new__(Site)
    site.services, site.worker, site.competent, site.manager = services, *_PEOPLE
    told("begun")
    for step in count():
        name = f"{seed}-{step}"
        kind = rng.choice(("save", "save", "photo", "move", "import", "archive"))
        if kind in ("save", "photo"):
            _save(site, rng, name, told, with_photo=kind == "photo")
        elif kind == "move":
            _move(services, rng, name, told)
        elif kind == "import":
            _import(services, name, told)
        else:
            archive(folder / f"bag-{name}.zip", site.manager, services)
            told("archive", f"bag-{name}.zip")


_PEOPLE = ("person-worker", "person-competent", "person-manager")


def _save(site: Site, rng: random.Random, name: str, told: _Told, *, with_photo: bool) -> None:
    with site.services.unit_of_work() as uow:
        item = uow.items.get(f"item-LAN-{rng.randrange(_ITEMS)}")
    photos = (take_photo(picture(rng.randrange(10**6), (320, 240)), site.services).id,) if with_photo else ()
    try:
        site.record(site.check(item, name, note=name, photo_ids=photos))
    except BartackError:  # the item may have been withdrawn
        return
    told("inspection", name, *photos)


def _move(services: Services, rng: random.Random, name: str, told: _Told) -> None:
    try:
        make_move(MakeMove(name, f"item-LAN-{rng.randrange(_ITEMS)}", Move.HOLD, _PEOPLE[0], f"held {name}"), services)
    except BartackError:  # it is on hold already
        return
    told("move", name)


def _import(services: Services, name: str, told: _Told) -> None:
    rows = "".join(f"IMP-{name}-{n},connector,2024-05-0{n + 1}\n" for n in range(5))
    table = read_table(f"tag,kind,made on\n{rows}".encode(), "register.csv")
    looked = preview(table, guess_columns(table.header), services, numbers_needed=False)
    import_rows(looked, _PEOPLE[2], services, skip_bad=False)
    told("import", name)


def _one_round(store: Path, folder: Path, seed: int) -> list[list[str]]:
    """What a process was told before it was killed."""
    ready, pipe = os.pipe()
    process = os.fork()
    if process == 0:
        os.close(ready)
        try:
            _work(store, folder, seed, _Told(pipe))
        except BaseException:
            traceback.print_exc()
        finally:
            os._exit(99)
    os.close(pipe)
    with os.fdopen(ready) as lines:
        assert lines.readline() == "begun\n", "the process ended before it began"
        time.sleep(random.Random(seed).uniform(0, _LONGEST))
        os.kill(process, signal.SIGKILL)
        _, status = os.waitpid(process, 0)
        assert os.waitstatus_to_exitcode(status) == -signal.SIGKILL, "the process ended by itself"
        return [line.split() for line in lines.read().splitlines()]


def _check(store: Path, folder: Path, told: list[list[str]]) -> None:
    services = bootstrap.open_services(str(store))
    try:
        account = verify(services)
        assert account.faults == (), account.faults
        with services.unit_of_work() as uow:
            head, signed = uow.ledger.head(), uow.tree.newest_head()
            assert head is not None and signed is not None and signed.size == head.number
            for kind, name, *photos in told:
                if kind == "inspection":
                    assert uow.inspections.find(name) is not None, f"inspection {name} was told and is lost"
                    assert all(services.photos.original(photo) for photo in photos)
                elif kind == "move":
                    assert uow.records.known("custody", [name]), f"move {name} was told and is lost"
                elif kind == "import":
                    assert all(uow.items.find_tag(f"IMP-{name}-{n}") for n in range(5)), f"import {name} is lost"
                else:
                    with reading_bag(folder / name) as bag:
                        bag.validate()
            tags = Counter(row.item.tag.rsplit("-", 1)[0] for row in uow.items.rows() if row.item.tag[:3] == "IMP")
            assert set(tags.values()) <= {5}, "an import was half done"
    finally:
        services.close()
    whole = {name for kind, name, *_ in told if kind == "archive"}
    for path in folder.glob("bag-*"):  # a bag that carries its name is whole, told or not
        if path.name not in whole:
            with reading_bag(path) as bag:
                bag.validate()
        path.unlink()
    for left in folder.glob(".bag-*"):
        left.unlink()


def run(rounds: int, seed: int, folder: Path) -> dict[str, int]:
    """All rounds; what was acknowledged, by its kind."""
    cv2.setNumThreads(0)  # threads of this process do not live on in a fork
    template = folder / "template"
    site = Site(template)
    for number in range(_ITEMS):
        site.lanyard(f"LAN-{number}")
    take_photo(picture(), site.services)
    site.services.close()
    seen: Counter[str] = Counter()
    store, told = folder / "none", list[list[str]]()
    for number in range(rounds):
        if number % _ROUNDS_IN_ONE == 0:
            shutil.rmtree(store, ignore_errors=True)
            store, told = folder / f"store-{number}", []
            shutil.copytree(template, store)
        new = _one_round(store, folder, seed + number)
        told += [line for line in new if line[0] != "archive"]
        _check(store, folder, [*told, *(line for line in new if line[0] == "archive")])
        seen.update(line[0] for line in new)
        seen["rounds"] += 1
    return dict(seen)


if __name__ == "__main__":
    print(json.dumps(run(int(sys.argv[1]), int(sys.argv[2]), Path(sys.argv[3]))))
