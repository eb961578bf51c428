"""Measuring by drawing: what is built from what was drawn, read against drawn photos whose truth is known."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from inspect_core.domain.decision import FindingOutcome, Outcome
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component, Item, Kind, components_of
from inspect_core.domain.geometry import Shape
from inspect_core.domain.marks import Category, Reading
from inspect_core.domain.measures import MEASURES, Unit
from inspect_core.imaging.plane import through
from inspect_core.rules.loader import load_rules
from inspect_core.rules.model import COMMON
from inspect_core.usecases.inspect import ask
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.measure_tasks import ALONE, TASKS, case_mark, lacking, measures_of, parts_for, tasks_for
from inspect_core.usecases.measured import (
    HEADING,
    Alone,
    joined,
    joined_wishes,
    measure_task,
    name_of,
    not_cleared,
    sides_of_seam,
    taken_in,
    task_of,
)
from inspect_core.usecases.register import RegisterItem, parse_item, register
from tests.browser.job_hands import drawn
from tests.usecases.site import Site


def line(points: Any) -> dict[str, Any]:
    return {"type": "line", "points": [list(point) for point in points]}


def item_of(site: Site, kind: str, **sizes: float) -> Item:
    given = {"tag": "T-1", "kind": kind, "site": "North Quay", "first_used_on": "2026-01-05", **sizes}
    return register(RegisterItem(parse_item(given, "item-T-1"), site.worker), site.services)


def known(truth: dict[str, Any], place: int = 0, of: str = "other") -> dict[str, Any]:
    one = truth["known_lengths"][place]
    points, length = one["points"], one["length_mm"]
    return {"method": "known_length", "points": points, "length_mm": length, "length_sd_mm": 0.2, "of": of}


def beside(truth: dict[str, Any], points: Any) -> dict[str, Any]:
    """A steel rule of 50 mm lying beside and along a line, 8 mm from it, where the drawing's plane has it."""
    to_photo = np.array(truth["plane_homography"], float)
    ends = through(np.asarray(np.linalg.inv(to_photo), float), np.asarray(points, float))
    along = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    middle = ends.mean(axis=0) + 8 * np.array([-along[1], along[0]])
    rule = through(to_photo, np.array([middle - 25 * along, middle + 25 * along]))
    return {"method": "known_length", "points": rule.tolist(), "length_mm": 50.0, "length_sd_mm": 0.2, "of": "rule"}


def read(
    site: Site,
    item: Item,
    picture: bytes,
    task: str,
    shapes: list[Any],
    part: Component,
    scale: dict[str, Any],
    mark: Any = None,
) -> dict[str, Any]:
    photo_id = take_photo(picture, site.services).id
    wish = case_mark(TASKS[task], shapes, part, item, scale, id="x", mark=mark)
    return measure_task(photo_id, wish, scale, item, site.services)


def numbers(measured: dict[str, Any]) -> dict[str, tuple[float, float]]:
    return {r["measure"]: (r["value"], r["uncertainty"]) for r in measured["readings"]}


def test_every_task_has_a_part_and_known_measures_in_its_own_order() -> None:
    from inspect_core.domain.measures import MEASURES

    for task in TASKS.values():
        assert task.components and set(task.measures) <= set(MEASURES)
        assert task_of(name_of(task, task.components[0])) == (task, task.components[0])
    with pytest.raises(BadInput):
        task_of("no such thing|webbing")


def test_a_lanyard_is_offered_what_its_parts_allow(site: Site) -> None:
    names = [task.name for task in tasks_for(site.lanyard())]
    assert {"seam sides", "webbing width", "pack", "throat"} <= set(names)
    assert "rope diameter" not in names
    assert parts_for(TASKS["throat"], site.lanyard("LAN-002")) == (Component.SNAP_HOOK,)


def test_a_growth_needs_the_registered_size_and_its_lack_is_told(site: Site) -> None:
    bare = item_of(site, "webbing lanyard")
    assert measures_of(TASKS["throat"], bare) == ("throat",)
    assert "Not registered: the hook's nominal throat opening" in lacking(TASKS["throat"], bare)
    assert measures_of(TASKS["throat"], site.lanyard(throat_mm=24)) == ("throat", "throat increase")


def test_the_throat_and_its_growth_hold_the_drawn_truth(site: Site) -> None:
    picture, truth = drawn("webbing lanyard", "snap hook", "rust")
    throat = truth["known_lengths"][1]
    item = item_of(site, "webbing lanyard", throat_mm=20)
    scale = beside(truth, throat["points"])
    found = numbers(read(site, item, picture, "throat", [line(throat["points"])], Component.SNAP_HOOK, scale))
    value, spread = found["throat"]
    assert abs(value - throat["length_mm"]) <= spread
    share, wide = found["throat increase"]
    assert abs(share - (throat["length_mm"] / 20 - 1)) <= wide


def test_the_width_between_two_drawn_edges_holds_the_drawn_truth(site: Site) -> None:
    picture, truth = drawn("webbing lanyard", "webbing", "cut")
    (x0, y0), (x1, y1) = truth["known_lengths"][0]["points"]
    # The known length lies across the webbing: its ends are on the edges, which run square to it.
    along = ((y1 - y0) * 0.2, -(x1 - x0) * 0.2)
    edges = [line([[x - along[0], y - along[1]], [x + along[0], y + along[1]]]) for x, y in ((x0, y0), (x1, y1))]
    item = site.lanyard()
    scale = beside(truth, truth["known_lengths"][0]["points"])
    found = numbers(read(site, item, picture, "webbing width", edges, Component.WEBBING, scale))
    value, spread = found["webbing width"]
    assert abs(value - 45.0) <= spread


def test_a_size_is_not_measured_by_a_scale_that_is_that_size(site: Site) -> None:
    item = site.lanyard()
    edges = [line([[0, 0], [100, 0]]), line([[0, 50], [100, 50]])]
    scale = {"method": "known_length", "of": "webbing width", "points": [[0, 0], [0, 50]], "length_mm": 45}
    with pytest.raises(BadInput, match="cannot be measured by itself"):
        case_mark(TASKS["webbing width"], edges, Component.WEBBING, item, scale, id="x")


@pytest.mark.parametrize(
    ("second", "problem"),
    [
        ([[0, 50], [60, 110]], "not the edges of one webbing"),
        ([[0, 0.5], [100, 0.5]], "lie on one edge"),
    ],
)
def test_lines_that_are_no_two_edges_are_refused(site: Site, second: Any, problem: str) -> None:
    edges = [line([[0, 0], [100, 0]]), line(second)]
    with pytest.raises(BadInput, match=problem):
        case_mark(TASKS["webbing width"], edges, Component.WEBBING, site.lanyard(), {"method": "none"}, id="x")


def test_what_is_not_drawn_whole_says_what_comes_next(site: Site) -> None:
    item, one = site.lanyard(), line([[0, 0], [100, 0]])
    with pytest.raises(BadInput, match="Not drawn yet: second side"):
        case_mark(TASKS["seam sides"], [one], Component.STITCHING, item, {"method": "none"}, id="x")
    with pytest.raises(BadInput, match="More is drawn"):
        case_mark(TASKS["pack"], [one, one], Component.ENERGY_ABSORBER, item, {"method": "none"}, id="x")
    with pytest.raises(BadInput, match="no mark to measure"):
        case_mark(TASKS["rust"], [one], Component.SNAP_HOOK, item, {"method": "none"}, id="x")


def test_the_side_of_a_seam_that_misses_stitches_is_named_with_the_place(site: Site) -> None:
    picture, truth = drawn("harness", "stitching", "broken stitch")
    item = item_of(site, "harness")
    whole, gapped = (truth["stitch_rows"][n]["points"] for n in (5, 4))
    shapes = [line(whole), line(gapped)]
    scale = known(truth)
    found = numbers(read(site, item, picture, "seam sides", shapes, Component.STITCHING, scale))
    # The second side misses six; the whole first side must not hide it.
    for measure, true in (("stitch count", truth["stitch_rows"][4]["count"]), ("missing stitches", 6)):
        value, spread = found[measure]
        assert abs(value - true) <= spread
    assert found == numbers(read(site, item, picture, "seam sides", shapes[::-1], Component.STITCHING, scale))
    assert found["stitch side difference"][0] >= 2
    photo_id = take_photo(picture, site.services).id
    wish = case_mark(TASKS["seam sides"], shapes, Component.STITCHING, item, scale, id="x")
    sides = sides_of_seam(photo_id, wish, scale, item, site.services)
    assert "the second side misses" in sides.sentence
    assert [one["category"] for one in sides.suggestions] == ["broken stitch"] * len(sides.suggestions) != []


def test_a_rope_is_measured_along_it_and_a_line_across_it_is_refused(site: Site) -> None:
    picture, truth = drawn("vertical lifeline", "rope", None)
    item = item_of(site, "vertical lifeline", rope_diameter_mm=12)
    (x, y0), (_, y1) = truth["known_lengths"][0]["points"]
    middle = (y0 + y1) / 2
    scale = known(truth)
    along = read(
        site, item, picture, "rope diameter", [line([[x - 300, middle], [x + 100, middle]])], Component.ROPE, scale
    )
    value, spread = numbers(along)["rope diameter"]
    assert abs(value - 12.0) <= spread
    across = read(site, item, picture, "rope diameter", [line([[x, y0], [x, y1]])], Component.ROPE, scale)
    assert across["readings"] == []
    assert "too short to lie along the rope" in across["not_measured"][0]["problem"]


def test_rust_is_the_share_of_the_outlined_metal_and_goes_to_its_mark(site: Site) -> None:
    picture, truth = drawn("webbing lanyard", "snap hook", "rust")
    (metal,) = [r["shape"] for r in truth["regions"] if r["component"] == "snap hook"]
    rust = {"id": "m1", "component": "snap hook", "category": "rust", "shape": truth["defects"][0]["shape"]}
    item = item_of(site, "webbing lanyard")
    found = numbers(read(site, item, picture, "rust", [metal], Component.SNAP_HOOK, {"method": "none"}, rust))
    share, spread = found["rust area share"]
    assert abs(share - truth["defects"][0]["truth"]["share"]) <= spread
    assert 0 <= found["rust grade"][0] <= 10


def test_readings_drawn_for_a_mark_win_over_what_the_mark_alone_gave() -> None:
    usual = {"mark": "m1", "measure": "depth share", "value": 0.2}
    drawn_for = {"mark": "m1~cut depth", "measure": "depth share", "value": 0.1}
    missed = {"mark": "m1~cut depth", "measure": "depth from edge", "problem": "", "remedy": ""}
    together = joined({"readings": [usual, drawn_for], "not_measured": [missed]})
    assert [(r["mark"], r["value"]) for r in together["readings"]] == [("m1", 0.1)]
    assert together["not_measured"] == [{**missed, "mark": "m1"}]


def test_only_what_is_drawn_whole_for_a_mark_that_is_there_is_asked(site: Site) -> None:
    mark = {"id": "m1", "component": "webbing", "category": "cut", "shape": line([[0, 0], [10, 0]])}
    edges = [{"shape": line([[0, -20], [0, 20]])}, {"shape": line([[90, -20], [90, 20]])}]
    kept = {
        "cut depth|webbing": {"drawn": edges, "mark": "m1"},
        "area share|webbing": {"drawn": [], "mark": "m1"},
        "colour|webbing": {"drawn": edges, "mark": "gone"},
    }
    wishes = joined_wishes(kept, [mark], site.lanyard(), {"method": "none"})
    assert list(wishes) == ["m1~cut depth"]
    assert wishes["m1~cut depth"]["edge"] == [[0, -20], [0, 20]]


def alone(site: Site, photo_id: str, task: str, part: Component, reading: Reading) -> Alone:
    return Alone("a1", photo_id, TASKS[task], part, Shape.of("line", [[10, 10], [60, 10]]), (reading,))


def test_a_reading_that_clears_every_limit_is_kept_in_the_note_and_marks_nothing(site: Site) -> None:
    item = site.lanyard(throat_mm=24)
    photo_id = site.photo()
    fine = Reading("throat increase", 0.005, "share", 0.004, "photo, scale card")
    assert not_cleared(Component.SNAP_HOOK, (fine,), item, site.services) == ()
    command = site.check(item, photo_ids=(photo_id,), note="Dry.")
    taken = taken_in(command, (alone(site, photo_id, "throat", Component.SNAP_HOOK, fine),), item, site.services)
    assert taken.marks == ()
    assert taken.note.startswith("Dry.\n" + HEADING) and "throat increase 0.5 ± 0.4 %" in taken.note
    assert ask(taken, site.services).outcome is Outcome.IN_SERVICE


@pytest.mark.parametrize(
    ("value", "outcome", "found"),
    [(0.20, Outcome.WITHDRAW, FindingOutcome.WITHDRAW), (0.045, Outcome.HOLD, FindingOutcome.HOLD)],
)
def test_a_reading_at_or_near_a_limit_becomes_a_mark_that_the_rules_weigh(
    site: Site, value: float, outcome: Outcome, found: FindingOutcome
) -> None:
    item = site.lanyard(throat_mm=24)
    photo_id = site.photo()
    reading = Reading("throat increase", value, "share", 0.02, "photo, scale card")
    assert not_cleared(Component.SNAP_HOOK, (reading,), item, site.services)[0].outcome is found
    command = site.check(item, photo_ids=(photo_id,))
    one = alone(site, photo_id, "throat", Component.SNAP_HOOK, reading)
    taken = taken_in(command, (one,), item, site.services)
    (mark,) = taken.marks
    assert (mark.category, mark.readings, mark.made_by) == (ALONE, (reading,), command.by)
    assert mark.category is Category.OTHER
    assert ask(taken, site.services).outcome is outcome


def test_a_rope_measured_by_itself_far_too_thin_is_withdrawn(site: Site) -> None:
    item = item_of(site, "wire rope lanyard", rope_diameter_mm=8)
    photo_id = site.photo()
    thin = Reading("diameter loss", 0.45, "share", 0.03, "photo, scale card")
    command = site.check(item, photo_ids=(photo_id,))
    taken = taken_in(command, (alone(site, photo_id, "rope diameter", Component.WIRE_ROPE, thin),), item, site.services)
    assert [mark.readings for mark in taken.marks] == [(thin,)]
    assert ask(taken, site.services).outcome is Outcome.WITHDRAW


def _reached() -> list[Any]:
    """Every task that may stand by itself, on every kind and part it is for, with each measure that some rule reads."""
    rules = load_rules().rules
    found = []
    for kind in Kind:
        for task in TASKS.values():
            # In the order of the kind's parts: a set's order would differ between the processes that share the tests.
            for component in components_of(kind) if not task.of_mark else ():
                if component not in task.components:
                    continue
                for measure in task.measures:
                    read = [
                        rule
                        for rule in rules
                        if rule.measure == measure
                        and rule.reading is not None
                        and COMMON in rule.profiles
                        and (not rule.kinds or kind in rule.kinds)
                        and (not rule.components or component in rule.components)
                    ]
                    if read:
                        found.append(pytest.param(kind, component, measure, id=f"{kind}, {component}, {measure}"))
    return found


@pytest.mark.parametrize(("kind", "component", "measure"), _reached())
def test_no_reading_past_a_limit_that_some_rule_sets_is_let_by(
    site: Site, kind: Kind, component: Component, measure: str
) -> None:
    item = item_of(site, kind.value)
    unit = MEASURES[measure].unit
    far = {Unit.SHARE: 1.0, Unit.COUNT: 40.0}.get(unit, 500.0)
    least = {Unit.SHARE: 0.0, Unit.COUNT: 0.0}.get(unit, 0.001)
    told = [
        not_cleared(component, (Reading(measure, value, unit.value, 0.0, "by hand"),), item, site.services)
        for value in (far, least)
    ]
    assert any(told), "neither the largest nor the smallest reading is held"


def test_what_was_measured_on_a_photo_left_out_is_left_out_too(site: Site) -> None:
    item = site.lanyard(throat_mm=24)
    reading = Reading("throat increase", 0.2, "share", 0.02, "photo, scale card")
    command = site.check(item)
    assert (
        taken_in(command, (alone(site, "p" * 64, "throat", Component.SNAP_HOOK, reading),), item, site.services)
        == command
    )
