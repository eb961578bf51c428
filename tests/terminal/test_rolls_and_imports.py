"""The commands roll and import: the same plan and the same reasons as on the screens."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.usecases.registers import register
from tests.usecases.roll_photos import roll


@pytest.fixture
def folder(tmp_path: Path, run) -> Path:
    """A folder with a roll of two items, which are registered, and a file that is no photo."""
    place = tmp_path / "DCIM"
    place.mkdir()
    for tag in ("WL-1", "WL-2"):
        assert run("register", "--tag", tag, "--kind", "harness", "--by", "Worker 7")[0] == 0
    for name, data in roll(("WL-1", "WL-2"), 5)[0]:
        (place / name).write_bytes(data)
    (place / "IMG_9999.jpg").write_bytes(b"no photo")
    return place


def test_a_roll_is_planned_and_nothing_stored(run, folder: Path) -> None:
    code, out, _ = run("roll", str(folder))
    assert code == 0
    assert "5 photos, sorted by the time of capture; 0 doubtful." in out
    assert "WL-1: 3 photos" in out and "WL-2: 2 photos" in out
    assert "IMG_9999.jpg:" in out
    assert not list((folder.parent / "store" / "photos").rglob("original"))


def test_a_roll_starts_its_drafts(run, folder: Path) -> None:
    code, out, _ = run("roll", str(folder), "--start-drafts", "--by", "Worker 7", "--json")
    plan = json.loads(out)
    assert code == 0
    assert [(g["tag"], len(g["photos"])) for g in plan["groups"]] == [("WL-1", 3), ("WL-2", 2)]
    assert len(plan["drafts"]) == 2 and "WL-1: 3 photos in unfinished inspection" in plan["drafts"][0]
    assert len(list((folder.parent / "store" / "photos").rglob("original"))) == 5


def test_a_roll_needs_a_folder_with_photos_and_a_name_for_drafts(run, folder: Path, tmp_path: Path) -> None:
    assert run("roll", str(tmp_path / "nowhere"))[0] == 1
    assert run("roll", str(folder.parent / "store"))[0] == 1
    assert run("roll", str(folder), "--start-drafts")[0] == 2


def test_a_register_is_tried_refused_and_imported_without_its_bad_rows(run, tmp_path: Path) -> None:
    made = register(60, 12, seed=3)
    file, bad = tmp_path / "gear.csv", tmp_path / "bad.csv"
    file.write_bytes(made.csv(delimiter=";", encoding="cp1252"))
    code, out, _ = run("import", str(file), "--dry-run", "--bad-rows", str(bad))
    assert code == 0 and "60 rows: 48 good, 12 bad." in out and "Nothing was written." in out
    assert bad.read_bytes().count(b"\n") == 13
    for planted in made.planted:
        assert any(line.startswith(f"  row {planted.row}, ") and planted.words in line for line in out.splitlines())
    code, _, err = run("import", str(file), "--by", "Inspector 3")
    assert code == 1 and "12 of 60 rows are bad, so nothing was imported." in err
    code, out, _ = run("import", str(file), "--by", "Inspector 3", "--skip-bad-rows", "--json")
    assert code == 0 and json.loads(out)["imported"] == 48
    code, out, _ = run("verify")
    assert code == 0, out


def test_columns_are_matched_by_hand_and_defaults_given(run, tmp_path: Path) -> None:
    file = tmp_path / "gear.csv"
    file.write_text("Bezeichnung,Breite\nH-1,45\n", encoding="utf-8")
    assert run("import", str(file), "--dry-run")[0] == 1
    matched = ("--map", "Bezeichnung=tag", "--map", "Breite=webbing_width_mm", "--default", "kind=harness")
    code, out, _ = run("import", str(file), *matched, "--by", "Inspector 3")
    assert code == 0 and "1 items imported, 0 rows left out." in out
    assert run("import", str(file), "--map", "tag")[0] == 2
    assert run("import", str(file))[0] == 2


def test_a_worker_may_not_import(run, tmp_path: Path) -> None:
    file = tmp_path / "gear.csv"
    file.write_text("tag,kind\nA-1,anchor sling\n", encoding="utf-8")
    code, _, err = run("import", str(file), "--by", "Worker 7", "--role", "worker")
    assert code == 1 and "may not import a register" in err
