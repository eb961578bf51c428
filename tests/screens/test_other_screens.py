"""Every other screen over a real store: what it says, what it offers to whom, and that it never fails with a trace."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from inspect_core.domain.custody import Move, State
from inspect_core.domain.decision import Answer
from inspect_core.domain.errors import Conflict
from inspect_core.domain.gear import Component, Kind, components_of
from inspect_core.domain.geometry import Shape
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.domain.people import Person, Role
from inspect_core.usecases import review
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.inspect import RecordInspection, record
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.register import add_person
from inspect_core.usecases.services import Services
from tests.imaging.photos import encoded, woven
from tests.screens.app import COMPETENT, MANAGER, WORKER, button, choice, screen, site, words

NASTY = "**bold** <img src=x onerror=alert(1)> :red[x] $x$"


def inspected(services: Services, tag: str, number: int, type_: InspectionType, *, cut_mm: float | None = None):
    """A recorded inspection of that item, all sound, or with a measured cut on a photo."""
    item = review.item_by_tag(tag, services).item
    marks: tuple[Mark, ...] = ()
    photos: tuple[str, ...] = ()
    answers = dict.fromkeys(components_of(item.kind), Answer.SOUND)
    if cut_mm is not None:
        photo = take_photo(encoded(woven(640, 480)), services)
        photos = (photo.id,)
        reading = Reading("depth from edge", cut_mm, "mm", 0.4, "by hand, steel rule")
        shape = Shape.of("line", [[10, 10], [60, 40]])
        marks = (Mark("m1", photo.id, Component.WEBBING, Category.CUT, shape, (reading,), made_by=COMPETENT.id),)
        answers[Component.WEBBING] = Answer.DEFECT
    command = RecordInspection(
        f"{number:032x}", item.id, type_, COMPETENT.id, answers, marks, photos, note=NASTY if cut_mm else ""
    )
    return record(command, services).inspection


@pytest.fixture
def withdrawn(tmp_path: Path) -> Services:
    """WL-1 withdrawn for a cut, with its photo; WL-2 sound; WL-3 on hold."""
    services = site(tmp_path, "WL-1", "WL-2", "WL-3")
    inspected(services, "WL-1", 1, InspectionType.PERIODIC, cut_mm=4)
    inspected(services, "WL-2", 2, InspectionType.PERIODIC)
    held = review.item_by_tag("WL-3", services).item
    make_move(MakeMove("e" * 32, held.id, Move.HOLD, WORKER.id, NASTY), services)
    return services


def test_an_empty_store_opens_with_the_welcome_and_its_cautions(tmp_path: Path) -> None:
    app = screen(site(tmp_path), "today")
    said = words(app)
    assert "may be clipped on" in said and "competent person come first" in said
    assert button(app, "Look at the demo site")
    assert [link.proto.label for link in app.get("page_link")] == ["Start an empty site"]


def test_today_counts_and_lists_what_is_on_hold(withdrawn: Services) -> None:
    app = screen(withdrawn, "today", WORKER)
    said = words(app)
    assert not app.exception
    assert "1 in service" in said and "1 on hold" in said and "1 withdrawn" in said
    assert any("WL\\-3" in link.proto.label for link in app.get("page_link"))


def test_today_takes_a_tag_to_the_check(withdrawn: Services) -> None:
    app = screen(withdrawn, "today", WORKER)
    app.text_input[0].set_value("wl-2")
    button(app, "Check before use").click().run()
    assert not app.exception
    assert "1 of 4: What happened" in words(app)


def test_gear_overdue_for_its_inspection_in_detail_is_never_shown_as_usable(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-9", first_used_on="2020-01-01")
    for name in ("item", "today"):
        app = screen(services, name, WORKER, tag="WL-9")
        assert "May be used" not in words(app), name
    assert "Inspection overdue: do not use" in words(screen(services, "item", WORKER, tag="WL-9"))


def test_the_history_shows_the_marked_photo_the_source_and_the_reading(withdrawn: Services) -> None:
    app = screen(withdrawn, "item", WORKER, tag="WL-1")
    said = words(app)
    assert not app.exception
    assert "Withdrawn: never use again" in said
    assert "HSE INDG367" in said
    assert "depth from edge: 4.00 ± 0.40 mm (k = 2), by hand, steel rule" in said
    assert len(app.get("image")) == 2, "the photo with its mark, and the mark from near"


def test_words_from_people_stay_words(withdrawn: Services) -> None:
    """A note full of signs is neither HTML nor Markdown on any screen that shows it."""
    for name, query in (("item", {"tag": "WL-1"}), ("item", {"tag": "WL-3"}), ("check", {"tag": "WL-3"})):
        app = screen(withdrawn, name, WORKER, **query)
        shown = [e.value for kind in ("markdown", "caption") for e in app.get(kind) if "onerror" in e.value]
        assert shown, name
        assert all("\\<img" in text and "\\*\\*bold" in text and "\\$x" in text for text in shown)
        assert not any("onerror" in e.proto.body for e in app.get("html"))


def test_a_long_life_is_shown_twenty_at_a_time(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    for number in range(1, 31):
        inspected(services, "WL-1", number, InspectionType.PERIODIC)
    app = screen(services, "item", WORKER, tag="WL-1")
    assert "30 inspections and 0 photos in all. The newest 20 entries stand here." in words(app)
    assert words(app).count("Found fit") == 20
    button(app, "Show 20 more").click().run()
    said = words(app)
    assert "stand here" not in said and said.count("Found fit") == 30 and "Registered, Inspector 3" in said


def test_a_correction_names_the_inspection_it_corrects(withdrawn: Services) -> None:
    app = screen(withdrawn, "inspect", COMPETENT, tag="WL-2", corrects=f"{2:032x}")
    assert "This corrects the periodic inspection" in words(app)
    choice(app, "Has anything happened").set_value("Nothing happened").run()
    app.query_params["draft"] = app.query_params["draft"]
    button(app, "Next: Parts").click().run()
    for component in components_of(Kind.WEBBING_LANYARD):
        choice(app, component.value[0].upper() + component.value[1:]).set_value("Sound").run()
    button(app, "Next: Photos and marks").click().run()
    button(app, "Next: Answer").click().run()
    button(app, "Record it").click().run()
    assert not app.exception
    past = review.history(review.item_by_tag("WL-2", withdrawn).item.id, withdrawn)
    assert past.inspections[0].corrects == f"{2:032x}"
    assert "A later inspection corrects this one." in words(screen(withdrawn, "item", COMPETENT, tag="WL-2"))


def test_a_correction_of_nothing_is_refused_in_words(withdrawn: Services) -> None:
    app = screen(withdrawn, "inspect", COMPETENT, tag="WL-2", corrects="no-such-one")
    assert not app.exception
    assert "No inspection is called" in words(app)


def test_the_demo_site_is_filled_from_the_welcome_and_a_refusal_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    services = site(tmp_path)
    seen: list[str] = []

    def refuses(given: Services, *, progress) -> None:
        progress(1, 3, "day one")
        seen.append(given.place)
        raise Conflict("This store holds items already.", "Use an empty store.")

    monkeypatch.setattr("inspect_core.usecases.demo.fill_demo", refuses)
    app = screen(services, "today")
    button(app, "Look at the demo site").click().run()
    assert seen == [services.place]
    assert "This store holds items already." in words(app)


def test_what_nobody_foresaw_is_told_in_a_plain_sentence(withdrawn: Services, monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks(*_: object) -> None:
        raise RuntimeError("secret inner words")

    monkeypatch.setattr("inspect_core.usecases.search.search", breaks)
    app = screen(withdrawn, "search", WORKER)
    assert not app.exception
    said = words(app)
    assert "This did not work" in said and "secret inner words" not in said
    assert "no reading proves strength" in said, "the cautions stay"


def test_an_answer_names_the_state_the_reason_and_the_next_step(withdrawn: Services) -> None:
    app = screen(withdrawn, "answer", WORKER, inspection=f"{1:032x}")
    said = words(app)
    assert "Withdrawn: never use again" in said and "HSE INDG367" in said
    assert "Damage used: 4.40" in said
    assert "It never comes back into service." in said
    assert {b.proto.label for b in app.get("download_button")} == {"Withdrawal tag (PDF)", "Certificate (PDF)"}


@pytest.mark.parametrize("wrong", ["", "zz", "f" * 32, "'; drop table items; --"])
def test_an_answer_that_is_not_there_is_told_in_words(withdrawn: Services, wrong: str) -> None:
    app = screen(withdrawn, "answer", WORKER, inspection=wrong)
    assert not app.exception
    assert "No inspection is" in words(app)


def test_a_worker_is_told_who_signs_an_inspection_in_detail(withdrawn: Services) -> None:
    app = screen(withdrawn, "inspect", WORKER, tag="WL-2")
    assert "signed by a competent person; you are worker" in words(app)
    assert list(app.get("button_group")) == []


def test_a_competent_person_whose_qualification_ended_cannot_inspect(withdrawn: Services) -> None:
    late = Person("d" * 32, "Inspector 9", Role.COMPETENT_PERSON, date(2020, 1, 1))
    add_person(late, withdrawn)
    app = screen(withdrawn, "inspect", late, tag="WL-2")
    assert "qualification has run out" in words(app)


def test_a_judgement_by_hand_needs_its_reason_and_never_lifts_a_withdrawal(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    app = screen(services, "inspect", COMPETENT, tag="WL-1")
    choice(app, "Has anything happened").set_value("Nothing happened").run()
    button(app, "Next: Parts").click().run()
    for component in components_of(Kind.WEBBING_LANYARD):
        choice(app, component.value[0].upper() + component.value[1:]).set_value("Sound").run()
    button(app, "Next: Photos and marks").click().run()
    button(app, "Next: Answer").click().run()
    choice(app, "Your own judgement").set_value("Withdraw").run()
    button(app, "Record it").click().run()
    assert "A decision by hand needs its reason." in words(app)
    next(a for a in app.text_area if a.label.startswith("Why")).set_value("The maker has called this model back.").run()
    button(app, "Record it").click().run()
    assert not app.exception
    assert review.item_by_tag("WL-1", services).standing.state is State.WITHDRAWN


def test_release_is_offered_to_a_competent_person_after_a_good_inspection(withdrawn: Services) -> None:
    inspected(withdrawn, "WL-3", 7, InspectionType.PERIODIC)
    worker = screen(withdrawn, "answer", WORKER, inspection=f"{7:032x}")
    assert not any(b.label == "Release from hold" for b in worker.button)
    app = screen(withdrawn, "answer", COMPETENT, inspection=f"{7:032x}")
    assert "still on hold" in words(app)
    next(t for t in app.text_input if t.label == "Reason").set_value("Seen in detail and sound.")
    button(app, "Release from hold").click().run()
    assert review.item_by_tag("WL-3", withdrawn).standing.state is State.IN_SERVICE


def test_a_hold_without_a_reason_is_refused_in_words(withdrawn: Services) -> None:
    app = screen(withdrawn, "item", WORKER, tag="WL-2")
    button(app, "Put on hold").click().run()
    assert "A move needs its reason." in words(app)
    assert review.item_by_tag("WL-2", withdrawn).standing.state is State.IN_SERVICE


def test_search_finds_by_words_and_filters(withdrawn: Services) -> None:
    app = screen(withdrawn, "search", WORKER)
    app.text_input[0].set_value("cut edge").run()
    labels = " ".join(link.proto.label for link in app.get("page_link"))
    assert "WL\\-1" in labels and "WL\\-2" not in labels
    app.text_input[0].set_value("no such word at all").run()
    assert "Nothing fits." in words(app)


def test_trends_show_counts_the_interval_and_the_caution_for_few(withdrawn: Services) -> None:
    app = screen(withdrawn, "trends", MANAGER)
    said = words(app)
    assert not app.exception
    assert "1 withdrawal of 3 items" in said and "So few items make wide intervals" in said
    table = app.table[0].value
    assert list(table.index) == ["cut"]
    assert table.loc["cut", "Items"] == "1 of 1"
    # Wilson's interval for 1 of 1 at 95 %: 1 / (1 + z²) = 0.2065 to 1, z = 1.96.
    assert table.loc["cut", "95 % interval"] == "21% to 100%"


def test_rules_show_source_basis_and_place(withdrawn: Services) -> None:
    app = screen(withdrawn, "rules", WORKER)
    app.text_input[0].set_value("INDG367").run()
    said = words(app)
    assert "Source: HSE INDG367" in said and "Basis: published." in said and "Applies everywhere." in said
    assert withdrawn.rules.digest in said


def test_set_up_says_that_there_is_no_sign_in_and_takes_a_person(withdrawn: Services) -> None:
    app = screen(withdrawn, "people", MANAGER)
    assert "Nobody is signed in here." in words(app)
    next(t for t in app.text_input if t.label.startswith("Name")).set_value("Worker 8")
    button(app, "Add").click().run()
    assert "Worker 8" in {p.name for p in review.people(withdrawn)}


def test_every_screen_carries_the_cautions(withdrawn: Services) -> None:
    for name in ("today", "check", "inspect", "register", "search", "trends", "rules", "people", "item", "answer"):
        app = screen(withdrawn, name)
        assert not app.exception, name
        assert "no reading proves strength" in words(app), name
