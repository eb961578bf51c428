"""Registering: only the numbers that a kind's rules need, and every fault named at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from inspect_core.domain.gear import Kind
from inspect_core.screens.parts.item_fields import faults_in, numbers_of
from inspect_core.usecases import review
from tests.screens.app import WORKER, button, screen, site, words


@pytest.mark.parametrize(
    ("kind", "numbers"),
    [
        (Kind.HARNESS, ("webbing_width_mm",)),
        (Kind.WEBBING_LANYARD, ("webbing_width_mm", "packed_length_mm", "throat_mm")),
        (Kind.SYNTHETIC_ROPE_LANYARD, ("rope_diameter_mm", "packed_length_mm", "throat_mm")),
        (Kind.ROPE_GRAB, ()),
        (Kind.VERTICAL_LIFELINE, ("rope_diameter_mm", "throat_mm")),
        (Kind.CONNECTOR, ("throat_mm",)),
    ],
)
def test_a_kind_asks_for_the_numbers_of_its_own_parts(kind: Kind, numbers: tuple[str, ...]) -> None:
    assert numbers_of(kind) == numbers


def test_every_fault_is_named_at_once() -> None:
    fields = {"kind": "rope grab", "tag": "", "rope_range_mm": "14", "maker_max_age_years": "ten", "site": "North Quay"}
    problems = " ".join(fault.problem for fault in faults_in(fields))
    assert len(faults_in(fields)) == 3
    assert "tag is missing" in problems and "two numbers" in problems and "“ten” is not a number" in problems


def test_a_fault_between_two_fields_is_named_when_each_is_right_by_itself() -> None:
    fields = {"kind": "harness", "tag": "H-1", "made_on": "2024-05-01", "first_used_on": "2023-01-01"}
    (fault,) = faults_in(fields)
    assert "before the day of making" in fault.problem


def test_fields_without_a_fault_give_none() -> None:
    assert faults_in({"kind": "harness", "tag": "H-1", "webbing_width_mm": "44,5"}) == ()


def test_an_item_is_registered_and_led_on_to_its_label_and_first_check(tmp_path: Path) -> None:
    services = site(tmp_path)
    app = screen(services, "register", WORKER)
    app.selectbox[0].set_value("rope grab").run()
    next(t for t in app.text_input if t.label.startswith("Tag")).set_value("rg-1")
    next(t for t in app.text_input if t.label.startswith("Rope diameters")).set_value("14-16")
    button(app, "Register").click().run()
    assert not app.exception
    assert "RG-1 is registered." in words(app)
    assert review.item_by_tag("RG-1", services).item.rope_range_mm == (14.0, 16.0)
    assert [b.proto.label for b in app.get("download_button")] == ["QR label (PDF)"]
    assert "Check it now" in {link.proto.label for link in app.get("page_link")}


def test_a_tag_in_use_is_refused_and_what_was_typed_stays(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    app = screen(services, "register", WORKER)
    app.selectbox[0].set_value("harness").run()
    next(t for t in app.text_input if t.label.startswith("Tag")).set_value("WL-1")
    next(t for t in app.text_input if t.label == "Maker").set_value("Maker Q")
    button(app, "Register").click().run()
    assert "Tag WL-1 is in use" in words(app)
    assert next(t for t in app.text_input if t.label == "Maker").value == "Maker Q"
