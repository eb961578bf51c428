"""The trends page in a real browser at both sizes: every question without a serious fault, the way to a planted cause
by three presses, photos read blind, and what can be taken away."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from inspect_core.bootstrap import open_services
from inspect_core.domain.decision import Answer
from inspect_core.domain.gear import Component, Kind, components_of
from inspect_core.domain.geometry import Shape
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.domain.people import Person, Role
from inspect_core.usecases.demo import fill_demo
from inspect_core.usecases.demo_plan import CHARGER_STORE
from inspect_core.usecases.inspect import RecordInspection, record
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.register import RegisterItem, add_person, parse_item, register
from inspect_core.usecases.services import Services
from tests.browser.conftest import DESK, PHONE, OpenPage, StartApp
from tests.browser.job_hands import APP, COMPETENT, open_screen, press, say_who, settled, store_with
from tests.browser.test_screens_axe import faults_on
from tests.usecases.site import StandingClock, picture

pytestmark = pytest.mark.browser

QUESTIONS = ("why", "life", "rates", "where", "prevent", "agree", "spending", "coming")
REPORT = "All questions as a report (PDF)"
CHARGER = "Kept in store 2, beside the battery charger."

#: Two people who read photos blind, one at each size.
READERS = (
    Person("e" * 32, "Inspector 8", Role.COMPETENT_PERSON),
    Person("f" * 32, "Inspector 9", Role.COMPETENT_PERSON),
)
#: A day inside the record of the fleet below, which ends today.
CHANGE = (datetime.now(UTC) - timedelta(days=200)).date().isoformat()


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
    shape = Shape.of("line", [[10, 20], [60, 80]])
    for number, item in enumerate(items):
        clock.move(days=25)
        marks: tuple[Mark, ...] = ()
        photo = take_photo(picture(number), past)
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
    services = store_with(folder)
    _fleet(services)
    for reader in READERS:
        add_person(reader, services)
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
        open_screen(page, url, f"trends?ask={name}&change={CHANGE}")
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


@pytest.mark.slow
def test_the_cause_planted_in_the_demo_is_found_by_three_presses(
    start_app: StartApp, tmp_path_factory: pytest.TempPathFactory, desk: OpenPage
) -> None:
    folder = tmp_path_factory.mktemp("demo") / "store"
    fill_demo(open_services(str(folder)))
    page = desk()
    open_screen(page, start_app(APP, {"BARTACK_STORE": str(folder)}))
    press(page, "link", "Trends", exact=False)
    press(page, "radio", "chemical")
    shared = page.get_by_text("items share the note", exact=False).first.inner_text()
    assert CHARGER_STORE in shared
    rows = page.locator('[class*="st-key-row-behind"]').filter(has_text="beside the battery charger")
    tag = rows.first.inner_text().split()[0]
    press(page, "link", tag, exact=False)
    page.wait_for_url(f"**/item?tag={tag}")
    page.get_by_role("heading", name=tag, exact=False).first.wait_for()


def test_a_link_opens_the_same_gear_and_period_for_somebody_else(url: str, page: Any) -> None:
    open_screen(page, url, f"trends?ask=rates&kind=webbing+lanyard&site=North+Quay&change={CHANGE}")
    page.get_by_text("webbing lanyard, North Quay", exact=False).first.wait_for()
    press(page, "radio", "Month")
    page.wait_for_url("**by=month**")
    address = page.url
    other = page.context.browser.new_context(**DESK)
    try:
        second = other.new_page()
        second.set_default_timeout(30_000)
        second.goto(address)
        settled(second)
        second.get_by_text(f"before and after {CHANGE}", exact=False).first.wait_for()
        assert second.get_by_role("radio", name="Month", exact=True).is_checked()
    finally:
        other.close()


def test_a_photo_is_read_blind_and_the_next_one_follows(url: str, page: Any) -> None:
    open_screen(page, url, "second-reading")
    say_who(page, READERS[0] if page.viewport_size["width"] < 500 else READERS[1])
    page.get_by_text("What does this photo of a webbing lanyard show?").wait_for()
    assert "WL-0" not in page.locator('[data-testid="stMain"]').inner_text()
    faults = faults_on(page, "second reading")
    press(page, "radio", "Burn")
    press(page, "button", "Record and show the next")
    page.get_by_text("5 photos to read in this round", exact=False).first.wait_for()
    press(page, "link", "Stop here") if page.get_by_role("link", name="Stop here").count() else None
    assert faults == []


def test_figures_can_be_taken_away(url: str, page: Any) -> None:
    open_screen(page, url, "trends?ask=spending")
    rows = list(csv.reader(io.StringIO(_taken(page, "CSV").decode())))
    assert rows[0] == ["Reason", "Cost", "Withdrawn", "Without price"]
    assert rows[1][0] == "burn" and rows[1][2] == "6"
    assert _taken(page, "PNG").startswith(b"\x89PNG")
    assert b"<svg" in _taken(page, "SVG")[:200]


def test_the_whole_page_is_one_paper(url: str, page: Any) -> None:
    open_screen(page, url, f"trends?ask=why&kind=webbing+lanyard&change={CHANGE}")
    reader = PdfReader(io.BytesIO(_taken(page, REPORT)))
    text = " ".join(one.extract_text() for one in reader.pages)
    for question in ("Why is gear withdrawn?", "Do inspectors agree?", "What is coming?"):
        assert question in text
    assert "webbing lanyard, every site, the first record to" in text.replace("\n", " ") and CHANGE in text


def _taken(page: Any, label: str) -> bytes:
    """What the first button of that label gives."""
    with page.expect_download() as waiting:
        page.get_by_role("button", name=label, exact=label != REPORT).first.click()
    return Path(waiting.value.path()).read_bytes()
