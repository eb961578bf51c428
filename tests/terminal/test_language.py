"""The command line answers in the reader's language; what programs read stays English."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from inspect_core.terminal import bartack
from tests.screens.app import site


def run(store: Path, *arguments: str, **environment: str) -> Result:
    return CliRunner().invoke(bartack, ["--store", str(store), *arguments], env=environment)


@pytest.mark.parametrize("how", ["option", "variable"])
def test_answers_are_french_where_asked_for(tmp_path: Path, how: str) -> None:
    site(tmp_path, "WL-1")
    if how == "option":
        result = run(tmp_path, "--language", "fr", "history", "WL-1")
    else:
        result = run(tmp_path, "history", "WL-1", BARTACK_LANGUAGE="fr")
    assert result.exit_code == 0
    assert "en service" in result.output


def test_without_asking_the_answer_is_english_whatever_the_system_speaks(tmp_path: Path) -> None:
    site(tmp_path, "WL-1")
    result = run(tmp_path, "history", "WL-1", LANG="fr_FR.UTF-8")
    assert "in service" in result.output


def test_json_is_english_in_every_language(tmp_path: Path) -> None:
    site(tmp_path, "WL-1")
    english = run(tmp_path, "history", "WL-1", "--json")
    french = run(tmp_path, "--language", "fr", "history", "WL-1", "--json")
    assert json.loads(french.output) == json.loads(english.output)
