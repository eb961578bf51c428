"""What is registered of gear while it is inspected: told and not asked, and answers that it contradicts taken back."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from inspect_core.usecases import drafts, review
from inspect_core.usecases.correct import CorrectItem, correct_item
from inspect_core.usecases.services import Services
from tests.screens.app import COMPETENT, WORKER, button, screen, site, words

DRAFT = "d" * 32


def unfinished(services: Services, **facts: object) -> None:
    item = review.item_by_tag("WL-1", services).item
    drafts.save_draft(DRAFT, item.id, {"type": "periodic", "facts": facts, "step": 0}, services)


def test_an_answer_that_the_register_contradicts_since_is_told_and_can_be_taken_back(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1", profile="canada ontario")
    unfinished(services, **{"absorber class": "E6", "mould": False})
    item = review.item_by_tag("WL-1", services).item
    after = replace(item, lasting_facts={"absorber class": "E4"})
    correct_item(CorrectItem(item, after, COMPETENT.id, "Read on the pack."), services)
    app = screen(services, "inspect", COMPETENT, tag="WL-1", draft=DRAFT)
    said = words(app)
    assert "The register says otherwise: absorber class." in said and "It says “E4”" in said
    button(app, "Take back this answer: absorber class").click().run()
    assert not app.exception
    assert "The register says otherwise" not in words(app)
    kept = drafts.find_draft(DRAFT, services)
    assert kept is not None and kept.body["facts"] == {"mould": False}


def test_a_registered_class_is_told_at_its_part_and_not_asked(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1", profile="canada ontario", lasting_facts={"absorber class": "other"})
    app = screen(services, "inspect", COMPETENT, tag="WL-1")
    button(app, "Next: Parts").click().run()
    assert "On the register: absorber class: other." in words(app)
    assert not [box for box in app.selectbox if "energy absorber's label" in box.label]


def test_an_unregistered_class_is_asked(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1", profile="canada ontario")
    app = screen(services, "inspect", COMPETENT, tag="WL-1")
    button(app, "Next: Parts").click().run()
    assert [box for box in app.selectbox if "energy absorber's label" in box.label]
    assert "On the register" not in words(app)


def test_nothing_is_told_where_the_register_says_the_same(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1", webbing_width_mm=45)
    unfinished(services, **{"webbing width": 45.0})
    assert "The register says otherwise" not in words(screen(services, "inspect", COMPETENT, tag="WL-1", draft=DRAFT))
    assert "1 of 4" in words(screen(services, "check", WORKER, tag="WL-1"))
