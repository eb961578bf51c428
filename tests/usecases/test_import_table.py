"""Reading a register's file: encodings, separators, limits, and archives that are not what they seem."""

from __future__ import annotations

import io
import zipfile

import pytest
from openpyxl import Workbook

from inspect_core.domain.cells import guarded, unguarded
from inspect_core.domain.errors import BadInput
from inspect_core.usecases import import_table
from inspect_core.usecases.import_columns import FIELDS, guess_columns
from inspect_core.usecases.import_table import read_table, write_csv
from inspect_core.usecases.import_values import DayOrder, day_of
from inspect_core.usecases.register import ITEM_FIELDS

TEXT = "tag,note\nH-1,Größe M – café\nH-2,plain\n"


def xlsx(rows, **sheets) -> bytes:
    book = Workbook()
    for row in rows:
        book.active.append(row)
    for name, more in sheets.items():
        for row in more:
            (book[name] if name in book.sheetnames else book.create_sheet(name)).append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_unicode_is_read_with_and_without_its_mark(encoding: str) -> None:
    table = read_table(TEXT.encode(encoding), "a.csv")
    assert table.header == ("tag", "note")
    assert table.rows[0].cells == ("H-1", "Größe M – café")


def test_an_old_code_page_is_read_and_said_to_be_one() -> None:
    table = read_table(TEXT.encode("cp1252"), "a.csv")
    assert table.rows[0].cells[1] == "Größe M – café"
    assert "Windows-1252" in table.notes[0]


@pytest.mark.parametrize("sign", [",", ";", "\t"])
def test_the_separator_is_found_even_where_the_others_stand_in_the_text(sign: str) -> None:
    data = f'tag{sign}kind{sign}note\nH-1{sign}harness{sign}"a, b; c, d; e\tf"\nH-2{sign}harness{sign}"x;y,z"\n'
    table = read_table(data.encode(), "a.csv")
    assert table.header == ("tag", "kind", "note")
    assert table.rows[0].cells[2] == "a, b; c, d; e\tf"


def test_rows_keep_the_number_that_a_spreadsheet_shows() -> None:
    table = read_table(b'tag,note\n\nH-1,"two\nlines"\n,\nH-2,\n', "a.csv")
    assert [(row.number, row.cells[0]) for row in table.rows] == [(3, "H-1"), (5, "H-2")]


def test_a_row_with_too_many_cells_is_bad_and_one_with_too_few_is_filled() -> None:
    table = read_table(b"tag,kind,note\nH-1,harness,a,b\nH-2,harness\n", "a.csv")
    assert "4 cells, the header 3" in table.rows[0].fault
    assert table.rows[1].cells == ("H-2", "harness", "") and table.rows[1].fault == ""


@pytest.mark.parametrize(
    ("data", "name", "words"),
    [
        (b"", "a.csv", "empty"),
        (b"tag,kind\n", "a.csv", "header and nothing else"),
        (b"\x00\x01\x02\x03", "a.csv", "no table of text"),
        (b'tag,note\nH-1,"never closed\n', "a.csv", "no proper CSV"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1rest", "a.xls", "old or a locked"),
        (b"tag,kind\nH-1,harness\n", "a.xlsx", "no XLSX"),
        (b"PK\x03\x04 not an archive", "a.xlsx", "damaged or locked"),
    ],
)
def test_what_is_no_register_is_refused_with_the_reason(data: bytes, name: str, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        read_table(data, name)


def test_limits_of_size_rows_and_columns_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = "\n".join(f"H-{n},harness" for n in range(import_table.MOST_ROWS))
    assert len(read_table(f"tag,kind\n{rows}\n".encode(), "a.csv").rows) == 20_000
    with pytest.raises(BadInput, match="more than 20000 rows"):
        read_table(f"tag,kind\n{rows}\nX-1,harness\n".encode(), "a.csv")
    with pytest.raises(BadInput, match="more than 80 columns"):
        read_table((",".join(f"c{n}" for n in range(81)) + "\nx\n").encode(), "a.csv")
    monkeypatch.setattr(import_table, "MOST_BYTES", 10)
    with pytest.raises(BadInput, match="the most is"):
        read_table(b"tag,kind\nH-1,harness\n", "a.csv")


def test_an_archive_that_unpacks_to_too_much_is_refused_before_it_is_unpacked() -> None:
    bomb = io.BytesIO()
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        block = b"0" * (1 << 20)
        with archive.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as part:
            for _ in range(121):
                part.write(block)
    assert len(bomb.getvalue()) < 1_000_000
    with pytest.raises(BadInput, match="Unpacked"):
        read_table(bomb.getvalue(), "a.xlsx")


def test_an_archive_that_is_no_spreadsheet_or_hides_entities_is_refused() -> None:
    plain = io.BytesIO()
    with zipfile.ZipFile(plain, "w") as archive:
        archive.writestr("photo.jpg", "x")
    with pytest.raises(BadInput, match="an archive, not a spreadsheet"):
        read_table(plain.getvalue(), "a.xlsx")
    tricky = io.BytesIO()
    with zipfile.ZipFile(tricky, "w") as archive:
        archive.writestr("[Content_Types].xml", '<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaa">]><Types/>')
    with pytest.raises(BadInput, match="what no spreadsheet holds"):
        read_table(tricky.getvalue(), "a.xlsx")


def test_a_damaged_spreadsheet_is_refused() -> None:
    data = xlsx([["tag"], ["H-1"]])
    with zipfile.ZipFile(io.BytesIO(data)) as whole:
        parts = {name: whole.read(name) for name in whole.namelist()}
    parts["xl/workbook.xml"] = b"<not closed"
    broken = io.BytesIO()
    with zipfile.ZipFile(broken, "w") as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    with pytest.raises(BadInput, match="damaged"):
        read_table(broken.getvalue(), "a.xlsx")


def test_the_first_of_several_sheets_is_read_and_that_is_said() -> None:
    table = read_table(xlsx([["tag"], ["H-1"]], Other=[["x"]]), "a.xlsx")
    assert table.header == ("tag",) and "first sheet" in table.notes[0]


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx"])
def test_a_cell_that_a_spreadsheet_would_run_is_written_behind_an_apostrophe(cell: str) -> None:
    assert guarded(cell) == f"'{cell}"
    assert unguarded(guarded(cell)) == cell
    assert guarded("plain") == "plain" and unguarded("'quoted") == "'quoted"
    assert f"'{cell}".encode() in write_csv(("a",), [(cell,)])


@pytest.mark.parametrize(
    ("text", "order", "day"),
    [
        ("2024-03-04", DayOrder.ASK, "2024-03-04"),
        ("2024/3/4", DayOrder.DAY_FIRST, "2024-03-04"),
        ("31/03/2024", DayOrder.ASK, "2024-03-31"),
        ("03/31/2024", DayOrder.ASK, "2024-03-31"),
        ("04.03.2024", DayOrder.DAY_FIRST, "2024-03-04"),
        ("03/03/2024", DayOrder.ASK, "2024-03-03"),
        ("4 March 2024", DayOrder.ASK, "2024-03-04"),
        ("Mar 4, 2024", DayOrder.ASK, "2024-03-04"),
        ("2024-03-04 00:00:00", DayOrder.ASK, "2024-03-04"),
    ],
)
def test_a_day_is_read_as_it_was_meant(text: str, order: DayOrder, day: str) -> None:
    assert day_of(text, order).isoformat() == day


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("04.03.2024", DayOrder.ASK),
        ("31/03/2024", DayOrder.MONTH_FIRST),
        ("2024-02-30", DayOrder.ASK),
        ("45000", DayOrder.ASK),
        ("03/2024", DayOrder.ASK),
        ("4/3/24", DayOrder.DAY_FIRST),
        ("4 Foo 2024", DayOrder.ASK),
    ],
)
def test_a_day_that_could_be_another_is_refused(text: str, order: DayOrder) -> None:
    with pytest.raises(BadInput):
        day_of(text, order)


def test_every_field_of_an_import_is_a_field_of_an_item_and_its_own_name_is_understood() -> None:
    assert {field.name for field in FIELDS} <= set(ITEM_FIELDS)
    names = [field.name for field in FIELDS]
    assert [column.field for column in guess_columns(names)] == names
    assert [column.field for column in guess_columns([field.words for field in FIELDS])] == names


def test_no_two_fields_share_a_heading() -> None:
    seen = [name for field in FIELDS for name in field.synonyms]
    assert len(seen) == len(set(seen))


def test_headings_that_are_empty_or_stand_twice_are_told_apart() -> None:
    columns = guess_columns(("tag", "", "note", "note"))
    assert [c.heading for c in columns] == ["tag", "(column 2)", "note (column 3)", "note (column 4)"]
    assert [c.field for c in columns] == ["tag", None, "note", None]
