"""Set-up checks on screen over a real store: little to enter, nothing measured in advance, one clear answer."""

from __future__ import annotations

import hashlib
import io
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from inspect_core.domain.custody import Move
from inspect_core.domain.setup import SetupRecord
from inspect_core.screens.rigging.words import CHECKS
from inspect_core.usecases import review
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.register import RegisterItem, parse_item, register
from inspect_core.usecases.services import Services
from inspect_core.usecases.setup import setup_pdf, setups_of
from tests.screens.app import COMPETENT, WORKER, button, choice, screen, site, words
from tests.usecases.site import picture


def add(services: Services, tag: str, kind: str, **more: Any) -> str:
    item = parse_item({"tag": tag, "kind": kind, "site": "North Quay", **more}, services.new_id())
    return register(RegisterItem(item, COMPETENT.id), services).id


def opened(services: Services, check: str, profile: str = "canada ontario", units: str = "SI", **query: str) -> Any:
    app = screen(services, "setup", WORKER, check=check, **query)
    assert not app.exception
    titles = {"canada ontario": "Canada: Ontario, construction", "us construction": "US: construction"}
    next(s for s in app.selectbox if s.label == "Whose figures apply").set_value(titles[profile]).run()
    return choice(app, "Units").set_value({"SI": "m, kg, kN", "feet": "ft, lb, lbf"}[units]).run()


def enter(app: Any, label: str, value: float | str) -> Any:
    boxes = [b for b in (*app.number_input, *app.text_input) if b.label.replace("\\", "").startswith(label)]
    assert len(boxes) == 1, (label, [b.label for b in (*app.number_input, *app.text_input)])
    return boxes[0].set_value(value).run()


def pick(app: Any, label: str, value: str) -> Any:
    boxes = [s for s in app.selectbox if s.label.replace("\\", "").startswith(label)]
    assert len(boxes) == 1, (label, [s.label for s in app.selectbox])
    return boxes[0].set_value(value).run()


def answered(app: Any) -> str:
    button(app, "See the answer").click().run()
    assert not app.exception
    return words(app)


def recorded(app: Any, services: Services, tag: str) -> SetupRecord:
    button(app, "Record this check").click().run()
    assert not app.exception
    (record,) = setups_of(review.item_by_tag(tag, services).item.id, services)
    return record


def use_item(app: Any, tag: str) -> None:
    next(t for t in app.text_input if t.label == "Tag on the gear").set_value(tag)
    button(app, "Add this item").click().run()


def test_every_check_is_offered_with_one_plain_sentence(tmp_path: Path) -> None:
    app = screen(site(tmp_path, "WL-1"), "setup", WORKER)
    labels = [link.proto.label.replace("\\", "") for link in app.get("page_link")]
    for name, said in CHECKS.items():
        assert any(said.title in label and said.sentence in label for label in labels), name


@pytest.mark.parametrize("check", list(CHECKS))
def test_nothing_is_answered_or_measured_in_advance(tmp_path: Path, check: str) -> None:
    app = opened(site(tmp_path, "WL-1"), check)
    assert [
        g.value for g in app.get("button_group") if g.label not in ("Units",) and not g.label.startswith("What you")
    ] == [None] * (len(app.get("button_group")) - 1)
    assert [box.value for box in app.number_input] == [None] * len(app.number_input)


@pytest.mark.parametrize("check", list(CHECKS))
def test_a_check_with_nothing_entered_never_says_go(tmp_path: Path, check: str) -> None:
    app = opened(site(tmp_path, "WL-1"), check)
    said = answered(app)
    assert ">GO<" not in said
    assert "ASK A COMPETENT PERSON" in said or "cannot be left open" in said


def test_an_anchor_of_enough_strength_is_go_and_a_weak_one_is_not(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    app = opened(services, "anchor", "us construction")
    pick_or_tap(app, "What is it to hold?", "Fall arrest with absorber")
    enter(app, "Persons attached", 1)
    enter(app, "Rated strength", 23.0)
    pick_or_tap(app, "Who answers", "Engineer")
    choice(app, "Looked over today").set_value("Yes").run()
    said = answered(app)
    assert ">GO<" in said and "22.241 kN" in said
    assert "1926.502" in said and "Basis: published." in said
    button(app, "Back to what was entered").click().run()
    enter(app, "Rated strength", 20.0)
    said = answered(app)
    assert ">DO NOT GO<" in said and "Choose a stronger anchor." in said


def pick_or_tap(app: Any, label: str, value: str) -> None:
    if any(s.label.replace("\\", "").startswith(label) for s in app.selectbox):
        pick(app, label, value)
    else:
        choice(app, label).set_value(value).run()


def test_a_kit_with_a_held_part_does_not_go_and_stands_in_the_history_of_each_part(tmp_path: Path) -> None:
    services = site(tmp_path)
    ids = {
        "H-1": add(services, "H-1", "harness"),
        "G-1": add(services, "G-1", "rope grab", rope_range_mm="15-17"),
        "L-1": add(services, "L-1", "vertical lifeline", rope_diameter_mm="16"),
    }
    make_move(MakeMove("e" * 32, ids["G-1"], Move.HOLD, COMPETENT.id, "cam sticks"), services)
    app = opened(services, "kit fit")
    choice(app, "What is the kit for?").set_value("Travel restraint").run()
    enter(app, "Worker with clothing", 95.0)
    for tag in ids:
        next(t for t in app.text_input if t.label == "Tag on the gear").set_value(tag)
        button(app, "Add this part").click().run()
        assert not app.exception
    assert "cam sticks" in words(app)
    said = answered(app)
    assert ">DO NOT GO<" in said and "It is on hold." in said
    record = recorded(app, services, "G-1")
    assert record.answer == "do not go" and len(record.item_ids) == 3
    assert ">DO NOT GO<" in words(app) and "Gear used (3)" in words(app)
    for tag in ids:
        history = screen(services, "item", WORKER, tag=tag)
        assert "Set-up checks (1)" in words(history), tag


def test_what_the_label_says_is_asked_and_counts(tmp_path: Path) -> None:
    services = site(tmp_path)
    add(services, "H-1", "harness")
    app = opened(services, "kit fit", tag="H-1")
    choice(app, "What is the kit for?").set_value("Travel restraint").run()
    enter(app, "Worker with clothing", 150.0)
    assert "The range of user mass is not known." in answered(app)
    button(app, "Back to what was entered").click().run()
    enter(app, "Lightest user", 59.0)
    enter(app, "Heaviest user", 140.0)
    said = answered(app)
    assert "150.0 kg is above the limit." in said and "the maker's own figure" in said


def test_a_tag_nobody_registered_and_a_part_named_twice_are_refused_in_words(tmp_path: Path) -> None:
    services = site(tmp_path)
    add(services, "H-1", "harness")
    app = opened(services, "kit fit", tag="H-1")
    for tag, told in (("X-9", "No item carries the tag X-9."), ("h-1", "H-1 is in the kit already.")):
        next(t for t in app.text_input if t.label == "Tag on the gear").set_value(tag)
        button(app, "Add this part").click().run()
        assert told in words(app)
    assert not app.exception


def test_a_roof_typed_as_a_rectangle_gives_the_longest_safe_rope(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    app = opened(services, "restraint")
    choice(app, "How do you give the roof?").set_value("Type corners").run()
    enter(app, "Roof along x", 12.0)
    enter(app, "Roof along y", 10.0)
    button(app, "Make its four corners").click().run()
    enter(app, "Anchor: x", 6.0)
    enter(app, "Anchor: y", 5.0)
    for label, value in (("Longest rope", 2.0), ("Lanyard between", 0.6), ("Rope stretches", 5.0)):
        enter(app, label, value)
    enter(app, "Harness ring moves", 0.2)
    enter(app, "Body reaches", 0.9)
    # (2 + 0.6) · 1.05 + 0.2 + 0.9 = 3.83 m of reach; the nearest edge is 5 m off. The longest rope solves
    # (r + 0.6) · 1.05 + 1.1 < 5, so r < 3.114 m.
    assert "Longest safe rope" in words(app) and "3.11 m" in words(app)
    assert ">GO<" in answered(app)
    use_item(app, "wl-1")
    assert recorded(app, services, "WL-1").result["numbers"]["reach_m"] == pytest.approx(3.83)


CSV = (
    "ring,x,y,edge\nroof,0,0,closed\nroof,40,0,\nroof,40,25,\nroof,0,25,\n"
    "opening 1,30,10,\nopening 1,34,10,\nopening 1,34,14,\nanchor,15,12,\n"
)


def test_a_roof_as_csv_in_feet(tmp_path: Path) -> None:
    app = opened(site(tmp_path, "WL-1"), "restraint", "us construction", "feet")
    choice(app, "How do you give the roof?").set_value("List (CSV)").run()
    next(u for u in app.get("file_uploader")).set_value(("roof.csv", CSV.encode(), "text/csv")).run()
    for label, value in (
        ("Longest rope", "12 ft"),
        ("Lanyard between", "2"),
        ("Harness ring", "6 in"),
        ("Body", "3 ft"),
    ):
        enter(app, label, value)
    enter(app, "Rope stretches", 5.0)
    said = answered(app)
    assert ">DO NOT GO<" in said and "Shorten the rope or move the anchor." in said


def test_a_list_with_a_fault_is_refused_by_its_row(tmp_path: Path) -> None:
    app = opened(site(tmp_path, "WL-1"), "restraint")
    choice(app, "How do you give the roof?").set_value("List (CSV)").run()
    next(t for t in app.text_area).set_value("ring,x,y\nroof,0,zero\n").run()
    assert "Row 2: “zero” is no number." in words(app)
    assert "Row 2: “zero” is no number." in answered(app)


@pytest.mark.parametrize(
    ("typed", "metres"),
    [("3 ft 6 in", 1.0668), ("3' 6\"", 1.0668), ("3.5", 1.0668), ("3,5", 1.0668), ("42 in", 1.0668)],
)
def test_feet_are_read_as_people_say_them(typed: str, metres: float) -> None:
    from inspect_core.screens.rigging.fields import read_feet

    assert read_feet(typed)["value"] == metres


def test_what_is_no_length_is_refused_beside_its_field(tmp_path: Path) -> None:
    app = opened(site(tmp_path, "WL-1"), "swing", "us construction", "feet")
    enter(app, "Anchor above", "quite high")
    assert "is no length" in words(app)
    enter(app, "Anchor above", "-3 ft")
    assert "A length is below zero." in words(app)


def test_switching_the_units_converts_and_never_reinterprets(tmp_path: Path) -> None:
    app = opened(site(tmp_path, "WL-1"), "swing")
    enter(app, "Anchor above", 3.048)
    choice(app, "Units").set_value("ft, lb, lbf").run()
    assert next(t for t in app.text_input if t.label.startswith("Anchor above")).value == "10 ft"


def test_the_sum_of_a_fall_is_shown_line_by_line(tmp_path: Path) -> None:
    """The worked example of the public handbook, in feet: 6 + 3.5 + 1 + 5 + 2 = 17.5 ft (row C40)."""
    app = opened(site(tmp_path, "WL-1"), "clearance", "us construction", "feet")
    choice(app, "From where").set_value("From the anchor").run()
    choice(app, "What stops the fall?").set_value("Lanyard or rope grab").run()
    given = (
        ("Room", "18"), ("Lanyard, hook", "6"), ("Attachment above", "6 in"), ("Rope grab slides", "0"),
        ("Greatest extension", "3.5"), ("Harness stretch", "1"), ("Rope stretch", "0"), ("Back ring", "5"),
    )  # fmt: skip
    for label, value in given:
        enter(app, label, value)
    margin = next(t for t in app.text_input if t.label.startswith("Margin"))
    assert margin.value == "2 ft", "the usual margin is offered with its source"
    assert "handbook" in words(app)
    said = answered(app)
    assert "| **needed** | **5.33\u00a0m** | **17\u00a0ft\u00a06.0\u00a0in** |" in said
    assert "| **there is** | **5.49\u00a0m** | **18\u00a0ft\u00a00.0\u00a0in** |" in said


def test_the_usual_margin_can_be_taken_away_and_stays_away(tmp_path: Path) -> None:
    app = opened(site(tmp_path, "WL-1"), "clearance", "us construction", "feet")
    choice(app, "What stops the fall?").set_value("Self-retracting lifeline").run()
    enter(app, "Margin", "").run()
    assert next(t for t in app.text_input if t.label.startswith("Margin")).value == ""


def test_one_height_passes_ontario_and_fails_osha(tmp_path: Path) -> None:
    for profile, verdict in (("canada ontario", "within the limit"), ("us construction", "is below the limit")):
        app = opened(site(tmp_path / profile, "WL-1"), "guardrail", profile)
        choice(app, "Heights above").set_value("Type heights").run()
        enter(app, "Top rail, lowest", 0.95)
        said = answered(app)
        assert f"0.950 m is {verdict.removeprefix('is ')}" in said.replace("0.950 m is is", "0.950 m is"), profile


PHOTO = picture(3)


def upload_photo(app: Any) -> None:
    """The page's first place for a photo takes the picture."""
    next(u for u in app.get("file_uploader")).set_value(("p.jpg", PHOTO, "image/jpeg")).run()
    assert not app.exception


def drawn(app: Any, marks: list[tuple[str, str, Any]]) -> Any:
    """What the marking surface would report."""
    photo = hashlib.sha256(PHOTO).hexdigest()
    listed = [
        {"id": f"m{n}", "component": part, "category": "other", "note": "", "shape": {"type": type_, "points": points}}
        for n, (part, type_, points) in enumerate(marks, 1)
    ]
    key = f"w|setup|{draft_of(app)}|marking|{photo}"
    app.session_state[key] = {"marking": {"photo_id": photo, "rev": len(listed), "marks": listed}}
    return app.run()


def draft_of(app: Any) -> str:
    """The name of the check at hand, as its address carries it."""
    value = app.query_params["draft"]
    return str(value[0] if isinstance(value, list) else value)


ARROW = ("direction arrow", "line", [[300, 400], [310, 300]])


@pytest.mark.parametrize(
    ("rope", "told"),
    [
        ([[310, 280], [320, 40]], "The arrow points toward the anchor"),
        ([[310, 280], [300, 470]], "The arrow points away from the anchor"),
    ],
)
def test_the_direction_is_answered_from_the_two_lines(tmp_path: Path, rope: Any, told: str) -> None:
    services = site(tmp_path)
    add(services, "G-1", "rope grab")
    app = opened(services, "direction")
    upload_photo(app)
    drawn(app, [ARROW, ("rope", "line", rope)])
    choice(app, "Pull test").set_value("It locked").run()
    for label in ("Back ring", "Chest strap", "Leg straps"):
        choice(app, label).set_value("Yes").run()
    assert told in answered(app)
    use_item(app, "G-1")
    record = recorded(app, services, "G-1")
    assert record.case["rope"] == rope and len(record.photo_ids) == 1
    text = " ".join(PdfReader(io.BytesIO(setup_pdf(record.id, services))).pages[0].extract_text().split())
    assert "G-1" in text and record.answer.capitalize() in text


def test_one_line_alone_is_refused_with_what_to_do(tmp_path: Path) -> None:
    app = opened(site(tmp_path, "WL-1"), "direction")
    upload_photo(app)
    drawn(app, [ARROW])
    assert "One line so far." in words(app)
    assert "exactly two lines" in answered(app)


SKETCH = [
    ("body", "polygon", [[40, 40], [600, 40], [600, 440], [40, 440]]),
    ("body", "polygon", [[450, 100], [520, 100], [520, 160]]),
    ("body", "line", [[40, 440], [600, 440]]),
    ("body", "box", [[310, 230], [330, 250]]),
]


def test_a_roof_drawn_on_a_picture_gives_a_plan(tmp_path: Path) -> None:
    app = opened(site(tmp_path, "WL-1"), "restraint")
    choice(app, "How do you give the roof?").set_value("Draw it").run()
    upload_photo(app)
    drawn(app, SKETCH)
    assert "The known length is not entered." in words(app)
    enter(app, "Known length (m)", 14.0)
    for label, value in (("Longest rope", 1.0), ("Lanyard between", 0.6), ("Rope stretches", 5.0)):
        enter(app, label, value)
    enter(app, "Harness ring moves", 0.2)
    enter(app, "Body reaches", 0.9)
    said = answered(app)
    assert ">GO<" in said and "opening 1, edge" in said.lower()


def test_heights_from_a_photo_carry_their_uncertainty(tmp_path: Path) -> None:
    app = opened(site(tmp_path, "WL-1"), "guardrail", "us construction", "feet")
    choice(app, "Heights above").set_value("From a photo").run()
    upload_photo(app)
    drawn(
        app,
        [
            ("body", "line", [[100, 460], [100, 20]]),
            ("body", "polyline", [[300, 460], [300, 426], [300, 268], [300, 75]]),
        ],
    )
    enter(app, "Known length (ft and in)", "4 ft")
    said = answered(app)
    assert "1.066 m ± 0.0" in said or "1.067 m ± 0.0" in said


def test_a_check_comes_back_after_a_reload(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    app = opened(services, "swing")
    enter(app, "Anchor above", 4.0)
    again = screen(services, "setup", WORKER, check="swing", draft=draft_of(app))
    assert next(b for b in again.number_input if b.label.startswith("Anchor above")).value == 4.0


def test_going_back_after_recording_starts_another_check(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    app = opened(services, "swing")
    draft = draft_of(app)
    answered(app)
    use_item(app, "WL-1")
    assert recorded(app, services, "WL-1").id == draft
    again = screen(services, "setup", WORKER, check="swing", draft=draft)
    assert draft_of(again) != draft
    answered(again)
    use_item(again, "WL-1")
    button(again, "Record this check").click().run()
    assert len(setups_of(review.item_by_tag("WL-1", services).item.id, services)) == 2


def test_profile_and_units_stay_as_last_used_in_this_session(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1", profile="us construction")
    app = screen(services, "setup", WORKER, check="swing")
    assert next(s for s in app.selectbox if s.label == "Whose figures apply").value == "US: construction"
    assert choice(app, "Units").value == "ft, lb, lbf", "what most of the gear is registered under"
    choice(app, "Units").set_value("m, kg, kN").run()
    button(app, "Throw it away").click().run()
    app.query_params["check"] = "anchor"
    app.run()
    assert choice(app, "Units").value == "m, kg, kN"


def test_without_a_name_the_answer_is_shown_but_not_recorded(tmp_path: Path) -> None:
    app = screen(site(tmp_path, "WL-1"), "setup", check="swing")
    assert "ASK A COMPETENT PERSON" in answered(app)
    assert "Who are you?" in words(app)
    assert not [b for b in app.button if b.label == "Record this check"]


@pytest.mark.parametrize("address", [{"record": "f" * 32}, {"record": "../etc"}, {"check": "juggling"}, {"draft": "x"}])
def test_an_address_from_a_stranger_is_answered_in_words(tmp_path: Path, address: dict[str, str]) -> None:
    app = screen(site(tmp_path, "WL-1"), "setup", WORKER, **address)
    assert not app.exception
    assert app.title or app.error


def test_words_from_people_stay_words(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    app = opened(services, "swing")
    answered(app)
    nasty = "**bold** <img src=x onerror=alert(1)>"
    next(t for t in app.text_input if t.label.startswith("Where")).set_value(nasty).run()
    use_item(app, "WL-1")
    assert recorded(app, services, "WL-1").place == nasty
    assert not app.exception
    assert "<img src=x" not in " ".join(e.proto.body for e in app.get("html"))
    assert "**bold**" not in " ".join(m.value for m in app.markdown)
