"""Where exported rows go: CSV files, one workbook, or JSON lines. Each writes as it goes.

Text that a spreadsheet would take for a formula (it begins with = + - @, a tab or a line break) gets an apostrophe
before it in CSV and XLSX, after the advice of OWASP on CSV injection (from memory); an import takes it off again.
Numbers stay numbers.
"""

from __future__ import annotations

import csv
import json
from contextlib import ExitStack
from pathlib import Path
from typing import IO, Any, Protocol

from inspect_core.domain.cells import guarded as guarded_text
from inspect_core.usecases.export_records import Flattened, Plain, Row

#: Limits of a sheet (ECMA-376 as spreadsheet programs keep it, from memory): rows, and signs in a cell.
_MOST_ROWS, _MOST_SIGNS = 1_048_576, 32_767
_CUT = "… (cut here; CSV and JSON hold it whole)"


class Sink(Protocol):
    """Takes objects one by one."""

    def add(self, name: str, found: Plain) -> None: ...

    def close(self) -> None: ...


def guarded(value: Any) -> Any:
    """The value as a cell: text that would be a formula gets an apostrophe before it."""
    return guarded_text(value) if isinstance(value, str) else value


class CsvFiles:
    """One CSV file a table (RFC 4180, UTF-8)."""

    def __init__(self, folder: Path, flattened: Flattened) -> None:
        self._folder, self._flattened = folder, flattened
        self._files = ExitStack()
        self._writers: dict[str, csv.DictWriter[str]] = {}

    def add(self, name: str, found: Plain) -> None:
        for table, row in self._flattened.rows(name, found):
            writer = self._writers.get(table) or self._opened(table, row)
            writer.writerow({key: _cell(value) for key, value in row.items()})

    def _opened(self, table: str, row: Row) -> csv.DictWriter[str]:
        file = self._files.enter_context((self._folder / f"{table}.csv").open("x", encoding="utf-8", newline=""))
        # A key that only later rows have has no column here: every row of a table is made with the same keys.
        writer = self._writers[table] = csv.DictWriter(file, list(row), extrasaction="raise")
        writer.writeheader()
        return writer

    def close(self) -> None:
        self._files.close()


def _cell(value: Any) -> Any:
    if isinstance(value, bool):
        return "true" if value else "false"
    return guarded(value)


class Workbook:
    """One XLSX file with a sheet a table; a table that outgrows a sheet goes on in the next."""

    def __init__(self, file: Path, flattened: Flattened) -> None:
        from openpyxl import Workbook as Book

        self._file, self._flattened = file, flattened
        self._book = Book(write_only=True)
        self._sheets: dict[str, tuple[Any, list[str], int, int]] = {}

    def add(self, name: str, found: Plain) -> None:
        for table, row in self._flattened.rows(name, found):
            sheet, header, rows, part = self._sheets.get(table) or self._opened(table, list(row), 1)
            if rows >= _MOST_ROWS:
                sheet, header, rows, part = self._opened(table, header, part + 1)
            sheet.append([_sheet_cell(row[key]) for key in header])
            self._sheets[table] = (sheet, header, rows + 1, part)

    def _opened(self, table: str, header: list[str], part: int) -> tuple[Any, list[str], int, int]:
        sheet = self._book.create_sheet(table if part == 1 else f"{table} {part}")
        sheet.freeze_panes = "A2"
        sheet.append(header)
        return sheet, header, 1, part

    def close(self) -> None:
        if not self._sheets:
            self._book.create_sheet("nothing recorded")
        self._book.save(self._file)


def _sheet_cell(value: Any) -> Any:
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    if not isinstance(value, str):
        return value
    text = str(guarded(ILLEGAL_CHARACTERS_RE.sub("\N{REPLACEMENT CHARACTER}", value)))
    return text if len(text) <= _MOST_SIGNS else text[: _MOST_SIGNS - len(_CUT)] + _CUT


class JsonLines:
    """One file of JSON lines a kind, objects as the command line prints them."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._files = ExitStack()
        self._open: dict[str, IO[str]] = {}

    def add(self, name: str, found: Plain) -> None:
        file = self._open.get(name)
        if file is None:
            file = (self._folder / f"{name}.jsonl").open("x", encoding="utf-8", newline="\n")
            self._open[name] = self._files.enter_context(file)
        file.write(json.dumps(found, ensure_ascii=False, allow_nan=False) + "\n")

    def close(self) -> None:
        self._files.close()
