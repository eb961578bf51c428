"""The bench itself runs from end to end, at a size at which its times say nothing."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

_ROOT = Path(__file__).parents[1]
_SIZE = 400


def _table(folder: Path, *parts: str) -> list[str]:
    surroundings = {**os.environ, "BENCH_ROUNDS": "1", "BENCH_FOLDER": str(folder)}
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-m", "tests.bench", *parts, "--sizes", f"{_SIZE},{2 * _SIZE}"],
        cwd=_ROOT,
        env=surroundings,
        capture_output=True,
        text=True,
        timeout=240,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout.splitlines()


def test_the_table_of_the_store_has_a_floor_a_ratio_and_a_growth_in_every_line(tmp_path):
    head, *rows = _table(tmp_path, "save", "history", "search")
    assert [word for word in ("floor ms", "ratio", "grows") if word in head] == ["floor ms", "ratio", "grows"]
    assert len(rows) == 2 * (1 + 5 + 7)
    for row in rows:
        size, ours, floor, ratio = row[56:].split()[:4]
        assert int(size) in (_SIZE, 2 * _SIZE)
        assert float(ratio) == pytest.approx(float(ours) / float(floor), rel=0.2, abs=1.0), row
    assert all(float(row[56:].split()[4]) > 0 for row in rows[1::2])


@pytest.mark.slow
def test_every_part_of_the_table_runs(tmp_path):
    """Decoding photos and starting servers takes its time."""
    parts = ("intake", "reading", "decision", "trends", "certificate", "archive", "page", "start")
    head, *rows = _table(tmp_path, *parts)
    assert "ours ms" in head and len(rows) == 2 + 5 + 2 + 7 * 2 + 1 + 2 + 1 + 4 * 2 + 3
