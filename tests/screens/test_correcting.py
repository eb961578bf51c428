"""The register corrected on an item's page, and what the page says of it afterwards."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from streamlit.testing.v1 import AppTest

from inspect_core.screens.state import widget
from inspect_core.usecases import review
from inspect_core.usecases.correct import corrections
from inspect_core.usecases.services import Services
from tests.screens.app import COMPETENT, WORKER, button, screen, site, words


def opened(services: Services) -> AppTest:
    """The item's page with the form unfolded."""
    app = screen(services, "item", COMPETENT, tag="LAN-1")
    assert "Correct it" not in [one.label for one in app.button]  # drawn only where somebody wants it
    app.session_state[widget("correct", "box", review.item_by_tag("LAN-1", services).item.id)] = True
    return app.run()


def test_a_competent_person_corrects_a_date_and_the_page_says_so_and_holds_the_gear(tmp_path: Path) -> None:
    services = site(tmp_path, "LAN-1", made_on="2024-05-01", serial="S-1")
    app = opened(services)
    next(box for box in app.date_input if box.label == "Made on").set_value(date(2005, 5, 1))
    next(box for box in app.text_input if box.label.startswith("Why")).set_value("read again on its label")
    button(app, "Correct it").click().run()
    assert not app.exception
    said = words(app)
    assert "The register is corrected, and LAN-1 is on hold." in said
    assert "by Inspector 3 because: read again on its label." in said
    assert "Made on: 2005-05-01 instead of 2024-05-01" in said
    assert "On hold: do not use" in said


def test_a_new_tag_opens_under_its_own_address_and_the_old_one_is_told(tmp_path: Path) -> None:
    services = site(tmp_path, "LAN-1")
    app = opened(services)
    next(box for box in app.text_input if box.label == "Tag (needed)").set_value("lan-2")
    next(box for box in app.text_input if box.label.startswith("Why")).set_value("label was mixed up")
    button(app, "Correct it").click().run()
    assert app.title[0].value == "LAN-2"
    assert "Carried the tag before: LAN-1" in words(app)
    assert screen(services, "item", COMPETENT, tag="LAN-1").title[0].value == "LAN-2"


def test_faults_are_named_at_once_and_nothing_is_entered(tmp_path: Path) -> None:
    services = site(tmp_path, "LAN-1", made_on="2024-05-01")
    app = opened(services)
    next(box for box in app.text_input if box.label.startswith("Webbing width")).set_value("wide")
    next(box for box in app.text_input if box.label == "Tag (needed)").set_value("?")
    button(app, "Correct it").click().run()
    assert "2 fields to mend" in words(app)
    item = review.item_by_tag("LAN-1", services).item
    assert corrections(item.id, services) == ()


def test_a_worker_is_told_who_corrects(tmp_path: Path) -> None:
    app = screen(site(tmp_path, "LAN-1"), "item", WORKER, tag="LAN-1")
    assert "Wrong on the register?" in words(app)
    assert "Correct it" not in [one.label for one in app.button]
