"""What the marking surface asks of a person: the part of a mark, other shapes in turn, marks of an earlier photo."""

from __future__ import annotations

import itertools

import pytest

from tests.browser.conftest import OpenPage, StartApp
from tests.browser.marking_hands import HOST, drag, open_marking, settle, told, wait_marks, wait_told

pytestmark = pytest.mark.browser
LINE = [(1000.0, 800.0), (2500.0, 2000.0)]
_NUMBER = itertools.count(1)


@pytest.fixture(scope="module")
def url(start_app: StartApp) -> str:
    return start_app(HOST)


def asked(**more: str) -> str:
    return "&".join([f"draft=ask{next(_NUMBER)}", *(f"{key}={value}" for key, value in more.items())])


def test_a_mark_without_its_part_is_kept_back_until_somebody_says_where_it_lies(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, asked(part="ask"))
    drag(page, LINE)
    known = wait_told(page, lambda told: told["unplaced"] == 1)
    assert known["marks"] == []
    assert page.locator(".chooser legend").inner_text() == "Mark 1: say what it shows and on which part"
    page.locator(".chooser").get_by_label("Shows").select_option("cut")
    assert page.locator(".chooser legend").inner_text() == "Mark 1: say on which part"
    assert told(page)["marks"] == []

    page.reload()  # the device keeps it, though the server has not seen it
    settle(page)
    page.locator("ol.marks li").first.wait_for()
    page.get_by_role("button", name="1 Cut", exact=False).first.click()
    page.locator(".chooser").get_by_label("On part").select_option("stitching")
    known = wait_told(page, lambda told: told["unplaced"] == 0 and len(told["marks"]) == 1)
    assert (known["marks"][0]["category"], known["marks"][0]["component"]) == ("cut", "stitching")


def test_a_surface_for_other_shapes_names_them_in_turn_and_speaks_of_no_damage(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, asked(purpose="yes"))
    assert page.locator(".status").inner_text() == "Draw a line along each side."
    assert page.locator(".tools").get_by_role("button", name="Box", exact=True).count() == 0
    drag(page, LINE)
    wait_marks(page, 1)
    assert page.locator(".status").inner_text() == "Drawn: first side. Now: other side."
    drag(page, [(1200.0, 700.0), (2700.0, 1900.0)])
    wait_marks(page, 2)
    assert page.locator(".label text").all_text_contents() == ["1 first side", "2 other side"]
    page.locator(".tools").get_by_role("button", name="Bent", exact=True).click()
    said = page.locator(".marking").inner_text()
    assert "damage" not in said.split("Keys and gestures")[0]


def test_a_mark_of_an_earlier_photo_is_dashed_and_becomes_a_mark_only_when_taken_over(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, asked(hints="yes"))
    assert told(page)["marks"] == []
    dashes = page.locator(".hint.earlier .stroke").get_attribute("stroke-dasharray")
    assert dashes not in (None, "none")
    assert "Marked on the earlier photo" in page.locator(".marking").inner_text()
    page.get_by_role("button", name="Take over then 1 as my mark").click()
    (mark,) = wait_marks(page, 1)
    assert (mark["id"], mark["category"], mark["component"]) == ("hint-then1", "cut", "webbing")
    assert page.locator(".hint.earlier").count() == 0
