"""Measuring by drawing on the photo step: chosen in plain words, read at once, weighed where it stands by itself."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from inspect_core.domain.custody import State
from inspect_core.imaging.card_layout import card_png
from inspect_core.screens.work.body import alone_of, command, whole
from inspect_core.usecases import drafts, review
from inspect_core.usecases.inspect import record
from inspect_core.usecases.measured import taken_in
from inspect_core.usecases.services import Services
from tests.browser.job_hands import drawn
from tests.screens.app import WORKER, button, site, words
from tests.screens.test_measuring import CUT, DRAFT, KNOWN, kept, opened, started
from tests.usecases.site import picture


def entry(*shapes: dict[str, Any], mark: str = "") -> dict[str, Any]:
    drawn_ = [
        {"id": f"d{n}", "component": "webbing", "category": "other", "note": "", "shape": shape}
        for n, shape in enumerate(shapes)
    ]
    return {"drawn": drawn_, "rev": len(drawn_), "mark": mark, "readings": []}


def line(*points: tuple[float, float]) -> dict[str, Any]:
    return {"type": "line", "points": [list(point) for point in points]}


def tasks_of(services: Services) -> dict[str, Any]:
    (aid,) = kept(services)["aids"].values()
    return dict(aid["tasks"])


def chooser(app: Any) -> Any:
    (found,) = [box for box in app.selectbox if box.label == "Measure something on this photo"]
    return found


@pytest.fixture
def services(tmp_path: Path) -> Services:
    return site(tmp_path, "WL-1", webbing_width_mm=45, throat_mm=20)


def test_what_can_be_measured_is_offered_in_plain_words_and_says_what_to_draw(services: Services) -> None:
    started(services, picture(), [])
    app = opened(services)
    assert "Opening of a hook's throat" in chooser(app).options
    chooser(app).set_value("Stitches on both sides of a seam").run()
    assert not app.exception
    assert "Draw a line along the stitches on one side of the seam, then one along the other side" in words(app)
    assert [b for b in app.button if b.label == "Done with this"]


def test_a_growth_without_its_registered_size_says_where_to_enter_it(services: Services) -> None:
    started(services, picture(), [])
    app = opened(services)
    chooser(app).set_value("Length of the absorber's pack").run()
    assert not app.exception
    assert "Not registered: the absorber's packed length" in words(app)


def test_a_measure_of_a_mark_asks_for_the_mark_first(services: Services) -> None:
    started(services, picture(), [])
    app = opened(services)
    chooser(app).set_value("How deep a cut or fray goes, by the webbing's edges").run()
    assert "This measures a mark." in words(app)


def test_the_depth_by_two_drawn_edges_stands_with_the_mark(services: Services) -> None:
    # Webbing between x = 100 and x = 300; the cut reaches 40 px in, which is a fifth of its width.
    edges = entry(line((100, 60), (100, 260)), line((300, 60), (300, 260)), mark="m1")
    started(services, picture(), [CUT], **(KNOWN | {"of": "other", "tasks": {"cut depth|webbing": edges}}))
    app = opened(services)
    readings = {r["measure"]: r for r in kept(services)["readings"]["m1"]}
    assert readings["depth share"]["value"] == pytest.approx(0.2, abs=0.01)
    assert "square to the drawn edges" in readings["depth share"]["method"]
    assert "These readings stand with the mark above" in words(app)
    assert tasks_of(services)["cut depth|webbing"]["readings"] == []


def throat(services: Services, millimetres: float) -> Any:
    """A throat drawn over that many millimetres of the printed card; nothing marked."""
    aid = {"method": "card", "rule_mm": 140.0, "close": True}
    shape = line((300, 400), (300 + 12 * millimetres, 400))
    started(services, card_png(12.0), [], **aid, tasks={"throat|snap hook": entry(shape)})
    return opened(services)


def record_it(services: Services) -> Any:
    item = review.item_by_tag("WL-1", services).item
    body = kept(services)
    body["answers"] = dict.fromkeys(("label", "webbing", "stitching", "snap hook"), "sound") | dict.fromkeys(
        ("energy absorber", "D-ring", "indicator"), "absent"
    )
    return record(taken_in(command(body, DRAFT, item, WORKER), alone_of(body), item, services), services)


def test_a_sound_throat_is_measured_without_a_mark_and_kept_in_the_note(services: Services) -> None:
    app = throat(services, 20.0)
    assert "No limit that is known here is reached" in words(app)
    assert "throat increase" in words(app)
    recorded = record_it(services)
    assert recorded.inspection.marks == ()
    assert "Measured, nothing marked:" in recorded.inspection.note
    assert recorded.standing.state is State.IN_SERVICE


def test_a_throat_past_its_limit_takes_the_item_out_though_nothing_is_marked(services: Services) -> None:
    app = throat(services, 26.0)
    assert "This reading takes the item out." in words(app)
    recorded = record_it(services)
    assert recorded.standing.state is State.WITHDRAWN
    (mark,) = recorded.inspection.marks
    assert {r.measure for r in mark.readings} == {"throat", "throat increase"}


def test_a_drawing_can_be_taken_away_and_its_reading_goes_with_it(services: Services) -> None:
    app = throat(services, 26.0)
    button(app, "Take it away").click().run()
    assert not app.exception
    assert tasks_of(services) == {}
    assert alone_of(kept(services)) == ()


def test_without_a_scale_a_size_is_refused_with_what_to_do(services: Services) -> None:
    started(services, picture(), [], tasks={"throat|snap hook": entry(line((100, 100), (200, 100)))})
    app = opened(services)
    assert "Without a scale there is no throat in mm" in words(app)
    assert any(g.label == "Scale of this photo" for g in app.get("button_group"))


def test_both_sides_of_a_seam_are_compared_and_gaps_are_offered_as_hints(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1", kind="harness", webbing_width_mm=45)
    data, truth = drawn("harness", "stitching", "broken stitch")
    sides = [{"type": "line", "points": truth["stitch_rows"][n]["points"]} for n in (5, 4)]
    started(services, data, [], tasks={"seam sides|stitching": entry(*sides)})
    app = opened(services)
    said = words(app)
    assert "The sides differ" in said and "the second side misses" in said
    assert "stitch side difference" in said
    (marking,) = [e.proto for e in app.get("bidi_component") if e.proto.component_name == "bartack_marking"]
    assert '"by": "' in marking.json or '"by":"' in marking.json
    assert "missing, stitch rhythm" in marking.json


def test_a_kept_task_that_nobody_knows_is_left_alone(services: Services) -> None:
    started(services, picture(), [CUT], tasks={"magic|webbing": entry(line((1, 1), (9, 9)))})
    app = opened(services)
    assert not app.exception
    assert whole(drafts.find_draft(DRAFT, services).body)["photos"]  # type: ignore[union-attr]
