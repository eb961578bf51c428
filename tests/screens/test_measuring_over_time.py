"""Comparison over time and the damage trend, on the inspection and on the item's page."""

from __future__ import annotations

import io
import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from inspect_core.domain.decision import Answer
from inspect_core.domain.gear import Component, Item, components_of
from inspect_core.domain.geometry import Shape
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.screens.measuring.trend_line import spans
from inspect_core.screens.work.body import empty
from inspect_core.trends.damage_trend import damage_points
from inspect_core.usecases import drafts, review
from inspect_core.usecases.inspect import RecordInspection, record
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.plain import mark_plain
from inspect_core.usecases.services import Services
from tests.screens.app import COMPETENT, choice, screen, site, words
from tests.usecases.site import picture


def fade(services: Services, item: Item, number: int, depth: float, seed: int, *, smaller: bool = False) -> str:
    """One inspection in detail with a small cut measured; its photo."""
    data = picture(seed)
    if smaller:
        out = io.BytesIO()
        Image.open(io.BytesIO(data)).resize((560, 420)).save(out, "JPEG", quality=90)
        data = out.getvalue()
    photo_id = take_photo(data, services).id
    reading = Reading("depth from edge", depth, "mm", 0.1, "by hand, steel rule")
    line = Shape.of("line", [[10, 20], [60, 80]])
    mark = Mark(f"m{number}", photo_id, Component.WEBBING, Category.CUT, line, (reading,))
    answers = dict.fromkeys(components_of(item.kind), Answer.SOUND) | {Component.WEBBING: Answer.DEFECT}
    at = datetime(2025, number, 1, 9, 0, tzinfo=UTC)
    record(
        RecordInspection(
            f"{number:032x}", item.id, InspectionType.PERIODIC, COMPETENT.id, answers, (mark,), (photo_id,), at=at
        ),
        services,
    )
    return photo_id


@pytest.fixture
def services(tmp_path: Path) -> Services:
    return site(tmp_path, "WL-1", webbing_width_mm=45)


@pytest.fixture
def item(services: Services) -> Item:
    return review.item_by_tag("WL-1", services).item


def test_three_measured_inspections_give_a_trend_with_its_sentence(services: Services, item: Item) -> None:
    for number, depth in ((1, 0.1), (2, 0.2), (3, 0.3)):
        fade(services, item, number, depth, number)
    app = screen(services, "item", tag="WL-1", view="readings")
    assert not app.exception
    said = words(app)
    assert "How damage grows" in said
    assert "3 inspections" in said and "of its limit a year" in said


def test_two_measured_inspections_give_no_trend(services: Services, item: Item) -> None:
    for number, depth in ((1, 0.1), (2, 0.2)):
        fade(services, item, number, depth, number)
    assert "How damage grows" not in words(screen(services, "item", tag="WL-1", view="readings"))


def test_a_bar_spans_the_reading_and_ends_at_the_damage_used(services: Services, item: Item) -> None:
    fade(services, item, 1, 0.4, 1)
    inspections = review.history(item.id, services).inspections
    points = damage_points(inspections, Component.WEBBING)
    ((point, middle, low),) = spans(inspections, Component.WEBBING, points)
    # The cut rule's limit is 1 mm: 0.4 ± 0.1 mm.
    assert (low, middle, point.damage) == pytest.approx((0.3, 0.4, 0.5))


def toggle(app: Any) -> Any:
    (found,) = [t for t in app.toggle if t.label == "Lay the two photos over each other"]
    return found


def test_the_history_tells_growth_and_says_when_photos_do_not_fit(services: Services, item: Item) -> None:
    for number, depth in ((1, 0.1), (2, 0.6)):
        fade(services, item, number, depth, number)
    app = screen(services, "item", tag="WL-1", view="compare")
    assert "more: real" in words(app)
    toggle(app).set_value(True).run()
    assert not app.exception
    assert "cannot be laid over each other" in words(app)
    assert any(m.value.startswith("**Then**") for m in app.markdown), "both stand side by side"


def test_the_same_scene_can_be_blinked_wiped_and_faded(services: Services, item: Item) -> None:
    fade(services, item, 1, 0.1, 5)
    fade(services, item, 2, 0.6, 5, smaller=True)
    app = screen(services, "item", tag="WL-1", view="compare")
    toggle(app).set_value(True).run()
    assert not app.exception
    said = words(app)
    assert "features agree within" in said and "cannot be laid" not in said
    assert app.slider == [], "blinking has no slider"
    assert "bartack_blink" in {e.proto.component_name for e in app.get("bidi_component")}
    for way in ("Wipe", "Fade"):
        choice(app, "How").set_value(way).run()
        (slider,) = app.slider
        slider.set_value(100).run()
        assert not app.exception


def test_the_inspection_at_hand_is_compared_with_the_last_photo_of_that_part(services: Services, item: Item) -> None:
    fade(services, item, 1, 0.1, 1)
    photo_id = take_photo(picture(2), services).id
    shape = Shape.of("line", [[10, 20], [60, 80]])
    plain = mark_plain(Mark("n1", photo_id, Component.WEBBING, Category.CUT, shape))
    drawn = {key: plain[key] for key in ("id", "component", "category", "note", "shape")}
    body = empty(InspectionType.PERIODIC) | {
        "step": 2,
        "photos": [photo_id],
        "photo": photo_id,
        "marks": {photo_id: [drawn]},
        "revs": {photo_id: 1},
        "readings": {
            "n1": [
                {
                    "measure": "depth from edge",
                    "value": 0.5,
                    "unit": "mm",
                    "uncertainty": 0.1,
                    "method": "by hand, steel rule",
                }
            ]
        },
    }
    drafts.save_draft("d" * 32, item.id, body, services)
    app = screen(services, "inspect", COMPETENT, tag="WL-1", draft="d" * 32)
    assert not app.exception
    told = "Cut on the webbing, depth from edge: 0.4 ± 0.1 mm more: real; place not compared;"
    assert f"{told} lay the photos over each other." in words(app)


def at_hand(services: Services, item: Item, data: bytes, **aid: Any) -> Any:
    """An inspection at the photo step with that photo, and its screen."""
    photo_id = take_photo(data, services).id
    body = empty(InspectionType.PERIODIC) | {
        "step": 2,
        "photos": [photo_id],
        "photo": photo_id,
        "aids": {photo_id: aid} if aid else {},
    }
    drafts.save_draft("d" * 32, item.id, body, services)
    app = screen(services, "inspect", COMPETENT, tag="WL-1", draft="d" * 32)
    assert not app.exception
    return app


def earlier_switch(app: Any) -> Any:
    found = [t for t in app.toggle if t.label.startswith("Earlier marks")]
    return found[0] if found else None


def suggestions(app: Any) -> list[dict[str, Any]]:
    (marking,) = [e.proto for e in app.get("bidi_component") if e.proto.component_name == "bartack_marking"]
    return list(json.loads(marking.json)["suggestions"])


def smaller_copy(seed: int) -> bytes:
    out = io.BytesIO()
    Image.open(io.BytesIO(picture(seed))).resize((560, 420)).save(out, "JPEG", quality=90)
    return out.getvalue()


def test_marks_of_the_earlier_photo_lie_in_their_place_on_todays_and_are_no_marks(
    services: Services, item: Item
) -> None:
    fade(services, item, 1, 0.1, 5)
    app = at_hand(services, item, smaller_copy(5))
    assert suggestions(app) == []
    earlier_switch(app).set_value(True).run()
    assert not app.exception
    (one,) = suggestions(app)
    assert (one["kind"], one["category"], one["component"]) == ("earlier", "cut", "webbing")
    assert one["by"] == "marked on 2025-01-01"
    for (x, y), (wanted_x, wanted_y) in zip(one["shape"]["points"], [(10, 20), (60, 80)], strict=True):
        assert abs(x - wanted_x * 560 / 640) < 2 and abs(y - wanted_y * 420 / 480) < 2
    assert "no mark of today until you take it over" in words(app)
    assert drafts.find_draft("d" * 32, services).body["marks"] == {}  # type: ignore[union-attr]


def test_an_earlier_photo_that_does_not_fit_is_shown_beside_todays(services: Services, item: Item) -> None:
    fade(services, item, 1, 0.1, 5)
    app = at_hand(services, item, picture(6))
    earlier_switch(app).set_value(True).run()
    assert not app.exception
    assert suggestions(app) == []
    assert "cannot be laid over each other" in words(app)
    assert "**Then**" in [m.value for m in app.markdown]


def test_without_an_earlier_inspection_no_earlier_marks_are_offered(services: Services, item: Item) -> None:
    assert earlier_switch(at_hand(services, item, picture(6))) is None


def test_marks_of_a_corrected_inspection_are_not_offered_again(services: Services, item: Item) -> None:
    fade(services, item, 1, 0.1, 5)
    answers = dict.fromkeys(components_of(item.kind), Answer.SOUND)
    at = datetime(2025, 2, 1, 9, 0, tzinfo=UTC)
    record(
        RecordInspection(
            "c" * 32,
            item.id,
            InspectionType.PERIODIC,
            COMPETENT.id,
            answers,
            note="No cut.",
            corrects=f"{1:032x}",
            at=at,
        ),
        services,
    )
    app = at_hand(services, item, smaller_copy(5))
    earlier_switch(app).set_value(True).run()
    assert not app.exception
    assert suggestions(app) == []
    assert "No earlier photo of this item carries a mark that nobody corrected since." in words(app)
