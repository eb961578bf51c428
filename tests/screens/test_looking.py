"""The item's page in all its views, and search with its filters and saved searches, over real stores."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from inspect_core.domain.custody import Move
from inspect_core.domain.decision import Answer
from inspect_core.domain.errors import BadInput, Conflict, NotAllowed
from inspect_core.domain.gear import Component, components_of
from inspect_core.domain.geometry import Shape
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.usecases import life, review
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.inspect import RecordInspection, record
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.saved_searches import (
    SaveSearch,
    delete_search,
    save_search,
    saved_searches,
    search_named,
)
from inspect_core.usecases.search import Query, query_of, query_plain
from inspect_core.usecases.services import Services
from tests.screens.app import COMPETENT, MANAGER, WORKER, button, screen, site, words
from tests.usecases.site import picture


def looked(services: Services, tag: str, number: int, month: int, cut_mm: float | None, *, label: bool = False) -> str:
    """An inspection in detail in that month of 2025, with a measured cut on a photo or all sound; its photo."""
    item = review.item_by_tag(tag, services).item
    answers = dict.fromkeys(components_of(item.kind), Answer.SOUND)
    marks: tuple[Mark, ...] = ()
    photos: tuple[str, ...] = ()
    if cut_mm is not None:
        photos = (take_photo(picture(number), services).id,)
        part, category = (Component.LABEL, Category.LABEL) if label else (Component.WEBBING, Category.CUT)
        reading = () if label else (Reading("depth from edge", cut_mm, "mm", 0.1, "by hand, steel rule"),)
        marks = (Mark(f"m{number}", photos[0], part, category, Shape.of("line", [[10, 20], [60, 80]]), reading),)
        answers[part] = Answer.DEFECT
    at = datetime(2025, month, 3, 9, 0, tzinfo=UTC)
    record(
        RecordInspection(
            f"{number:032x}", item.id, InspectionType.PERIODIC, COMPETENT.id, answers, marks, photos, at=at
        ),
        services,
    )
    return photos[0] if photos else ""


@pytest.fixture
def services(tmp_path: Path) -> Services:
    """WL-1 with small cuts in January, March and June and a label defect in July; held by hand since. WL-2 new."""
    services = site(tmp_path, "WL-1", "WL-2", webbing_width_mm=45, maker="Made-up Maker", model="Model 7")
    for number, (month, cut) in enumerate(((1, 0.2), (3, 0.3), (6, 0.5)), 1):
        looked(services, "WL-1", number, month, cut)
    looked(services, "WL-1", 4, 7, 1.0, label=True)
    item = review.item_by_tag("WL-1", services)
    if item.standing.usable:
        make_move(MakeMove("f" * 32, item.item.id, Move.HOLD, WORKER.id, "Wet and stiff"), services)
    return services


def view(services: Services, name: str, **query: str) -> Any:
    app = screen(services, "item", WORKER, tag="WL-1", view=name, **query)
    assert not app.exception, app.exception
    return app


def test_every_view_of_an_item_opens_and_says_its_own(services: Services) -> None:
    said = {
        name: words(view(services, name))
        for name in ("everything", "pictures", "readings", "compare", "custody", "papers")
    }
    assert "4 inspections and 4 photos in all." in said["everything"]
    assert "4 photos in all, 4 shown" in said["pictures"] and "#### 2025" in said["pictures"]
    assert "Cut on the webbing: depth from edge" in said["readings"] and "How damage grows" in said["readings"]
    assert "3 readings: 0.2 ± 0.1 mm on 2025-01-03, 0.5 ± 0.1 mm on 2025-06-03." in said["readings"]
    assert "**Then**, 2025-01-03" in said["compare"] and "**Later**, 2025-06-03" in said["compare"]
    assert "to today: on hold." in said["custody"] and "Registered by Inspector 3" in said["custody"]
    assert "Certificates (4)" in said["papers"]


def test_unmarked_photos_beside_a_marked_one_wait_until_they_are_asked_for(services: Services) -> None:
    item = review.item_by_tag("WL-2", services).item
    photos = tuple(take_photo(picture(number), services).id for number in (21, 22, 23))
    mark = Mark("m1", photos[1], Component.LABEL, Category.LABEL, Shape.of("line", [[10, 20], [60, 80]]))
    answers = dict.fromkeys(components_of(item.kind), Answer.SOUND) | {Component.LABEL: Answer.DEFECT}
    record(
        RecordInspection("9" * 32, item.id, InspectionType.PERIODIC, COMPETENT.id, answers, (mark,), photos), services
    )
    app = screen(services, "item", WORKER, tag="WL-2")
    assert next(image.proto.imgs[0].alt for image in app.get("image")).startswith("Photo with 1 mark")
    assert "2 more photos of that day" in [one.label for one in app.expander]
    assert len(app.get("image")) == 2, "the marked photo, and the mark from near"


def test_the_fold_keeps_what_shows_a_part_and_lasts_through_the_views(services: Services) -> None:
    app = view(services, "everything")
    part = next(one for one in app.selectbox if one.label == "Part")
    assert part.options == ["label", "webbing"]
    part.set_value("label").run()
    said = words(app)
    assert "**2025-07-03**" in said and "**2025-01-03**" not in said
    item = review.item_by_tag("WL-1", services).item
    app.session_state[f"w|history|view|{item.id}"] = "pictures"
    app.run()
    assert "4 photos in all, 1 shown" in words(app)


def test_a_view_that_there_is_not_opens_everything(services: Services) -> None:
    assert "4 inspections and 4 photos in all." in words(view(services, "<script>"))


def test_a_corrected_inspection_says_so_among_the_pictures_and_in_the_search(services: Services) -> None:
    item = review.item_by_tag("WL-1", services).item
    answers = dict.fromkeys(components_of(item.kind), Answer.SOUND)
    at = datetime(2025, 8, 3, 9, 0, tzinfo=UTC)
    again = RecordInspection("c" * 32, item.id, InspectionType.PERIODIC, COMPETENT.id, answers, at=at)
    record(replace(again, note="The label is whole.", corrects=f"{4:032x}"), services)
    warned = "A later inspection corrects this one."
    assert [one.value for one in view(services, "pictures").warning].count(warned) == 1
    said = words(screen(services, "search", WORKER))
    assert "Found on 2025-07-03 (corrected later):" in said
    assert "Found on 2025-06-03:" in said and said.count("corrected later") == 1


def test_the_ribbon_tells_every_state_with_who_and_why(services: Services) -> None:
    item = review.item_by_tag("WL-1", services).item
    spans = life.custody(item.id, services)
    assert [span.since for span in spans] == sorted(span.since for span in spans)
    assert [span.until for span in spans] == [span.since for span in spans[1:]] + [None]
    assert all(span.until is None or span.until >= span.since for span in spans)
    assert spans[0].by == "Inspector 3" and spans[-1].state.value == "on hold"


def test_readings_keep_the_limit_of_the_rule_that_weighed_them(services: Services) -> None:
    item = review.item_by_tag("WL-1", services).item
    (series,) = life.readings(item.id, services)
    assert [point.reading.value for point in series.points] == [0.2, 0.3, 0.5]
    assert series.larger_is_worse is True
    said = "Cut of 1 mm or more in the edge of webbing: withdraws the item"
    assert series.limits == ((1.0, said),), "a reading far below the limit does not change what the rule does"
    assert f"Limit: 1 mm ({said})." in words(view(services, "readings"))


def test_a_rule_that_is_no_more_is_named_without_a_meaning(services: Services) -> None:
    item = review.item_by_tag("WL-1", services).item
    kept = tuple(rule for rule in services.rules.rules if rule.id != "webbing-cut-edge-1mm")
    (series,) = life.readings(item.id, replace(services, rules=replace(services.rules, rules=kept)))
    assert series.limits == ((1.0, "webbing-cut-edge-1mm"),)


def test_photos_that_can_be_compared_are_named_by_their_day(services: Services) -> None:
    item = review.item_by_tag("WL-1", services).item
    found = life.comparable(item.id, services)
    assert set(found) == {Component.WEBBING, None}, "the label was marked only once"
    assert [one.words[:10] for one in found[Component.WEBBING]] == ["2025-06-03", "2025-03-03", "2025-01-03"]
    assert len(found[None]) == 4


def fill(app: Any, label: str, value: Any) -> None:
    (one,) = [w for kind in (app.multiselect, app.number_input, app.text_input) for w in kind if w.label == label]
    one.set_value(value)


def found(app: Any) -> list[str]:
    return [link.proto.label.replace("\\", "") for link in app.get("page_link") if "WL\\-" in link.proto.label]


def test_search_narrows_by_maker_person_and_damage_used(services: Services) -> None:
    app = screen(services, "search", WORKER)
    fill(app, "Maker", ["Made-up Maker"])
    app.run()
    assert len(found(app)) == 6, "two items and four inspections"
    fill(app, "Damage used from", 0.35)
    fill(app, "Damage used to", 0.45)
    app.run()
    assert len(found(app)) == 1 and "2025-03-03" in words(app)  # 0.3 + 0.1 of 1 mm
    fill(app, "Signed by", [WORKER.id])
    app.run()
    assert not found(app) and "Nothing fits." in words(app)
    button(app, "Take all filters off").click().run()
    assert len(found(app)) == 6


def test_a_search_is_saved_used_changed_and_deleted(services: Services) -> None:
    app = screen(services, "search", WORKER)
    fill(app, "What to look for", "cut")
    fill(app, "Damage used from", 0.55)
    app.run()
    assert len(found(app)) == 1
    fill(app, "Save the present search as", "Deep cuts")
    button(app, "Save search").click().run()
    assert "“Deep cuts” is saved." in words(app)
    other = screen(services, "search", WORKER)
    box = next(one for one in other.selectbox if one.label == "Saved searches")
    box.set_value(saved_searches(WORKER.id, services)[0].id).run()
    assert not other.exception and len(found(other)) == 1
    assert other.text_input[0].value == "cut"
    fill(other, "Its name", "Cuts")
    fill(other, "Damage used from", 0.0)
    other.run()
    button(other, "Save name and present filters").click().run()
    (kept,) = saved_searches(WORKER.id, services)
    assert (kept.name, kept.query) == ("Cuts", {"text": "cut", "damage_from": 0.0})
    button(other, "Delete “Cuts”").click().run()
    assert not other.exception and saved_searches(WORKER.id, services) == ()
    assert saved_searches(MANAGER.id, services) == ()


def test_saved_searches_belong_to_who_saved_them(services: Services) -> None:
    query = Query(text="cut", categories=(Category.CUT,))
    mine = save_search(SaveSearch("1" * 32, " My  cuts ", query, WORKER.id), services)
    ours = save_search(SaveSearch("2" * 32, "Cuts", query, WORKER.id, for_everybody=True), services)
    assert mine.name == "My cuts" and query_of(mine.query) == query
    assert [one.id for one in saved_searches(COMPETENT.id, services)] == [ours.id]
    assert search_named("CUTS", COMPETENT.id, services) == ours
    with pytest.raises(NotAllowed):
        save_search(SaveSearch(ours.id, "Taken", query, COMPETENT.id, for_everybody=True), services)
    with pytest.raises(NotAllowed):
        delete_search(mine.id, MANAGER.id, services)
    with pytest.raises(Conflict):
        save_search(SaveSearch("3" * 32, "my CUTS", query, WORKER.id), services)
    delete_search(ours.id, MANAGER.id, services)
    assert saved_searches(COMPETENT.id, services) == ()


@pytest.mark.parametrize(
    "plain",
    [{"kinds": ["no such kind"]}, {"since": "yesterday"}, {"damage_from": "much"}, {"damage_from": -1}, {"kinds": 5}],
)
def test_a_saved_search_that_is_none_is_refused(plain: dict[str, Any]) -> None:
    with pytest.raises(BadInput):
        query_of(plain)


def test_a_query_survives_being_written_down() -> None:
    query = Query(
        text="cut",
        sites=("North Quay",),
        types=(InspectionType.PERIODIC,),
        since=datetime(2025, 1, 1, tzinfo=UTC).date(),
        damage_to=1.5,
        people=("p1",),
    )
    assert query_of(query_plain(query)) == query
    assert query_plain(Query()) == {} and Query().filters == 0 and query.filters == 5
    assert replace(query, text="").filters == 5
