"""Sentences about safety are told whole: with every unit and number, and never half in English."""

from __future__ import annotations

import random
import re
from contextlib import suppress
from datetime import date

import pytest

from inspect_core import bootstrap
from inspect_core.deciding import decide
from inspect_core.domain.decision import Answer, Case, CaseMark
from inspect_core.domain.errors import BartackError
from inspect_core.domain.gear import Kind, components_of
from inspect_core.domain.marks import Category, Reading
from inspect_core.domain.measures import MEASURES
from inspect_core.languages import language
from inspect_core.languages.recognise import Book
from inspect_core.rigging.rig_case import rig_case
from tests.rigging.test_rig_case import EXAMPLES

FRENCH, SPANISH = language("fr"), language("es")
UNITS = [
    "mm",
    "mm²",
    "cm",
    "m",
    "kN",
    "N",
    "J",
    "kg",
    "in",
    "ft",
    "lb",
    "lbf",
    "px",
    "°",
    "°C",
    "°F",
    "%",
    "s",
    "ms",
    "Pa",
    "MPa",
    "min",
    "h",
]
PROFILES = ("common", "canada ontario", "us construction", "us general industry", "uk europe")
_ENGLISH = re.compile(
    r"\b(above|below|the|not|is|within|of|and|or|more|less|than|never|cannot|That|must|no|has|was|years|known)\b"
)
_NUMBER = re.compile(r"\d+(?:[.,]\d+)*")


def faults(english: str) -> list[str]:
    """English words left in a sentence as it is told in French, and numbers that it lost."""
    french = FRENCH.tell(english)
    told = [number.replace(",", ".") for number in _NUMBER.findall(french.replace("\u202f", ""))]
    said = (number for number in _NUMBER.findall(re.sub(r"\d{4}-\d\d-\d\d", "", english)))
    lost = [n for n in said if n.replace(",", ".") not in told and n.replace(",", "") not in told]
    return _ENGLISH.findall(re.sub(r"“[^”]*”|«[^»]*»", "", french)) + lost


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("spoken", [FRENCH, SPANISH], ids=lambda one: one.code)
def test_a_unit_is_never_taken_for_a_word(spoken, unit: str) -> None:  # type: ignore[no-untyped-def]
    for text in (f"3.5 {unit}", f"89 mm (3.5 {unit})", f"At least 89 mm (3.5 {unit}).", f"2 {unit}", f"-3.5 {unit}"):
        told = spoken.tell(text).replace("\u202f", " ")
        assert f" {unit}" in told, (text, told)
        assert "ajouté" not in told


def test_an_inch_stays_an_inch() -> None:
    assert FRENCH.tell("89 mm (3.5 in)") == "89 mm (3,5 in)"
    assert FRENCH.tell("2 in") == "2 in"


@pytest.mark.parametrize(
    ("english", "french", "spanish"),
    [
        # CLDR: French parts thousands with a narrow space, Spanish with a point from five figures on.
        ("12,345", "12\u202f345", "12.345"),
        ("1,234.50", "1\u202f234,50", "1.234,50"),
        ("5,000 lbf", "5\u202f000 lbf", "5.000 lbf"),
        ("12.5–16.0 mm", "12,5–16,0 mm", "12,5–16,0 mm"),
        ("8.007 kN", "8,007 kN", "8,007 kN"),
    ],
)
def test_a_comma_of_thousands_never_stands_beside_one_of_decimals(english: str, french: str, spanish: str) -> None:
    assert (FRENCH.tell(english), SPANISH.tell(english)) == (french, spanish)


def test_a_limit_in_thousands_is_told_inside_its_sentence() -> None:
    told = FRENCH.tell("Arrest force on the body in a harness at most 1,800 lbf. That is 8.007 kN (1800 lbf).")
    assert "1\u202f800 lbf" in told
    assert "8,007 kN" in told


def test_every_line_of_a_set_up_check_is_told_whole() -> None:
    found: dict[str, list[str]] = {}
    for case in EXAMPLES:
        for profile in PROFILES:
            lines = []
            with suppress(BartackError):  # an example that has no such profile
                lines = rig_case({**case, "profile": profile})["lines"]
            for line in lines:
                for key in ("reason", "remedy", "topic"):
                    if isinstance(text := line.get(key), str):
                        found[text] = faults(text)
    assert len(found) > 100
    assert {text: fault for text, fault in found.items() if fault} == {}


def test_the_reason_of_every_finding_is_told_whole() -> None:
    rules, drawn = bootstrap.load_rules(), random.Random(3)
    measures = list(MEASURES.values())
    found: dict[str, list[str]] = {}
    for _ in range(350):
        kind, profile = drawn.choice(list(Kind)), drawn.choice(rules.profiles).name
        marks = tuple(
            CaseMark(
                f"m{n}", drawn.choice(components_of(kind)), drawn.choice(list(Category)), _readings(drawn, measures)
            )
            for n in range(drawn.randrange(3))
        )
        facts = {fact.name: _stated(fact, drawn) for fact in drawn.sample(list(rules.facts), 6)}
        facts = {name: value for name, value in facts.items() if value is not None}
        answers = {part: drawn.choice(list(Answer)) for part in components_of(kind)}
        with suppress(BartackError):  # a case that is refused says so elsewhere
            decided = decide(Case(kind, profile, facts, answers, marks), rules, date(2026, 3, 2))
            found |= {one.reason: faults(one.reason) for one in decided.findings if one.reason not in found}
    assert len(found) > 200
    assert {text: fault for text, fault in found.items() if fault} == {}


def _readings(drawn: random.Random, measures: list) -> tuple[Reading, ...]:  # type: ignore[type-arg]
    picked = [drawn.choice(measures) for _ in range(drawn.randrange(3))]
    return tuple(
        Reading(one.name, drawn.choice([0.5, 1.0, 3.2, 9.9, 45.0]), str(one.unit), drawn.choice([0.1, 0.6]), "by hand")
        for one in picked
    )


def _stated(fact, drawn: random.Random):  # type: ignore[no-untyped-def]
    kind = str(getattr(fact.type, "value", fact.type))
    if "date" in kind:
        return date(drawn.randrange(2000, 2026), 3, 4)
    if "bool" in kind or "yes" in kind:
        return drawn.choice([True, False])
    if "number" in kind:
        return drawn.choice([1.0, 3.5, 12.25, 100.0, 95.5])
    words = getattr(fact, "words", None) or getattr(fact, "values", None)
    return drawn.choice(list(words)) if words else None


def test_half_a_verdict_is_not_told_at_all() -> None:
    """A book that knows the limit but not which side of it was found says nothing in its own words."""
    held = {"{seen} is {side} the limit.": "{seen} est {side} la limite.", "the rope": "la corde", "of": "sur"}
    book = Book(held, {}, lambda n: int(n > 1), lambda text: text)
    for text in ("95 mm is above the limit.", "the rope, which must not be used", "the limit of 95 mm"):
        assert book.tell(text) == text
