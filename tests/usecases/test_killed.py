"""Whatever moment a process is killed at: verify is clean, and everything that was acknowledged is there."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs processes that fork")


def rounds(many: int, seed: int, folder: Path) -> dict[str, int]:
    command = [sys.executable, "-m", "tests.usecases.killed", str(many), str(seed), str(folder)]
    done = subprocess.run(command, cwd=Path(__file__).parents[2], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-3000:]
    told: dict[str, int] = json.loads(done.stdout)
    return told


def test_twenty_random_kills_leave_a_clean_account(tmp_path: Path):
    seen = rounds(20, 1, tmp_path)
    assert seen["rounds"] == 20
    assert seen["inspection"] >= 5


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(1000, 6000, 1000))
def test_five_hundred_random_kills_during_saves_moves_imports_and_archives(tmp_path: Path, seed: int):
    seen = rounds(100, seed, tmp_path)
    assert seen["rounds"] == 100
    assert min(seen["inspection"], seen["move"], seen["import"], seen["archive"]) >= 10, seen
