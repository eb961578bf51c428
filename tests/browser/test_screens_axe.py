"""Every screen at both sizes, the phone in light and the desk in dark: axe finds no serious or critical fault, and
nothing is wider than the screen. The rules are those of axe-core:
https://github.com/dequelabs/axe-core/blob/develop/doc/rule-descriptions.md"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
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
from tests.browser.conftest import DESK, PHONE, StartApp
from tests.browser.job_hands import (
    APP,
    COMPETENT,
    WORKER,
    answer_one,
    drawn,
    ends_of,
    open_screen,
    press,
    say_who,
    settled,
    store_with,
    upload,
)

axe_api = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe is not installed")
pytestmark = pytest.mark.browser

SIZES = {"phone": PHONE, "desk": DESK}
SCREENS = ("", "check", "inspect", "register", "search", "trends", "rules", "people", "records", "item", "answer")


def withdrawn_with_a_picture(services: Services) -> str:
    """Records an inspection with a marked and measured cut; returns its id."""
    item = review.item_by_tag("WL-0001", services).item
    picture, truth = drawn("webbing lanyard", "webbing", "cut")
    photo = take_photo(picture, services)
    shape = Shape.of("line", ends_of(truth["defects"][0]["shape"]))
    reading = Reading("depth from edge", 4.0, "mm", 0.5, "by hand, steel rule")
    mark = Mark("m1", photo.id, Component.WEBBING, Category.CUT, shape, (reading,), made_by=COMPETENT.id)
    answers = dict.fromkeys(components_of(Kind.WEBBING_LANYARD), Answer.SOUND) | {Component.WEBBING: Answer.DEFECT}
    at = datetime.now(UTC) - timedelta(minutes=1)
    command = RecordInspection(
        "d" * 32, item.id, InspectionType.PERIODIC, COMPETENT.id, answers, (mark,), (photo.id,), at=at
    )
    return record(command, services).inspection.id


@pytest.fixture(scope="module")
def url(start_app: StartApp, tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = tmp_path_factory.mktemp("axe") / "store"
    services = store_with(folder, "WL-0001", "WL-0002", "WL-0003")
    withdrawn_with_a_picture(services)
    return start_app(APP, {"BARTACK_STORE": str(folder)})


@pytest.fixture(params=[("phone", "light"), ("desk", "dark")], ids=lambda p: "-".join(p))
def page(request: pytest.FixtureRequest, chromium: Any) -> Iterator[Any]:
    size, scheme = request.param
    context = chromium.new_context(**SIZES[size], color_scheme=scheme)
    one = context.new_page()
    one.set_default_timeout(30_000)
    yield one
    context.close()


def faults_on(page: Any, name: str) -> list[str]:
    """Serious and critical faults, each with the elements at fault; and whatever makes the page scroll sideways."""
    found = axe_api.Axe().run(page).response["violations"]
    told = [
        f"{name}: {fault['id']}: {node['target']} {node['html'][:160]} {node['failureSummary'][:200]}"
        for fault in found
        if fault["impact"] in ("serious", "critical")
        for node in fault["nodes"]
    ]
    wide = page.evaluate("() => document.documentElement.scrollWidth - document.documentElement.clientWidth")
    return told + ([f"{name}: {wide} px wider than the screen"] if wide > 0 else [])


def test_no_screen_has_a_serious_fault(url: str, page: Any) -> None:
    faults: list[str] = []
    for name in SCREENS:
        address = {"item": "item?tag=WL-0001", "answer": f"answer?inspection={'d' * 32}"}.get(name, name)
        open_screen(page, url, address)
        faults += faults_on(page, address or "today")
    assert faults == []


def test_no_step_of_an_inspection_has_a_serious_fault(url: str, page: Any) -> None:
    faults: list[str] = []
    open_screen(page, url, "inspect?tag=WL-0002")
    faults += faults_on(page, "who")
    say_who(page, COMPETENT)
    faults += faults_on(page, "what happened")
    press(page, "radio", "Something happened")
    faults += faults_on(page, "something happened")
    press(page, "button", "Next: Parts")
    answer_one(page, "Webbing", "Defect")
    faults += faults_on(page, "parts")
    press(page, "button", "Next: Photos and marks")
    upload(page, drawn("webbing lanyard", "webbing", "cut")[0])
    faults += faults_on(page, "photos")
    press(page, "button", "Next: Answer")
    faults += faults_on(page, "answer")
    press(page, "button", "Throw this work away", exact=False)
    press(page, "button", "Yes, throw it away")
    assert faults == []


def test_the_register_form_and_its_refusal_have_no_serious_fault(url: str, page: Any) -> None:
    open_screen(page, url, "register")
    say_who(page, WORKER)
    press(page, "combobox", "What is it?", exact=False)
    press(page, "option", "webbing lanyard")
    page.get_by_label("Webbing width (mm)", exact=True).fill("wide")
    press(page, "button", "Register", exact=False)
    settled(page)
    page.get_by_text("fields to mend", exact=False).wait_for()
    assert faults_on(page, "register") == []
