"""What one inspection costs, measured on this machine: the figures from which docs/fleet.md computes a whole fleet.

    python -m tests.bench.fleet_costs FOLDER --size 100000 STEP…

Steps: make, sizes, save, verify, archive, parquet, what-if, trends, move. Each prints one line of JSON. `make` fills
FOLDER/store with a site whose every record stands in the account: a hundred inspections per item, nine of ten before
use, every ninth with a photo and marks, all decided by the packaged rules. `move` needs PostgreSQL and the S3 server.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import shutil
import time
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any
from urllib.parse import quote

from inspect_core import bootstrap
from inspect_core.deciding import decide
from inspect_core.domain.custody import Move
from inspect_core.domain.decision import Answer, Case
from inspect_core.domain.gear import components_of, may_be_absent
from inspect_core.domain.inspection import Inspection, InspectionType, case_marks
from inspect_core.domain.marks import Reading
from inspect_core.domain.people import Person, Role
from inspect_core.rules.model import RuleSet
from inspect_core.usecases.account import enter
from inspect_core.usecases.archive import archive
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.export import Export, export
from inspect_core.usecases.fleet.engine import Engine
from inspect_core.usecases.fleet.stores import open_stores
from inspect_core.usecases.fleet.trends import fleet_services
from inspect_core.usecases.fleet.what_if import what_if as fleet_what_if
from inspect_core.usecases.inspect import RecordInspection, record
from inspect_core.usecases.plain import inspection_plain, item_plain
from inspect_core.usecases.register import add_person
from inspect_core.usecases.relocate import relocate
from inspect_core.usecases.restore import restore
from inspect_core.usecases.services import Services
from inspect_core.usecases.trends_plain import question_plain
from inspect_core.usecases.trends_scope import Scope
from inspect_core.usecases.verify import verify
from inspect_core.usecases.what_if import what_if
from tests.bench.store_of_size import FIRST, inspection_of, item_of
from tests.storage import made

_PER_ITEM, _BATCH = 100, 2_000
MANAGER = "person-manager"


def told(step: str, **figures: Any) -> None:
    """One line: what was done, with what it took; memory is the most that this process ever held."""
    took = figures.get("seconds")
    if isinstance(took, Took):
        figures["core_seconds"] = took.cpu
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    rounded = {key: round(value, 4) if isinstance(value, float) else value for key, value in figures.items()}
    print(json.dumps({"step": step, **rounded, "memory_mb": memory}), flush=True)


class Took(float):
    """Seconds by the clock; `cpu`: seconds of a core, of this process and of those that it waited for, which say the
    same on a machine that others use as well."""

    cpu: float


def timed(work: Callable[[], Any]) -> tuple[Took, Any]:
    begun, used = time.perf_counter(), _cpu()
    found = work()
    took = Took(time.perf_counter() - begun)
    took.cpu = _cpu() - used
    return took, found


def _cpu() -> float:
    own, theirs = resource.getrusage(resource.RUSAGE_SELF), resource.getrusage(resource.RUSAGE_CHILDREN)
    return own.ru_utime + own.ru_stime + theirs.ru_utime + theirs.ru_stime


def size_of(folder: Path) -> int:
    """Bytes of all files below."""
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())


# A site of any size -------------------------------------------------------------------------------------------------


def realistic(number: int, items: int, rules: RuleSet) -> tuple[Inspection, bytes | None]:
    """One inspection, decided by the rules, and its photo if it has one."""
    plain = inspection_of(3 * number, items)  # its multiples of three carry marks
    item = item_of(number % items)
    picture = f"photograph {number}".encode() if number % 9 == 0 else None
    photo = made.photo_of(picture).id if picture else ""
    parts = components_of(item.kind)
    sound = {part: Answer.ABSENT if may_be_absent(item.kind, part) else Answer.SOUND for part in parts}
    marks = tuple(
        replace(
            mark,
            photo_id=photo,
            component=parts[0],
            readings=(Reading("depth from edge", 0.1 + 0.01 * (number % 60), "mm", 0.1, "photo, known length"),),
        )
        for mark in (plain.marks if picture else ())
    )
    if marks:
        sound[parts[0]] = Answer.DEFECT
    type_ = InspectionType.PERIODIC if number % 10 == 0 else InspectionType.BEFORE_USE
    facts = {"arrested fall": False, "chemical exposure": False, "heat exposure": False}
    at = FIRST + timedelta(minutes=5 * number)
    decision = decide(Case(item.kind, plain.profile, facts, sound, case_marks(marks)), rules, at.date())
    whole = replace(
        plain,
        id=f"inspection-{number}",
        item_id=item.id,
        site=item.site,
        type=type_,
        at=at,
        answers=sound,
        facts=facts,
        marks=marks,
        photo_ids=(photo,) if photo else (),
        decision=decision,
        hand=None,
        next_due=None,
    )
    return whole, picture


def make(store: str, size: int) -> None:
    services = bootstrap.open_services(store)
    rules, items = services.rules, max(1, size // _PER_ITEM)
    add_person(Person(MANAGER, "Manager", Role.MANAGER), services)
    for number in range(30):
        add_person(Person(f"p{number}", f"Worker {number}", Role.COMPETENT_PERSON), services)
    photos = services.own_files["settings"].with_name("photos")
    begun, used = time.perf_counter(), _cpu()
    with services.unit_of_work(write=True) as uow:
        for number in range(items):
            item = item_of(number)
            uow.items.add(item, made.standing(item.id))
            enter(uow, FIRST, "item", item.id, {"item": item_plain(item)})
        uow.commit()
    for start in range(1, size + 1, _BATCH):
        with services.unit_of_work(write=True) as uow:
            for number in range(start, min(start + _BATCH, size + 1)):
                one, picture = realistic(number, items, rules)
                if picture:
                    uow.photos.add(made.photo_of(picture))
                    _put(photos, one.photo_ids[0], picture)
                uow.inspections.add(one)
                standing = uow.items.standing(one.item_id)
                uow.items.set_standing(replace(standing, last_inspection_id=one.id, last_seen_on=one.at.date()))
                enter(uow, one.at, "inspection", one.id, {"inspection": inspection_plain(one)})
            uow.commit()
    for number in range(0, items, 4):
        make_move(MakeMove(f"hold-{number}", f"item-{number}", Move.HOLD, MANAGER, "put aside"), services)
    services.close()
    told("make", size=size, seconds=time.perf_counter() - begun, core_seconds=_cpu() - used)


def _put(photos: Path, photo: str, picture: bytes) -> None:
    """Beside the photo store, which would force each to the disk."""
    place = photos / photo[:2] / photo
    place.mkdir(parents=True, exist_ok=True)
    (place / "original").write_bytes(picture)


# Steps --------------------------------------------------------------------------------------------------------------


def sizes(folder: Path, size: int) -> None:
    bytes_ = sum(path.stat().st_size for path in (folder / "store").glob("bartack.sqlite3*"))
    told("sizes", database_bytes_per_inspection=bytes_ / size)


def save(folder: Path, size: int) -> None:
    services = bootstrap.open_services(str(folder / "store"))
    _save("save, folder", services)
    services.close()
    from tests.engines import pg_server

    with pg_server.serving() as database:
        database.make_database("saves")
        make(f"{database.url('saves')}?folder={quote(str(folder / 'saves'), safe='')}", 1_000)
        services = bootstrap.open_services(f"{database.url('saves')}?folder={quote(str(folder / 'saves'), safe='')}")
        _save("save, PostgreSQL", services)
        services.close()
    shutil.rmtree(folder / "saves", ignore_errors=True)


def _save(step: str, services: Services) -> None:
    item = item_of(1)
    answers = dict.fromkeys(components_of(item.kind), Answer.SOUND)
    took: list[Took] = []
    for _number in range(60):
        command = RecordInspection(services.new_id(), item.id, InspectionType.BEFORE_USE, "p1", answers)
        seconds, _ = timed(lambda command=command: record(command, services))  # type: ignore[misc]
        took.append(seconds)
    cpu = sorted(one.cpu for one in took)
    took.sort()
    middle, late = len(took) // 2, int(len(took) * 0.95)
    told(step, median_ms=took[middle] * 1000, p95_ms=took[late] * 1000, median_core_ms=cpu[middle] * 1000)


def verifying(folder: Path, size: int) -> None:
    services = bootstrap.open_services(str(folder / "store"))
    seconds, account = timed(lambda: verify(services))
    services.close()
    told(
        "verify",
        seconds=seconds,
        entries_per_s=account.entries / seconds,
        photos=account.photos,
        faults=len(account.faults),
    )


def archiving(folder: Path, size: int) -> None:
    shutil.rmtree(folder / "bag", ignore_errors=True)
    shutil.rmtree(folder / "restored", ignore_errors=True)
    services = bootstrap.open_services(str(folder / "store"))
    seconds, _ = timed(lambda: archive(folder / "bag", MANAGER, services))
    services.close()
    bytes_ = size_of(folder / "bag")
    told("archive", seconds=seconds, mb_per_s=bytes_ / seconds / 1e6, bytes_per_inspection=bytes_ / size)
    seconds, _ = timed(lambda: restore(folder / "bag", folder / "restored", bootstrap.open_services))
    told("restore", seconds=seconds, inspections_per_s=size / seconds)
    shutil.rmtree(folder / "bag")
    shutil.rmtree(folder / "restored")


def parquet(folder: Path, size: int) -> None:
    shutil.rmtree(folder / "parquet", ignore_errors=True)
    services = bootstrap.open_services(str(folder / "store"))
    seconds, _ = timed(lambda: export(folder / "parquet", Export("parquet"), MANAGER, services))
    services.close()
    told(
        "parquet",
        seconds=seconds,
        inspections_per_s=size / seconds,
        bytes_per_inspection=size_of(folder / "parquet") / size,
    )


def weighing(folder: Path, size: int) -> None:
    services = bootstrap.open_services(str(folder / "store"))
    seconds, own = timed(lambda: what_if(services, services.rules))
    told("what-if in the store", seconds=seconds, cases_per_core_s=own.past.cases / seconds)
    stores = open_stores([folder / "parquet"])
    for workers in (1, 2):
        work = Engine(workers)
        seconds, found = timed(lambda work=work: fleet_what_if(stores, services.rules, services.rules, work))  # type: ignore[misc]
        told(f"fleet what-if, {workers} processes", seconds=seconds, cases_per_s=found.past.cases / seconds)
        if found.plain()["cases"] != own.past.cases:
            raise AssertionError("the fleet weighed other cases than the store")
    services.close()


def counting(folder: Path, size: int) -> None:
    services = bootstrap.open_services(str(folder / "store"))
    stores = open_stores([folder / "parquet"])
    for workers in (1, 2):
        for question in ("rates", "where", "coming"):
            fleet = fleet_services(stores, Engine(workers), services.clock, services.rules)
            seconds, _ = timed(lambda f=fleet, q=question: question_plain(q, f, Scope(), "kind"))  # type: ignore[misc]
            told(f"fleet trends {question}, {workers} processes", seconds=seconds, rows_per_s=size / seconds)
    services.close()


def moving(folder: Path, size: int) -> None:
    from tests.engines import pg_server, s3_server

    os.environ.update(s3_server.KEYS)
    with ExitStack() as stack:
        database = stack.enter_context(pg_server.serving())
        (folder / "s3").mkdir(exist_ok=True)
        bucket = stack.enter_context(s3_server.serving(folder / "s3"))
        database.make_database("fleet")
        photos = quote(bucket.address("fleet"), safe="")
        server = f"{database.url('fleet')}?folder={quote(str(folder / 'server'), safe='')}&photos={photos}"
        home = folder / "home"
        for source, target in ((str(folder / "store"), server), (server, str(home))):
            opened = bootstrap.open_services(source, closed=True)
            steps: dict[str, float] = {}
            seconds, done = timed(
                lambda o=opened, t=target, s=steps: relocate(
                    o, t, MANAGER, bootstrap.open_services, progress=_by_words(s)
                )
            )  # type: ignore[misc]
            opened.close()
            told(
                f"move to {'the servers' if target == server else 'a folder'}",
                seconds=seconds,
                inspections_per_s=size / seconds,
                photos=done.photos,
                steps=steps,
            )
            if target == server:
                services = bootstrap.open_services(server)
                bytes_ = _database_bytes(database.url("fleet"))
                told("sizes on PostgreSQL", database_bytes_per_inspection=bytes_ / size)
                _save("save, PostgreSQL", services)
                services.close()
    for left in ("server", "s3", "home"):
        shutil.rmtree(folder / left, ignore_errors=True)
    opened = bootstrap.open_services(str(folder / "store"), closed=True)
    with opened.unit_of_work(write=True) as uow:
        uow.settings.put("closed", None)  # it is measured again
        uow.commit()
    opened.close()


def _by_words(steps: dict[str, float]) -> Callable[[int, int, str], None]:
    last = ["", time.perf_counter()]

    def progress(done: int, total: int, words: str) -> None:
        now = time.perf_counter()
        name = words.split(":")[0]
        steps[name] = round(steps.get(name, 0.0) + now - last[1], 2)  # type: ignore[operator]
        last[:] = [name, now]

    return progress


def _database_bytes(url: str) -> int:
    import psycopg

    with psycopg.connect(url.replace("+psycopg", "")) as connection:
        row = connection.execute("SELECT pg_database_size(current_database())").fetchone()
    return int(row[0]) if row else 0


STEPS: dict[str, Callable[[Path, int], None]] = {
    "make": lambda folder, size: make(str(folder / "store"), size),
    "sizes": sizes,
    "save": save,
    "verify": verifying,
    "archive": archiving,
    "parquet": parquet,
    "what-if": weighing,
    "trends": counting,
    "move": moving,
}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--size", type=int, default=100_000)
    parser.add_argument("steps", nargs="+", choices=STEPS)
    asked = parser.parse_args()
    for step in asked.steps:
        STEPS[step](asked.folder, asked.size)


if __name__ == "__main__":
    main()
