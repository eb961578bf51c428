"""A register's file as rows of text: CSV or XLSX, with limits, and nothing taken on trust."""

from __future__ import annotations

import csv
import io
import re
import struct
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

from inspect_core.domain.cells import guarded, unguarded
from inspect_core.domain.errors import BadInput

MOST_BYTES = 20 * 1024 * 1024
MOST_ROWS = 20_000
MOST_COLUMNS = 80
MOST_CELL = 2_000
#: Rows without a word and cells behind the header's last are passed over, but not without end.
MOST_EMPTY = 20_000
MOST_CELLS = 1_000
#: An XLSX file is an archive; unpacked it may hold no more than this, and no part may grow beyond measure.
MOST_UNPACKED = 120 * 1024 * 1024
MOST_PARTS = 2_000
_FREE_TO_GROW, _MOST_GROWTH = 1024 * 1024, 60
#: Before its first element a part of an XLSX file holds a declaration and perhaps a comment.
_PROLOG = 16_384
_PROLOG_END = re.compile(rb"(?:(?><\?.*?\?>)|(?><!--.*?-->)|\s++)*+<[A-Za-z_:]", re.DOTALL)
_DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs"}


@dataclass(frozen=True, slots=True)
class Row:
    """One row with the number that a spreadsheet shows beside it; as many cells as the header, and `fault` where the
    row itself is wrong."""

    number: int
    cells: tuple[str, ...]
    fault: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A file's header and rows. `notes` say what a person should know about how it was read."""

    header: tuple[str, ...]
    rows: tuple[Row, ...]
    notes: tuple[str, ...] = ()


def read_table(data: bytes, name: str) -> Table:
    """The table in a CSV or XLSX file. Raises BadInput with what to do where it cannot be read or is too large."""
    if len(data) > MOST_BYTES:
        raise BadInput(
            f"The file has {len(data) / 2**20:.0f} MB; the most is {MOST_BYTES // 2**20} MB.",
            "Save only the table with the gear, or part it into several files.",
        )
    if not data.strip():
        raise BadInput("The file is empty.", "Choose the file that holds the register.")
    if data[:2] == b"PK":
        return _from_xlsx(data)
    if data[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
        raise BadInput("This is an old or a locked spreadsheet file.", "Save it without a password as XLSX, or as CSV.")
    if name.lower().endswith((".xlsx", ".xlsm", ".ods", ".xls")):
        raise BadInput("This is no XLSX file, whatever its name says.", "Save it again as XLSX, or as CSV.")
    return _from_csv(data)


def _from_csv(data: bytes) -> Table:
    text, notes = _decoded(data)
    if "\x00" in text:
        raise BadInput("This is no table of text.", "Save the register as CSV or XLSX.")
    lines = text.count("\n") + text.count("\r")
    if lines > 10 * MOST_ROWS:  # a cell may hold a few lines; each of a file's lines is looked at one by one
        raise BadInput(f"The file has {lines} lines; the most is {10 * MOST_ROWS}.", "Part it into several files.")
    delimiter = _delimiter(text)
    if delimiter != ",":
        notes.append(f"Columns are parted by {_DELIMITERS[delimiter]}.")
    old = csv.field_size_limit(1_000_000)
    try:
        records = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
        return _table(((n, record) for n, record in enumerate(records, 1)), notes)
    except csv.Error as fault:
        raise BadInput(
            f"The file is no proper CSV: {fault}.", "Look for a quotation mark that is not closed, and save it again."
        ) from None
    finally:
        csv.field_size_limit(old)


def _decoded(data: bytes) -> tuple[str, list[str]]:
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        try:
            return data.decode("utf-16"), ["The file is UTF-16 text."]
        except UnicodeDecodeError:
            raise BadInput("The file is damaged text.", "Save it again as CSV in UTF-8.") from None
    try:
        return data.decode("utf-8-sig"), []
    except UnicodeDecodeError:
        pass
    note = "The file is not UTF-8; it was read as Windows-1252. Check letters with accents in the preview."
    return data.decode("cp1252", errors="replace"), [note]


def _delimiter(text: str) -> str:
    """The sign that parts the header into most columns, and the next lines into as many."""
    lines = text[:200_000].splitlines()[:20]

    def fitness(sign: str) -> tuple[int, int]:
        try:
            counts = [len(record) for record in csv.reader(lines, delimiter=sign)]
        except csv.Error:
            return (0, 0)
        head = next((many for many in counts if many), 0)
        return (head, sum(many == head for many in counts))

    return max(_DELIMITERS, key=fitness)


def _from_xlsx(data: bytes) -> Table:
    _check_archive(data)
    from openpyxl import load_workbook  # loaded only where such a file is read

    try:
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
        sheets = [sheet for sheet in book.worksheets if sheet.sheet_state == "visible"] or book.worksheets
        if not sheets:
            raise BadInput("The file holds no sheet with cells.", "Save the sheet with the register as XLSX.")
        sheet = sheets[0]
        notes = [f"Read from the first sheet, “{sheet.title}”, of {len(sheets)}."] if len(sheets) > 1 else []
        found = sheet.iter_rows(values_only=True, max_row=MOST_ROWS + 2, max_col=MOST_COLUMNS + 1)
        return _table(((n, [_text(cell) for cell in row]) for n, row in enumerate(found, 1)), notes)
    except BadInput:
        raise
    except Exception as fault:  # the library raises whatever a damaged part makes it raise
        raise BadInput(
            "The XLSX file is damaged or holds something unreadable.", "Open it, save it again, or save it as CSV."
        ) from fault


def _check_archive(data: bytes) -> None:
    """Refuses what would fill the memory or is no spreadsheet, before anything is unpacked."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = archive.infolist()
            if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_UNPACKED:
                raise BadInput(
                    f"Unpacked, the file would have more than {MOST_UNPACKED // 2**20} MB or {MOST_PARTS} parts.",
                    "Save only the sheet with the gear.",
                )
            if "[Content_Types].xml" not in archive.namelist():
                raise BadInput("This is an archive, not a spreadsheet.", "Save the register as XLSX or CSV.")
            for part in parts:
                if part.file_size > max(_FREE_TO_GROW, _MOST_GROWTH * part.compress_size):
                    raise BadInput(
                        "A part of the file would grow beyond measure.", "Save only the sheet with the gear."
                    )
                with archive.open(part) as opened:
                    _check_prolog(opened.read(_PROLOG))
    except (zipfile.BadZipFile, OSError, ValueError, RuntimeError, EOFError, struct.error, zlib.error) as fault:
        raise BadInput("The XLSX file is damaged or locked.", "Save it again without a password.") from fault


def _check_prolog(beginning: bytes) -> None:
    """Refuses a part that declares a document type, with which entities come, or that hides whether it does: by an
    encoding in which the words look otherwise, or behind a very long beginning. Any part may be read as XML, whatever
    its name."""
    text = beginning.removeprefix(b"\xef\xbb\xbf").lstrip()
    if text[:2] in (b"\xff\xfe", b"\xfe\xff") or text[:4].count(0) >= 2:
        hidden = b"<" in text[:8]
    else:
        hidden = text.startswith(b"<") and (_PROLOG_END.match(text) is None or b"<!doctype" in text.lower())
    if hidden:
        raise BadInput("The file holds what no spreadsheet holds.", "Save it again as XLSX.")


def _text(value: Any) -> str:
    """A cell's value as text: whole numbers without a point, days as year-month-day."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time() else value.isoformat(sep=" ")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return str(value)


def _table(records: Iterable[tuple[int, Sequence[str]]], notes: list[str]) -> Table:
    """Header and rows: empty rows dropped, the limits kept."""
    found = _filled(records)
    first = next(found, None)
    if first is None:
        raise BadInput("The file holds no rows.", "Choose the file that holds the register.")
    header = _trimmed(first[1])
    if len(header) > MOST_COLUMNS:
        raise BadInput(f"The table has more than {MOST_COLUMNS} columns.", "Keep only the columns about the gear.")
    rows: list[Row] = []
    for number, cells in found:
        if len(rows) == MOST_ROWS:
            raise BadInput(f"The table has more than {MOST_ROWS} rows.", "Part it into several files.")
        rows.append(_row(number, cells, len(header)))
    if not rows:
        raise BadInput("The file holds a header and nothing else.", "Choose the file that holds the register.")
    return Table(tuple(header), tuple(rows), tuple(notes))


def _filled(records: Iterable[tuple[int, Sequence[str]]]) -> Iterator[tuple[int, list[str]]]:
    empty = 0
    for number, record in records:
        if len(record) > MOST_CELLS:
            raise BadInput(f"Row {number} has {len(record)} cells.", "Keep only the columns about the gear.")
        cells = [unguarded(cell.strip()) for cell in record]
        if any(cells):
            yield number, cells
        else:
            empty += 1
            if empty > MOST_EMPTY:
                raise BadInput(f"The table has more than {MOST_EMPTY} empty rows.", "Save only the rows with gear.")


def _trimmed(cells: Sequence[str]) -> list[str]:
    kept = list(cells)
    while kept and not kept[-1]:
        kept.pop()
    return kept


def _row(number: int, cells: list[str], width: int) -> Row:
    cells = _trimmed(cells)
    fault = ""
    if len(cells) > width:
        fault = f"The row has {len(cells)} cells, the header {width}: a separator too many, or quotation marks missing."
    long = next((cell for cell in cells if len(cell) > MOST_CELL), None)
    if long is not None:
        fault = f"A cell holds {len(long)} characters; the most is {MOST_CELL}."
    padded = [*cells[:width], *[""] * (width - len(cells))]
    return Row(number, tuple(cell[:MOST_CELL] for cell in padded), fault)


def write_csv(header: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    """A CSV file that every spreadsheet opens with its accents right, and none runs a formula from."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow([guarded(cell) for cell in header])
    writer.writerows([guarded(cell) for cell in row] for row in rows)
    return out.getvalue().encode("utf-8-sig")
