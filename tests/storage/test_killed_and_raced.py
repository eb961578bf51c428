"""A save that is killed, cut off by a power failure or raced by another leaves the whole inspection or none of it."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from inspect_core.domain.custody import State
from inspect_core.domain.record import Draft
from inspect_core.ledger import broken_links
from storage.engine import FILE_NAME, integrity_faults, open_engine
from storage.photos_on_disk import PhotosOnDisk
from storage.unit_of_work import unit_of_work_factory
from tests.storage import made
from tests.storage.in_processes import COPIES, INSPECTION, ORIGINAL, PHOTO, save

pytestmark = [
    pytest.mark.sqlite,
    pytest.mark.skipif(not hasattr(os, "fork"), reason="needs processes that fork"),
]


def _run(*words: str) -> dict[str, Any]:
    root = Path(__file__).parents[2]
    command = [sys.executable, "-m", "tests.storage.in_processes", *words]
    done = subprocess.run(command, cwd=root, capture_output=True, text=True, check=True)
    told: dict[str, Any] = json.loads(done.stdout)
    return told


@pytest.fixture
def registered(folder: Path) -> Path:
    """A store with one item and a draft of its inspection."""
    engine = open_engine(folder)
    with unit_of_work_factory(engine)(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))
        unit.drafts.save(Draft("draft-1", "item-1", {}, made.NOW))
        unit.commit()
    engine.dispose()
    return folder


def _holds(folder: Path) -> bool:
    """True for the whole inspection, False for none of it; fails on anything between."""
    engine = open_engine(folder)
    photos = PhotosOnDisk(folder / "photos")
    assert integrity_faults(engine) == ()
    with unit_of_work_factory(engine)() as unit:
        whole = unit.inspections.find(INSPECTION.id) is not None
        parts = {
            "inspection": unit.inspections.of_item("item-1") == ((INSPECTION,) if whole else ()),
            "photo": (unit.photos.find(PHOTO.id) is not None) == whole,
            "uses": len(unit.photos.uses(PHOTO.id)) == whole,
            "custody": len(unit.custody.of_item("item-1")) == whole,
            "standing": (unit.items.standing("item-1").state is State.WITHDRAWN) == whole,
            "ledger": len(unit.ledger.entries()) == whole and broken_links(unit.ledger.entries()) == (),
            "search": len(unit.search.find("cut webbing").hits) == whole,
            "draft": (unit.drafts.find("draft-1") is None) == whole,
            "list": (unit.items.rows()[0].photo_id == PHOTO.id) == whole,
        }
    engine.dispose()
    assert all(parts.values()), parts
    if photos.has(PHOTO.id):
        assert photos.original(PHOTO.id) == ORIGINAL
        assert {name: photos.copy(PHOTO.id, name) for name in COPIES} == COPIES
    else:
        assert not whole, "the record names a photo that is not stored"
    return whole


def test_a_save_killed_before_any_of_its_steps_leaves_all_or_nothing_and_can_be_repeated(
    registered: Path, tmp_path: Path
) -> None:
    tries = tmp_path / "tries"
    tries.mkdir()
    ends = _run("kill", str(registered), str(tries))
    *killed, last = sorted(ends)
    assert [ends[name] for name in killed] == [-signal.SIGKILL] * len(killed)
    assert ends[last] == 0
    held = [_holds(tries / name) for name in killed]
    # A save has far more steps than this; fewer would mean that they are no longer counted.
    assert len(held) > 30 and not held[0]
    assert _holds(tries / last)
    for name in killed[::3]:
        engine = open_engine(tries / name)
        if not held[int(name) - 1]:
            save(engine, PhotosOnDisk(tries / name / "photos"))
        engine.dispose()
        assert _holds(tries / name)


def test_a_log_cut_off_anywhere_by_a_power_failure_leaves_all_or_nothing(registered: Path, tmp_path: Path) -> None:
    engine = open_engine(registered)
    save(engine, PhotosOnDisk(registered / "photos"))
    saved = tmp_path / "saved"
    shutil.copytree(registered, saved)  # with its log, as a power failure would leave it
    engine.dispose()
    log = (saved / f"{FILE_NAME}-wal").read_bytes()
    assert len(log) > 10_000
    answers = []
    for cut in (*range(0, len(log), len(log) // 40), len(log) - 1, len(log)):
        place = tmp_path / f"cut-{cut}"
        shutil.copytree(saved, place, ignore=shutil.ignore_patterns("*-shm", "*-wal"))
        (place / f"{FILE_NAME}-wal").write_bytes(log[:cut])
        answers.append(_holds(place))
    assert not answers[0] and answers[-1]
    assert answers == sorted(answers)


def test_of_processes_that_save_the_same_inspection_one_succeeds_and_the_others_are_told(
    registered: Path, tmp_path: Path
) -> None:
    raced = tmp_path / "raced"
    raced.mkdir()
    for name, ends in _run("race", str(registered), str(raced)).items():
        assert ends == [0, 1, 1]
        assert _holds(raced / name)
