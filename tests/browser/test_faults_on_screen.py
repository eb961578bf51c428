"""A database that goes away under a form on a phone: it is told, what was typed stays, and nobody has to start anew."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest

from inspect_core.usecases import review
from tests.browser.conftest import OpenPage, StartApp
from tests.browser.job_hands import APP, COMPETENT, choose, open_screen, press, say_who, settled, store_with
from tests.engines import pg_server
from tests.engines.cut_line import Line, line_to

pytestmark = pytest.mark.browser


@pytest.fixture
def reached(tmp_path: Path) -> Iterator[tuple[str, Line]]:
    """The address of a store on a server, and the line to it."""
    if pg_server.program("initdb") is None:
        pytest.skip("PostgreSQL not installed")
    with pg_server.serving(throw_away=True) as server, line_to(server.port) as line:
        server.make_database("yard")
        yield f"{replace(server, port=line.port).url('yard')}?folder={quote(str(tmp_path), safe='')}", line


def test_what_was_typed_on_a_phone_outlives_a_cut_line(
    start_app: StartApp, phone: OpenPage, reached: tuple[str, Line]
) -> None:
    address, line = reached
    services = store_with(address, "WL-0001")  # type: ignore[arg-type]
    page = phone()
    open_screen(page, start_app(APP, {"BARTACK_STORE": address}), "register")
    say_who(page, COMPETENT)
    choose(page, "What is it?", "webbing lanyard")
    typed = {"Tag (needed)": "WL-0002", "Serial number": "S-77", "Note": "Found in the old van."}
    for label, text in typed.items():
        page.get_by_role("textbox", name=label, exact=True).fill(text)
        page.keyboard.press("Tab")
    line.cut()
    press(page, "button", "Register")
    page.get_by_text("The database server does not answer").wait_for()
    press(page, "button", "Try again")
    page.get_by_text("The database server does not answer").wait_for()
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    line.mend()
    press(page, "button", "Try again")
    page.get_by_text("Register an item").wait_for()
    assert {label: shown(page, label) for label in typed} == typed
    press(page, "button", "Register")
    page.get_by_text("WL-0002").first.wait_for()
    settled(page)
    item = review.item_by_tag("WL-0002", services).item
    assert (item.serial, item.note) == ("S-77", "Found in the old van.")
    services.close()


def shown(page: Any, label: str) -> str:
    value: str = page.get_by_role("textbox", name=label, exact=True).input_value()
    return value
