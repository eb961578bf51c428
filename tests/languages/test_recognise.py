"""A text of the program is recognised and told; what a person wrote is not touched."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from inspect_core.languages import ENGLISH, language
from inspect_core.languages.recognise import Book
from inspect_core.languages.templates import as_written

FRENCH = language("fr")
MESSAGES = {
    "harness": "harnais",
    "label": "étiquette",
    "on hold": "à l’écart",
    "Note": "Remarque",
    "do not use": "ne pas utiliser",
    "When in doubt, do not use it.": "En cas de doute, ne pas l’utiliser.",
    "A photo shows no hidden damage.": "Une photo ne montre aucun dommage caché.",
    "Go on with {tag}, begun {when}": "Continuer {tag}, commencé le {when}",
    "{seen} is marked on the {part}.": "{seen} : repère sur « {part} ».",
    "{low} to {high}": "de {low} à {high}",
    "A cut": "Coupure",
}
COUNTED = {("{number} mark", "{number} marks"): ("{number} repère", "{number} repères")}


def book(messages: Mapping[str, str] = MESSAGES) -> Book:
    return Book(messages, COUNTED, lambda n: int(n > 1), lambda text: text, {":": "\u00a0:"})


@pytest.mark.parametrize(
    ("english", "told"),
    [
        ("harness", "harnais"),
        ("Harness", "Harnais"),  # a word that begins a line
        ("Go on with H-01, begun 2025-03-04", "Continuer H-01, commencé le 2025-03-04"),
        ("A cut is marked on the label.", "Coupure : repère sur « étiquette »."),  # places are told too
        ("0 marks", "0 repère"),
        ("1 mark", "1 repère"),
        ("3 marks", "3 repères"),
        ("A photo shows no hidden damage. When in doubt, do not use it.",) * 1
        + ("Une photo ne montre aucun dommage caché. En cas de doute, ne pas l’utiliser.",),
        ("**On hold: do not use**", "**À l’écart\u00a0: ne pas utiliser**"),
        ("- H-01, harness, on hold", "- H-01, harnais, à l’écart"),
        ("20 to 40", "de 20 à 40"),
        ("harness Maker A A10", "harnais Maker A A10"),
    ],
)
def test_what_the_program_says_is_told(english: str, told: str) -> None:
    assert book().tell(english) == told


@pytest.mark.parametrize(
    "words",
    [
        "Went back to the van, found it wet",  # “to” alone recognises nothing
        "Worker 7",  # a person's code that begins with a role
        "https://example.org/label",
        "",
        "…",
    ],
)
def test_what_the_book_does_not_hold_stays_as_it_is(words: str) -> None:
    assert book().tell(words) == words


def test_what_a_person_wrote_is_left_alone_even_where_the_book_holds_the_same_word() -> None:
    assert book().tell(f"Note: {as_written('label')}") == "Remarque\u00a0: label"
    assert book().tell(as_written("A cut is marked on the label.")) == "A cut is marked on the label."


def test_a_note_of_the_program_and_of_a_person_is_told_only_where_it_is_the_programs() -> None:
    note = "A cut is marked on the label. harness, on hold since lunch"
    one = book()
    assert one.tell(one.mixed(note)) == "Coupure : repère sur « étiquette ». harness, on hold since lunch"
    assert one.tell(note) != one.tell(one.mixed(note))


def test_escaped_words_of_people_stay_escaped() -> None:
    from inspect_core.screens.frame import plain

    told = book().tell(f"**{plain('<b>*x*</b> [a](b)')}** {plain('on hold')}")
    assert told.endswith("** à l’écart")
    assert all(f"\\{sign}" in told for sign in "<*[]")


def test_markup_keeps_its_tags_and_tells_words_and_labels() -> None:
    html = '<span aria-label="harness" style="color:red">on hold &amp; <b>H&lt;1</b></span>'
    told = book().tell_html(html)
    assert told == '<span aria-label="harnais" style="color:red">on hold &amp; <b>H&lt;1</b></span>'
    assert book().tell_html("<b>on hold</b>") == "<b>à l’écart</b>"


def test_every_french_template_recognises_the_sentence_that_it_makes() -> None:
    """A property over the whole catalogue: a template filled with identifiers is found again, or by one that says as
    much of it in fixed words."""
    import re

    from inspect_core.languages.catalogue import read
    from inspect_core.languages.language import CATALOGUES

    held = read(CATALOGUES / "fr.po")
    missed = []
    for message in held.messages:
        names = list(dict.fromkeys(re.findall(r"\{(\w+)\}", message)))
        fixed = re.sub(r"\{\w+\}", "", message)
        if not names or len(re.findall(r"[A-Za-z]", fixed)) < 9 or "{{" in message or "}{" in message:
            continue
        values = {name: f"Q{place}7" for place, name in enumerate(names)}
        english = re.sub(r"\{(\w+)\}", lambda m, values=values: values[m[1]], message)
        told = FRENCH.tell(english)
        if (told == english and held.messages[message] != message) or not all(v in told for v in values.values()):
            missed.append(message)
    assert missed == []


def test_english_is_never_touched() -> None:
    for text in ("A cut is marked on the label.", "2025-03-04", "12.5 mm", as_written("x")):
        assert ENGLISH.tell(text) is text


@pytest.mark.parametrize(
    ("english", "told"),
    [
        # CLDR, French: decimal comma, day month year with the month in words.
        ("12.5 mm", "12,5 mm"),
        ("3.20 ± 0.45 mm (k = 2)", "3,20 ± 0,45 mm (k = 2)"),
        ("2025-03-04", "4 mars 2025"),
        ("2025-03-04 14:05 UTC+01:00", "4 mars 2025, 14:05 UTC+01:00"),
        # Never a clause, a version, a file or an identifier.
        ("OSHA 29 CFR 1926.502", "OSHA 29 CFR 1926.502"),
        ("1.0.0", "1.0.0"),
        ("due-work-2025-03-04.pdf", "due-work-2025-03-04.pdf"),
        ("ASME B30.9, 9-5.9.5", "ASME B30.9, 9-5.9.5"),
    ],
)
def test_measured_numbers_and_days_are_written_as_the_language_writes_them(english: str, told: str) -> None:
    assert FRENCH.tell(english) == told


@pytest.mark.parametrize(
    ("asked", "code"),
    [("fr", "fr"), ("fr-CA", "fr"), ("es_MX.UTF-8", "es"), ("de", "en"), ("", "en"), (None, "en"), ("../fr", "en")],
)
def test_a_language_that_is_not_on_offer_is_english(asked: str | None, code: str) -> None:
    assert language(asked).code == code
