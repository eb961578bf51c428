"""The screens while something fails: they say what happened, keep what was entered, and go on without a restart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from inspect_core.domain.gear import Kind, components_of
from inspect_core.usecases import drafts, review
from inspect_core.usecases.services import Services
from inspect_core.usecases.verify import verify
from tests.engines.full_disk import small_disk
from tests.engines.yard import Servers
from tests.screens.app import COMPETENT, WORKER, button, choice, screen, site, words
from tests.usecases.site import picture

pytestmark = pytest.mark.engine

PARTS = [component.value.capitalize() for component in components_of(Kind.WEBBING_LANYARD)]


@dataclass
class Fault:
    """`begin` and `end` bring it about and mend it; `said` is what the screen says meanwhile."""

    services: Services
    begin: Any
    end: Any
    said: str


def of_database(servers: Servers) -> Fault:
    services = site(servers.address, "WL-1")  # type: ignore[arg-type]
    return Fault(services, servers.database.kill, servers.database.start, "The database server does not answer")


def of_line(servers: Servers) -> Fault:
    services = site(servers.address, "WL-1")  # type: ignore[arg-type]
    return Fault(services, servers.line.cut, servers.line.mend, "The database server does not answer")


@pytest.fixture(params=["database", "line", "disk"])
def fault(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Fault]:
    if request.param == "disk":
        with small_disk(tmp_path / "disk", 32) as disk:
            services = site(disk.folder / "store", "WL-1")
            made = Fault(services, lambda: disk.fill(), disk.clear, "The disk is full, so nothing was saved.")
            yield made
            disk.clear()
            services.close()
        return
    servers = request.getfixturevalue("servers")
    made = (of_database if request.param == "database" else of_line)(servers)
    yield made
    made.services.close()


def test_a_check_goes_through_a_fault_at_any_step(fault: Fault) -> None:
    app = screen(fault.services, "check", WORKER, tag="WL-1")
    choice(app, "Has anything happened").set_value("Nothing happened").run()
    button(app, "Next: Parts").click().run()
    choice(app, PARTS[0]).set_value("Sound").run()
    fault.begin()
    choice(app, PARTS[1]).set_value("Sound").run()
    assert fault.said in words(app) and not app.exception
    fault.end()
    again(app)
    assert [choice(app, part).value for part in PARTS[:3]] == ["Sound", "Sound", None]
    for part in PARTS[2:]:
        choice(app, part).set_value("Sound").run()
    button(app, "Next: Photos and marks").click().run()
    button(app, "Next: Answer").click().run()
    assert "May be used" in words(app)
    fault.begin()
    button(app, "Record it").click().run()
    assert fault.said in words(app) and not app.exception
    fault.end()
    again(app)
    assert "May be used" in words(app)
    button(app, "Record it").click().run()
    assert not app.exception
    (inspection,) = review.history(review.item_by_tag("WL-1", fault.services).item.id, fault.services).inspections
    assert len(inspection.answers) == len(PARTS) and drafts.unfinished(fault.services) == ()
    assert verify(fault.services).faults == ()


def test_what_was_typed_into_a_form_is_there_after_a_fault_and_is_stored_once(fault: Fault) -> None:
    app = screen(fault.services, "register", COMPETENT)
    app.selectbox[0].set_value(Kind.WEBBING_LANYARD.value).run()
    typed = {"Tag (needed)": "WL-2", "Maker": "Maker A", "Serial number": "S-77"}
    for label, text in typed.items():
        box(app, label).set_value(text)
    app.text_area[0].set_value("Found in the old van.")
    fault.begin()
    button(app, "Register").click().run()
    assert fault.said in words(app) and not app.exception
    again(app)  # nobody waits for just one moment
    fault.end()
    again(app)
    assert {label: box(app, label).value for label in typed} == typed
    assert app.text_area[0].value == "Found in the old van."
    button(app, "Register").click().run()
    assert not app.exception
    item = review.item_by_tag("WL-2", fault.services).item
    assert (item.maker, item.serial, item.note) == ("Maker A", "S-77", "Found in the old van.")


def again(app: Any) -> None:
    """What a person does: press “Try again” where the page could not be drawn, else just go on."""
    buttons = [one for one in app.button if one.label == "Try again"]
    (buttons[0].click() if buttons else app).run()
    assert not app.exception


def box(app: Any, label: str) -> Any:
    (found,) = [one for one in app.text_input if one.label == label]
    return found


@pytest.mark.parametrize("way", ["killed", "cut"])
def test_a_photo_that_the_bucket_could_not_take_waits_and_is_stored_later(servers: Servers, way: str) -> None:
    services = site(servers.address, "WL-1")  # type: ignore[arg-type]
    app = screen(services, "check", WORKER, tag="WL-1")
    choice(app, "Has anything happened").set_value("Nothing happened").run()
    button(app, "Next: Parts").click().run()
    for part in PARTS:
        choice(app, part).set_value("Sound").run()
    button(app, "Next: Photos and marks").click().run()
    servers.bucket.kill() if way == "killed" else servers.photo_line.cut()
    next(iter(app.get("file_uploader"))).set_value(("p.jpg", picture(1), "image/jpeg")).run()
    assert "The photo bucket could not do what was asked" in words(app) and "1 photo not stored yet" in words(app)
    assert not app.exception
    button(app, "Store the photo now").click().run()
    assert "1 photo not stored yet" in words(app)
    servers.bucket.start() if way == "killed" else servers.photo_line.mend()
    button(app, "Store the photo now").click().run()
    assert "not stored yet" not in words(app)
    button(app, "Next: Answer").click().run()
    button(app, "Record it").click().run()
    assert not app.exception
    (inspection,) = review.history(review.item_by_tag("WL-1", services).item.id, services).inspections
    (photo_id,) = inspection.photo_ids
    assert services.photos.original(photo_id) == picture(1)
    services.close()
