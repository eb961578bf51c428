"""French is complete and fits; Spanish fits as far as it goes: `python -m inspect_core.languages` updates both."""

from __future__ import annotations

import re
from collections import Counter

import pytest
from babel.messages.catalog import Catalog

from inspect_core.languages.catalogue import read_source
from inspect_core.languages.gather import messages
from inspect_core.languages.language import CATALOGUES

PLACE = re.compile(r"\{\w+\}")


def catalogue(code: str) -> Catalog:
    return read_source(CATALOGUES / f"{code}.po", code)


def pairs(code: str) -> list[tuple[str, str]]:
    """Every text with its translation, the forms of counted ones one by one."""
    found: list[tuple[str, str]] = []
    for message in catalogue(code):
        if not message.id:
            continue
        if isinstance(message.id, tuple | list):
            found += zip(message.id, message.string, strict=True)
        else:
            found.append((message.id, str(message.string or "")))
    return found


@pytest.mark.parametrize("code", ["fr", "es"])
def test_the_catalogue_holds_every_sentence_of_the_program(code: str) -> None:
    held = {message.id if isinstance(message.id, str) else message.id[0] for message in catalogue(code)}
    assert sorted({message.text for message in messages()} - held) == [], "run: python -m inspect_core.languages"


def test_every_sentence_has_its_french() -> None:
    assert [text for text, told in pairs("fr") if not told.strip()] == []
    assert [message.id for message in catalogue("fr") if message.id and message.fuzzy] == []


@pytest.mark.parametrize("code", ["fr", "es"])
def test_a_translation_has_the_places_of_its_sentence(code: str) -> None:
    wrong = [
        (text, told)
        for text, told in pairs(code)
        if told and Counter(PLACE.findall(text)) != Counter(PLACE.findall(told))
    ]
    assert wrong == []


@pytest.mark.parametrize("code", ["fr", "es"])
def test_a_translation_keeps_figures_and_names_of_standards(code: str) -> None:
    """Numbers of clauses, limits and standards are never translated away; French writes the decimal comma."""
    number = re.compile(r"\d+(?:[.,]\d+)*")
    wrong = []
    for text, told in pairs(code):
        if told:
            want = Counter(n.replace(",", ".") for n in number.findall(PLACE.sub("", text)))
            have = Counter(n.replace(",", ".") for n in number.findall(PLACE.sub("", told)))
            if want - have:
                wrong.append((text, told))
    assert wrong == []


def test_french_is_set_as_french() -> None:
    wrong = [
        told
        for _, told in pairs("fr")
        if re.search(r"[^\u202f\s\d?!{(«]\?(?:\s|$)", told)
        or re.search(r"«(?!\u202f)", told)
        or re.search(r" [;!?](?:\s|$)", told)
    ]
    assert wrong == []


def test_how_far_spanish_goes(capsys: pytest.CaptureFixture[str]) -> None:
    told = [text for text, spanish in pairs("es") if spanish]
    print(f"Spanish: {len(told)} of {len(pairs('es'))} texts")
    assert len(told) > 800  # the worker's path: check, answer, item, parts and the trade's words
