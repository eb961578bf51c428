"""What the scripts of the marking surface say is among the phrases that can be told in another language."""

from __future__ import annotations

import re

import pytest

from inspect_core.languages import ENGLISH, language
from inspect_core.screens.marking import assets
from inspect_core.screens.marking.phrases import PHRASES, told

#: A text that begins like a sentence and has more than one word; code, classes and addresses do not.
SAID = re.compile(r'"([A-Z][a-z]+(?: [^"]+)+)"|`([A-Z][a-z]+(?: [^`]+)+)`')


def matches(text: str) -> bool:
    for phrase in PHRASES:
        parts = re.split(r"\{\w+\}", phrase)
        if re.fullmatch(".+?".join(map(re.escape, parts)), text, re.DOTALL):
            return True
    return False


@pytest.mark.parametrize("file", assets.SCRIPT_FILES)
def test_every_sentence_of_a_script_is_among_the_phrases(file: str) -> None:
    lines = [line for line in assets.read_text(file).splitlines() if not line.lstrip().startswith(("//", "*", "/*"))]
    said = [
        plain or re.sub(r"\$\{(?:[^{}]|\{[^{}]*\})*\}", "x", filled)
        for line in lines
        for plain, filled in SAID.findall(line)
    ]
    assert [
        text
        for text in said
        if "${" not in text and not matches(text.strip()) and "Keys 1 to 7" not in text and "All keys" not in text
    ] == []


def test_the_source_language_needs_no_phrases() -> None:
    assert told(ENGLISH, ("webbing",)) == []


def test_every_phrase_is_french_and_names_of_parts_come_along() -> None:
    phrases = dict(told(language("fr"), ("webbing",)))
    assert phrases["webbing"] == "sangle"
    assert phrases["Mark {number} deleted. Undo brings it back."].startswith("Repère {number} supprimé")
    assert set(PHRASES) <= set(phrases)
