"""Set-up checks in real Chromium: a phone at an edge by touch, a desk by mouse, and axe over every check."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from inspect_core.domain.custody import Move
from inspect_core.screens.rigging.words import CHECKS
from inspect_core.usecases import review
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.register import RegisterItem, parse_item, register
from inspect_core.usecases.services import Services
from inspect_core.usecases.setup import setups_of
from tests.browser.conftest import DESK, PHONE, OpenPage, StartApp
from tests.browser.job_hands import (
    APP,
    COMPETENT,
    WORKER,
    draw_line,
    open_screen,
    press,
    say_who,
    settled,
    store_with,
    upload,
)
from tests.browser.marking_hands import sheet_box, show_stage, tool
from tests.usecases.site import picture

WIDE, HIGH = 1200, 900
PHOTO = picture(5, (WIDE, HIGH))
CSV = (
    "ring,x,y,edge\nroof,0,0,closed\nroof,12,0,\nroof,12,8,\nroof,0,8,\n"
    "opening 1,9,3,\nopening 1,10,3,\nopening 1,10,4,\nanchor,5,4,\n"
)


def add(services: Services, tag: str, kind: str, **more: Any) -> str:
    item = parse_item({"tag": tag, "kind": kind, "site": "North Quay", **more}, services.new_id())
    return register(RegisterItem(item, COMPETENT.id), services).id


def kit_store(folder: Path) -> Services:
    """A harness, a rope grab on hold and its lifeline."""
    services = store_with(folder)
    add(services, "HAR-1", "harness")
    grab = add(services, "GRB-1", "rope grab", rope_range_mm="15-17")
    add(services, "VLL-1", "vertical lifeline", rope_diameter_mm="16")
    make_move(MakeMove("e" * 32, grab, Move.HOLD, COMPETENT.id, "Cam sticks."), services)
    return services


def fill(page: Any, label: str, value: float | str) -> None:
    box = page.get_by_label(label, exact=False).first
    box.fill(str(value))
    box.press("Tab")
    settled(page)


def use_item(page: Any, tag: str) -> None:
    page.get_by_label("Tag on the gear").fill(tag)
    press(page, "button", "Add this item", exact=False)


def sheet_words(page: Any) -> str:
    """Words of the printed sheet, which is one page."""
    with page.expect_download() as download:
        press(page, "button", "Sheet to print (PDF)", exact=False)
    paper = PdfReader(io.BytesIO(Path(download.value.path()).read_bytes()))
    assert len(paper.pages) == 1
    return " ".join(paper.pages[0].extract_text().split())


def test_a_kit_with_a_held_part_does_not_go_and_every_part_remembers_it(
    start_app: StartApp, phone: OpenPage, tmp_path: Path
) -> None:
    services = kit_store(tmp_path / "store")
    url = start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")})
    page = phone()
    open_screen(page, url)
    settled(page)
    press(page, "link", "Check the set-up", exact=False)
    press(page, "link", "Kit fit", exact=False)
    press(page, "radio", "Travel restraint")
    fill(page, "Worker with clothing and tools", 95)
    for tag in ("har-1", "GRB-1", "VLL-1"):
        page.get_by_label("Tag on the gear").fill(tag)
        press(page, "button", "Add this part", exact=False)
        page.get_by_role("link", name=tag.upper(), exact=False).wait_for()
        settled(page)
    page.get_by_text("Cam sticks.").wait_for()
    press(page, "button", "See the answer", exact=False)
    page.get_by_text("DO NOT GO", exact=True).wait_for()
    page.get_by_text("Rope grab GRB-1: status").wait_for()
    say_who(page, WORKER)
    fill(page, "Where", "Roof 2, north edge")
    press(page, "button", "Record this check", exact=False)

    page.get_by_text("Gear used (3)").wait_for()
    said = sheet_words(page)
    assert "Do not go" in said and "GRB-1" in said and "Roof 2, north edge" in said
    for tag in ("HAR-1", "GRB-1", "VLL-1"):
        (record,) = setups_of(review.item_by_tag(tag, services).item.id, services)
        assert record.answer == "do not go"
        open_screen(page, url, f"item?tag={tag}")
        page.get_by_text("Set-up checks (1)").wait_for()
    settled(page)
    press(page, "link", "Kit fit", exact=False)
    page.get_by_text("DO NOT GO", exact=True).wait_for()


@pytest.mark.parametrize(
    ("way", "answer", "told"),
    [
        ([[610, 380], [640, 90]], "GO", "The arrow points toward the anchor"),
        ([[600, 620], [590, 850]], "DO NOT GO", "The arrow points away from the anchor"),
    ],
)
def test_the_direction_is_read_from_two_lines_drawn_by_finger(
    start_app: StartApp, phone: OpenPage, tmp_path: Path, way: list[list[float]], answer: str, told: str
) -> None:
    services = store_with(tmp_path / "store")
    grab = add(services, "GRB-1", "rope grab")
    page = phone()
    open_screen(page, start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")}), "setup?check=direction")
    upload(page, PHOTO)
    draw_line(page, [[590, 640], [600, 500], [605, 420]], WIDE)
    draw_line(page, [way[0], [(way[0][0] + way[1][0]) / 2, (way[0][1] + way[1][1]) / 2], way[1]], WIDE)
    press(page, "radio", "It locked")
    for place in range(3):
        press(page, "radio", "Yes", place=place)
    press(page, "button", "See the answer", exact=False)
    page.get_by_text(answer, exact=True).wait_for()
    page.get_by_text(told, exact=False).first.wait_for()
    page.get_by_role("img", name="Photo with 2 marks", exact=False).wait_for()
    say_who(page, WORKER)
    use_item(page, "GRB-1")
    press(page, "button", "Record this check", exact=False)
    page.get_by_text("Gear used (1)").wait_for()
    (record,) = setups_of(grab, services)
    assert len(record.photo_ids) == 1
    for drawn, wanted in zip(record.case["rope"], way, strict=True):
        assert abs(drawn[0] - wanted[0]) < 8 and abs(drawn[1] - wanted[1]) < 8


def test_a_roof_as_csv_is_drawn_to_scale_and_gives_the_longest_rope(
    start_app: StartApp, desk: OpenPage, tmp_path: Path
) -> None:
    services = store_with(tmp_path / "store", "WL-0001")
    page = desk()
    open_screen(page, start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")}), "setup?check=restraint")
    press(page, "radio", "List (CSV)")
    page.locator("input[type=file]").first.set_input_files(
        {"name": "roof.csv", "mimeType": "text/csv", "buffer": CSV.encode()}
    )
    settled(page)
    for label, value in (("Longest rope", 2.5), ("Lanyard between", 0.6), ("Rope stretches", 5), ("Body reaches", 0.9)):
        fill(page, label, value)
    fill(page, "Harness ring moves", 0.2)
    press(page, "button", "See the answer", exact=False)
    # (2.5 + 0.6) · 1.05 + 0.2 + 0.9 = 4.355 m, over the open edge 4.00 m away and past the opening 4.00 m away.
    page.get_by_text("DO NOT GO", exact=True).wait_for()
    page.get_by_text("2.16 m (7 ft 1.0 in)", exact=True).wait_for()
    plan = page.get_by_role("img", name="Plan", exact=False)
    assert plan.evaluate("node => node.complete && node.naturalWidth > 0")
    say_who(page, WORKER)
    use_item(page, "WL-0001")
    press(page, "button", "Record this check", exact=False)
    page.get_by_text("Gear used (1)").wait_for()
    assert "Do not go" in sheet_words(page)
    (record,) = setups_of(review.item_by_tag("WL-0001", services).item.id, services)
    assert record.result["numbers"]["longest_safe_rope_m"] == 2.16


def tap(page: Any, points: list[list[float]]) -> None:
    """Clicks photo points one after another."""
    show_stage(page)
    page.wait_for_timeout(100)
    box = sheet_box(page)
    scale = box["width"] / WIDE
    for x, y in points:
        page.mouse.click(box["x"] + x * scale, box["y"] + y * scale)
        page.wait_for_timeout(350)  # further apart than a double click


def test_a_roof_drawn_on_a_plan_by_mouse(start_app: StartApp, desk: OpenPage, tmp_path: Path) -> None:
    store_with(tmp_path / "store", "WL-0001")
    page = desk()
    open_screen(page, start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")}), "setup?check=restraint")
    press(page, "radio", "Draw it")
    upload(page, PHOTO)
    tool(page, "Area")
    tap(page, [[100, 100], [1100, 100], [1100, 800], [100, 800]])
    page.get_by_role("button", name="Finish").click()
    settled(page)
    tool(page, "Line")
    draw_line(page, [[100, 850], [1100, 850]], WIDE)
    tool(page, "Box")
    draw_line(page, [[590, 440], [610, 460]], WIDE)
    fill(page, "Known length (m)", 20)
    for label, value in (("Longest rope", 2.5), ("Lanyard between", 0.6), ("Rope stretches", 5), ("Body reaches", 0.9)):
        fill(page, label, value)
    fill(page, "Harness ring moves", 0.2)
    page.get_by_text("The plan so far").wait_for()
    press(page, "button", "See the answer", exact=False)
    # 350 px at 20 mm each is 7 m to the nearest edge; reach 4.36 m.
    page.get_by_text("GO", exact=True).wait_for()
    page.get_by_text("Out of reach: it is", exact=False).first.wait_for()


SIZES = {"phone": PHONE, "desk": DESK}


@pytest.fixture(scope="module")
def url(start_app: StartApp, tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = tmp_path_factory.mktemp("setup") / "store"
    kit_store(folder)
    return start_app(APP, {"BARTACK_STORE": str(folder)})


@pytest.fixture(params=[("phone", "light"), ("desk", "dark")], ids=lambda p: "-".join(p))
def page(request: pytest.FixtureRequest, chromium: Any) -> Iterator[Any]:
    size, scheme = request.param
    context = chromium.new_context(**SIZES[size], color_scheme=scheme)
    one = context.new_page()
    one.set_default_timeout(30_000)
    yield one
    context.close()


_FIRST_TAPS = {
    "kit fit": ("Travel restraint",),
    "restraint": ("Type corners",),
    "clearance": ("From the anchor", "Lanyard or rope grab"),
    "guardrail": ("Type heights", "Timber"),
}


def test_no_check_has_a_serious_fault(url: str, page: Any) -> None:
    pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe is not installed")
    from tests.browser.test_screens_axe import faults_on

    open_screen(page, url, "setup")
    faults = faults_on(page, "choice")
    for check in CHECKS:
        open_screen(page, url, f"setup?check={check.replace(' ', '%20')}&tag=HAR-1")
        for word in _FIRST_TAPS.get(check, ()):
            press(page, "radio", word)
        if check == "restraint":
            fill(page, "Roof along x", 12)
            fill(page, "Roof along y", 8)
            press(page, "button", "Make its four corners")
            fill(page, "Anchor: x", 6)
            fill(page, "Anchor: y", 4)
        if check == "anchor":
            press(page, "combobox", "What is it to hold?", exact=False)
            press(page, "option", "Travel restraint")
            fill(page, "Persons attached", 1)
        faults += faults_on(page, check)
        press(page, "button", "See the answer", exact=False)
        page.get_by_text("Record it", exact=True).wait_for()
        faults += faults_on(page, f"{check}, answered")
    assert faults == []


def test_a_record_and_its_place_in_the_history_have_no_serious_fault(url: str, page: Any) -> None:
    pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe is not installed")
    from tests.browser.test_screens_axe import faults_on

    open_screen(page, url, "setup?check=swing")
    for label, value in (("Anchor above", 4), ("Worker to the side", 2.2), ("Clear way", 1.5)):
        fill(page, label, value)
    press(page, "button", "See the answer", exact=False)
    say_who(page, WORKER)
    use_item(page, "HAR-1")
    press(page, "button", "Record this check", exact=False)
    page.get_by_text("Gear used (1)").wait_for()
    faults = faults_on(page, "record")
    open_screen(page, url, "item?tag=HAR-1")
    page.get_by_text("Set-up checks", exact=False).first.wait_for()
    assert [*faults, *faults_on(page, "history")] == []
