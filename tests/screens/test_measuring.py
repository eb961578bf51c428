"""Measuring on the photo step: scale chosen, readings at once, taken over unless left out, by hand wins."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from inspect_core.domain.inspection import InspectionType
from inspect_core.imaging.card_layout import card_png
from inspect_core.screens.work.body import Body, command, empty, whole
from inspect_core.usecases import drafts, review
from inspect_core.usecases.inspect import record
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.register import RegisterItem, parse_item, register
from inspect_core.usecases.services import Services
from tests.browser.job_hands import drawn
from tests.screens.app import COMPETENT, MANAGER, WORKER, screen, site, words
from tests.usecases.site import picture

DRAFT = "d" * 32
LINE = {"type": "line", "points": [[100.0, 100.0], [300.0, 100.0]]}  # straight across webbing that hangs
CUT = {
    "id": "m1",
    "component": "webbing",
    "category": "cut",
    "note": "",
    "shape": {"type": "line", "points": [[100.0, 140.0], [140.0, 140.0]]},
}
KNOWN = {
    "method": "known_length",
    "of": "webbing width",
    "length_mm": 45.0,
    "close": True,
    "line": [{"id": "k1", "component": "webbing", "category": "other", "note": "", "shape": LINE}],
    "line_rev": 1,
}


def started(services: Services, photo: bytes, marks: list[dict[str, Any]], **aid: Any) -> str:
    """Unfinished work that stands at the photo step with one photo; its id."""
    item = review.item_by_tag("WL-1", services).item
    photo_id = take_photo(photo, services).id
    body = empty(InspectionType.BEFORE_USE) | {
        "step": 2,
        "answers": {"webbing": "defect"},
        "photos": [photo_id],
        "photo": photo_id,
        "marks": {photo_id: marks},
        "revs": {photo_id: 1},
        "aids": {photo_id: aid} if aid else {},
    }
    drafts.save_draft(DRAFT, item.id, body, services)
    return photo_id


def opened(services: Services) -> Any:
    app = screen(services, "check", WORKER, tag="WL-1", draft=DRAFT)
    assert not app.exception
    return app


def kept(services: Services) -> Body:
    draft = drafts.find_draft(DRAFT, services)
    assert draft is not None
    return whole(draft.body)


def ticks(app: Any, measure: str) -> Any:
    found = [box for box in app.checkbox if box.label.startswith(measure)]
    assert len(found) == 1, [box.label for box in app.checkbox]
    return found[0]


@pytest.fixture
def services(tmp_path: Path) -> Services:
    return site(tmp_path, "WL-1", webbing_width_mm=45)


def test_without_a_scale_there_are_no_millimetres_and_the_screen_says_so(services: Services) -> None:
    started(services, picture(), [CUT])
    app = opened(services)
    assert "No scale, no millimetres" in words(app)
    assert kept(services)["readings"] == {}


def test_a_known_length_gives_readings_with_uncertainty_and_method_at_once(services: Services) -> None:
    started(services, picture(), [CUT], **KNOWN)
    app = opened(services)
    readings = {r["measure"]: r for r in kept(services)["readings"]["m1"]}
    # 40 of 200 pixels that are 45 mm: 9 mm.
    assert readings["length"]["value"] == pytest.approx(9.0, abs=0.01)
    assert 0 < readings["length"]["uncertainty"] < 9.0
    assert "known length" in readings["length"]["method"]
    label = ticks(app, "length").label
    assert "±" in label and "(k = 2)" in label.replace("\\", "")


def test_the_registered_width_is_offered_and_said_to_be_one(services: Services) -> None:
    started(services, picture(), [CUT], method="known_length")
    app = opened(services)
    assert "45 mm is the webbing width that was registered" in words(app)
    (entered,) = [n for n in app.number_input if n.label == "Its length (mm)"]
    assert entered.value == 45
    assert "Draw one line over the known length" in words(app)
    assert kept(services)["readings"] == {}


def test_a_finger_on_the_whole_photo_is_less_certain_than_on_the_magnified_one(services: Services) -> None:
    started(services, picture(3, (4000, 3000)), [CUT], **(KNOWN | {"close": False}))
    app = opened(services)
    coarse = kept(services)["readings"]["m1"][0]["uncertainty"]
    (box,) = [c for c in app.checkbox if c.label.startswith("I magnified")]
    box.check().run()
    fine = kept(services)["readings"]["m1"][0]["uncertainty"]
    assert fine < coarse / 2


def test_a_reading_left_out_stays_out_until_it_is_taken_over_again(services: Services) -> None:
    started(services, picture(), [CUT], **KNOWN)
    app = opened(services)
    ticks(app, "length").uncheck().run()
    assert "length" not in {r["measure"] for r in kept(services)["readings"]["m1"]}
    app.run()
    assert "length" not in {r["measure"] for r in kept(services)["readings"]["m1"]}
    ticks(app, "length").check().run()
    assert "length" in {r["measure"] for r in kept(services)["readings"]["m1"]}


def test_a_reading_by_hand_wins_over_the_photo(services: Services) -> None:
    photo_id = started(services, picture(), [CUT], **KNOWN)
    body = kept(services)
    body["readings"] = {
        "m1": [{"measure": "length", "value": 7.0, "unit": "mm", "uncertainty": 0.5, "method": "by hand, steel rule"}]
    }
    drafts.save_draft(DRAFT, review.item_by_tag("WL-1", services).item.id, body, services)
    app = opened(services)
    lengths = [r for r in kept(services)["readings"]["m1"] if r["measure"] == "length"]
    assert [(r["value"], r["method"]) for r in lengths] == [(7.0, "by hand, steel rule")]
    assert "By hand, and this counts: length: 7.00 ± 0.50 mm" in words(app)
    assert photo_id in kept(services)["photos"]


def test_taking_the_scale_away_takes_its_millimetres_away(services: Services) -> None:
    started(services, picture(), [CUT], **KNOWN)
    app = opened(services)
    assert kept(services)["readings"]
    (ways,) = [g for g in app.get("button_group") if g.label == "Scale of this photo"]
    ways.set_value("None").run()
    units = {r["unit"] for r in kept(services)["readings"].get("m1", [])}
    assert "mm" not in units


def test_a_card_that_is_not_in_the_picture_is_refused_with_what_to_do(services: Services) -> None:
    started(services, picture(), [CUT], method="card", rule_mm=140.0)
    app = opened(services)
    assert len(app.error) == 1
    assert "card" in app.error[0].value.lower()
    assert kept(services)["readings"] == {}


def test_the_card_in_the_picture_gives_millimetres(services: Services) -> None:
    card = card_png(12.0)
    mark = CUT | {"shape": {"type": "line", "points": [[300.0, 400.0], [420.0, 400.0]]}}
    started(services, card, [mark], method="card", rule_mm=140.0, close=True)
    app = opened(services)
    assert not app.error, app.error[0].value
    (length,) = [r for r in kept(services)["readings"]["m1"] if r["measure"] == "length"]
    assert abs(length["value"] - 10.0) <= length["uncertainty"]
    assert "scale card" in length["method"]


def test_what_could_not_be_measured_says_why_and_what_to_do(services: Services) -> None:
    mark = CUT | {"category": "broken stitch", "component": "stitching"}
    started(services, picture(), [mark], **KNOWN)
    said = words(opened(services))
    assert "Not measured:" in said and "stitch count" in said


def test_the_readings_go_into_the_recorded_marks(services: Services) -> None:
    started(services, picture(), [CUT], **KNOWN)
    opened(services)
    item = review.item_by_tag("WL-1", services).item
    recorded = record(command(kept(services), DRAFT, item, WORKER), services)
    assert {"length", "depth from edge"} <= {r.measure for r in recorded.inspection.marks[0].readings}


def test_a_depth_is_not_believed_where_the_mark_runs_along_the_webbing(services: Services) -> None:
    along = CUT | {"shape": {"type": "line", "points": [[100.0, 140.0], [104.0, 180.0]]}}
    started(services, picture(), [along], **KNOWN)
    app = opened(services)
    assert {r["measure"] for r in kept(services)["readings"]["m1"]} == {"length"}
    assert "Draw the width straight across the webbing from edge to edge" in words(app)


def test_a_width_drawn_far_from_the_cut_bounds_its_depth_by_its_length(services: Services) -> None:
    far = {"type": "line", "points": [[100.0, 300.0], [300.0, 300.0]]}
    line = [{"id": "k1", "component": "webbing", "category": "other", "note": "", "shape": far}]
    started(services, picture(), [CUT], **(KNOWN | {"line": line}))
    opened(services)
    readings = {r["measure"]: r for r in kept(services)["readings"]["m1"]}
    assert readings["depth from edge"]["uncertainty"] == readings["length"]["uncertainty"]
    assert "at most this" in readings["depth from edge"]["method"]
    assert "at most this" in readings["depth share"]["method"]


def test_a_photo_used_before_is_told_at_once(services: Services, tmp_path: Path) -> None:
    photo_id = started(services, picture(), [CUT])
    item = review.item_by_tag("WL-1", services).item
    record(command(kept(services), DRAFT, item, WORKER), services)
    other = parse_item({"tag": "WL-2", "kind": "webbing lanyard", "site": "North Quay"}, services.new_id())
    register(RegisterItem(other, COMPETENT.id), services)
    second = "e" * 32
    body = empty(InspectionType.BEFORE_USE) | {"step": 2, "photos": [photo_id], "photo": photo_id}
    drafts.save_draft(second, other.id, body, services)
    app = screen(services, "check", WORKER, tag="WL-2", draft=second)
    said = words(app)
    assert "Doubt about this photo" in said and "It belongs to WL-1" in said


def test_the_scale_card_can_be_taken_away_with_how_to_check_its_print(services: Services) -> None:
    app = screen(services, "people", MANAGER)
    assert not app.exception
    assert "Print it at 100 %" in words(app)
    assert [b.proto.label for b in app.get("download_button")] == ["Scale card (PDF)"]


def hint_switch(app: Any) -> Any:
    (found,) = [t for t in app.toggle if t.label.startswith("Hints")]
    return found


def outlined() -> tuple[bytes, dict[str, Any]]:
    """A drawn fray, and the webbing's outline as a person would draw it."""
    data, truth = drawn("webbing lanyard", "webbing", "fray")
    strap = next(r for r in truth["regions"] if r["component"] == "webbing")["shape"]["points"]
    points = [[min(max(x, 0), truth["width"]), min(max(y, 0), truth["height"])] for x, y in strap]
    shape = {"type": "polygon", "points": points}
    outline = {"id": "o1", "component": "webbing", "category": "other", "note": "", "shape": shape}
    return data, {"outline": [outline], "outline_revs": {"webbing": 1}}


def test_hints_are_off_until_a_person_wants_them(services: Services) -> None:
    data, aid = outlined()
    started(services, data, [], **aid)
    app = opened(services)
    assert hint_switch(app).value is False
    assert "outlined apart from the marks" not in words(app)


def test_hints_are_told_with_their_error_rate_and_are_no_marks(services: Services) -> None:
    data, aid = outlined()
    photo_id = started(services, data, [], **aid)
    app = opened(services)
    hint_switch(app).set_value(True).run()
    assert not app.exception
    said = words(app)
    assert "outlined apart from the marks" in said and "is no mark" in said
    assert "of 30 defects were found" in said and "version 1" in said
    assert kept(services)["marks"][photo_id] == []


def test_an_outline_of_the_part_gives_the_area_share(services: Services) -> None:
    outline = {
        "id": "o1",
        "component": "webbing",
        "category": "other",
        "note": "",
        "shape": {"type": "box", "points": [[100.0, 100.0], [300.0, 300.0]]},
    }
    mark = CUT | {"category": "abrasion", "shape": {"type": "box", "points": [[100.0, 100.0], [200.0, 200.0]]}}
    started(services, picture(), [mark], **(KNOWN | {"outline": [outline], "outline_revs": {"webbing": 1}}))
    opened(services)
    shares = {r["measure"]: r["value"] for r in kept(services)["readings"]["m1"]}
    assert shares["area share"] == pytest.approx(0.25, abs=0.02)
