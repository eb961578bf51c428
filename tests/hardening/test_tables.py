"""Registers that would fill the memory or never end, and cells that a spreadsheet would run."""

import io
import itertools
import zipfile

import pytest
from openpyxl import Workbook, load_workbook

from inspect_core.domain.cells import guarded, unguarded
from inspect_core.domain.errors import BadInput
from inspect_core.reports.figure import Table as Figures
from inspect_core.usecases import import_table
from inspect_core.usecases.export_files import Workbook as Exported
from inspect_core.usecases.import_columns import Column
from inspect_core.usecases.import_table import read_table, write_csv
from inspect_core.usecases.import_values import DayOrder, value_of

SHEET = "xl/worksheets/sheet1.xml"


def _book() -> dict[str, bytes]:
    out, book = io.BytesIO(), Workbook()
    book.active.append(["tag", "kind"])
    book.active.append(["H-1", "harness"])
    book.save(out)
    with zipfile.ZipFile(out) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def _packed(parts: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return out.getvalue()


def _sheet(rows: bytes) -> bytes:
    namespace = b"http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    return b'<worksheet xmlns="%s"><sheetData>%s</sheetData></worksheet>' % (namespace, rows)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"tag,kind\n" + b"\n" * 1_000_000, "lines"),
        (b"tag,kind\n" + b"\r" * 1_000_000, "lines"),
        (b"tag,kind\n" + b",\n" * 30_000, "empty rows"),
        (b"tag,kind\n" + b"," * 2_000_000, "cells"),
        (b"tag,kind\n" + b"a" * 2_000_000, "field larger"),
        (b"tag,kind\n" + b"a,b\n" * 25_000, "rows"),
        (b"tag," * 100, "columns"),
    ],
)
def test_a_csv_file_without_end_is_refused(data: bytes, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        read_table(data, "register.csv")


@pytest.mark.parametrize("row", [b'<row r="1"/>', b"<row/>", b"<row><c/></row>"])
def test_rows_of_a_sheet_that_are_empty_end_somewhere(row: bytes, monkeypatch) -> None:
    monkeypatch.setattr(import_table, "MOST_EMPTY", 1_000)
    sheet = _sheet(row * 1_500)
    with pytest.raises(BadInput, match=r"empty rows|no rows"):
        read_table(_packed(_book() | {SHEET: sheet}), "a.xlsx")


def test_a_part_that_grows_beyond_measure_is_refused_before_it_is_read() -> None:
    for parts in ({SHEET: _sheet(b"<row>" + b"<c/>" * 600_000 + b"</row>")}, {"xl/extra.bin": bytes(40_000_000)}):
        with pytest.raises(BadInput, match="beyond measure"):
            read_table(_packed(_book() | parts), "a.xlsx")


LAUGHS = b'<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;">]>'
_ROOT = _sheet(b'<row><c t="inlineStr"><is><t>&amp;</t></is></c></row>')


@pytest.mark.parametrize(
    "sheet",
    [
        LAUGHS + _ROOT,
        b'<?xml version="1.0"?>' + b" " * 5_000 + LAUGHS + _ROOT,
        b'<?xml version="1.0"?>' + b" " * 50_000 + LAUGHS + _ROOT,
        b"<!--" + b"-." * 30_000 + b"-->" + LAUGHS + _ROOT,
        b"<!---->" * 30_000 + LAUGHS + _ROOT,
        b"\xef\xbb\xbf" + LAUGHS.lower() + _ROOT,
        (LAUGHS + _ROOT).decode().encode("utf-16"),
        (LAUGHS + _ROOT).decode().encode("utf-16-be"),
    ],
    ids=[
        "plain",
        "behind blanks",
        "behind many blanks",
        "behind a comment",
        "behind many",
        "small letters",
        "UTF-16",
        "no mark",
    ],
)
def test_a_part_that_declares_entities_is_refused_wherever_it_hides_them(sheet: bytes) -> None:
    with pytest.raises(BadInput, match="holds what no spreadsheet holds"):
        read_table(_packed(_book() | {SHEET: sheet}), "a.xlsx")
    renamed = _book() | {"xl/worksheets/sheet1.bin": sheet}
    with pytest.raises(BadInput, match="holds what no spreadsheet holds"):
        read_table(_packed(renamed), "a.xlsx")


def test_an_ordinary_workbook_is_read() -> None:
    assert read_table(_packed(_book()), "a.xlsx").rows[0].cells == ("H-1", "harness")


SIGNS = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20")


@pytest.mark.parametrize("sign", SIGNS)
@pytest.mark.parametrize("before", ["", "x;", "x\t", "x\n", "x\r\n", ";", "'", "''", "x;'", "\t", "\r"])
def test_no_exported_cell_begins_a_formula_in_any_country_and_an_import_gives_it_back(sign: str, before: str) -> None:
    cell = f"{before}{sign}1+1"
    written = guarded(cell)
    for mark in (";", "\t", "\r", "\n"):  # what a spreadsheet may take for the end of a cell
        for piece in written.split(mark):
            assert not piece.startswith(SIGNS), written
    assert unguarded(written) == cell
    assert Figures.of(("maker",), [(cell,)]).csv() == write_csv(("maker",), [(cell,)]).removeprefix(b"\xef\xbb\xbf")
    (line,) = read_table(write_csv(("tag", "note"), [("H-1", cell)]), "a.csv").rows
    assert line.cells[1] == cell


def test_guarding_is_undone_exactly_for_every_short_text() -> None:
    texts = ["".join(signs) for many in range(5) for signs in itertools.product("=;'a\n", repeat=many)]
    assert [unguarded(guarded(text)) for text in texts] == texts
    assert len({guarded(text) for text in texts}) == len(texts)


def test_a_workbook_holds_text_and_no_formula(tmp_path) -> None:
    class Flat:
        def rows(self, name, found):
            yield "items", found

    book = Exported(tmp_path / "a.xlsx", Flat())  # type: ignore[arg-type]
    book.add("items", {sign: f"{sign}1+1" for sign in SIGNS} | {"#": "#N/A", "link": "=HYPERLINK(1)"})
    book.close()
    (_, row) = load_workbook(tmp_path / "a.xlsx").active.iter_rows()
    assert [cell.data_type for cell in row if cell.value != "#N/A"] == ["s"] * (len(SIGNS) + 1)


@pytest.mark.parametrize("field", ["rope_range_mm", "webbing_width_mm", "price", "made_on", "fibre", "kind"])
@pytest.mark.parametrize("cell", ["1" * 1_900, "to" * 900, "1,111" * 300, "-" * 1_900])
def test_a_cell_too_long_to_be_a_value_is_refused_before_it_is_taken_apart(field: str, cell: str) -> None:
    with pytest.raises(BadInput, match=r"has \d+ characters"):
        value_of(Column(0, "x", field), cell, DayOrder.DAY_FIRST)


def test_blanks_inside_a_value_cost_nothing() -> None:
    assert value_of(Column(0, "x", "rope_range_mm"), "12" + " " * 1_900 + "- 14", DayOrder.ASK) == [12.0, 14.0]
    assert value_of(Column(0, "x", "standards"), "A" + " " * 1_900 + "; B", DayOrder.ASK) == "A, B"
    assert import_table.MOST_CELL == 2_000
