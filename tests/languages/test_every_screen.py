"""Every screen in a pseudo-language that puts brackets around what it recognises: no sentence stands outside."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from pypdf import PdfReader
from streamlit.testing.v1 import AppTest

from inspect_core.domain.custody import Move
from inspect_core.languages.language import PSEUDO
from inspect_core.screens.shell import SCREENS
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.services import Services
from tests.languages.outside import texts, words_outside
from tests.screens.app import COMPETENT, screen, site

#: Names of the site, of people and of languages; titles of standards and what is printed as it is.
KNOWN = {
    *(
        "North",
        "Quay",
        "Worker",
        "Inspector",
        "Manager",
        "English",
        "Fran",
        "ais",
        "Espa",
        "parte",
        "Bartack",
        "WL",
        "HA",
    ),
    *("PDF", "CSV", "XLSX", "ZIP", "PNG", "SVG", "ICS", "TOML", "JSON", "SHA-256", "UTC"),
    *("HSE", "INDG", "OSHA", "CFR", "CSA", "ASME", "Reg", "sec", "App", "Subpart", "reg", "list", "defect", "detailed"),
    *("bartack", "work", "verify", "wet", "van"),
}
#: An item is drawn below by its tag. An answer needs an inspection, and the rules' own texts are printed as they stand.
PLAIN = tuple(name for name, *_ in SCREENS if name not in ("item", "answer", "rules"))


@pytest.fixture(scope="module")
def services(tmp_path_factory: pytest.TempPathFactory) -> Services:
    made = site(Path(tmp_path_factory.mktemp("pseudo")), "WL-1", "WL-2")
    with made.unit_of_work() as uow:
        item = uow.items.find_tag("WL-2")
    assert item is not None
    make_move(MakeMove("f" * 32, item.id, Move.HOLD, by=COMPETENT.id, reason="wet van"), made)
    return made


def drawn(services: Services, name: str, **query: str) -> AppTest:
    app = screen(services, name, COMPETENT, language=PSEUDO.code, **query)
    assert not app.exception
    return app


def outside(app: AppTest) -> dict[str, list[str]]:
    said = (text for text in texts(app) if "pytest" not in text)  # the folder of the records
    return {text: words for text in said if (words := words_outside(text, known=KNOWN))}


@pytest.mark.parametrize("name", PLAIN)
def test_a_screen_says_nothing_that_the_book_does_not_hold(services: Services, name: str) -> None:
    assert outside(drawn(services, name)) == {}


@pytest.mark.parametrize("name", ["check", "inspect", "item"])
@pytest.mark.parametrize("tag", ["WL-1", "WL-2"])
def test_the_screen_of_an_item_says_nothing_that_the_book_does_not_hold(
    services: Services, name: str, tag: str
) -> None:
    assert outside(drawn(services, name, tag=tag)) == {}


def test_the_brackets_show_what_was_not_recognised() -> None:
    assert words_outside("‹Known ›H-1‹ sentence›", known=set()) == []
    assert words_outside("‹Known› and something else", known=set()) == ["and", "something", "else"]


def paper(data: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)


def test_the_papers_say_nothing_that_the_book_does_not_hold(services: Services) -> None:
    from inspect_core.reports.withdrawal_tag import TagData, withdrawal_tag
    from inspect_core.usecases.due import due_work, sheets_of

    with services.unit_of_work() as uow:
        item = uow.items.find_tag("WL-2")
        assert item is not None
        standing = uow.items.standing(item.id)
    tag = paper(withdrawal_tag(TagData(item, standing, "Inspector 3"), PSEUDO))
    sheets = paper(sheets_of(due_work(services), services, PSEUDO))
    assert [word for text in (tag, sheets) for word in words_outside(text, known=KNOWN)] == []
