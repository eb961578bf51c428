"""Hands for the main job: a store with an item and people in it, and the ways a person goes through the screens."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from typing import Any

from playwright.sync_api import TimeoutError as PlaywrightTimeout

from inspect_core.bootstrap import draw_demo_picture, open_services
from inspect_core.domain.people import Person, Role
from inspect_core.usecases.register import RegisterItem, add_person, parse_item, register
from inspect_core.usecases.services import Services
from tests.browser.conftest import ROOT
from tests.browser.marking_hands import Fingers

APP = ROOT / "streamlit_app.py"
WORKER = Person("a" * 32, "Worker 7", Role.WORKER)
COMPETENT = Person("b" * 32, "Inspector 3", Role.COMPETENT_PERSON, date(2099, 1, 1))


def store_with(folder: Path, *tags: str, kind: str = "webbing lanyard") -> Services:
    """A store with two people and an item of that kind for each tag, fresh enough to be due nowhere soon."""
    services = open_services(str(folder))
    for person in (WORKER, COMPETENT):
        add_person(person, services)
    for tag in tags:
        item = parse_item({"tag": tag, "kind": kind, "site": "North Quay", "webbing_width_mm": 45}, services.new_id())
        register(RegisterItem(item, COMPETENT.id), services)
    return services


@cache
def drawn(kind: str, component: str, category: str | None) -> tuple[bytes, dict[str, Any]]:
    """A drawn picture of that damage and the truth about it."""
    data, truth = draw_demo_picture(
        kind, component, category, seed=11, captured_at=datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
    )
    return data, dict(truth)


def settled(page: Any) -> None:
    """Waits until the server has answered and nothing on the page is waiting to be replaced."""
    page.wait_for_timeout(120)
    page.locator('[data-testid="stApp"][data-test-script-state="notRunning"]').wait_for()
    page.wait_for_function('() => !document.querySelector(\'[data-stale="true"], [data-testid="stSkeleton"]\')')


def open_screen(page: Any, url: str, address: str = "") -> None:
    page.goto(f"{url}/{address}")
    settled(page)


def press(page: Any, role: str, name: str, *, place: int = 0, exact: bool = True) -> None:
    """Presses what carries that name: a tap on a phone, a click at a desk."""
    one = page.get_by_role(role, name=name, exact=exact).nth(place)
    one.scroll_into_view_if_needed()
    if page.evaluate("() => navigator.maxTouchPoints > 0"):
        one.tap()
    else:
        one.click()
    settled(page)


def say_who(page: Any, person: Person) -> None:
    """Picks a name. A list that closes because the page moved under it is opened again, as a person would."""
    option = page.get_by_role("option", name=f"{person.name}, {person.role.value}", exact=True).first
    for _ in range(4):
        press(page, "combobox", "Your name", exact=False)
        try:
            option.wait_for(timeout=4000)
            break
        except PlaywrightTimeout:
            page.keyboard.press("Escape")
    press(page, "option", f"{person.name}, {person.role.value}")


def answer_all(page: Any, answer: str = "Sound") -> None:
    """Taps the same answer for every part, one after another: there is no button for all at once."""
    choices = page.get_by_role("radio", name=answer, exact=True)
    for place in range(choices.count()):
        press(page, "radio", answer, place=place)


def answer_one(page: Any, component: str, answer: str) -> None:
    """Taps the answer of the part whose row begins with that name."""
    row = page.locator('[data-testid="stButtonGroup"]').filter(has_text=component).first
    one = row.get_by_role("radio", name=answer, exact=True)
    one.scroll_into_view_if_needed()
    if page.evaluate("() => navigator.maxTouchPoints > 0"):
        one.tap()
    else:
        one.click()
    settled(page)


def upload(page: Any, data: bytes, name: str = "photo.jpg") -> None:
    page.locator("input[type=file]").first.set_input_files({"name": name, "mimeType": "image/jpeg", "buffer": data})
    page.locator(".surface").wait_for()
    settled(page)


def clients_of(page: Any, path: Sequence[Sequence[float]], photo_width: int, surface: int = 0) -> list[tuple[int, int]]:
    """Where photo pixels lie on the screen, with the drawing surface of that number brought into view."""
    page.locator(".surface").nth(surface).evaluate("node => node.scrollIntoView({block: 'center'})")
    page.wait_for_timeout(300)
    box = (
        page.locator(".sheet")
        .nth(surface)
        .evaluate("node => { const b = node.getBoundingClientRect(); return {x: b.x, y: b.y, width: b.width} }")
    )
    scale = box["width"] / photo_width
    return [(round(box["x"] + x * scale), round(box["y"] + y * scale)) for x, y in path]


def draw_line(page: Any, path: Sequence[Sequence[float]], photo_width: int, *, surface: int = 0) -> None:
    """Draws along photo pixels, by finger on a phone and by mouse at a desk."""
    clients = clients_of(page, path, photo_width, surface)
    if page.evaluate("() => navigator.maxTouchPoints > 0"):
        fingers = Fingers(page)
        fingers.down(clients[0])
        for client in clients[1:]:
            fingers.move(client)
        fingers.up()
    else:
        page.mouse.move(*clients[0])
        page.mouse.down()
        for client in clients[1:]:
            page.mouse.move(*client, steps=4)
        page.mouse.up()
    settled(page)


def click_corners(page: Any, path: Sequence[Sequence[float]], photo_width: int, *, surface: int = 0) -> None:
    """Clicks the corners of an area one after another, then Finish."""
    for client in clients_of(page, path, photo_width, surface):
        page.mouse.click(*client)
    page.locator(".stage").nth(surface).get_by_role("button", name="Finish", exact=True).click()
    settled(page)


def choose(page: Any, label: str, option: str) -> None:
    """Picks an entry of a list whose name begins with `label`; a list that closes under the hand is opened again."""
    one = page.get_by_role("option", name=option, exact=True).first
    for _ in range(4):
        press(page, "combobox", label, exact=False)
        try:
            one.wait_for(timeout=4000)
            break
        except PlaywrightTimeout:
            page.keyboard.press("Escape")
    press(page, "option", option)


def ends_of(shape: dict[str, Any]) -> list[list[float]]:
    """Two points far apart on a true outline, to draw a line along it."""
    points = shape["points"]
    first = points[0]
    return [first, max(points, key=lambda p: (p[0] - first[0]) ** 2 + (p[1] - first[1]) ** 2)]
