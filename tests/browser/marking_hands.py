"""Hands and eyes for the marking tests: where a photo pixel is on the screen, fingers, and what Python was told."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

HOST = Path(__file__).with_name("host_marking.py")
PHOTO_WIDTH = 4000
WAIT_SECONDS = 15
Place = tuple[float, float]


def open_marking(open_page: Callable[..., Any], url: str, query: str = "", **more: Any) -> Any:
    """A page whose component stands and whose preview has arrived."""
    page = open_page(**more)
    page.goto(f"{url}/?{query}")
    settle(page)
    return page


def settle(page: Any) -> None:
    """Waits until the preview is decoded and Streamlit is idle."""
    page.locator(".surface").wait_for()
    page.wait_for_function(
        """() => {
            const find = (root) => {
              for (const node of root.querySelectorAll('*')) {
                if (node.matches('.sheet img')) return node;
                const inner = node.shadowRoot && find(node.shadowRoot);
                if (inner) return inner;
              }
              return null;
            };
            return find(document)?.naturalWidth > 0;
        }"""
    )
    page.locator('[data-testid="stApp"][data-test-script-state="notRunning"]').wait_for()


def told(page: Any) -> dict[str, Any]:
    """What the Python page last knew: runs, rev, marks."""
    answer: dict[str, Any] = json.loads(page.locator(".st-key-out").inner_text())
    return answer


def wait_told(page: Any, wanted: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
    """Waits for Python to know what is wanted; fails with what it knew instead."""
    deadline = time.monotonic() + WAIT_SECONDS
    while time.monotonic() < deadline:
        known = told(page)
        if wanted(known):
            return known
        page.wait_for_timeout(40)
    raise AssertionError(f"Python never knew it; the last was {told(page)}")


def wait_marks(page: Any, count: int) -> list[dict[str, Any]]:
    marks: list[dict[str, Any]] = wait_told(page, lambda known: len(known["marks"]) == count)["marks"]
    return marks


def sheet_box(page: Any) -> dict[str, float]:
    """The whole photo's place on the screen, as the browser lays it out."""
    box: dict[str, float] = page.locator(".sheet").evaluate(
        "node => { const b = node.getBoundingClientRect(); return {x: b.x, y: b.y, width: b.width, height: b.height} }"
    )
    return box


def to_screen(page: Any, point: Place) -> tuple[int, int]:
    """The whole client pixel nearest to a photo pixel: a mouse stands on whole pixels."""
    box = sheet_box(page)
    scale = box["width"] / PHOTO_WIDTH
    return round(box["x"] + point[0] * scale), round(box["y"] + point[1] * scale)


def to_photo(page: Any, client: Place) -> Place:
    """The photo pixel under a client pixel, from the browser's own layout."""
    box = sheet_box(page)
    scale = box["width"] / PHOTO_WIDTH
    return (client[0] - box["x"]) / scale, (client[1] - box["y"]) / scale


def show_stage(page: Any) -> None:
    """Scrolls the stage into view: a mouse reaches only what is on the screen."""
    page.locator(".surface").evaluate("node => node.scrollIntoView({block: 'center'})")


def tool(page: Any, word: str) -> None:
    page.locator(".tools").get_by_role("button", name=word, exact=True).click()


def drag(page: Any, path: Sequence[Place]) -> list[Place]:
    """Presses, follows the photo points by mouse, lets go. Returns the photo points really touched."""
    show_stage(page)
    clients = [to_screen(page, point) for point in path]
    page.mouse.move(*clients[0])
    page.mouse.down()
    for client in clients[1:]:
        page.mouse.move(*client)
    touched = [to_photo(page, client) for client in clients]
    page.mouse.up()
    return touched


def click(page: Any, path: Sequence[Place]) -> list[Place]:
    """Clicks the photo points one after another. Returns the photo points really touched."""
    show_stage(page)
    touched = []
    for point in path:
        client = to_screen(page, point)
        touched.append(to_photo(page, client))
        page.mouse.click(*client)
    return touched


class Fingers:
    """Touches through the browser's own input path."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.session = page.context.new_cdp_session(page)

    def _send(self, kind: str, clients: Sequence[Place]) -> None:
        points = [{"x": x, "y": y, "id": number} for number, (x, y) in enumerate(clients)]
        self.session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    def down(self, *clients: Place) -> None:
        self._send("touchStart", clients)

    def move(self, *clients: Place) -> None:
        self._send("touchMove", clients)

    def up(self) -> None:
        self._send("touchEnd", ())

    def drag(self, path: Sequence[Place]) -> list[Place]:
        show_stage(self.page)
        clients = [to_screen(self.page, point) for point in path]
        touched = [to_photo(self.page, client) for client in clients]
        self.down(clients[0])
        for client in clients[1:]:
            self.move(client)
        self.up()
        return touched

    def tap(self, path: Sequence[Place]) -> list[Place]:
        show_stage(self.page)
        touched = []
        for point in path:
            client = to_screen(self.page, point)
            touched.append(to_photo(self.page, client))
            self.down(client)
            self.up()
        return touched

    def pinch(self, centre: Place, before: float, after: float, steps: int = 6) -> None:
        """Two fingers beside `centre` (client pixels) go from `before` to `after` pixels apart."""
        x, y = centre
        self.down((x - before / 2, y), (x + before / 2, y))
        for step in range(1, steps + 1):
            apart = before + (after - before) * step / steps
            self.move((x - apart / 2, y), (x + apart / 2, y))
        self.up()


def assert_points(points: Sequence[Sequence[float]], wanted: Sequence[Place], within: float = 1.5) -> None:
    """Every point in its place, in full-resolution pixels."""
    assert len(points) == len(wanted), (points, wanted)
    for (x, y), (wanted_x, wanted_y) in zip(points, wanted, strict=True):
        assert abs(x - wanted_x) <= within and abs(y - wanted_y) <= within, (points, wanted)
