"""The page of photo rolls keeps what was dropped in where it could not be taken, and goes on with what was."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from inspect_core.domain.errors import StoreFault
from inspect_core.screens import roll as page
from inspect_core.usecases import roll as rolls
from inspect_core.usecases.roll import begin_roll, sort_roll
from tests.screens.app import WORKER, button, screen, site, words
from tests.usecases.patient import Patient
from tests.usecases.roll_photos import roll


def test_the_box_keeps_its_photos_where_they_could_not_be_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    services = replace(site(tmp_path / "store", "WL-0001"), jobs=Patient())
    (photo, *_), _ = roll(("WL-0001",), 2)
    real = page.read_roll

    def full(*_: object, **__: object) -> None:
        raise StoreFault("The disk is full.", "Make room, then try again.")

    monkeypatch.setattr(page, "read_roll", full)
    app = screen(services, "roll", WORKER)
    app.file_uploader[0].upload(photo.name, photo.data, "image/jpeg").run()
    assert "The disk is full." in words(app) and not app.exception
    monkeypatch.setattr(page, "read_roll", real)
    app.run()  # whatever is pressed next: the photo is still in the box
    assert "The photos are being read." in words(app)


def test_a_roll_whose_reading_failed_goes_on_with_what_was_handed_in(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    runner = Patient()
    services = replace(site(tmp_path / "store", "WL-0001"), jobs=runner)
    taken, _ = roll(("WL-0001",), 2)
    one = begin_roll(WORKER.id, services)
    page.read_roll(one.id, taken, WORKER.id, services)

    def full(*_: object) -> bool:
        raise StoreFault("The disk is full.", "Make room, then try again.")

    with monkeypatch.context() as away:
        away.setattr(rolls, "read_photo", full)
        runner.work()
    app = screen(services, "roll", WORKER, roll=one.id)
    assert "The disk is full." in words(app)
    button(app, "Try again").click().run()
    assert "The photos are being read." in words(app)
    runner.work()
    app = screen(services, "roll", WORKER, roll=one.id)
    assert "2 photos read." in words(app) and len(sort_roll(one.id, services).photos) == 2
    assert not [b for b in app.button if b.label == "Try again"] and not app.exception
