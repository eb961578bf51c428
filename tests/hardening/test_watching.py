"""The watch over spoilt inputs sees what it is there to see."""

import os
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest

from inspect_core.domain.errors import BadInput
from tests.hardening import watching
from tests.hardening.watching import Hung, attack, nothing_written_outside


def _made_and_removed(outside: Path) -> None:
    (outside / "folder").mkdir()
    (outside / "folder" / "file").write_text("x")
    shutil.rmtree(outside / "folder")


@pytest.mark.parametrize(
    "stray",
    [
        lambda outside: (outside / "file").write_text("x"),
        lambda outside: os.close(os.open(outside / "file", os.O_CREAT | os.O_WRONLY)),
        lambda outside: (outside / "folder").mkdir(),
        lambda outside: (outside / "link").symlink_to("/"),
        lambda outside: (outside / "known").rename(outside / "other"),
        lambda outside: (outside / "known").unlink(),
        lambda outside: sqlite3.connect(outside / "base").close(),
        _made_and_removed,
        lambda _outside: tempfile.TemporaryFile().close(),
        lambda _outside: subprocess.run([sys.executable, "-c", ""], check=True),
    ],
    ids=["file", "descriptor", "folder", "link", "rename", "removal", "database", "tree", "temporary", "program"],
)
def test_whatever_is_written_outside_is_seen(stray, tmp_path: Path) -> None:
    for name in ("inside", "outside"):
        (tmp_path / name).mkdir()
    (tmp_path / "outside" / "known").touch()
    with pytest.raises(AssertionError), nothing_written_outside(tmp_path / "inside"):
        stray(tmp_path / "outside")


def test_what_is_written_inside_and_what_is_read_is_no_fault(tmp_path: Path) -> None:
    (tmp_path / "inside").mkdir()
    (tmp_path / "known").write_text("x")
    with nothing_written_outside(tmp_path / "inside"):
        assert (tmp_path / "known").read_text() == "x"
        _made_and_removed(tmp_path / "inside")
        with Path(os.devnull).open("w") as nothing:
            nothing.write("x")


def _busy(_given: object) -> None:
    """Swallows every error of the usual kind, as a library may."""
    while True:
        try:
            while True:
                pass
        except Exception:  # noqa: S112 - what is tried here
            continue


def test_what_hangs_is_ended_and_named_although_it_swallows_errors(monkeypatch) -> None:
    monkeypatch.setattr(watching, "LONGEST", 0.05)
    with pytest.raises(AssertionError, match=re.escape("name, seed 0: Hung")):
        attack("name", 1, lambda rng: rng.random(), _busy)


def test_what_takes_long_without_looking_up_is_named_too(monkeypatch) -> None:
    monkeypatch.setattr(watching, "LONGEST", 0.05)
    monkeypatch.setattr(watching.signal, "setitimer", lambda *_: None)

    def use(_given: object) -> None:
        begun = time.process_time()
        while time.process_time() - begun < 0.1:
            pass

    with pytest.raises(AssertionError, match="took"):
        attack("name", 1, lambda rng: rng.random(), use)


def test_a_crash_is_named_by_its_seed_and_a_refusal_is_none() -> None:
    def use(given: float) -> None:
        if given > 0.5:
            raise BadInput("Too much.", "Less.")
        if given < 0.01:
            raise KeyError("x")

    with pytest.raises(AssertionError, match=r"name, seed \d+: KeyError"):
        attack("name", 1_000, lambda rng: rng.random(), use)
    told = attack("name", 20, lambda rng: 0.6, use)
    assert told["refused"] == 20 and issubclass(Hung, BaseException) and not issubclass(Hung, Exception)
