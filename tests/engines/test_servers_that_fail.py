"""A database or bucket that dies, or a line that breaks, while people save: each is told in words, what was saved
is there afterwards, and the same save sent again is written once."""

from __future__ import annotations

import random
import threading
import time
from collections.abc import Callable

import pytest

from tests.engines.yard import Servers, Yard

pytestmark = pytest.mark.engine

Blow = Callable[[Servers], None]


def kill_database(servers: Servers) -> None:
    servers.database.kill()
    servers.database.start()


def cut_the_line(servers: Servers) -> None:
    servers.line.cut()
    time.sleep(0.01)
    servers.line.mend()


def cut_the_line_to_the_photos(servers: Servers) -> None:
    servers.photo_line.cut()
    time.sleep(0.01)
    servers.photo_line.mend()


def kill_bucket(servers: Servers) -> None:
    servers.bucket.kill()
    servers.bucket.start()


BLOWS = [kill_database, cut_the_line, cut_the_line_to_the_photos, kill_bucket]


def strike(yard: Yard, servers: Servers, blow: Blow, rounds: int, seed: int) -> None:
    """Saves while blows fall at random moments. After each blow all that was acknowledged is there."""
    rng = random.Random(seed)
    for number in range(rounds):
        falling = threading.Timer(rng.random() * 0.06, blow, [servers])
        falling.start()
        for step in range(4):
            yard.save_again(number * 4 + step, within=60)
        falling.join()
        yard.check_nothing_is_lost()
    yard.check_whole_account()
    assert len(yard.acknowledged) == rounds * 4


@pytest.mark.parametrize("blow", BLOWS)
def test_what_was_acknowledged_is_there_after_a_blow(yard: Yard, servers: Servers, blow: Blow) -> None:
    strike(yard, servers, blow, rounds=1 if blow is kill_bucket else 3, seed=1)


@pytest.mark.slow
@pytest.mark.parametrize("blow", BLOWS)
def test_what_was_acknowledged_is_there_after_fifty_blows(yard: Yard, servers: Servers, blow: Blow) -> None:
    strike(yard, servers, blow, rounds=50, seed=2)
    assert yard.told, "no blow was felt"
