"""The command due: list, calendar, sheet and mail, and what it refuses."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from icalendar import Calendar

from tests.reports.reading import words


@pytest.fixture(autouse=True)
def gear_of_two_sites(run) -> None:
    late = (datetime.now(UTC) - timedelta(days=400)).date().isoformat()
    for tag, place in (("A-1", "North Quay"), ("A-2", "Mill Street")):
        told = ("--tag", tag, "--kind", "harness", "--site", place, "--first-used-on", late)
        assert run("register", *told, "--by", "Worker 7")[0] == 0
    assert run("register", "--tag", "A-3", "--kind", "harness", "--by", "Worker 7")[0] == 0


def test_the_list_counts_site_by_site(run) -> None:
    code, out, _ = run("due")
    assert code == 0 and "Overdue: 2" in out and "Mill Street" in out
    plain = json.loads(run("due", "--json")[1])
    assert [s["site"] for s in plain["sites"]] == ["Mill Street", "North Quay"]
    assert [r["tag"] for r in plain["overdue"]] == ["A-1", "A-2"]
    assert "Overdue: 1" in run("due", "--site", "Mill Street")[1]


def test_a_calendar_is_written_and_kept_up_to_date_by_the_next_commands(run, tmp_path: Path) -> None:
    file = tmp_path / "due.ics"
    assert run("due", "--calendar", str(file))[0] == 0
    assert len(Calendar.from_ical(file.read_bytes()).walk("VEVENT")) == 3
    assert run("due", "--calendar", str(file), "--keep", "--by", "Manager 1", "--role", "manager")[0] == 0
    assert run("register", "--tag", "A-4", "--kind", "harness", "--by", "Worker 7")[0] == 0
    assert len(Calendar.from_ical(file.read_bytes()).walk("VEVENT")) == 4
    assert run("due", "--calendar", "-", "--tasks", "--site", "North Quay")[0] == 0
    assert run("due", "--calendar", str(file), "--keep", "--by", "Worker 7")[0] == 1


def test_the_sheet_holds_each_site_on_a_page_of_its_own(run, tmp_path: Path) -> None:
    file = tmp_path / "due.pdf"
    assert run("due", "--sheet", str(file))[0] == 0
    told = words(file.read_bytes())
    assert "Due work: Mill Street" in told and "Due work: North Quay" in told and "page 1 of" in told


def test_wrong_use_is_told(run) -> None:
    assert run("due", "--mail")[0] == 2
    assert run("due", "--keep", "--by", "x")[0] == 2
    assert run("due", "--calendar", "-", "--keep", "--by", "x")[0] == 2
    assert run("due", "--forget")[0] == 2
    assert run("due", "--forget", "--calendar", "due.ics", "--by", "x")[0] == 2


def test_a_kept_calendar_is_forgotten_by_a_manager(run, tmp_path: Path) -> None:
    file = tmp_path / "due.ics"
    assert run("due", "--calendar", str(file), "--keep", "--by", "Manager 1", "--role", "manager")[0] == 0
    before = file.read_bytes()
    assert run("due", "--forget", "--by", "Worker 7")[0] == 1
    assert run("due", "--forget", "--by", "Manager 1")[1].startswith("The calendar file is rewritten no longer")
    assert run("register", "--tag", "A-9", "--kind", "harness", "--by", "Worker 7")[0] == 0
    assert file.read_bytes() == before
    code, _, err = run("due", "--mail", "--by", "Manager 1", "--role", "manager")
    assert code == 1 and "No mail server is set." in err


def test_mail_settings_that_are_wrong_stop_mail_alone(run, tmp_path: Path) -> None:
    (tmp_path / "store" / "settings.toml").write_text('[mail]\nhost = "x"\nsender = "nobody"\n', encoding="utf-8")
    assert run("due")[0] == 0
    code, _, err = run("due", "--mail", "--by", "Manager 1", "--role", "manager")
    assert code == 1 and "no mail address" in err
