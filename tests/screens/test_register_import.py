"""The import and roll screens without a browser: who may come in, and what they say when there is nothing yet."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from inspect_core.usecases.import_columns import FIELDS, guess_columns
from inspect_core.usecases.import_table import read_table, write_csv
from inspect_core.usecases.roll import begin_roll, read_photo
from tests.screens.app import COMPETENT, WORKER, button, screen, site, words
from tests.usecases.roll_photos import roll


def test_a_worker_is_told_whom_to_ask_for_an_import(tmp_path: Path) -> None:
    app = screen(site(tmp_path), "import", WORKER)
    assert "A worker may not import a register." in words(app)
    assert not app.get("file_uploader")


def test_a_competent_person_finds_the_way_from_the_register_and_a_form_to_fill_in(tmp_path: Path) -> None:
    services = site(tmp_path)
    ways = {link.proto.label for link in screen(services, "register", COMPETENT).get("page_link")}
    assert any("Import a register from a spreadsheet" in way for way in ways)
    app = screen(services, "import", COMPETENT)
    assert not app.exception
    assert [b.proto.label for b in app.get("download_button")] == ["An empty form to fill in (CSV)"]


def test_the_roll_of_a_worker_shows_its_groups_and_begins_checks_before_use_only(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1", "WL-2")
    begun = begin_roll(WORKER.id, services)
    for name, data in roll(("WL-1", "WL-2"), 5)[0]:
        read_photo(begun.id, data, name, services)
    app = screen(services, "roll", WORKER, roll=begun.id)
    assert not app.exception
    assert "5 photos of 2 items, sorted by the time of capture." in words(app).replace("*", "")
    assert next(s for s in app.selectbox if s.label == "Which inspection?").options == ["Check before use"]
    button(app, "Begin 2 inspections with these photos").click().run()
    assert "2 inspections begun." in words(app)
    assert not [b for b in app.button if b.label.startswith("Begin")]


def test_an_unfinished_roll_is_offered_again(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    begun = begin_roll(WORKER.id, services)
    for name, data in roll(("WL-1",), 2)[0]:
        read_photo(begun.id, data, name, services)
    app = screen(services, "roll", WORKER)
    (way,) = [b for b in app.button if b.label.startswith("Go on: roll of")]
    assert way.label.endswith("2 photos")
    way.click().run()
    assert "2 photos of 1 item" in words(app).replace("*", "")


def test_a_roll_that_is_not_known_is_told(tmp_path: Path) -> None:
    assert "No such photo roll is known." in words(screen(site(tmp_path), "roll", WORKER, roll="f" * 32))


def test_without_its_library_the_reader_of_labels_says_how_to_install_it(tmp_path: Path) -> None:
    app = screen(replace(site(tmp_path), label_reader=None), "register", WORKER)
    app.selectbox[0].set_value("harness").run()
    assert "pip install --no-deps rapidocr-onnxruntime" in words(app)


def test_the_empty_form_is_a_register_whose_columns_are_all_understood(tmp_path: Path) -> None:
    table = read_table(write_csv([field.words for field in FIELDS], [["H-1", "harness"]]), "form.csv")
    assert all(column.field for column in guess_columns(table.header))
