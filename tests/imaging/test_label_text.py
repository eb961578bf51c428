"""From the text of labels to proposals: what is read, what is doubtful, and what is never proposed."""

from __future__ import annotations

from datetime import date

import pytest

from inspect_core.domain.label_text import LabelReading, TextLine
from inspect_core.imaging.label_dates import MONTH_ONLY, YEAR_ONLY, find_date
from inspect_core.imaging.label_standards import find_standards
from inspect_core.imaging.label_text import read_label


def line(text: str, row: float = 0, column: float = 0, height: float = 20, confidence: float = 0.98) -> TextLine:
    left, top, width = column, row * 30, len(text) * height * 0.55
    box = ((left, top), (left + width, top), (left + width, top + height), (left, top + height))
    return TextLine(text, box, confidence)


def read(*texts: str) -> LabelReading:
    return read_label([line(text, row) for row, text in enumerate(texts)])


def values(reading: LabelReading) -> dict[str, str]:
    found: dict[str, str] = {}
    for one in reading.proposals:
        found[one.field] = f"{found[one.field]}, {one.value}" if one.field in found else one.value
    return found


LABELS = [
    (
        ("HARNESS", "SN 84300", "MADE 2017-04", "LENGTH 1.8 m   1 USER", "POLYESTER  MAX 140 kg"),
        {"serial": "84300", "made_on": "2017-04-01"},
    ),
    (("HARNESS", "SN84300", "MADE2017-04", "LENGTH1.8m1USER"), {"serial": "84300", "made_on": "2017-04-01"}),
    (
        ("Maker A", "Model: A10-45", "Serial No.: 2023-0815", "Date of manufacture: 14.05.2023", "EN 361:2002 EN 358"),
        {"maker": "Maker A", "model": "A10-45", "serial": "2023-0815", "made_on": "2023-05-14",
         "standards": "EN 361, EN 358"},
    ),
    (
        ("Manufactured by: Works of the North", "REF. 77-120", "S/N: AB123456", "DOM: MAY 2022", "ANSI Z359.13-2013"),
        {"maker": "Works of the North", "model": "77-120", "serial": "AB123456", "made_on": "2022-05-01",
         "standards": "ANSI Z359.13"},
    ),
    (
        ("P/N 4410-XL", "LOT NO. L-2291", "MFG DATE 03/2021", "CSA Z259.11-17", "OSHA 1926"),
        {"model": "4410-XL", "lot": "L-2291", "made_on": "2021-03-01", "standards": "CSA Z259.11"},
    ),
    (("Batch: 5512", "MFD 2020/11/02", "EN 355", "EN 354"),
     {"lot": "5512", "made_on": "2020-11-02", "standards": "EN 355, EN 354"}),
    (("SERIAL NUMBER", "0047119"), {"serial": "0047119"}),
    (("M0DEL K79-954", "5ERIAL 77", "D1SCARD AFTER 2031-05"), {"model": "K79-954", "serial": "77", "made_on": ""}),
    (("MODEL: H44 -833", "S/N: AB12 - 9 / 7"), {"model": "H44-833", "serial": "AB12-9/7"}),
    (("EN362", "SNAP HOOK", "25 kN"), {"standards": "EN 362"}),
    (("SN 12", "MADE 2019"), {"serial": "12", "made_on": "2019-01-01"}),
    (("AS/NZS 1891.1", "ISO 10333-1"), {"standards": "AS/NZS 1891.1, ISO 10333-1"}),
    (("Style 300 Serial 99-1", ), {"model": "300", "serial": "99-1"}),
    (("no words that mean anything", "12 34"), {}),
    ((), {}),
]  # fmt: skip


@pytest.mark.parametrize(("texts", "expected"), LABELS, ids=lambda v: v[0][:20] if v and isinstance(v, tuple) else "")
def test_a_label_gives_these_values(texts: tuple[str, ...], expected: dict[str, str]) -> None:
    found = values(read(*texts))
    assert {name: found.get(name, "") for name in expected} == expected
    assert set(found) - set(expected) <= {"maker"}


@pytest.mark.parametrize(
    "text",
    [
        "EXP 2029-05", "Expiry date: 05/2031", "USE BY 2030-01", "Use before 2027", "SERVICE LIFE 10 YEARS",
        "Max. life 10 years from 2020-05", "DISCARD AFTER 2028-01-01", "Valid until 2026-02", "Shelf life: 5 y",
        "Next inspection 2025-06", "INSPECT BY 2024-04", "Date of first use: 2021-04-01", "Lifespan 12 years",
        "Remove from service 2030-12", "Retire 2029",
    ],
)  # fmt: skip
def test_what_bounds_the_life_of_the_gear_is_told_and_never_proposed(text: str) -> None:
    reading = read("SN 81", text, "MADE 2020-05-04")
    assert [told.line.text for told in reading.told] == [text]
    assert values(reading)["made_on"] == "2020-05-04"
    alone = read(text)
    assert alone.proposals == () and len(alone.told) == 1
    assert not {one.field for one in reading.proposals} & {"maker_max_age_years", "first_used_on"}


def test_an_expiry_below_the_word_for_the_date_made_is_not_taken_for_it() -> None:
    reading = read("MADE", "EXP 2029-05")
    assert "made_on" not in values(reading)


def test_a_value_is_found_to_the_right_of_its_word_and_below_it() -> None:
    beside = read_label([line("Serial No", 0), line("77120", 0, 250), line("Model", 1), line("A10", 1, 250)])
    assert values(beside) | {"maker": ""} == {"serial": "77120", "model": "A10", "maker": ""}
    below = read_label([line("Serial No", 0), line("77120", 1), line("Model", 3), line("A10", 4)])
    assert (values(below)["serial"], values(below)["model"]) == ("77120", "A10")
    assert len(next(p for p in below.proposals if p.field == "serial").lines) == 2


@pytest.mark.parametrize(
    ("serial", "signs"),
    [("AB12O4", "1, 2, B, O"), ("I0I", "0, I"), ("SN5S", "5, S"), ("A947", ""), ("94037", ""), ("X8", "8")],
)
def test_signs_that_look_alike_are_kept_as_read_and_told(serial: str, signs: str) -> None:
    (one,) = [p for p in read(f"S/N {serial}").proposals if p.field == "serial"]
    assert one.value == serial
    told = [doubt for doubt in one.doubts if doubt.startswith("Compare")]
    assert (f"Compare {signs} with the label" in told[0]) if signs else told == []


def test_a_line_that_the_reader_was_unsure_of_is_told() -> None:
    reading = read_label([line("SN 941", confidence=0.6)])
    assert reading.proposals[0].doubts == ("The reader was unsure of this line.",)
    assert reading.proposals[0].confidence == 0.6


def test_the_line_in_the_largest_letters_is_proposed_as_the_maker_with_that_doubt() -> None:
    reading = read_label([line("NORTHWORKS", 0, height=40), line("SN 41", 2), line("HARNESS", 3, height=30)])
    (maker,) = [p for p in reading.proposals if p.field == "maker"]
    assert maker.value == "NORTHWORKS" and "largest letters" in maker.doubts[0]
    kind = read_label([line("HARNESS", 0, height=40), line("Somebody", 2)])
    assert "maker" not in values(kind)


@pytest.mark.parametrize(
    ("text", "day", "doubt"),
    [
        ("2023-05-14", "2023-05-14", ""),
        ("20230514", "2023-05-14", ""),
        ("14/05/2023", "2023-05-14", ""),
        ("05/14/2023", "2023-05-14", ""),
        ("03/04/2023", None, "can be read as two days"),
        ("14 MAY 2023", "2023-05-14", ""),
        ("May 2023", "2023-05-01", MONTH_ONLY),
        ("2023 MAY", "2023-05-01", MONTH_ONLY),
        ("2023-05", "2023-05-01", MONTH_ONLY),
        ("5/2023", "2023-05-01", MONTH_ONLY),
        ("05/23", "2023-05-01", "this century"),
        ("2023", "2023-01-01", YEAR_ONLY),
        ("2O23-O5", "2023-05-01", "letters were taken for digits"),
        ("2023-13", None, "no day in the calendar"),
        ("2023—05", "2023-05-01", MONTH_ONLY),
        ("2023: 05", "2023-05-01", MONTH_ONLY),
        ("2023 05", None, "cannot be read for certain"),
        ("2023_10", None, "cannot be read for certain"),
        ("2023 -I", None, "cannot be read for certain"),
        ("2023-02-30", None, "no day in the calendar"),
    ],
)
def test_dates_of_labels_are_read_with_their_doubts(text: str, day: str | None, doubt: str) -> None:
    found = find_date(text)
    assert found is not None
    assert found.day == (date.fromisoformat(day) if day else None)
    assert doubt in " ".join(found.doubts) and bool(found.doubts) is bool(doubt)


@pytest.mark.parametrize("text", ["", "45", "140 kg", "1.8 m", "week 12", "SN 12345678"])
def test_what_is_no_date_gives_none(text: str) -> None:
    assert find_date(text) is None


def test_a_date_that_can_be_read_as_two_days_is_proposed_without_a_value() -> None:
    (made,) = [p for p in read("MADE 03/04/2023").proposals if p.field == "made_on"]
    assert made.value == "" and "enter it by hand" in made.doubts[0]


@pytest.mark.parametrize(
    ("text", "marks"),
    [
        ("EN 354", ["EN 354"]),
        ("EN354:2010", ["EN 354"]),
        ("EN 353-2:2002", ["EN 353-2"]),
        ("EN 795/B", ["EN 795"]),
        ("EN 361 EN 358 EN 813", ["EN 361", "EN 358", "EN 813"]),
        ("CE 0082 EN355", ["EN 355"]),
        ("ANSI Z359.1-2007", ["ANSI Z359.1"]),
        ("ANSI/ASSE Z359.13", ["ANSI Z359.13"]),
        ("Z359.14", ["ANSI Z359.14"]),
        ("ANSI/ASSE A10.32-2012", ["ANSI A10.32"]),
        ("CSA Z259.2.2-17", ["CSA Z259.2.2"]),
        ("CAN/CSA-Z259.10-18", ["CSA Z259.10"]),
        ("CSA Z259.12", ["CSA Z259.12"]),
        ("OPEN 354", []),
        ("LENGTH 1.8 m", []),
        ("GREEN 361", []),
    ],
)
def test_marks_of_standards_are_found(text: str, marks: list[str]) -> None:
    assert [mark for mark, _ in find_standards(text)] == marks


def test_a_letter_for_a_digit_in_a_standard_is_mended_and_told() -> None:
    ((mark, doubts),) = find_standards("EN 36I")
    assert mark == "EN 361" and "letters were taken for digits" in doubts[0]
    ((_, strange),) = find_standards("EN 999")
    assert "not known here" in strange[0]
