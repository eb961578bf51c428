"""`bartack trends`: every question, one model, both sides of a change, and the report."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.reports.reading import words
from tests.usecases.site import Site

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture(autouse=True)
def two_lanyards(tmp_path: Path) -> None:
    """The store holds two lanyards, one of them cut."""
    site = Site(tmp_path / "store")
    site.record(site.cut(site.lanyard("LAN-001"), 30.0, inspection_id="one"))
    site.record(site.check(site.lanyard("LAN-002", maker="Maker B", model="B20"), "two"))


@pytest.mark.parametrize("question", ["why", "life", "rates", "where", "prevent", "agree", "spending", "coming"])
def test_every_question_is_answered_in_words_and_as_json(run: Run, question: str) -> None:
    code, out, _ = run("trends", "--question", question)
    assert code == 0 and "Method:" in out
    answer = json.loads(run("trends", "--question", question, "--json")[1])
    assert answer["question"] == question and answer["scope"]["model"] is None


def test_one_model_and_a_split_by_period(run: Run) -> None:
    answer = json.loads(run("trends", "--model", "Maker A A10", "--by", "year", "--json")[1])
    assert (answer["withdrawn"], [bar["label"] for bar in answer["bars"]]) == (1, ["2026"])
    assert json.loads(run("trends", "--model", "Maker B B20", "--json")[1])["withdrawn"] == 0


def test_a_change_with_nothing_on_one_side_is_refused_in_words(run: Run) -> None:
    code, _, err = run("trends", "--question", "rates", "--change", "2026-03-02")
    assert code == 1 and "Nothing was inspected on one side of the change." in err


def test_the_report_holds_every_question(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "trends.pdf"
    code, out, _ = run("trends", "--report", str(file), "--site", "North Quay")
    assert code == 0 and "every question for every kind, North Quay" in out
    text = words(file.read_bytes())
    for question in ("Why is gear withdrawn?", "How long does gear last?", "Do inspectors agree?", "What is coming?"):
        assert question in text
    assert "1 items were withdrawn." not in text and "1 item was withdrawn." in text
    told = json.loads(run("trends", "--report", str(file), "--json")[1])
    assert told == {"file": str(file), "bytes": file.stat().st_size}
