"""Text as a cell of a table that a spreadsheet opens.

A spreadsheet runs text that begins with = + - @ (or their full-width forms), a tab or a line break as a formula, after
the advice of OWASP on CSV injection (from memory). It does so also behind a sign that it takes for the end of a cell,
and which signs those are differs from country to country.
"""

from __future__ import annotations

import re

_SIGN = "[=+\\-@\uff1d\uff0b\uff0d\uff20]"
_FORMULA = re.compile(rf"'*(?:{_SIGN}|[\t\r\n])")
_GUARDED = re.compile(rf"''*(?:{_SIGN}|[\t\r\n])")
_INSIDE = re.compile(rf"([;\t\r\n])('*{_SIGN})")
_GUARDED_INSIDE = re.compile(rf"([;\t\r\n])'('*{_SIGN})")


def guarded(cell: str) -> str:
    """A cell that no spreadsheet runs as a formula: an apostrophe stands before what would be one, and one more where
    one stands there already, so that an import gives back exactly what was written."""
    cell = _INSIDE.sub(r"\1'\2", cell)
    return f"'{cell}" if _FORMULA.match(cell) else cell


def unguarded(cell: str) -> str:
    """The cell without the apostrophes that `guarded` put into it."""
    cell = cell[1:] if _GUARDED.match(cell) else cell
    return _GUARDED_INSIDE.sub(r"\1\2", cell)
