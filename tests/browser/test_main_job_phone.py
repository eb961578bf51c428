"""The main job on a phone, by touch: from the tag on the gear to the paper that shows the marked photo."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from inspect_core.domain.custody import Move, State
from inspect_core.domain.decision import Outcome
from inspect_core.domain.marks import Category
from inspect_core.usecases import review
from inspect_core.usecases.custody import MakeMove, make_move
from tests.browser.conftest import OpenPage, StartApp
from tests.browser.job_hands import (
    APP,
    WORKER,
    answer_all,
    answer_one,
    draw_line,
    drawn,
    ends_of,
    open_screen,
    press,
    say_who,
    settled,
    store_with,
    upload,
)

pytestmark = pytest.mark.browser


def by_hand(page: Any, value: str, uncertainty: str) -> None:
    """Enters a reading for the first mark; the measure that a rule weighs stands there already."""
    page.get_by_text("Measured mark 1 by hand?", exact=False).first.tap()
    page.get_by_role("spinbutton", name="Reading (mm)").fill(value)
    page.get_by_role("spinbutton", name="± uncertainty (mm)").fill(uncertainty)
    page.get_by_role("spinbutton", name="± uncertainty (mm)").press("Tab")
    settled(page)
    press(page, "combobox", "How", exact=False)
    press(page, "option", "steel rule")
    press(page, "button", "Add this reading")


def test_a_worker_finds_a_cut_and_the_lanyard_is_withdrawn_with_its_source(
    start_app: StartApp, phone: OpenPage, tmp_path: Path
) -> None:
    services = store_with(tmp_path / "store", "WL-0001")
    page = phone()
    open_screen(page, start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")}))

    page.get_by_label("Tag on the gear").fill("wl-0001")
    press(page, "button", "Check before use", exact=False)
    say_who(page, WORKER)
    press(page, "radio", "Nothing happened")
    press(page, "button", "Next: Parts")
    assert page.get_by_role("radio", checked=True).count() == 0, "no part may be answered in advance"
    answer_all(page)
    answer_one(page, "Webbing", "Defect")
    press(page, "button", "Next: Photos and marks")

    picture, truth = drawn("webbing lanyard", "webbing", "cut")
    upload(page, picture)
    page.get_by_label("Shows").select_option("cut")
    cut = next(d for d in truth["defects"] if d["category"] == "cut")
    draw_line(page, ends_of(cut["shape"]), truth["width"])
    by_hand(page, "4", "0.5")
    press(page, "button", "Next: Answer")
    page.get_by_text("Withdrawn: never use again").wait_for()
    press(page, "button", "Record it", exact=False)

    page.get_by_text("Withdrawn: never use again").wait_for()
    page.get_by_text("HSE INDG367", exact=False).first.wait_for()
    page.get_by_text("B03", exact=False).first.wait_for()

    row = review.item_by_tag("WL-0001", services)
    (inspection,) = review.history(row.item.id, services).inspections
    assert row.standing.state is State.WITHDRAWN
    assert inspection.outcome is Outcome.WITHDRAW
    assert [m.category for m in inspection.marks] == [Category.CUT]
    assert inspection.by == WORKER.id

    with page.expect_download() as download:
        page.get_by_role("button", name="Certificate (PDF)").tap()
    paper = PdfReader(io.BytesIO(Path(download.value.path()).read_bytes()))
    words = " ".join(" ".join(sheet.extract_text() for sheet in paper.pages).split())
    assert "WL-0001" in words and "INDG367" in words and "4.00 ± 0.50 mm" in words
    assert sum(len(sheet.images) for sheet in paper.pages) >= 1, "the marked photo is on the paper"

    page.get_by_role("link", name="Its history in pictures").tap()
    settled(page)
    page.get_by_role("img", name="Photo with 1 mark. 1: cut on the webbing").wait_for()
    assert page.get_by_text("Could not be weighed", exact=False).count() == 0
    page.get_by_text("Answers, every rule weighed, certificate").tap()
    page.get_by_text("Could not be weighed", exact=False).wait_for()
    page.get_by_text("Cut of 1 mm or more in the edge of webbing", exact=False).first.wait_for()


def test_an_unfinished_check_comes_back_with_its_marks_after_the_browser_was_closed(
    start_app: StartApp, phone: OpenPage, tmp_path: Path
) -> None:
    store_with(tmp_path / "store", "WL-0002")
    url = start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")})
    page = phone()
    open_screen(page, url, "check?tag=WL-0002")
    say_who(page, WORKER)
    press(page, "radio", "Nothing happened")
    press(page, "button", "Next: Parts")
    answer_one(page, "Webbing", "Defect")
    press(page, "button", "Next: Photos and marks")
    picture, truth = drawn("webbing lanyard", "webbing", "cut")
    upload(page, picture)
    page.get_by_label("Shows").select_option("cut")
    draw_line(page, ends_of(truth["defects"][0]["shape"]), truth["width"])
    page.get_by_text("Measured mark 1 by hand?", exact=False).first.wait_for()
    page.context.close()

    again = phone()
    open_screen(again, url)
    say_who(again, WORKER)
    press(again, "link", "Go on: check before use of WL-0002", exact=False)
    again.get_by_text("Measured mark 1 by hand?", exact=False).first.wait_for()
    press(again, "button", "Back", exact=False)
    row = again.locator('[data-testid="stButtonGroup"]').filter(has_text="Webbing").first
    assert row.get_by_role("radio", name="Defect").is_checked()


def test_a_file_that_is_no_photo_is_refused_beside_the_box_and_the_work_stays(
    start_app: StartApp, phone: OpenPage, tmp_path: Path
) -> None:
    store_with(tmp_path / "store", "WL-0004")
    page = phone()
    open_screen(page, start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")}), "check?tag=WL-0004")
    say_who(page, WORKER)
    press(page, "radio", "Nothing happened")
    press(page, "button", "Next: Parts")
    answer_one(page, "Webbing", "Defect")
    press(page, "button", "Next: Photos and marks")
    box = page.locator("input[type=file]").first
    box.set_input_files({"name": "photo.jpg", "mimeType": "image/jpeg", "buffer": b"GIF89a and no photo"})
    page.get_by_role("alert").filter(has_text="JPEG, PNG, WebP or HEIC").wait_for()
    settled(page)
    assert page.locator(".surface").count() == 0
    picture, _ = drawn("webbing lanyard", "webbing", "cut")
    upload(page, picture)
    assert page.get_by_role("alert").filter(has_text="JPEG, PNG, WebP or HEIC").count() == 0


def test_gear_on_hold_says_so_at_once_and_offers_no_check(start_app: StartApp, phone: OpenPage, tmp_path: Path) -> None:
    services = store_with(tmp_path / "store", "WL-0003")
    item = review.item_by_tag("WL-0003", services).item
    make_move(MakeMove("c" * 32, item.id, Move.HOLD, WORKER.id, "Found it in a puddle of solvent."), services)
    page = phone()
    open_screen(page, start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")}), "check?tag=WL-0003")
    page.get_by_text("On hold: do not use").wait_for()
    page.get_by_text("Found it in a puddle of solvent.", exact=False).wait_for()
    assert page.get_by_role("radio").count() == 0
    assert page.get_by_role("button", name="Next", exact=False).count() == 0
