"""Measuring on the photo step in a real browser: the printed card, a hint taken over, the second side of a seam, and
an earlier photo blinked and taken over."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import cv2
import pytest
from PIL import Image

from inspect_core.domain.decision import Answer
from inspect_core.domain.gear import Component, components_of
from inspect_core.domain.geometry import Shape
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.screens.work.body import Body, whole
from inspect_core.usecases import drafts, review
from inspect_core.usecases.inspect import RecordInspection, record
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.services import Services
from tests.browser.conftest import OpenPage, StartApp
from tests.browser.job_hands import (
    APP,
    COMPETENT,
    WORKER,
    answer_all,
    answer_one,
    choose,
    click_corners,
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
from tests.evaluation.scenes import scene

pytestmark = pytest.mark.browser


def at_photos(page: Any, url: str, tag: str, photo: bytes, *, defect: str = "", detail: bool = False) -> None:
    """Goes to the photo step of that item with one photo."""
    open_screen(page, url, f"{'inspect' if detail else 'check'}?tag={tag}")
    say_who(page, COMPETENT if detail else WORKER)
    press(page, "radio", "Nothing happened")
    press(page, "button", "Next: Parts")
    if not detail:
        answer_all(page)
    if defect:
        answer_one(page, defect, "Defect")
    press(page, "button", "Next: Photos and marks")
    upload(page, photo)


def kept(services: Services) -> Body:
    ((draft, _),) = drafts.unfinished(services)
    return whole(draft.body)


def flip(page: Any, label: str) -> None:
    one = page.get_by_text(label, exact=False).first
    one.scroll_into_view_if_needed()
    one.click()
    settled(page)


def test_the_printed_card_in_the_photo_gives_the_millimetres(
    start_app: StartApp, phone: OpenPage, tmp_path: Path
) -> None:
    services = store_with(tmp_path / "store", "WL-0001")
    url = start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")})
    seen = scene(7)
    done, jpeg = cv2.imencode(".jpg", seen.rgb[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 92])
    assert done
    page = phone()
    at_photos(page, url, "WL-0001", jpeg.tobytes(), defect="Webbing")
    page.get_by_label("Shows").select_option("cut")
    # As long a line as the picture knows: a finger on a whole photo is worth little over a few millimetres.
    width = seen.truth["known_lengths"][0]
    draw_line(page, width["points"], seen.truth["width"])
    press(page, "radio", "Card")
    rule = page.get_by_role("spinbutton", name="Length of the card's printed", exact=False)
    rule.fill(f"{seen.rule_read_mm:.1f}")
    rule.press("Enter")
    settled(page)
    page.get_by_role("checkbox", name="length:", exact=False).wait_for()
    (readings,) = kept(services)["readings"].values()
    (length,) = [r for r in readings if r["measure"] == "length"]
    assert "scale card" in length["method"]
    assert abs(length["value"] - width["length_mm"]) <= length["uncertainty"] < 10


def test_a_hint_becomes_a_mark_when_the_person_takes_it_over(
    start_app: StartApp, desk: OpenPage, tmp_path: Path
) -> None:
    services = store_with(tmp_path / "store", "WL-0002")
    url = start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")})
    photo, truth = drawn("webbing lanyard", "webbing", "fray")
    page = desk()
    at_photos(page, url, "WL-0002", photo, defect="Webbing")
    flip(page, "Hints: show me places worth a look")
    page.locator(".sheet").nth(1).wait_for()
    strap = next(r for r in truth["regions"] if r["component"] == "webbing")["shape"]["points"]
    inside = [[x, y] for x, y in strap if 4 <= x <= truth["width"] - 4 and 4 <= y <= truth["height"] - 4]
    click_corners(page, inside[::2], truth["width"], surface=1)
    page.get_by_text("outlined apart from the marks", exact=False).wait_for()
    assert list(kept(services)["marks"].values()) in ([], [[]])
    press(page, "button", "Accept hint 1 as my mark")
    page.get_by_role("button", name="Edit mark 1").wait_for()
    settled(page)
    ((mark,),) = kept(services)["marks"].values()
    assert mark["id"].startswith("hint-") and mark["component"] == "webbing"


def test_the_second_side_of_a_seam_shows_the_gap_and_holds_the_item(
    start_app: StartApp, phone: OpenPage, tmp_path: Path
) -> None:
    services = store_with(tmp_path / "store", "H-0001", kind="harness")
    url = start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")})
    photo, truth = drawn("harness", "stitching", "broken stitch")
    page = phone()
    at_photos(page, url, "H-0001", photo)
    choose(page, "Measure something", "Stitches on both sides of a seam")
    page.locator(".sheet").nth(1).wait_for()
    for row in (5, 4):
        draw_line(page, truth["stitch_rows"][row]["points"], truth["width"], surface=1)
    page.get_by_text("the second side misses", exact=False).wait_for()
    page.get_by_text("This reading", exact=False).wait_for()
    press(page, "button", "Next: Answer")
    press(page, "button", "Record it", exact=False)
    page.get_by_text("What was found", exact=False).first.wait_for()
    row = review.item_by_tag("H-0001", services)
    assert not row.standing.usable
    (inspection,) = review.history(row.item.id, services).inspections
    (mark,) = inspection.marks
    missing = next(r for r in mark.readings if r.measure == "missing stitches")
    assert abs(missing.value - len(truth["stitch_rows"][4]["missing"])) <= missing.uncertainty


def once_more(data: bytes) -> bytes:
    """The same part photographed again from a little to the side."""
    image = Image.open(io.BytesIO(data))
    width, height = image.size
    turned = image.rotate(4, resample=Image.Resampling.BICUBIC).crop((30, 20, width - 40, height - 30))
    out = io.BytesIO()
    turned.resize((width, height), Image.Resampling.BICUBIC).save(out, "JPEG", quality=90)
    return out.getvalue()


def test_an_earlier_photo_blinks_over_todays_and_its_mark_can_be_taken_over(
    start_app: StartApp, desk: OpenPage, tmp_path: Path
) -> None:
    services = store_with(tmp_path / "store", "WL-0003")
    url = start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")})
    photo, truth = drawn("webbing lanyard", "webbing", "cut")
    item = review.item_by_tag("WL-0003", services).item
    line = Shape.of("line", ends_of(truth["defects"][0]["shape"]))
    reading = Reading("depth from edge", 0.3, "mm", 0.1, "by hand, steel rule")
    photo_id = take_photo(photo, services).id
    mark = Mark("m1", photo_id, Component.WEBBING, Category.CUT, line, (reading,), made_by=COMPETENT.id)
    answers = dict.fromkeys(components_of(item.kind), Answer.SOUND) | {Component.WEBBING: Answer.DEFECT}
    at = datetime(2026, 3, 2, 9, tzinfo=UTC)
    type_ = InspectionType.PERIODIC
    record(RecordInspection("1" * 32, item.id, type_, COMPETENT.id, answers, (mark,), (photo_id,), at=at), services)

    page = desk(reduced_motion="reduce")
    at_photos(page, url, "WL-0003", once_more(photo), detail=True)
    flip(page, "Earlier marks: show me")
    press(page, "button", "Take over then 1 as my mark")
    page.get_by_role("button", name="Edit mark 1").wait_for()
    settled(page)
    ((taken,),) = kept(services)["marks"].values()
    assert (taken["category"], taken["component"]) == ("cut", "webbing")

    flip(page, "Lay the two photos over each other")
    which = page.locator(".blink .which")
    which.wait_for()
    assert which.inner_text() == "Later"
    page.wait_for_timeout(1500)
    assert which.inner_text() == "Later", "whoever wants less motion is not blinked at"
    press(page, "button", "Show the other")
    assert which.inner_text() == "Then"
    press(page, "button", "Blink")
    page.wait_for_function("() => !!document.querySelector('[data-testid=stApp]')")
    page.get_by_role("button", name="Stop", exact=True).wait_for()
    page.wait_for_timeout(1500)
    assert which.inner_text() == "Later"
    press(page, "button", "Stop")


def test_on_a_phone_the_navigation_folds_away_once_a_page_is_chosen(
    start_app: StartApp, phone: OpenPage, tmp_path: Path
) -> None:
    store_with(tmp_path / "store", "WL-0004")
    page = phone()
    open_screen(page, start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")}))
    page.get_by_test_id("stExpandSidebarButton").tap()
    page.wait_for_timeout(600)
    page.locator('[data-testid="stSidebarNavLink"][href$="/search"]').tap()
    settled(page)
    page.locator('[data-testid="stSidebar"][data-collapsed="true"]').wait_for(state="attached")
    page.get_by_label("What to look for").tap()  # nothing lies over it
