"""What the marking component keeps, fetches and sends, and whether everybody can use it."""

from __future__ import annotations

import uuid
from typing import Any

import pytest

from tests.browser.conftest import OpenPage, StartApp
from tests.browser.marking_hands import (
    HOST,
    Fingers,
    drag,
    open_marking,
    settle,
    sheet_box,
    to_screen,
    told,
    tool,
    wait_marks,
    wait_told,
)

pytestmark = pytest.mark.browser

LINE = [(1900.0, 985.0), (2300.0, 1500.0)]
OTHER_LINE = [(600.0, 300.0), (900.0, 2500.0)]
LEAST_TARGET = 44


@pytest.fixture
def url(start_app: StartApp) -> str:
    return start_app(HOST)


def new_name() -> str:
    return uuid.uuid4().hex[:8]


def test_a_rerun_keeps_marks_view_and_the_component_itself(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, f"draft={new_name()}")
    drag(page, LINE)
    marks = wait_marks(page, 1)
    page.locator(".surface").evaluate("node => { node.stillTheSame = true }")
    runs = told(page)["runs"]
    page.get_by_role("button", name="Run again").click()
    known = wait_told(page, lambda told: told["runs"] > runs)
    assert known["marks"] == marks
    assert page.locator(".surface").evaluate("node => node.stillTheSame")
    drag(page, OTHER_LINE)
    assert wait_marks(page, 2)[0] == marks[0]


def test_a_change_of_page_keeps_the_marks(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, f"draft={new_name()}")
    drag(page, LINE)
    drag(page, OTHER_LINE)
    marks = wait_marks(page, 2)
    page.get_by_role("link", name="Other").click()
    page.get_by_role("button", name="Record").wait_for()
    page.get_by_role("link", name="Mark").click()
    settle(page)
    assert wait_marks(page, 2) == marks
    assert page.locator("ol.marks li").count() == 2
    drag(page, [(3000.0, 500.0), (3400.0, 900.0)])
    assert wait_marks(page, 3)[:2] == marks


def test_a_reload_after_the_server_has_the_draft_shows_it_again(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, f"draft={new_name()}")
    drag(page, LINE)
    marks = wait_marks(page, 1)
    page.reload()
    settle(page)
    assert wait_marks(page, 1) == marks
    assert page.locator("ol.marks li").count() == 1


def test_a_reload_before_the_server_had_the_marks_loses_nothing(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, f"draft={new_name()}&keep=no")
    drag(page, LINE)
    drag(page, OTHER_LINE)
    marks = wait_marks(page, 2)
    page.reload()
    settle(page)
    assert wait_marks(page, 2) == marks
    assert "Brought back" in page.get_by_role("status").inner_text()


@pytest.mark.parametrize("answer", ["Bring back", "Discard"])
def test_marks_of_another_draft_on_the_same_photo_are_only_offered(url: str, desk: OpenPage, answer: str) -> None:
    name = new_name()
    page = open_marking(desk, url, f"draft={name}&owner=first&keep=no")
    drag(page, LINE)
    marks = wait_marks(page, 1)
    page.goto(f"{url}/?draft={name}&owner=second&keep=no")
    settle(page)
    page.get_by_text("This device kept 1 mark").wait_for()
    assert told(page)["marks"] == []
    page.get_by_role("button", name=answer).click()
    if answer == "Bring back":
        assert wait_marks(page, 1) == marks
    else:
        page.reload()
        settle(page)
        assert (
            page.get_by_text("This device kept").count() == 0 or not page.get_by_text("This device kept").is_visible()
        )
        assert told(page)["marks"] == []


def test_a_recorded_inspection_leaves_no_copy_in_the_browser(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, f"draft={new_name()}")
    drag(page, LINE)
    wait_marks(page, 1)
    stored = "() => Object.keys(localStorage).filter(name => name.startsWith('bartack.marks.')).length"
    assert page.evaluate(stored) == 1
    page.get_by_role("link", name="Other").click()
    page.get_by_role("button", name="Record").click()
    page.get_by_text("Recorded").wait_for()
    page.wait_for_function(f"() => ({stored})() === 0")


def test_the_full_photo_is_fetched_once_and_only_when_zoom_needs_it(url: str, desk: OpenPage) -> None:
    page = desk()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url) if request.url.startswith(f"{url}/media/") else None)
    page.goto(f"{url}/?draft={new_name()}")
    settle(page)
    drag(page, LINE)
    wait_marks(page, 1)
    page.get_by_role("button", name="Closer (+)").click()
    page.wait_for_timeout(300)
    assert sheet_box(page)["width"] < 1600
    assert len(asked) == 1  # the preview alone
    page.get_by_role("button", name="Closer (+)").click()
    page.locator(".sheet img.full:not([hidden])").wait_for()
    assert sheet_box(page)["width"] > 1600
    assert page.locator(".sheet img.full").evaluate("node => node.naturalWidth") == 4000
    for name in ("Closer (+)", "Whole photo (0)", "Closer (+)", "Closer (+)", "Closer (+)"):
        page.get_by_role("button", name=name).click()
    drag(page, [(2000.0, 1450.0), (2100.0, 1500.0)])
    wait_marks(page, 2)
    page.get_by_role("button", name="Run again").click()
    page.wait_for_timeout(800)
    assert len(asked) == 2 and len(set(asked)) == 2


def test_the_store_is_asked_for_the_full_copy_once_while_it_is_shown(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, f"draft={new_name()}")
    drag(page, LINE)
    wait_marks(page, 1)
    page.get_by_role("button", name="Run again").click()
    drag(page, OTHER_LINE)
    wait_marks(page, 2)
    assert told(page)["runs"] >= 4
    assert told(page)["full_reads"] == 1


def test_a_stroke_sends_about_a_kilobyte_and_never_the_script_again(url: str, desk: OpenPage) -> None:
    page = desk()
    up: list[int] = []
    down: list[int] = []
    size = len
    page.on(
        "websocket",
        lambda socket: (
            socket.on("framesent", lambda frame: up.append(size(frame))),
            socket.on("framereceived", lambda frame: down.append(size(frame))),
        ),
    )
    page.goto(f"{url}/?draft={new_name()}")
    settle(page)
    assert sum(down) > 50_000  # the script came once
    tool(page, "Outline")
    page.wait_for_timeout(500)
    up.clear()
    down.clear()
    drag(page, [(2000.0 + 9 * i, 1500.0 + (i % 7) * 30) for i in range(60)])
    wait_marks(page, 1)
    page.wait_for_timeout(500)
    assert sum(up) < 3_000, up
    assert sum(down) < 12_000, down


def test_a_readonly_photo_can_be_looked_at_and_not_marked(url: str, desk: OpenPage) -> None:
    name = new_name()
    page = open_marking(desk, url, f"draft={name}")
    drag(page, LINE)
    wait_marks(page, 1)
    page.goto(f"{url}/?draft={name}&readonly=yes")
    settle(page)
    drag(page, OTHER_LINE)
    page.locator(".surface").press("Delete")
    page.wait_for_timeout(400)
    assert len(told(page)["marks"]) == 1
    assert not page.locator(".tools").is_visible()
    assert page.get_by_role("button", name="Delete mark 1").count() == 0
    page.get_by_role("button", name="Closer (+)").click()
    assert sheet_box(page)["width"] > 800


def test_the_large_view_covers_the_screen_and_gives_everything_back(url: str, phone: OpenPage) -> None:
    page = open_marking(phone, url, f"draft={new_name()}")
    page.get_by_role("button", name="Large").tap()
    box = page.locator("dialog .stage").bounding_box()
    assert box["width"] == 390 and box["height"] > 844 * 0.62
    Fingers(page).drag(LINE)
    wait_marks(page, 1)
    page.get_by_role("button", name="Close", exact=True).tap()
    page.locator(".home .stage").wait_for()
    Fingers(page).drag(OTHER_LINE)
    wait_marks(page, 2)


def test_on_a_phone_the_photo_takes_most_and_every_target_fits_a_glove(url: str, phone: OpenPage) -> None:
    page = open_marking(phone, url, f"draft={new_name()}&hints=yes")
    Fingers(page).drag(LINE)
    wait_marks(page, 1)
    page.get_by_role("button", name="Edit mark 1").tap()
    assert page.locator(".stage").bounding_box()["height"] >= 844 * 0.5
    targets = page.locator(".marking :is(button, select, input, summary):visible")
    small = [
        (target.evaluate("node => node.textContent || node.ariaLabel"), box)
        for target in targets.all()
        if (box := target.bounding_box())["height"] < LEAST_TARGET or box["width"] < LEAST_TARGET
    ]
    assert targets.count() > 15
    assert small == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_the_wheel_scrolls_the_page_again_at_the_end_of_the_zoom(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, f"draft={new_name()}")
    page.mouse.move(*to_screen(page, (2000.0, 1500.0)))
    before = sheet_box(page)
    page.mouse.wheel(0, 300)
    page.wait_for_timeout(400)
    assert sheet_box(page)["width"] == before["width"]
    assert sheet_box(page)["y"] < before["y"]


def test_space_and_drag_pans_in_a_drawing_tool(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, f"draft={new_name()}")
    page.locator(".surface").focus()
    page.keyboard.press("+")
    page.keyboard.press("+")
    page.wait_for_timeout(100)
    before = sheet_box(page)
    page.keyboard.down(" ")
    x, y = to_screen(page, (2000.0, 1500.0))
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 30, y + 20)
    page.mouse.up()
    page.keyboard.up(" ")
    page.wait_for_timeout(100)
    after = sheet_box(page)
    assert (after["x"] - before["x"], after["y"] - before["y"]) == (pytest.approx(30), pytest.approx(20))
    assert told(page)["marks"] == []


def test_the_ring_around_the_photo_shows_for_keys_and_not_for_fingers(url: str, phone: OpenPage) -> None:
    page = open_marking(phone, url, f"draft={new_name()}")
    ring = "node => getComputedStyle(node, '::after').borderTopWidth"
    Fingers(page).drag(LINE)
    wait_marks(page, 1)
    surface = page.locator(".surface")
    assert surface.evaluate(ring) == "0px"
    page.keyboard.press("ArrowLeft")
    assert surface.evaluate(ring) == "3px"


def test_a_chosen_tool_stays_readable_under_the_mouse(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, f"draft={new_name()}")
    button = page.locator(".tools").get_by_role("button", name="Box", exact=True)
    button.click()  # the mouse now rests on it
    page.wait_for_timeout(300)
    colours = button.evaluate("node => [getComputedStyle(node).color, getComputedStyle(node).backgroundColor]")
    assert colours == ["rgb(255, 255, 255)", "rgb(16, 24, 27)"]


def test_animation_is_off_where_the_person_asks_for_less_motion(url: str, desk: OpenPage) -> None:
    durations = {}
    for wish in ("reduce", "no-preference"):
        page = open_marking(desk, url, f"draft={new_name()}", reduced_motion=wish)
        durations[wish] = page.locator(".tools .tool").first.evaluate(
            "node => getComputedStyle(node).transitionDuration"
        )
    assert durations["reduce"] == "0s"
    assert durations["no-preference"] != "0s"


def serious_faults(page: Any) -> list[str]:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe is not installed")
    found = axe.Axe().run(page, context=".stBidiComponent").response["violations"]
    return [
        f"{fault['id']}: {node['target']} {node['failureSummary']}"
        for fault in found
        if fault["impact"] in ("serious", "critical")
        for node in fault["nodes"]
    ]


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("place", ["phone", "desk"])
def test_axe_finds_no_serious_fault(url: str, phone: OpenPage, desk: OpenPage, theme: str, place: str) -> None:
    opener = phone if place == "phone" else desk
    page = open_marking(opener, url, f"draft={new_name()}&hints=yes", color_scheme=theme)
    page.get_by_role("button", name="Accept hint 1 as my mark").click()
    wait_marks(page, 1)
    page.get_by_role("button", name="Edit mark 1").click()
    page.get_by_text("Keys and gestures").click()
    page.locator(".marking").evaluate("node => node.getBoundingClientRect()")
    assert serious_faults(page) == []
    background = page.locator(".marking").evaluate("node => getComputedStyle(node).backgroundColor")
    assert (background == "rgb(255, 255, 255)") == (theme == "light")
