"""The trends page without a browser: questions, answers, the items behind them, and the way to a planted cause."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from inspect_core.domain.decision import Answer
from inspect_core.domain.gear import Component, Item, Kind, components_of
from inspect_core.domain.geometry import Shape
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.usecases.inspect import RecordInspection, record
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.register import RegisterItem, parse_item, register
from inspect_core.usecases.services import Services
from tests.screens.app import COMPETENT, MANAGER, screen, site, words
from tests.usecases.site import StandingClock, picture

QUESTIONS = {
    "why": "Why is gear withdrawn?",
    "life": "How long does gear last?",
    "rates": "How often is damage found?",
    "where": "Where does damage happen?",
    "prevent": "What prevents it?",
    "spending": "What does it cost?",
    "coming": "What is coming?",
}
CHARGER = "Kept in store 2, beside the battery charger."


def _registered(services: Services, number: int, **fields: Any) -> Item:
    given = {"tag": f"WL-{number:02}", "kind": "webbing lanyard", "site": "North Quay"} | fields
    return register(RegisterItem(parse_item(given, services.new_id()), COMPETENT.id), services)


def _damaged(services: Services, item: Item, category: Category) -> None:
    """A periodic inspection that finds damage for which the rules withdraw the item."""
    photo = take_photo(picture(1, (320, 240)), services)
    reading = Reading("depth from edge", 30.0, "mm", 0.2, "by hand, steel rule")
    readings = (reading,) if category is Category.CUT else ()
    shape = Shape.of("line", [[10, 20], [60, 80]])
    mark = Mark("m1", photo.id, Component.WEBBING, category, shape, readings, made_by=COMPETENT.id)
    answers = dict.fromkeys(components_of(Kind.WEBBING_LANYARD), Answer.SOUND) | {Component.WEBBING: Answer.DEFECT}
    command = RecordInspection(
        services.new_id(), item.id, InspectionType.PERIODIC, COMPETENT.id, answers, (mark,), (photo.id,)
    )
    record(command, services)


def _withdrawn(services: Services, number: int, note: str, category: Category) -> None:
    item = _registered(services, number, note=note, price=40.0, first_used_on="2025-01-01")
    _damaged(services, item, category)


@pytest.fixture(scope="module")
def planted(tmp_path_factory: pytest.TempPathFactory) -> Services:
    """Twelve lanyards: four kept beside the charger and burnt, two cut, six sound."""
    services = site(tmp_path_factory.mktemp("planted"), *(f"WL-S{n}" for n in range(6)), note="Kept in store 1.")
    for number in range(1, 5):
        _withdrawn(services, number, CHARGER, Category.BURN)
    for number in range(5, 7):
        _withdrawn(services, number, "Kept in store 1.", Category.CUT)
    return services


def _links(app: AppTest) -> str:
    return " ".join(link.proto.label for link in app.get("page_link")).replace("\\", "")


@pytest.mark.parametrize(("short", "question"), QUESTIONS.items())
def test_every_question_is_answered_from_an_empty_store_too(tmp_path: Path, short: str, question: str) -> None:
    app = screen(site(tmp_path), "trends", MANAGER, ask=short)
    assert not app.exception
    assert question in words(app)
    assert "It decides about no item" in words(app)


@pytest.mark.parametrize(("short", "question"), QUESTIONS.items())
def test_every_answer_says_what_it_counted_and_how(planted: Services, short: str, question: str) -> None:
    app = screen(planted, "trends", MANAGER, ask=short)
    said = words(app)
    assert not app.exception
    assert question in said
    if short != "rates":  # ten inspections are needed for a rate, six were made
        assert "**Counted:**" in said and "**Period:**" in said and "**Means:**" in said and "**Method:**" in said
    else:
        assert "6 items, 6 events. Not drawn." in said


def test_the_question_is_picked_from_sentences(planted: Services) -> None:
    app = screen(planted, "trends", MANAGER)
    assert app.selectbox[0].options == list(QUESTIONS.values())
    app.selectbox[0].set_value("spending").run()
    assert not app.exception
    assert "240.00 (6 of 6 items with a price)" in words(app)


def test_the_page_leads_to_what_the_items_behind_a_reason_share(planted: Services) -> None:
    app = screen(planted, "trends", MANAGER)
    said = words(app)
    assert f"4 of 4 items share the note “{CHARGER}”; of the other 8 items 0 have it." in said
    assert "a place to start looking, not a cause" in said
    links = _links(app)
    assert links.count(CHARGER) == 4 and "WL-01" in links and "WL-05" not in links


def test_another_bar_opens_its_own_items(planted: Services) -> None:
    app = screen(planted, "trends", MANAGER)
    pills = next(group for group in app.get("button_group") if group.label == "Group")
    pills.set_value("cut").run()
    assert not app.exception
    links = _links(app)
    assert "WL-05" in links and "WL-06" in links and "WL-01" not in links
    assert "sharp edge" in words(app)


def test_few_are_told_and_not_drawn(planted: Services) -> None:
    app = screen(planted, "trends", MANAGER, ask="life")
    assert "Not drawn." in words(app)
    assert not app.get("vega_lite_chart") and not app.get("arrow_vega_lite_chart")


def test_an_answer_changes_as_soon_as_something_is_recorded(tmp_path: Path) -> None:
    services = site(tmp_path)
    _withdrawn(services, 1, "", Category.CUT)
    assert "1 item withdrawn" in words(screen(services, "trends", MANAGER))
    _withdrawn(services, 2, "", Category.CUT)
    assert "2 items withdrawn" in words(screen(services, "trends", MANAGER))


def test_text_from_people_is_shown_and_not_obeyed(tmp_path: Path) -> None:
    services = site(tmp_path)
    for number in range(1, 4):
        _withdrawn(services, number, "**bold** [x](http://y) :red[z]", Category.CUT)
    register(RegisterItem(parse_item({"tag": "WL-9", "kind": "harness"}, services.new_id()), COMPETENT.id), services)
    app = screen(services, "trends", MANAGER)
    told = [m.value for m in app.markdown if "share the note" in m.value]
    assert told and all("\\*\\*bold\\*\\*" in text and "\\[x\\]" in text for text in told)


def test_curves_and_charts_are_drawn_where_there_is_enough(tmp_path: Path) -> None:
    services = site(tmp_path)
    clock = StandingClock(services.clock.now() - timedelta(days=400))
    past = replace(services, clock=clock)
    items = [_registered(past, number) for number in range(1, 13)]
    clock.move(days=200)
    for item in items[:6]:
        _damaged(past, item, Category.CUT)
    app = screen(services, "trends", MANAGER, ask="life")
    assert not app.exception
    assert "All gear: half was withdrawn by" in words(app)
    assert app.get("vega_lite_chart") or app.get("arrow_vega_lite_chart")
    assert "Fewer than two groups are large enough" in words(app)
