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
from inspect_core.domain.people import Person, Role
from inspect_core.usecases.inspect import RecordInspection, record
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.register import RegisterItem, add_person, parse_item, register
from inspect_core.usecases.services import Services
from tests.screens.app import COMPETENT, MANAGER, WORKER, button, screen, site, words
from tests.usecases.site import StandingClock, picture

QUESTIONS = {
    "why": "Why is gear withdrawn?",
    "life": "How long does gear last?",
    "rates": "How often is damage found?",
    "where": "Where does damage happen?",
    "prevent": "What prevents it?",
    "agree": "Do inspectors agree?",
    "spending": "What does it cost?",
    "coming": "What is coming?",
}
CHARGER = "Kept in store 2, beside the battery charger."


def _registered(services: Services, number: int, **fields: Any) -> Item:
    given = {"tag": f"WL-{number:02}", "kind": "webbing lanyard", "site": "North Quay"} | fields
    return register(RegisterItem(parse_item(given, services.new_id()), COMPETENT.id), services)


def _damaged(services: Services, item: Item, category: Category, seed: int = 1) -> None:
    """A periodic inspection that finds damage for which the rules withdraw the item."""
    photo = take_photo(picture(seed, (320, 240)), services)
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


def test_the_address_opens_the_same_gear_period_and_split_and_ignores_what_is_none(planted: Services) -> None:
    given = {"ask": "why", "kind": "webbing lanyard", "site": "North Quay", "since": "2026-01-01", "by": "kind"}
    app = screen(planted, "trends", MANAGER, **given)
    assert not app.exception
    assert "**Looking at:** webbing lanyard, North Quay; 2026-01-01 to" in words(app)
    assert {name: app.query_params[name] for name in given} == given
    app = screen(planted, "trends", MANAGER, ask="nothing", kind="ladder", site="<b>", since="soon", model="x", by="=1")
    assert not app.exception
    assert "**Looking at:** every kind, every site; the first record to" in words(app)
    assert "kind" not in app.query_params and "since" not in app.query_params


@pytest.mark.parametrize("name", ["since", "until", "change"])
def test_a_day_to_come_in_the_address_counts_as_not_given(planted: Services, name: str) -> None:
    app = screen(planted, "trends", MANAGER, ask="why", **{name: "2030-01-01"})
    assert not app.exception and not app.error, (app.exception, app.error)
    assert "Why is gear withdrawn?" in words(app)
    assert name not in app.query_params


def test_days_that_contradict_each_other_are_told_and_the_filters_stay(planted: Services) -> None:
    app = screen(planted, "trends", MANAGER, since="2026-05-01", until="2026-04-01")
    assert not app.exception
    assert "The first day lies after the last." in words(app)
    assert any(box.label == "Kind" for box in app.selectbox)


def test_a_day_of_change_shows_both_sides(planted: Services) -> None:
    app = screen(planted, "trends", MANAGER, ask="why", change="2026-01-05")
    assert not app.exception
    assert "Before and after: share of withdrawn items" in words(app)
    assert "before and after 2026-01-05" in words(app)


def test_every_figure_can_be_taken_away(planted: Services) -> None:
    app = screen(planted, "trends", MANAGER)
    labels = [button.proto.label for button in app.get("download_button")]
    assert labels == ["PNG", "SVG", "CSV", "All questions as a report (PDF)"]


def test_photos_are_read_blind_one_after_another(tmp_path: Path) -> None:
    services = site(tmp_path)
    other = add_person(Person("d" * 32, "Inspector 4", Role.COMPETENT_PERSON), services)
    for number in range(1, 3):
        item = _registered(services, number)
        _damaged(services, item, Category.CUT, seed=number)
    app = screen(services, "second-reading", other)
    said = words(app)
    assert not app.exception
    assert "What does this photo of a webbing lanyard show?" in said
    assert "WL-0" not in said and "withdrawn" not in said.lower()
    button(app, "Record and show the next").click().run()
    assert "No answer is picked." in words(app)
    for _ in range(2):
        pills = next(group for group in app.get("button_group") if group.label == "The worst that you see")
        pills.set_value("fray").run()
        button(app, "Record and show the next").click().run()
        assert not app.exception
    assert "There is no photo left for you to read. You have read 2." in words(app)
    with services.unit_of_work() as uow:
        assert [(row.first, row.second) for row in uow.second_readings.all()] == [("cut", "fray")] * 2


def test_after_a_round_of_photos_there_is_a_pause(tmp_path: Path) -> None:
    services = site(tmp_path)
    other = add_person(Person("d" * 32, "Inspector 4", Role.COMPETENT_PERSON), services)
    for number in range(1, 9):
        _damaged(services, _registered(services, number), Category.CUT, seed=number)
    app = screen(services, "second-reading", other)
    for left in range(6, 0, -1):
        assert f"{left} photo{'s' if left > 1 else ''} to read in this round" in words(app)
        next(group for group in app.get("button_group") if group.label == "The worst that you see").set_value("cut")
        app.run()
        button(app, "Record and show the next").click().run()
    assert "You have read 6 in all." in words(app)
    button(app, "Read 2 more").click().run()
    assert "2 photos to read in this round" in words(app)


def test_who_may_not_read_blind_is_told_so(planted: Services) -> None:
    app = screen(planted, "second-reading", WORKER)
    assert not app.exception
    assert "read blind by a competent person" in words(app)


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
    assert "1 of 1 withdrawn items" in words(screen(services, "trends", MANAGER))
    _withdrawn(services, 2, "", Category.CUT)
    assert "2 of 2 withdrawn items" in words(screen(services, "trends", MANAGER))


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
