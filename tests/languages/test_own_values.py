"""What a person chose is shown as it was typed, though the French book holds the same words: a worker compares the tag
in the hand with the screen."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from inspect_core.bootstrap import open_services
from inspect_core.domain.custody import Move
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.people import Person, Role
from inspect_core.languages import OFFERED, language
from inspect_core.reports.item_labels import item_labels
from inspect_core.reports.withdrawal_tag import TagData, withdrawal_tag
from inspect_core.terminal import bartack
from inspect_core.usecases.certificate import certificate_pdf
from inspect_core.usecases.correct import CorrectItem, correct_item
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.due import due_work, sheets_of
from inspect_core.usecases.proof import check_certificate
from inspect_core.usecases.register import RegisterItem, add_person, parse_item, register
from inspect_core.usecases.services import Services
from tests.languages.outside import texts
from tests.screens.app import COMPETENT, screen
from tests.usecases.site import Site

FRENCH = language("fr")
MARK = Person("d" * 32, "Mark", Role.COMPETENT_PERSON)
#: Values that are words, numbers or days to a careless reader.
VALUES = ("12.5", "CAM", "2019-05-06", "7.50", "Cut 2.5 m", "do not use, rust", "cut, not hold", "Line")
#: What each of them becomes where it is told.
TOLD = re.compile(
    r"\b12,5\b|\bCame\b|\bCoupure\b|\bLigne\b|\b6 mai 2019|\b7 mai 2019|\b7,50\b|2,5 m\b|ne pas utiliser, |\brouille$|"
    r"Repère, personne|par Repère|: Repère$|\bContrôleur 3\b"
)
SCREENS = (
    *(("item", tag, view) for tag in ("12.5", "CAM") for view in ("everything", "custody")),
    *((name, tag, "") for name in ("check", "inspect") for tag in ("12.5", "CAM")),
    *((name, "", "") for name in ("today", "check", "search", "people", "kits", "trends", "setup", "register")),
)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(tmp_path_factory.mktemp("own"))


@pytest.fixture(scope="module")
def services(store: Path) -> Services:
    made = open_services(str(store))
    for person in (COMPETENT, MARK):
        add_person(person, made)
    fields = {"kind": "webbing lanyard", "site": "Cut", "maker": "Line", "model": "Cut 2.5 m"}
    for tag, serial in (("12.5", "2019-05-06"), ("CAM", "7.50")):
        given = {"tag": tag, "serial": serial, "note": "do not use, rust", **fields}
        register(RegisterItem(parse_item(given, made.new_id()), COMPETENT.id), made)
    with made.unit_of_work() as uow:
        first, second = uow.items.find_tag("12.5"), uow.items.find_tag("CAM")
    assert first is not None
    assert second is not None
    correct_item(CorrectItem(first, replace(first, serial="2019-05-07"), MARK.id, "cut, not hold"), made)
    make_move(MakeMove("f" * 32, second.id, Move.HOLD, MARK.id, "do not use, rust"), made)
    return made


def said(services: Services, name: str, code: str, **query: str) -> list[str]:
    app = screen(services, name, MARK, language=code, **query)
    assert not app.exception
    found = [text for text in texts(app) if "<style" not in text and "<script" not in text]
    found += [cell for table in app.dataframe for cell in table.value.to_csv(index=False).splitlines()]
    return [text.replace("\\", "") for text in found]


@pytest.mark.parametrize(("name", "tag", "view"), SCREENS)
def test_a_french_screen_shows_what_people_chose_as_it_was_typed(
    services: Services, name: str, tag: str, view: str
) -> None:
    query = {key: value for key, value in (("tag", tag), ("view", view)) if value}
    french, english = said(services, name, "fr", **query), said(services, name, "en", **query)
    assert [text for text in french if TOLD.search(text)] == []
    for value in VALUES:
        shown = re.compile(rf"(?<!\w){re.escape(value)}(?!\w)")
        assert sum(map(bool, map(shown.search, french))) >= sum(map(bool, map(shown.search, english))), value


def test_the_words_that_a_search_found_are_shown_as_they_stand(services: Services) -> None:
    assert [text for text in said(services, "search", "fr", q="cut") if TOLD.search(text)] == []


@pytest.mark.parametrize(
    "command", [("history", "12.5"), ("history", "CAM"), ("search", "cut"), ("due",), ("people",)], ids=" ".join
)
def test_the_french_command_line_shows_what_people_chose_as_it_was_typed(
    services: Services, store: Path, command: tuple[str, ...]
) -> None:
    def answer(code: str) -> str:
        ran = CliRunner().invoke(bartack, ["--store", str(store), "--language", code, *command])
        assert ran.exit_code == 0
        return ran.output

    french, english = answer("fr"), answer("en")
    assert french != english
    assert [line for line in french.splitlines() if TOLD.search(line)] == []
    for value in (*VALUES, "Mark"):
        assert french.count(value) >= english.count(value), value


def pages(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


def test_french_tags_labels_and_sheets_show_what_people_chose_as_it_was_typed(services: Services) -> None:
    with services.unit_of_work() as uow:
        item = uow.items.find_tag("CAM")
        assert item is not None
        standing = uow.items.standing(item.id)
    tag = pages(withdrawal_tag(TagData(item, standing, "Mark"), FRENCH))
    label = pages(item_labels([item], printed_on=services.today(), language=FRENCH))
    sheets = pages(sheets_of(due_work(services), services, FRENCH))
    for paper, values in (
        (tag, ("CAM", "7.50", "do not use, rust", "Mark")),
        (label, ("CAM", "7.50")),
        (sheets, ("CAM", "Cut")),
    ):
        assert [line for line in paper.splitlines() if TOLD.search(line)] == []
        assert [value for value in values if value not in paper] == []


@pytest.mark.parametrize("code", [one.code for one in OFFERED])
def test_a_certificate_with_such_values_passes_its_own_check(tmp_path: Path, code: str) -> None:
    site = Site(tmp_path)
    add_person(MARK, site.services)
    item = site.lanyard("CAM", site="Cut", maker="Line", model="Cut 2.5 m", serial="2019-05-06")
    note = "Not for edges, cut only. 12.5 m rope, no rust."
    site.record(site.check(item, "insp-1", type=InspectionType.PERIODIC, by=MARK.id, note=note))
    pdf = certificate_pdf("insp-1", site.services, language(code))
    assert check_certificate(pdf).faults == ()
    text = pages(pdf)
    assert [line for line in text.splitlines() if TOLD.search(line)] == []
    assert [value for value in ("CAM", "Cut 2.5 m", "2019-05-06", "Line", "Mark", note) if value not in text] == []


@pytest.mark.parametrize(
    "value", ["2019-05-06", "12.5 %", "0.5 ± 0.1", "12.5", "12,345", "Mark", "3.5 in", "x (3.5 mm)"]
)
@pytest.mark.parametrize("code", ["fr", "es"])
def test_what_is_marked_as_written_is_never_changed(code: str, value: str) -> None:
    spoken = language(code)
    assert spoken.tell(spoken.written(value)) == value
    assert spoken.cell("Serial", value) == value
    assert spoken.tell(f"Note: {spoken.written(value)}").endswith(value)


@pytest.mark.parametrize("text", ["1910.140", "12.5", "-3.25", "5.0.1"])
def test_a_number_of_unknown_meaning_is_left_alone(text: str) -> None:
    assert FRENCH.tell(text) == text
