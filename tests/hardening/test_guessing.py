"""Guessing a PIN from several processes at once, and what the time and the words of an answer give away."""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter
from dataclasses import dataclass, field, replace
from pathlib import Path

import pytest

from inspect_core.domain.credentials import MOST_LETTERS
from inspect_core.domain.errors import NotAllowed
from inspect_core.usecases import sign_in as use
from tests.usecases.locked import CHEAP, PINS, LockedSite

ROOT = Path(__file__).parent.parent.parent
WRONG = "The name or the PIN is not right."


def _at_once(store: Path, *runs: tuple[str, ...]) -> list[list[str]]:
    """What was said to each process; all begin together."""
    command = [sys.executable, "-m", "tests.hardening.guesser", str(store)]
    started = [
        subprocess.Popen([*command, *run], cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        for run in runs
    ]
    for one in started:
        assert one.stdout is not None and one.stdout.readline() == "ready\n"
    for one in started:
        assert one.stdin is not None
        one.stdin.write("\n")
        one.stdin.flush()
    return [json.loads(one.communicate(timeout=60)[0]) for one in started]


@pytest.mark.sqlite
def test_processes_that_guess_at_once_share_one_count_and_those_who_know_their_pin_get_in(tmp_path: Path) -> None:
    site = LockedSite(tmp_path / "store", real_time=True)
    site.services.close()
    first, second, knows = _at_once(
        tmp_path / "store",
        ("Worker", *(f"7{number:05}" for number in range(12))),
        ("Worker", *(f"8{number:05}" for number in range(12))),
        ("Competent", *[PINS["competent"]] * 6),
    )
    told = Counter(first + second)
    # The fifth wrong guess locks: no more than five were compared, whichever process made them.
    assert told[WRONG] == 5, told
    assert told["This PIN is locked for a while after wrong guesses."] == 19, told
    assert not any(words.startswith("open") for words in told)
    tokens = [words for words in knows if words.startswith("open ")]
    assert len(tokens) == 6 and len(set(tokens)) == 6  # each sign-in has a number of its own


@dataclass
class Counting:
    """A hasher that counts what it was asked."""

    asked: Counter[str] = field(default_factory=Counter)

    def hash(self, secret: str) -> str:
        self.asked["slow"] += 1
        self.asked["longest"] = max(self.asked["longest"], len(secret))
        return CHEAP.hash(secret)

    def verify(self, hash: str, secret: str) -> bool:
        self.asked["slow"] += 1
        self.asked["longest"] = max(self.asked["longest"], len(secret))
        return CHEAP.verify(hash, secret)


@pytest.mark.parametrize("name", ["Worker", "Nobody of that name", "' OR 1=1 --", "", "person-worker"])
def test_a_wrong_guess_costs_one_slow_hash_whether_or_not_the_name_is_known(tmp_path: Path, name: str) -> None:
    site = LockedSite(tmp_path / "store")
    counting = Counting()
    services = replace(site.services, hasher=counting)
    with pytest.raises(NotAllowed) as refused:
        use.sign_in(name, "918273" + "0" * 1_000_000, services)
    assert refused.value.problem == WRONG
    assert counting.asked["slow"] == 1
    assert counting.asked["longest"] <= MOST_LETTERS + 1  # a long one costs no more


def test_every_sign_in_has_a_fresh_number_and_an_old_one_opens_nothing(tmp_path: Path) -> None:
    """Nobody is signed in under a number that was known before (session fixation)."""
    site = LockedSite(tmp_path / "store")
    numbers = {site.signed_in("worker").actor.token for _ in range(5)}  # type: ignore[union-attr]
    assert len(numbers) == 5 and all(len(number) >= 32 for number in numbers)
    mine = site.signed_in("worker")
    use.sign_out(mine)
    assert use.signed_in(mine) is None
