"""A competent person corrects the register on an item's page: on a phone and at a desk, in real Chromium."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from inspect_core.domain.custody import State
from inspect_core.usecases.correct import corrections
from inspect_core.usecases.review import item_by_tag
from tests.browser.conftest import OpenPage, StartApp
from tests.browser.job_hands import APP, COMPETENT, open_screen, press, say_who, settled, store_with

pytestmark = pytest.mark.browser


def unfold(page: Any, title: str) -> None:
    page.get_by_text(title, exact=True).first.click()
    settled(page)


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_a_serial_number_is_put_right_and_an_age_that_cannot_be_told_holds_the_gear(
    size: str, start_app: StartApp, phone: OpenPage, desk: OpenPage, tmp_path: Path
) -> None:
    services = store_with(tmp_path / "store", "WL-0001")
    page = (phone if size == "phone" else desk)()
    open_screen(page, start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")}), "item?tag=WL-0001")
    unfold(page, "Hold, withdraw, release, destroy")
    say_who(page, COMPETENT)
    unfold(page, "Correct the register")
    page.get_by_role("textbox", name="Serial number").fill("S-4711")
    page.get_by_role("textbox", name="Longest life the maker allows (years)").fill("1")
    page.get_by_role("textbox", name="Why: how you know (needed)").fill("read again on its label")
    press(page, "button", "Correct it")
    page.get_by_text("The register is corrected, and WL-0001 is on hold.").wait_for()
    page.get_by_text("instead of").first.wait_for()
    item = item_by_tag("WL-0001", services)
    assert item.standing.state is State.ON_HOLD and item.item.serial == "S-4711"
    assert [one.reason for one in corrections(item.item.id, services)] == ["read again on its label."]
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
