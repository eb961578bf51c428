"""What is printed on a terminal obeys nobody but the program."""

import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

from inspect_core.domain.custody import Move
from inspect_core.usecases.custody import MakeMove, make_move
from tests.usecases.site import Site

CLEARS = "fine\x1b[2J\x1b[31m\x9b2J \u202egnorts"


@pytest.mark.sqlite
@pytest.mark.skipif(os.name == "nt", reason="needs a pseudo terminal")
def test_a_reason_that_would_clear_the_terminal_is_shown_as_signs(tmp_path: Path) -> None:
    site = Site(tmp_path / "store")
    item = site.lanyard("LAN-001")
    make_move(MakeMove("hold-1", item.id, Move.HOLD, site.worker, CLEARS), site.services)
    site.services.close()
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "inspect_core.terminal", "--store", str(tmp_path / "store"), "history", "LAN-001"]
    with subprocess.Popen(command, stdout=theirs, stderr=theirs, stdin=theirs) as running:
        os.close(theirs)
        told = b""
        try:
            while part := os.read(ours, 65_536):
                told += part
        except OSError:  # the other end is closed
            pass
        os.close(ours)
        assert running.wait() == 0
    assert "fine\ufffd[2J".encode() in told
    assert b"\x1b" not in told and b"\xc2\x9b" not in told and "\u202e".encode() not in told


def test_names_and_makers_are_kept_without_them(tmp_path: Path) -> None:
    site = Site(tmp_path / "store")
    item = site.lanyard(
        "LAN-001", maker="Maker\x1b[2J\nA", serial="7\u202e321", note="wet\r\nand\x07 dirty", site="a\nb"
    )
    assert (item.maker, item.serial, item.note, item.site) == ("Maker[2J A", "7321", "wet\nand dirty", "a b")
