"""The marking component under fingers, in real Chromium with the browser's own touch input."""

from __future__ import annotations

import math
import uuid

import pytest

from tests.browser.conftest import OpenPage, StartApp
from tests.browser.marking_hands import (
    HOST,
    Fingers,
    assert_points,
    open_marking,
    sheet_box,
    to_screen,
    told,
    tool,
    wait_marks,
    wait_told,
)

pytestmark = pytest.mark.browser

BENT = [(500.0, 1200.0), (1200.0, 1400.0), (1900.0, 1250.0)]
AREA = [(800.0, 600.0), (1800.0, 700.0), (1600.0, 1600.0), (900.0, 1500.0)]
CIRCLE = [(2000 + 500 * math.cos(a / 6 * math.pi), 1500 + 500 * math.sin(a / 6 * math.pi)) for a in range(12)]


@pytest.fixture
def url(start_app: StartApp) -> str:
    return start_app(HOST)


def fresh() -> str:
    """A query with a draft of its own, so that no test meets the marks of another."""
    return f"draft={uuid.uuid4().hex[:8]}"


def test_fingers_draw_lines_outlines_and_areas(url: str, phone: OpenPage) -> None:
    page = open_marking(phone, url, fresh())
    fingers = Fingers(page)
    line = fingers.drag([(1000.0, 900.0), (1500.0, 1200.0), (2600.0, 1900.0)])
    wait_marks(page, 1)
    tool(page, "Outline")
    circle = fingers.drag(CIRCLE)
    wait_marks(page, 2)
    tool(page, "Area")
    area = fingers.tap(AREA)
    page.get_by_role("button", name="Finish").tap()
    wait_marks(page, 3)
    tool(page, "Box")
    box = fingers.drag([(300.0, 300.0), (3000.0, 2600.0)])
    wait_marks(page, 4)
    tool(page, "Bent")
    bent = fingers.tap([*BENT, BENT[-1]])
    marks = wait_marks(page, 5)
    shapes = [mark["shape"] for mark in marks]
    assert [shape["type"] for shape in shapes] == ["line", "freehand", "polygon", "box", "polyline"]
    for shape, wanted in zip(shapes, [[line[0], line[-1]], circle, area, box, bent[:-1]], strict=True):
        assert_points(shape["points"], wanted)


def test_a_tap_right_after_a_quick_stroke_is_not_swallowed(url: str, phone: OpenPage) -> None:
    page = open_marking(phone, url, fresh())
    fingers = Fingers(page)
    for _ in range(2):
        fingers.drag([(1000.0, 900.0), (2600.0, 1900.0)])  # one leap: as fast as a stroke can be
        wait_marks(page, 1)
        page.get_by_role("button", name="Undo", exact=True).tap()
        wait_marks(page, 0)


def test_two_fingers_zoom_and_pan_and_never_draw(url: str, phone: OpenPage) -> None:
    page = open_marking(phone, url, fresh())
    fingers = Fingers(page)
    before = sheet_box(page)
    centre = to_screen(page, (2000.0, 1500.0))
    fingers.pinch(centre, 60, 240)
    page.wait_for_timeout(100)
    after = sheet_box(page)
    assert after["width"] / before["width"] == pytest.approx(4, rel=0.02)
    x, y = to_screen(page, (2000.0, 1500.0))
    assert abs(x - centre[0]) <= 2 and abs(y - centre[1]) <= 2  # what was between the fingers stays there
    fingers.down((150, 400), (250, 400))
    fingers.move((170, 430), (270, 430))
    fingers.up()
    page.wait_for_timeout(100)
    moved = sheet_box(page)
    assert moved["width"] == pytest.approx(after["width"], rel=0.001)
    assert (moved["x"] - after["x"], moved["y"] - after["y"]) == (pytest.approx(20, abs=1), pytest.approx(30, abs=1))
    assert told(page)["marks"] == []


def test_one_finger_pans_with_the_pan_tool(url: str, phone: OpenPage) -> None:
    page = open_marking(phone, url, fresh())
    fingers = Fingers(page)
    fingers.pinch(to_screen(page, (2000.0, 1500.0)), 60, 240)
    tool(page, "Pan")
    page.wait_for_timeout(100)
    before = sheet_box(page)
    fingers.down((200, 400))
    fingers.move((230, 380))
    fingers.up()
    page.wait_for_timeout(100)
    after = sheet_box(page)
    assert (after["x"] - before["x"], after["y"] - before["y"]) == (pytest.approx(30, abs=1), pytest.approx(-20, abs=1))
    assert told(page)["marks"] == []


def test_a_finger_reshapes_in_the_move_tool_with_the_loupe_showing(url: str, phone: OpenPage) -> None:
    page = open_marking(phone, url, fresh())
    fingers = Fingers(page)
    fingers.drag([(1000.0, 900.0), (2600.0, 1900.0)])
    (before,) = wait_marks(page, 1)
    tool(page, "Move")
    start, goal = to_screen(page, (2600.0, 1900.0)), to_screen(page, (3000.0, 2300.0))
    fingers.down(start)
    fingers.move(goal)
    assert page.locator(".loupe").is_visible()
    fingers.up()
    known = wait_told(page, lambda told: told["marks"][0] != before)
    (old, moved) = before["shape"]["points"][1], known["marks"][0]["shape"]["points"][1]
    scale = sheet_box(page)["width"] / 4000
    wanted = [old[i] + (goal[i] - start[i]) / scale for i in (0, 1)]
    assert_points([moved], [(wanted[0], wanted[1])])


def test_the_loupe_stands_clear_of_the_finger_while_it_draws_and_goes_after(url: str, phone: OpenPage) -> None:
    page = open_marking(phone, url, fresh())
    fingers = Fingers(page)
    start, end = to_screen(page, (1500.0, 1800.0)), to_screen(page, (2400.0, 2000.0))
    fingers.down(start)
    fingers.move(end)
    loupe = page.locator(".loupe")
    loupe.wait_for()
    box = loupe.bounding_box()
    assert box["y"] + box["height"] < end[1] - 20
    fingers.up()
    loupe.wait_for(state="hidden")
    wait_marks(page, 1)
