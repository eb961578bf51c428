"""A manager checks the whole record and takes head, export and archive away; a change by another hand is named."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from inspect_core import bootstrap
from inspect_core.domain.people import Person, Role
from inspect_core.usecases.register import add_person
from inspect_core.usecases.restore import restore
from tests.browser.conftest import OpenPage, StartApp
from tests.browser.job_hands import APP, open_screen, press, say_who, store_with
from tests.engines import stores

pytestmark = pytest.mark.browser
MANAGER = Person("c" * 32, "Manager 1", Role.MANAGER)


def taken(page: Any, label: str, place: Path) -> Path:
    with page.expect_download() as download:
        page.get_by_role("button", name=label).click()
    download.value.save_as(place)
    return place


def test_the_record_is_checked_taken_away_and_comes_back(start_app: StartApp, desk: OpenPage, tmp_path: Path) -> None:
    services = store_with(tmp_path / "store", "WL-0001", "WL-0002")
    add_person(MANAGER, services)
    page = desk()
    open_screen(page, start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")}), "records")
    say_who(page, MANAGER)
    press(page, "button", "Check everything")
    page.get_by_text("Nothing was changed.").wait_for()
    head = json.loads(taken(page, "Signed head (JSON)", tmp_path / "head.json").read_text())
    assert head["size"] == 5
    press(page, "button", "Make the export (ZIP)")
    assert taken(page, "Save the export of", tmp_path / "export.zip").stat().st_size > 500
    press(page, "button", "Make the archive (ZIP)")
    archive = taken(page, "Save the archive of", tmp_path / "archive.zip")
    account = restore(archive, tmp_path / "restored", bootstrap.open_services)
    assert account.faults == () and account.root == head["root"]


def test_a_changed_row_is_named_on_a_phone(start_app: StartApp, phone: OpenPage, tmp_path: Path) -> None:
    store_with(tmp_path / "store", "WL-0001")
    assert stores.changed(tmp_path / "store", "UPDATE items SET maker = 'somebody else'") == 1
    page = phone()
    open_screen(page, start_app(APP, {"BARTACK_STORE": str(tmp_path / "store")}), "records")
    press(page, "button", "Check everything")
    page.get_by_text("1 thing is not as recorded.").wait_for()
    page.get_by_text("item WL-0001").first.wait_for()
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
