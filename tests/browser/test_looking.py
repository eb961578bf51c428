"""Looking back in a real browser: the six views of an item, and a search that is saved and asked again."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from inspect_core.domain.decision import Answer
from inspect_core.domain.gear import Component, Kind, components_of
from inspect_core.domain.geometry import Shape
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.usecases import review
from inspect_core.usecases.inspect import RecordInspection, record
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.services import Services
from tests.browser.conftest import OpenPage, StartApp
from tests.browser.job_hands import APP, COMPETENT, WORKER, drawn, ends_of, open_screen, press, say_who, settled
from tests.browser.job_hands import store_with as new_store
from tests.browser.test_screens_axe import faults_on

VIEWS = ("everything", "pictures", "readings", "compare", "custody", "papers")


def measured(services: Services, number: int, depth: float) -> None:
    """An inspection in detail in that month of 2026 with a small cut, measured."""
    item = review.item_by_tag("WL-0001", services).item
    picture, truth = drawn("webbing lanyard", "webbing", "cut")
    photo = take_photo(picture, services)
    shape = Shape.of("line", ends_of(truth["defects"][0]["shape"]))
    reading = Reading("depth from edge", depth, "mm", 0.1, "by hand, steel rule")
    mark = Mark("m1", photo.id, Component.WEBBING, Category.CUT, shape, (reading,), made_by=COMPETENT.id)
    answers = dict.fromkeys(components_of(Kind.WEBBING_LANYARD), Answer.SOUND) | {Component.WEBBING: Answer.DEFECT}
    at = datetime(2026, number, 1, 9, 0, tzinfo=UTC)
    command = RecordInspection(
        f"{number:032x}", item.id, InspectionType.PERIODIC, COMPETENT.id, answers, (mark,), (photo.id,), at=at
    )
    record(command, services)


@pytest.fixture(scope="module")
def url(start_app: StartApp, tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = tmp_path_factory.mktemp("looking") / "store"
    services = new_store(folder, "WL-0001", "WL-0002")
    for number, depth in ((1, 0.2), (2, 0.3), (3, 0.5)):
        measured(services, number, depth)
    return start_app(APP, {"BARTACK_STORE": str(folder)})


def test_every_view_of_an_item_is_free_of_serious_faults_on_a_phone(url: str, phone: OpenPage) -> None:
    page = phone()
    faults: list[str] = []
    for view in VIEWS:
        open_screen(page, url, f"item?tag=WL-0001&view={view}")
        page.get_by_text("Its life, newest first").wait_for()
        faults += faults_on(page, view)
    assert faults == []


def test_the_views_are_a_tap_apart_and_a_picture_opens_large(url: str, phone: OpenPage) -> None:
    page = phone()
    open_screen(page, url, "item?tag=WL-0001")
    _view(page, "Pictures")
    page.get_by_text("3 photos in all").wait_for()
    before = page.locator('[data-testid="stImage"]').count()
    page.get_by_text("Show large with marks").first.tap()
    settled(page)
    page.get_by_role("img", name="Photo with 1 mark").first.wait_for()
    assert page.locator('[data-testid="stImage"]').count() > before
    _view(page, "Custody")
    page.get_by_text("to today:").first.wait_for()


def _view(page: Any, name: str) -> None:
    page.get_by_test_id("stButtonGroup").get_by_text(name, exact=True).first.tap()
    settled(page)


def _type(page: Any, label: str, text: str) -> None:
    box = page.get_by_label(label, exact=True)
    box.fill(text)
    box.press("Enter")
    settled(page)


def test_a_search_is_saved_and_asked_again(url: str, desk: OpenPage) -> None:
    page = desk()
    open_screen(page, url, "search")
    page.get_by_text("Saved searches", exact=False).first.click()
    settled(page)
    say_who(page, WORKER)
    _type(page, "What to look for", "cut wl-1")
    page.get_by_text("Found on 2026-03-01").wait_for()
    if not page.get_by_label("Save the present search as", exact=True).is_visible():
        page.get_by_text("Saved searches", exact=False).first.click()
    page.get_by_label("Save the present search as", exact=True).fill("Cuts of WL-1")
    press(page, "button", "Save search")
    page.get_by_text("“Cuts of WL-1” is saved.").wait_for()
    _type(page, "What to look for", "nothing like it")
    page.get_by_text("Nothing fits.").wait_for()
    if not page.get_by_role("combobox", name="Saved searches").is_visible():
        page.get_by_text("Saved searches (1)").click()
    press(page, "combobox", "Saved searches", exact=False)
    press(page, "option", "Cuts of WL-1")
    page.get_by_text("Found on 2026-03-01").wait_for()
    assert page.get_by_label("What to look for", exact=True).input_value() == "cut wl-1"
    assert faults_on(page, "search with saved searches") == []
