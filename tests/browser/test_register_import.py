"""A manager brings in a register with bad rows, and a worker registers an item from a photo of its label."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from pathlib import Path

import cv2
import pytest

from inspect_core.imaging.ocr import open_reader
from inspect_core.usecases.review import item_by_tag
from tests.browser.conftest import OpenPage, StartApp
from tests.browser.job_hands import APP, COMPETENT, WORKER, open_screen, press, say_who, settled, store_with
from tests.imaging.label_pictures import draw
from tests.usecases.registers import register

pytestmark = pytest.mark.browser


def test_a_register_with_bad_rows_is_looked_at_and_imported_without_them(
    start_app: StartApp, desk: OpenPage, tmp_path: Path
) -> None:
    services = store_with(tmp_path / "store", "WL-0001")
    made = register(120, 24, seed=5, in_use=("WL-0001",))
    file = tmp_path / "gear.csv"
    file.write_bytes(made.csv(";", "cp1252"))
    page = desk()
    open_screen(page, start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")}), "register")
    say_who(page, COMPETENT)
    press(page, "link", "Many at once", exact=False)
    page.locator("input[type=file]").first.set_input_files(str(file))
    page.get_by_text("96 rows are good, 24 are bad.").wait_for()
    settled(page)
    with page.expect_download() as download:
        page.get_by_role("button", name="All 24 bad rows with their reasons (CSV)").click()
    rows = list(csv.reader(io.StringIO(Path(download.value.path()).read_text(encoding="utf-8-sig"))))
    assert [int(row[-2]) for row in rows[1:]] == [planted.row for planted in made.planted]
    assert all(planted.words in row[-1] for planted, row in zip(made.planted, rows[1:], strict=True))

    assert page.get_by_role("button", name="Import 96 items").is_disabled()
    page.get_by_text("Leave the 24 bad rows out; I have looked at them").click()
    settled(page)
    press(page, "button", "Import 96 items", exact=False)
    page.get_by_text("96 items imported.").wait_for(timeout=60_000)
    with services.unit_of_work() as uow:
        assert sum(uow.items.counts().values()) == 97


def test_an_item_is_registered_from_a_photo_of_its_label_each_reading_taken_over_by_hand(
    start_app: StartApp, phone: OpenPage, tmp_path: Path
) -> None:
    if open_reader() is None:
        pytest.skip("the reader of labels is not installed (docs/labels.md)")
    services = store_with(tmp_path / "store", "WL-0001")
    drawn = draw(7, tilt_deg=4, blur_px=0.5)
    cv2.imwrite(str(tmp_path / "label.jpg"), drawn.rgb[..., ::-1])
    page = phone()
    open_screen(page, start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")}), "register")
    say_who(page, WORKER)
    press(page, "combobox", "What is it?", exact=False)
    press(page, "option", "harness")
    page.get_by_text("Read the maker’s label from a photo").tap()
    settled(page)
    page.locator("input[type=file]").first.set_input_files(str(tmp_path / "label.jpg"))
    page.get_by_text("Not taken over.").wait_for(timeout=60_000)
    settled(page)
    serial = page.get_by_label("Serial number", exact=True)
    assert serial.input_value() == "", "nothing is filled in by itself"
    press(page, "button", "It says so: take over serial number")
    page.get_by_text("Taken over below.").first.wait_for()
    assert serial.input_value() == drawn.truth["serial"]
    press(page, "button", "It says so: take over made on")
    page.get_by_label("Tag (needed)", exact=True).fill("h-7")
    press(page, "button", "Register", exact=False)
    page.get_by_text("H-7 is registered.", exact=False).wait_for()
    item = item_by_tag("H-7", services).item
    assert (item.serial, str(item.made_on)) == (drawn.truth["serial"], drawn.truth["made_on"])
    assert item == replace(item, maker="", model="", standards=(), maker_max_age_years=None)
