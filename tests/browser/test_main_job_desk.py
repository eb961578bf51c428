"""The competent person's job at a desk, by mouse and keyboard: register, check, hold, inspect in detail, release."""

from __future__ import annotations

from pathlib import Path

import pytest

from inspect_core.domain.custody import State
from inspect_core.domain.gear import Kind, components_of
from inspect_core.domain.inspection import InspectionType
from inspect_core.usecases import review
from tests.browser.conftest import OpenPage, StartApp
from tests.browser.job_hands import (
    APP,
    COMPETENT,
    WORKER,
    answer_all,
    answer_one,
    draw_line,
    drawn,
    open_screen,
    press,
    say_who,
    settled,
    store_with,
    upload,
)

pytestmark = pytest.mark.browser


def test_a_harness_is_registered_checked_held_inspected_and_released(
    start_app: StartApp, desk: OpenPage, tmp_path: Path
) -> None:
    services = store_with(tmp_path / "store", "WL-0001")
    page = desk()
    url = start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")})
    open_screen(page, url, "register")

    # Register, with a slip that is named beside what to do.
    say_who(page, WORKER)
    press(page, "combobox", "What is it?", exact=False)
    press(page, "option", "harness")
    page.get_by_label("Tag (needed)", exact=True).fill("h-7")
    page.get_by_label("Site", exact=True).fill("Mill Street")
    page.get_by_label("Webbing width (mm)", exact=True).fill("about 45")
    press(page, "button", "Register", exact=False)
    page.get_by_text("is not a number", exact=False).wait_for()
    page.get_by_label("Webbing width (mm)", exact=True).fill("45")
    press(page, "button", "Register", exact=False)
    page.get_by_text("H-7 is registered.", exact=False).wait_for()
    with page.expect_download() as label:
        page.get_by_role("button", name="QR label (PDF)").click()
    assert Path(label.value.path()).read_bytes().startswith(b"%PDF")

    # Check it: one part could not be seen, so it is held.
    press(page, "link", "Check it now", exact=False)
    press(page, "radio", "Nothing happened")
    press(page, "button", "Next: Parts")
    answer_all(page)
    answer_one(page, "Stitching", "Not seen")
    press(page, "button", "Next: Photos and marks")
    press(page, "button", "Next: Answer")
    press(page, "button", "Record it", exact=False)
    page.get_by_text("On hold: do not use").wait_for()
    assert review.item_by_tag("H-7", services).standing.state is State.ON_HOLD

    # Inspect it in detail, the answers by keyboard, with a photo that is marked by mouse.
    press(page, "button", "Worker 7", exact=False)
    open_screen(page, url, "inspect?tag=H-7")
    say_who(page, COMPETENT)
    nothing = page.get_by_role("radio", name="Nothing happened", exact=True)
    nothing.focus()
    page.keyboard.press("Space")
    settled(page)
    assert nothing.is_checked()
    press(page, "button", "Next: Parts")
    for place in range(len(components_of(Kind.HARNESS))):
        page.get_by_role("radio", name="Sound", exact=True).nth(place).focus()
        page.keyboard.press("Space")
        settled(page)
    press(page, "button", "Next: Photos and marks")
    picture, truth = drawn("harness", "label", None)
    upload(page, picture)
    press(page, "button", "Next: Answer")
    press(page, "button", "Record it", exact=False)
    page.get_by_text("still on hold", exact=False).wait_for()
    row = review.item_by_tag("H-7", services)
    assert row.standing.state is State.ON_HOLD, "a good inspection releases nothing by itself"
    assert row.standing.next_due is not None and row.standing.next_due > services.today()

    # Release it.
    page.get_by_text("Release from hold", exact=True).first.click()
    page.get_by_label("Reason", exact=True).fill("Seams seen and sound.")
    press(page, "button", "Release from hold")
    page.get_by_text("May be used", exact=True).wait_for()
    past = review.history(row.item.id, services)
    assert past.standing.state is State.IN_SERVICE
    assert [i.type for i in past.inspections] == [InspectionType.PERIODIC, InspectionType.BEFORE_USE]
    assert truth["width"] == past.photos[past.inspections[0].photo_ids[0]].width


def test_a_second_photo_is_compared_with_the_last_one_of_the_same_part(
    start_app: StartApp, desk: OpenPage, tmp_path: Path
) -> None:
    store_with(tmp_path / "store", "WL-0005")
    url = start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")})
    page = desk()
    picture, truth = drawn("webbing lanyard", "webbing", "abrasion")
    for turn in range(2):
        open_screen(page, url, "inspect?tag=WL-0005")
        say_who(page, COMPETENT)
        press(page, "radio", "Nothing happened")
        press(page, "button", "Next: Parts")
        answer_all(page)
        answer_one(page, "Webbing", "Defect")
        press(page, "button", "Next: Photos and marks")
        upload(page, picture)
        earlier = page.get_by_role("img", name="Photo with 1 mark. 1: abrasion on the webbing")
        if turn == 1:
            earlier.wait_for()
            return
        assert earlier.count() == 0
        page.get_by_label("Shows").select_option("abrasion")
        draw_line(page, [[truth["width"] * 0.4, 300], [truth["width"] * 0.6, 600]], truth["width"])
        press(page, "button", "Next: Answer")
        press(page, "button", "Record it", exact=False)
