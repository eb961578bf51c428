"""The page of the record as a whole: what it says when all is well and when not, and who may take what away."""

from __future__ import annotations

import io
import json
import zipfile
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from inspect_core.bootstrap import SystemClock
from inspect_core.domain.jobs import JobFigures
from inspect_core.domain.people import Person, Role
from inspect_core.usecases import jobs, take_away
from inspect_core.usecases.export import Export
from inspect_core.usecases.job_asking import ask_archive
from inspect_core.usecases.register import add_person
from tests.engines import stores
from tests.screens.app import COMPETENT, MANAGER, WORKER, button, screen, site, words
from tests.usecases.patient import Patient
from tests.usecases.site import StandingClock

EXPORT, ARCHIVE = "Make the export (ZIP)", "Make the archive (ZIP)"


def labels(app) -> list[str]:
    return [one.proto.label for one in app.get("download_button")]


def made(app) -> list[str]:
    """What the page offers to make."""
    return [one.label for one in app.button if one.label in (EXPORT, ARCHIVE)]


def test_a_manager_checks_everything_and_takes_it_away(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    app = screen(services, "records", MANAGER)
    assert labels(app) == ["Signed head (JSON)"] and made(app) == [EXPORT, ARCHIVE]
    button(app, "Check everything").click().run()
    assert "Nothing was changed." in words(app)
    assert not app.exception


def test_a_row_changed_by_hand_is_told_on_the_page(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    assert stores.changed(tmp_path, "UPDATE items SET serial = 'another'") == 1
    app = screen(services, "records", MANAGER)
    button(app, "Check everything").click().run()
    said = words(app)
    assert "1 thing is not as recorded." in said and "WL-1" in said and "serial differ" in said


def test_roles_are_offered_what_they_may_do(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    assert made(screen(services, "records", WORKER)) == []
    assert made(screen(services, "records", COMPETENT)) == [EXPORT]
    administrator = add_person(Person("d" * 32, "Administrator 1", Role.ADMINISTRATOR), services)
    assert made(screen(services, "records", administrator)) == [EXPORT, ARCHIVE]


def test_nobody_at_work_is_asked_who_they_are_before_anything_leaves(tmp_path: Path) -> None:
    app = screen(site(tmp_path, "WL-1"), "records")
    assert labels(app) == ["Signed head (JSON)"] and made(app) == []


def test_a_site_with_too_many_photos_is_sent_to_the_command_line(tmp_path: Path, monkeypatch) -> None:
    services = site(tmp_path, "WL-1")
    monkeypatch.setattr(take_away, "MOST_BYTES", -1)
    runner = Patient()
    app = screen(replace(services, jobs=runner), "records", MANAGER)
    button(app, ARCHIVE).click().run()
    runner.work()
    app.run()
    assert labels(app) == ["Signed head (JSON)"]
    assert "too many for a download" in words(app) and made(app) == [EXPORT, ARCHIVE]


def test_an_export_is_followed_left_found_again_and_saved(tmp_path: Path) -> None:
    runner = Patient()
    services = replace(site(tmp_path, "WL-1"), jobs=runner)
    app = screen(services, "records", MANAGER)
    button(app, EXPORT).click().run()
    assert "The export is being made." in words(app) and "You may leave this page." in words(app)
    assert made(app) == [ARCHIVE]
    elsewhere = screen(services, "records", COMPETENT)  # somebody else's page says nothing of it
    assert made(elsewhere) == [EXPORT] and "is being made" not in words(elsewhere)
    runner.work()
    later = screen(services, "records", MANAGER)  # a new session of the same person
    (_, saved) = labels(later)
    assert saved.startswith("Save the export of ") and made(later) == [EXPORT, ARCHIVE]
    assert not later.exception


def test_an_export_that_waits_can_be_stopped(tmp_path: Path) -> None:
    services = replace(site(tmp_path, "WL-1"), jobs=Patient())
    app = screen(services, "records", MANAGER)
    button(app, EXPORT).click().run()
    button(app, "Stop it").click().run()
    app.run()
    assert "The last one was stopped" in words(app) and made(app) == [EXPORT, ARCHIVE]


def test_a_job_that_nobody_takes_says_so(tmp_path: Path, monkeypatch) -> None:
    services = replace(site(tmp_path, "WL-1"), jobs=Patient())
    ask_archive(MANAGER.id, services)
    later = SystemClock().now() + timedelta(minutes=1)
    app = screen(replace(services, clock=StandingClock(later)), "records", MANAGER)
    assert "The archive is being made." in words(app) and "Nothing is there" not in words(app)  # this program does it
    told = JobFigures(waiting=1, running=0, failed=0, oldest=60, workers=0)
    monkeypatch.setattr(jobs, "figures", lambda services: told)
    assert "Nothing is there to do it at the moment." in words(app.run())
    monkeypatch.setattr(jobs, "figures", lambda services: replace(told, workers=1))
    assert "Nothing is there" not in words(app.run())


def test_what_is_downloaded_is_what_the_commands_write(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    with zipfile.ZipFile(io.BytesIO(take_away.export_zip(Export(), MANAGER.id, services))) as packed:
        assert {"items.csv", "moves.csv", "people.csv"} <= set(packed.namelist())
    with zipfile.ZipFile(io.BytesIO(take_away.archive_zip(MANAGER.id, services))) as packed:
        assert "bartack-archive/bagit.txt" in packed.namelist()
    assert json.loads(take_away.head_file(services))["size"] == 4
