"""The trends page in a real browser at both sizes: every question without a serious fault, the way to a planted cause
by two presses, and what can be taken away."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from inspect_core.domain.decision import Answer
from inspect_core.domain.gear import Component, Kind, components_of
from inspect_core.domain.geometry import Shape
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.usecases.inspect import RecordInspection, record
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.register import RegisterItem, parse_item, register
from inspect_core.usecases.services import Services
from tests.browser.conftest import DESK, PHONE, StartApp
from tests.browser.job_hands import APP, COMPETENT, open_screen, press, store_with
from tests.browser.test_screens_axe import faults_on
from tests.usecases.site import StandingClock, picture

pytestmark = pytest.mark.browser

QUESTIONS = ("why", "life", "rates", "where", "prevent", "spending", "coming")
CHARGER = "Kept in store 2, beside the battery charger."

_DEEP = Reading("depth from edge", 30.0, "mm", 0.2, "by hand, steel rule")


def _fleet(services: Services) -> None:
    """Fourteen lanyards over a year: six kept beside the charger and burnt, two cut, six sound and looked at."""
    clock = StandingClock(services.clock.now() - timedelta(days=400))
    past = replace(services, clock=clock)
    items = []
    for number in range(1, 15):
        note = CHARGER if number <= 6 else "Kept in store 1."
        fields = {
            "tag": f"WL-{number:04}",
            "kind": "webbing lanyard",
            "site": "North Quay",
            "note": note,
            "price": 50.0,
        }
        items.append(register(RegisterItem(parse_item(fields, services.new_id()), COMPETENT.id), past))
    sound = dict.fromkeys(components_of(Kind.WEBBING_LANYARD), Answer.SOUND)
    photo = take_photo(picture(), past)
    shape = Shape.of("line", [[10, 20], [60, 80]])
    for number, item in enumerate(items):
        clock.move(days=25)
        marks: tuple[Mark, ...] = ()
        if number < 8:
            category = Category.BURN if number < 6 else Category.CUT
            # A cut withdraws by its depth; unread it would only hold, and then it is nobody's reason to withdraw.
            depth = () if number < 6 else (Reading("depth from edge", 3.0, "mm", 0.3, "by hand"),)
            marks = (Mark("m1", photo.id, Component.WEBBING, category, shape, depth, made_by=COMPETENT.id),)
        answers = sound | ({Component.WEBBING: Answer.DEFECT} if marks else {})
        photos = (photo.id,) if marks else ()
        command = RecordInspection(
            services.new_id(), item.id, InspectionType.PERIODIC, COMPETENT.id, answers, marks, photos
        )
        record(command, past)


@pytest.fixture(scope="module")
def url(start_app: StartApp, tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = tmp_path_factory.mktemp("trends") / "store"
    _fleet(store_with(folder))
    return start_app(APP, {"BARTACK_STORE": str(folder)})


@pytest.fixture(params=[(PHONE, "light"), (DESK, "dark")], ids=["phone", "desk"])
def page(request: pytest.FixtureRequest, chromium: Any) -> Iterator[Any]:
    size, scheme = request.param
    context = chromium.new_context(**size, color_scheme=scheme)
    one = context.new_page()
    one.set_default_timeout(30_000)
    yield one
    context.close()


def test_no_answer_has_a_serious_fault_or_runs_off_the_screen(url: str, page: Any) -> None:
    faults: list[str] = []
    for name in QUESTIONS:
        open_screen(page, url, f"trends?ask={name}")
        page.get_by_text("It decides about no item", exact=False).wait_for()
        faults += faults_on(page, name)
    assert faults == []


def test_two_presses_lead_from_the_first_answer_to_an_item_and_its_store_room(url: str, page: Any) -> None:
    open_screen(page, url, "trends")
    shared = page.get_by_text("items share the note", exact=False)
    press(page, "radio", "cut")
    assert CHARGER not in " ".join(shared.all_inner_texts())
    press(page, "radio", "burn")
    shared.first.wait_for()
    assert f"6 of 6 items share the note “{CHARGER}”; of the other 8 items 0 have it." in shared.first.inner_text()
    press(page, "link", "WL-0006", exact=False)
    page.wait_for_url("**/item?tag=WL-0006")
    page.get_by_role("heading", name="WL-0006", exact=False).first.wait_for()


def test_figures_can_be_taken_away(url: str, page: Any) -> None:
    open_screen(page, url, "trends?ask=spending")
    with page.expect_download() as waiting:
        page.get_by_role("button", name="These figures (CSV)").first.click()
    rows = list(csv.reader(io.StringIO(Path(waiting.value.path()).read_text())))
    assert rows[0] == ["Reason", "Cost", "Withdrawn", "Without price"]
    assert rows[1][0] == "burn" and rows[1][2] == "6"
