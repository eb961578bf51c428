"""Check before use: nothing answered in advance, nothing lost, and the answer that the use cases give."""

from __future__ import annotations

from pathlib import Path

import pytest

from inspect_core.domain.custody import Move, State
from inspect_core.domain.gear import Kind, components_of, may_be_absent
from inspect_core.screens.words.choices import ANSWER_WORDS, answers_for
from inspect_core.usecases import drafts, review
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.inspect import ask
from tests.screens.app import COMPETENT, WORKER, button, choice, screen, site, words

LANYARD = components_of(Kind.WEBBING_LANYARD)


def through(app, *, unseen: str = "") -> None:
    """Goes from the first step to the last, every part sound but the one named."""
    choice(app, "Has anything happened").set_value("Nothing happened").run()
    button(app, "Next: Parts").click().run()
    for component in LANYARD:
        title = component.value[0].upper() + component.value[1:]
        choice(app, title).set_value("Not seen" if component.value == unseen else "Sound").run()
    button(app, "Next: Photos and marks").click().run()
    button(app, "Next: Answer").click().run()


def test_no_part_is_answered_in_advance(tmp_path: Path) -> None:
    app = screen(site(tmp_path, "WL-1"), "check", WORKER, tag="WL-1")
    button(app, "Next: Parts").click().run()
    rows = app.get("button_group")
    assert [row.value for row in rows] == [None] * len(LANYARD)
    assert "0 of 7 parts answered" in "".join(str(p.proto.text) for p in app.get("progress"))


def test_there_is_no_button_that_answers_for_all_parts(tmp_path: Path) -> None:
    app = screen(site(tmp_path, "WL-1"), "check", WORKER, tag="WL-1")
    button(app, "Next: Parts").click().run()
    assert {b.label for b in app.button} <= {
        "Worker 7",
        "Français",
        "Español (en parte)",
        "Back",
        "Next: Photos and marks",
        "Check another item",
    }


@pytest.mark.parametrize("kind", list(Kind))
def test_has_none_is_offered_only_where_a_sound_item_may_lack_the_part(tmp_path: Path, kind: Kind) -> None:
    app = screen(site(tmp_path, "A-1", kind=kind.value), "check", WORKER, tag="A-1")
    button(app, "Next: Parts").click().run()
    assert not app.exception
    for component in components_of(kind):
        row = choice(app, component.value[0].upper() + component.value[1:] + "  \n")
        assert list(row.options) == [ANSWER_WORDS[answer] for answer in answers_for(kind, component)]
        assert ("Has none" in row.options) == may_be_absent(kind, component)


def test_a_sound_lanyard_may_be_used_and_is_recorded_once(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    app = screen(services, "check", WORKER, tag="WL-1")
    through(app)
    assert "May be used" in words(app)
    button(app, "Record it").click().run()
    assert not app.exception
    row = review.item_by_tag("WL-1", services)
    (inspection,) = review.history(row.item.id, services).inspections
    assert row.standing.state is State.IN_SERVICE
    assert inspection.by == WORKER.id
    assert drafts.unfinished(services) == (), "the draft is gone once it is recorded"


def test_the_address_of_work_that_was_recorded_leads_to_its_answer(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    app = screen(services, "check", WORKER, tag="WL-1")
    through(app)
    button(app, "Record it").click().run()
    (inspection,) = review.history(review.item_by_tag("WL-1", services).item.id, services).inspections
    again = screen(services, "check", WORKER, tag="WL-1", draft=inspection.id)
    assert not again.exception
    assert "What was found" in words(again)
    assert list(again.get("button_group")) == []


def test_a_part_not_seen_holds_the_item(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    app = screen(services, "check", WORKER, tag="WL-1")
    through(app, unseen="stitching")
    assert "On hold: do not use" in words(app)
    button(app, "Record it").click().run()
    assert review.item_by_tag("WL-1", services).standing.state is State.ON_HOLD


def test_parts_left_open_are_named_before_recording(tmp_path: Path) -> None:
    app = screen(site(tmp_path, "WL-1"), "check", WORKER, tag="WL-1")
    button(app, "Next: Parts").click().run()
    choice(app, "Webbing").set_value("Sound").run()
    button(app, "Next: Photos and marks").click().run()
    button(app, "Next: Answer").click().run()
    said = words(app)
    assert "6 parts not answered" in said and "snap hook" in said
    assert "On hold: do not use" in said


def test_a_fall_holds_the_item_with_its_source(tmp_path: Path) -> None:
    app = screen(site(tmp_path, "WL-1"), "check", WORKER, tag="WL-1")
    choice(app, "Has anything happened").set_value("Something happened").run()
    choice(app, "What happened?").set_value(["It stopped a fall"]).run()
    button(app, "Next: Parts").click().run()
    for component in LANYARD:
        choice(app, component.value[0].upper() + component.value[1:]).set_value("Sound").run()
    button(app, "Next: Photos and marks").click().run()
    button(app, "Next: Answer").click().run()
    said = words(app)
    assert "On hold: do not use" in said and "Source: OSHA 29 CFR" in said


def test_the_work_comes_back_in_another_session_under_its_address(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    app = screen(services, "check", WORKER, tag="WL-1")
    button(app, "Next: Parts").click().run()
    choice(app, "Webbing").set_value("Defect").run()
    ((draft, item),) = drafts.unfinished(services)
    assert item.tag == "WL-1"
    again = screen(services, "check", WORKER, tag="WL-1", draft=draft.id)
    assert choice(again, "Webbing").value == "Defect"
    assert choice(again, "Label").value is None


def test_a_draft_of_another_item_in_the_address_is_not_taken_over(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1", "WL-2")
    app = screen(services, "check", WORKER, tag="WL-1")
    button(app, "Next: Parts").click().run()
    choice(app, "Webbing").set_value("Defect").run()
    ((draft, _),) = drafts.unfinished(services)
    other = screen(services, "check", WORKER, tag="WL-2", draft=draft.id)
    assert choice(other, "Has anything happened").value is None
    ((kept, item),) = drafts.unfinished(services)
    assert (kept.id, item.tag) == (draft.id, "WL-1")


@pytest.mark.parametrize("move", [Move.HOLD, Move.WITHDRAW])
def test_gear_that_must_not_be_used_says_so_at_once(tmp_path: Path, move: Move) -> None:
    services = site(tmp_path, "WL-1")
    item = review.item_by_tag("WL-1", services).item
    make_move(MakeMove("e" * 32, item.id, move, COMPETENT.id, "Seen in a puddle."), services)
    app = screen(services, "check", WORKER, tag="WL-1")
    said = words(app)
    assert "Do not clip on." in said and "Seen in a puddle." in said
    assert list(app.get("button_group")) == []


@pytest.mark.parametrize("tag", ["NO-SUCH", "<script>alert(1)</script>", "../../etc", "💥"])
def test_a_tag_from_a_stranger_is_refused_in_words(tmp_path: Path, tag: str) -> None:
    app = screen(site(tmp_path, "WL-1"), "check", WORKER, tag=tag)
    assert not app.exception
    assert len(app.error) == 1


def test_without_a_name_the_check_asks_who_it_is(tmp_path: Path) -> None:
    app = screen(site(tmp_path, "WL-1"), "check", tag="WL-1")
    assert "Who are you?" in words(app)
    assert list(app.get("button_group")) == []


def test_work_thrown_away_is_gone(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    app = screen(services, "check", WORKER, tag="WL-1")
    choice(app, "Has anything happened").set_value("Nothing happened").run()
    assert len(drafts.unfinished(services)) == 1
    button(app, "Yes, throw it away").click().run()
    assert drafts.unfinished(services) == ()
    assert choice(app, "Has anything happened").value is None


def test_what_the_screen_shows_is_what_the_use_case_says(tmp_path: Path) -> None:
    from inspect_core.screens.work.body import command, whole

    services = site(tmp_path, "WL-1")
    app = screen(services, "check", WORKER, tag="WL-1")
    through(app, unseen="label")
    ((draft, item),) = drafts.unfinished(services)
    decision = ask(command(whole(draft.body), draft.id, item, WORKER), services)
    for finding in decision.deciding:
        assert finding.reason in words(app)
