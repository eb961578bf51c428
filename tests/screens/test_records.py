"""The page of the record as a whole: what it says when all is well and when not, and who may take what away."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path

from inspect_core.domain.people import Person, Role
from inspect_core.usecases import take_away
from inspect_core.usecases.export import Export
from inspect_core.usecases.register import add_person
from tests.engines import stores
from tests.screens.app import COMPETENT, MANAGER, WORKER, button, screen, site, words


def labels(app) -> list[str]:
    return [one.proto.label for one in app.get("download_button")]


def test_a_manager_checks_everything_and_takes_it_away(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    app = screen(services, "records", MANAGER)
    assert labels(app) == ["Signed head (JSON)", "Export (ZIP)", "Archive (ZIP)"]
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
    assert labels(screen(services, "records", WORKER)) == ["Signed head (JSON)"]
    assert labels(screen(services, "records", COMPETENT)) == ["Signed head (JSON)", "Export (ZIP)"]
    administrator = add_person(Person("d" * 32, "Administrator 1", Role.ADMINISTRATOR), services)
    assert labels(screen(services, "records", administrator))[1:] == ["Export (ZIP)", "Archive (ZIP)"]


def test_nobody_at_work_is_asked_who_they_are_before_anything_leaves(tmp_path: Path) -> None:
    assert labels(screen(site(tmp_path, "WL-1"), "records")) == ["Signed head (JSON)"]


def test_a_site_with_too_many_photos_is_sent_to_the_command_line(tmp_path: Path, monkeypatch) -> None:
    services = site(tmp_path, "WL-1")
    monkeypatch.setattr(take_away, "MOST_BYTES", -1)
    app = screen(services, "records", MANAGER)
    assert labels(app) == ["Signed head (JSON)"]
    assert "too many for a download" in words(app)


def test_what_is_downloaded_is_what_the_commands_write(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    with zipfile.ZipFile(io.BytesIO(take_away.export_zip(Export(), MANAGER.id, services))) as packed:
        assert {"items.csv", "moves.csv", "people.csv"} <= set(packed.namelist())
    with zipfile.ZipFile(io.BytesIO(take_away.archive_zip(MANAGER.id, services))) as packed:
        assert "bartack-archive/bagit.txt" in packed.namelist()
    assert json.loads(take_away.head_file(services))["size"] == 4
