"""Measuring on a phone: draw a cut and a known length, see the reading, record it, find it on the certificate."""

from __future__ import annotations

import io
import os
import re
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from inspect_core.domain.marks import Reading
from inspect_core.reports import wording
from inspect_core.usecases import review
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
from tests.browser.marking_hands import Fingers

pytestmark = pytest.mark.browser


def draw_known(page: Any, path: list[list[float]], photo_width: int) -> None:
    """Draws on the second surface, the one for the known length."""
    sheet = page.locator(".sheet").nth(1)
    sheet.scroll_into_view_if_needed()
    page.wait_for_timeout(300)
    box = sheet.bounding_box()
    scale = box["width"] / photo_width
    clients = [(round(box["x"] + x * scale), round(box["y"] + y * scale)) for x, y in path]
    fingers = Fingers(page)
    fingers.down(clients[0])
    for client in clients[1:]:
        fingers.move(client)
    fingers.up()
    settled(page)


def look(page: Any, name: str) -> None:
    """A picture for whoever wants to see the page, where a folder for it is named."""
    folder = os.environ.get("LOOK_AT")
    if folder:
        size = page.viewport_size
        page.set_viewport_size({"width": size["width"], "height": 3200})
        page.wait_for_timeout(800)
        page.screenshot(path=f"{folder}/{name}.png")
        page.set_viewport_size(size)
        page.wait_for_timeout(300)


def test_a_cut_is_measured_by_the_webbing_width_and_stands_on_the_certificate(
    start_app: StartApp, phone: OpenPage, tmp_path: Path
) -> None:
    services = store_with(tmp_path / "store", "WL-0001")
    page = phone()
    open_screen(page, start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")}), "check?tag=WL-0001")
    say_who(page, WORKER)
    press(page, "radio", "Nothing happened")
    press(page, "button", "Next: Parts")
    answer_all(page)
    answer_one(page, "Webbing", "Defect")
    press(page, "button", "Next: Photos and marks")
    picture, truth = drawn("webbing lanyard", "webbing", "cut")
    upload(page, picture)
    page.get_by_label("Shows").select_option("cut")
    cut = next(d for d in truth["defects"] if d["category"] == "cut")
    draw_line(page, ends_of(cut["shape"]), truth["width"])
    page.get_by_text("No scale, no millimetres", exact=False).wait_for()
    look(page, "phone-1-no-scale")

    press(page, "radio", "Known length")
    page.get_by_text("the webbing width that was registered", exact=False).wait_for()
    page.locator(".sheet").nth(1).wait_for()
    page.wait_for_timeout(1500)
    look(page, "phone-2-draw-known")
    draw_known(page, truth["known_lengths"][0]["points"], truth["width"])
    page.get_by_text("Known length drawn:", exact=False).wait_for()
    look(page, "phone-3-read")
    box = page.get_by_role("checkbox", name=re.compile(r"^length: .* ± .* mm \(k = 2\), photo, known length"))
    box.wait_for()
    assert box.is_checked()

    press(page, "button", "Next: Answer")
    press(page, "button", "Record it", exact=False)
    page.get_by_role("button", name="Certificate (PDF)").wait_for()
    look(page, "phone-4-recorded")
    item = review.item_by_tag("WL-0001", services).item
    (inspection,) = review.history(item.id, services).inspections
    reading: Reading = next(r for r in inspection.marks[0].readings if r.measure == "length")
    assert abs(reading.value - cut["truth"]["length_mm"]) <= reading.uncertainty
    with page.expect_download() as download:
        page.get_by_role("button", name="Certificate (PDF)").tap()
    paper = PdfReader(io.BytesIO(Path(download.value.path()).read_bytes()))
    said = " ".join(" ".join(sheet.extract_text() for sheet in paper.pages).split())
    assert wording.measured(reading.value, reading.uncertainty, reading.unit).split(" (k")[0] in said
    assert "known length" in said
