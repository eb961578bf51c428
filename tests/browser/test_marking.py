"""The marking component in real Chromium: every shape by mouse, finger and key, and nothing lost on the way."""

from __future__ import annotations

import math
import uuid
from typing import Any

import pytest

from tests.browser.conftest import OpenPage, StartApp
from tests.browser.marking_hands import (
    HOST,
    assert_points,
    click,
    drag,
    open_marking,
    sheet_box,
    to_screen,
    told,
    tool,
    wait_marks,
    wait_told,
)

pytestmark = pytest.mark.browser

LINE = [(1900.0, 985.0), (2300.0, 1500.0)]
BENT = [(500.0, 1200.0), (1200.0, 1400.0), (1900.0, 1250.0)]
AREA = [(800.0, 600.0), (1800.0, 700.0), (1600.0, 1600.0), (900.0, 1500.0)]
CIRCLE = [(2000 + 500 * math.cos(a / 6 * math.pi), 1500 + 500 * math.sin(a / 6 * math.pi)) for a in range(12)]


@pytest.fixture
def url(start_app: StartApp) -> str:
    return start_app(HOST)


def fresh(**more: str) -> str:
    """A query with a draft of its own, so that no test meets the marks of another."""
    return "&".join([f"draft={uuid.uuid4().hex[:8]}", *(f"{name}={value}" for name, value in more.items())])


def boxed(touched: list[tuple[float, float]]) -> list[tuple[float, float]]:
    (x0, y0), (x1, y1) = touched
    return [(min(x0, x1), min(y0, y1)), (max(x0, x1), max(y0, y1))]


def test_a_line_by_mouse_lands_on_the_photo_pixels_that_were_touched(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, fresh())
    touched = drag(page, LINE)
    (mark,) = wait_marks(page, 1)
    assert mark["shape"]["type"] == "line"
    assert mark["component"] == "webbing"
    assert_points(mark["shape"]["points"], touched)


def test_a_box_by_mouse_is_kept_from_upper_left_to_lower_right_whichever_way_it_was_drawn(
    url: str, desk: OpenPage
) -> None:
    page = open_marking(desk, url, fresh())
    tool(page, "Box")
    touched = drag(page, [(2300.0, 1500.0), (1500.0, 900.0)])
    (mark,) = wait_marks(page, 1)
    assert mark["shape"]["type"] == "box"
    assert_points(mark["shape"]["points"], boxed(touched))


def test_two_clicks_draw_a_line_as_well_as_a_drag(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, fresh())
    touched = click(page, LINE)
    (mark,) = wait_marks(page, 1)
    assert_points(mark["shape"]["points"], touched)


def test_a_bent_line_by_mouse_ends_with_the_finish_button(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, fresh())
    tool(page, "Bent")
    touched = click(page, BENT)
    page.get_by_role("button", name="Finish").click()
    (mark,) = wait_marks(page, 1)
    assert mark["shape"]["type"] == "polyline"
    assert_points(mark["shape"]["points"], touched)


def test_a_polygon_by_mouse_closes_on_its_first_corner(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, fresh())
    tool(page, "Area")
    touched = click(page, [*AREA, AREA[0]])
    (mark,) = wait_marks(page, 1)
    assert mark["shape"]["type"] == "polygon"
    assert_points(mark["shape"]["points"], touched[:-1])


def test_an_outline_by_mouse_passes_through_every_place_the_mouse_was(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, fresh())
    tool(page, "Outline")
    touched = drag(page, CIRCLE)
    (mark,) = wait_marks(page, 1)
    assert mark["shape"]["type"] == "freehand"
    assert_points(mark["shape"]["points"], touched)


def test_zoomed_past_full_resolution_a_line_is_exact_to_the_pixel(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, fresh())
    page.mouse.move(*to_screen(page, (2000.0, 1500.0)))
    for _ in range(40):
        page.mouse.wheel(0, -200)
        page.wait_for_timeout(20)
        if sheet_box(page)["width"] > 4000:
            break
    wanted = [(1950.0, 1450.0), (2050.0, 1520.0)]
    drag(page, wanted)
    (mark,) = wait_marks(page, 1)
    assert_points(mark["shape"]["points"], wanted)


def press(page: Any, *keys: str) -> None:
    for key in keys:
        page.keyboard.press(key)


def start_keys(page: Any, tool_key: str) -> tuple[float, float]:
    """Focus, tool and crosshair by keys alone; the crosshair starts in the middle of the stage."""
    page.locator(".surface").focus()
    press(page, tool_key, "Enter")
    return 2000.0, 1500.0


def test_keys_alone_draw_a_line_to_the_pixel(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, fresh())
    x, y = start_keys(page, "2")
    press(page, "Enter", *["Control+ArrowRight"] * 7, *["Control+ArrowDown"] * 3, "Enter")
    (mark,) = wait_marks(page, 1)
    assert_points(mark["shape"]["points"], [(x, y), (x + 7, y + 3)], within=1)


@pytest.mark.parametrize(
    ("tool_key", "kind", "moves", "corners"),
    [
        ("4", "box", [("ArrowRight", 1), ("ArrowDown", 1)], [(0, 0), (1, 1)]),
        ("3", "polyline", [("ArrowRight", 1), ("Enter", 0), ("ArrowDown", 1), ("Enter", 0)], [(0, 0), (1, 0), (1, 1)]),
        ("5", "polygon", [("ArrowRight", 1), ("Enter", 0), ("ArrowDown", 1), ("Enter", 0)], [(0, 0), (1, 0), (1, 1)]),
        ("6", "freehand", [("ArrowRight", 1), ("ArrowDown", 1)], [(0, 0), (1, 0), (1, 1)]),
    ],
)
def test_keys_alone_draw_every_other_shape(
    url: str,
    desk: OpenPage,
    tool_key: str,
    kind: str,
    moves: list[tuple[str, int]],
    corners: list[tuple[int, int]],
) -> None:
    page = open_marking(desk, url, fresh())
    x, y = start_keys(page, tool_key)
    scale = sheet_box(page)["width"] / 4000
    step = round(50 / scale)  # Shift moves fifty screen pixels
    press(page, "Enter", *[f"Shift+{key}" if key != "Enter" else key for key, _ in moves], "Enter")
    (mark,) = wait_marks(page, 1)
    assert mark["shape"]["type"] == kind
    assert_points(mark["shape"]["points"], [(x + across * step, y + down * step) for across, down in corners])


def test_escape_cancels_a_shape_and_undo_takes_back_its_last_point(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, fresh())
    tool(page, "Area")
    touched = click(page, AREA)
    page.locator(".surface").focus()
    press(page, "Control+z")
    page.get_by_role("button", name="Finish").click()
    (mark,) = wait_marks(page, 1)
    assert_points(mark["shape"]["points"], touched[:3])
    click(page, AREA[:2])
    page.locator(".surface").focus()
    press(page, "Escape")
    page.get_by_role("button", name="Finish").wait_for(state="hidden")
    assert len(told(page)["marks"]) == 1


def test_undo_and_redo_by_keys_go_back_and_forth_over_marks(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, fresh())
    drag(page, LINE)
    wait_marks(page, 1)
    drag(page, [(600.0, 300.0), (900.0, 2500.0)])
    both = wait_marks(page, 2)
    press(page, "Control+z", "Control+z")
    wait_marks(page, 0)
    press(page, "Control+y", "Control+y")
    assert wait_marks(page, 2) == both


def test_delete_by_key_and_from_the_list(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, fresh())
    drag(page, LINE)
    drag(page, [(600.0, 300.0), (900.0, 2500.0)])
    first, _ = wait_marks(page, 2)
    press(page, "Delete")
    assert wait_marks(page, 1) == [first]
    page.get_by_role("button", name="Delete mark 1").click()
    wait_marks(page, 0)


def test_a_handle_moves_one_end_and_only_in_the_move_tool(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, fresh())
    drag(page, LINE)
    (before,) = wait_marks(page, 1)
    drag(page, [LINE[1], (3000.0, 2000.0)])  # from the end of the chosen mark: a new line, not a reshape
    assert wait_marks(page, 2)[0] == before
    press(page, "Delete")
    wait_marks(page, 1)
    tool(page, "Move")
    click(page, [LINE[0]])
    touched = drag(page, [LINE[1], (2600.0, 1700.0)])
    known = wait_told(page, lambda told: told["marks"][0] != before)
    start, end = known["marks"][0]["shape"]["points"]
    assert start == before["shape"]["points"][0]
    grabbed = touched[0]
    wanted = [
        old + new - grip for old, new, grip in zip(before["shape"]["points"][1], touched[1], grabbed, strict=True)
    ]
    assert_points([end], [(wanted[0], wanted[1])])


def test_a_chosen_mark_is_moved_whole_and_stays_on_the_photo(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, fresh())
    tool(page, "Box")
    drag(page, [(1500.0, 1000.0), (2500.0, 2000.0)])
    (before,) = wait_marks(page, 1)
    tool(page, "Move")
    drag(page, [(2000.0, 1000.0), (3990.0, 1000.0)])
    known = wait_told(page, lambda told: told["marks"][0] != before)
    (x0, y0), (x1, y1) = known["marks"][0]["shape"]["points"]
    (a0, b0), (a1, b1) = before["shape"]["points"]
    assert x1 == pytest.approx(4000, abs=0.2)
    assert (x1 - x0, y1 - y0) == (pytest.approx(a1 - a0, abs=0.2), pytest.approx(b1 - b0, abs=0.2))
    assert y0 == pytest.approx(b0, abs=0.2)


def test_keys_choose_a_mark_take_a_corner_and_move_it_one_pixel(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, fresh())
    drag(page, LINE)
    (before,) = wait_marks(page, 1)
    press(page, "Escape", "1", "Tab", "Enter", "Enter", "Control+ArrowRight", "Control+ArrowRight")
    known = wait_told(page, lambda told: told["rev"] == 3)
    (start, end) = known["marks"][0]["shape"]["points"]
    assert start == before["shape"]["points"][0]
    assert end == [pytest.approx(before["shape"]["points"][1][0] + 2, abs=0.01), before["shape"]["points"][1][1]]
    press(page, "Control+z")  # both presses were one step
    wait_told(page, lambda told: told["marks"] == [before])


def test_tab_goes_through_the_marks_and_then_on_to_the_next_button(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, fresh())
    drag(page, LINE)
    drag(page, [(600.0, 300.0), (900.0, 2500.0)])
    wait_marks(page, 2)
    press(page, "Escape")
    seen = []
    for _ in range(2):
        press(page, "Tab")
        page.wait_for_timeout(100)
        seen.append(page.locator(".chooser legend").inner_text().split(":")[0])
    assert seen == ["Mark 1", "Mark 2"]
    press(page, "Tab")
    assert page.get_by_role("button", name="Closer (+)").evaluate("node => node.getRootNode().activeElement === node")


def test_category_and_component_are_chosen_for_a_mark_and_hold_for_the_next(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, fresh())
    drag(page, LINE)
    (mark,) = wait_marks(page, 1)
    assert mark["category"] == "other"  # nobody has said what it shows: never a guess
    assert page.locator(".chooser legend").inner_text() == "Mark 1: say what it shows"
    page.locator(".chooser").get_by_label("Shows").select_option("cut")
    page.locator(".chooser").get_by_label("On part").select_option("stitching")
    wait_told(page, lambda told: (told["marks"][0]["category"], told["marks"][0]["component"]) == ("cut", "stitching"))
    drag(page, [(600.0, 300.0), (900.0, 2500.0)])
    marks = wait_marks(page, 2)
    assert (marks[1]["category"], marks[1]["component"]) == ("cut", "stitching")
    assert page.locator(".label text").all_text_contents() == ["1 cut", "2 cut"]


def test_whoever_chooses_first_sets_up_the_next_mark_and_never_changes_the_last(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, fresh())
    for number, category in enumerate(("cut", "burn"), start=1):
        assert page.locator(".chooser legend").inner_text() == "Next mark"
        page.locator(".chooser").get_by_label("Shows").select_option(category)
        drag(page, [(600.0 * number, 300.0), (900.0 * number, 2500.0)])
        marks = wait_marks(page, number)
    assert [mark["category"] for mark in marks] == ["cut", "burn"]


def test_a_mark_is_edited_from_the_list_and_its_note_stays_text(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, fresh())
    drag(page, LINE)
    wait_marks(page, 1)
    page.get_by_role("button", name="Edit mark 1").click()
    row = page.locator("ol.marks li").first
    row.get_by_label("Shows").select_option("burn")
    row.get_by_label("Note").fill("<img src=x onerror=alert(1)> & more")
    row.get_by_label("Note").press("Enter")
    known = wait_told(page, lambda told: told["marks"][0]["note"] != "")
    assert known["marks"][0]["category"] == "burn"
    page.get_by_role("button", name="Edit mark 1").click()
    assert "<img src=x onerror=alert(1)> & more" in row.inner_text()
    assert page.locator("ol.marks img").count() == 0


def test_readings_stand_beside_their_mark(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, fresh())
    (x0, y0), (x1, y1) = drag(page, LINE)
    wait_marks(page, 1)
    reading = page.locator("ol.marks .reading")
    reading.wait_for()
    assert reading.inner_text() == f"{math.hypot(x1 - x0, y1 - y0):.0f} px long"


def test_a_hint_becomes_a_mark_only_by_acceptance_and_comes_back_on_undo(url: str, desk: OpenPage) -> None:
    page = open_marking(desk, url, fresh(hints="yes"))
    assert told(page)["marks"] == []
    page.get_by_role("button", name="Accept hint 1 as my mark").click()
    (mark,) = wait_marks(page, 1)
    assert (mark["id"], mark["category"], mark["component"]) == ("hint-rust1", "rust", "snap hook")
    page.get_by_role("button", name="Undo").click()
    wait_marks(page, 0)
    assert page.get_by_role("button", name="Accept hint 1 as my mark").is_visible()
