"""Papers and calendars print what was typed and obey none of it."""

from __future__ import annotations

import io
import re

import pytest
from icalendar import Calendar
from pypdf import PdfReader

from inspect_core.usecases.certificate import certificate_pdf
from inspect_core.usecases.due_calendar import due_calendar
from inspect_core.usecases.export import Export, export
from inspect_core.usecases.import_table import read_table
from inspect_core.usecases.setup import setup_pdf
from inspect_core.usecases.trends_report import page_report
from inspect_core.usecases.trends_scope import Scope
from tests.hardening.hostile import COLOUR, ICON, PICTURE, TAG, hostile_site
from tests.usecases.site import Site


@pytest.fixture(scope="module")
def site(tmp_path_factory) -> Site:
    return hostile_site(tmp_path_factory.mktemp("hostile") / "store")


def _told(pdf: bytes) -> str:
    """The text of the pages without blanks. Fails where a page could act: fetch, open, run."""
    reader = PdfReader(io.BytesIO(pdf))
    for page in reader.pages:
        for note in page.get("/Annots") or []:
            assert not re.search(r"/URI|/JS|/JavaScript|/Launch|/GoToR|/SubmitForm", str(note.get_object())), note
    root = str(reader.trailer["/Root"].get_object())
    assert "/OpenAction" not in root and "/JavaScript" not in root and "/AA" not in root
    return "".join("".join(page.extract_text().split()) for page in reader.pages)


def _squeezed(text: str) -> str:
    return "".join(text.split())


def test_a_certificate_prints_every_sign_that_was_typed(site: Site) -> None:
    told = _told(certificate_pdf("cut-1", site.services))
    for typed in (PICTURE, TAG, COLOUR, ICON):
        assert _squeezed(typed) in told, typed


def test_a_set_up_sheet_and_a_trend_report_do_too(site: Site) -> None:
    assert _squeezed(PICTURE) in _told(setup_pdf("f" * 32, site.services))
    with site.services.unit_of_work() as uow:
        manager = uow.people.get(site.manager)
    assert _told(page_report(site.services, Scope(), manager))


def test_a_calendar_holds_what_was_typed_as_text_and_no_lines_of_its_own(site: Site) -> None:
    data = due_calendar(site.services, ahead_days=3650)
    entries = list(Calendar.from_ical(data).walk("VEVENT"))
    assert entries and all(re.match(r".*LAN-00\d", str(entry["SUMMARY"])) for entry in entries)
    assert {str(name) for entry in entries for name in entry} <= {
        *("UID", "DTSTAMP", "DTSTART", "DTEND", "DURATION", "SUMMARY", "DESCRIPTION", "LOCATION", "CATEGORIES"),
        *("TRANSP", "CLASS", "STATUS", "SEQUENCE", "LAST-MODIFIED", "CREATED"),
    }


@pytest.mark.parametrize("form", ["csv", "json", "annotations", "xlsx"])
def test_an_export_of_it_is_whole_and_a_register_of_it_comes_back(site: Site, form: str, tmp_path) -> None:
    made = export(tmp_path / "out", Export(form, photos=False), site.manager, site.services)
    assert made.counts["items"] == 3
    if form == "csv":
        rows = read_table((tmp_path / "out" / "items.csv").read_bytes(), "items.csv")
        column = rows.header.index("maker")
        assert {row.cells[column] for row in rows.rows} == {TAG}
        for path in (tmp_path / "out").glob("*.csv"):
            for line in path.read_text(encoding="utf-8").splitlines():
                assert not re.match(r"[=+@]", line), (path.name, line[:80])
