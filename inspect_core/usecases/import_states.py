"""Rows of a register's file that speak of gear out of use: an import never turns it into gear in service."""

from __future__ import annotations

import re
from collections.abc import Sequence

from inspect_core.domain.errors import BadInput
from inspect_core.usecases.import_columns import STATE, Column, words_of

#: What a column of states may say of gear that an import takes in; anything else is for a person.
_IN_USE = frozenset(
    (
        *("", "n a", "in service", "in use", "active", "available", "in stock", "issued", "serviceable", "usable"),
        *("ok", "okay", "good", "very good", "excellent", "new", "as new", "sound", "satisfactory", "acceptable"),
        *("accepted", "approved", "pass", "passed", "fit", "fit for use", "fit for service", "safe", "safe to use"),
    )
)
#: Words that say, wherever they stand, that gear is or may be out of use.
_OUT = re.compile(
    r"\b(withdrawn?|withdrew|scrap\w*|quarantin\w*|hold|held|fail(s|ed|ure)?|destroy\w*|condemn\w*|reject\w*|"
    r"discard\w*|retired?|decommission\w*|dispos(ed|al)|unfit|unsafe|unusable|unserviceable|defect(ive|s)?|"
    r"damaged?|burnt|burned|broken|lost|stolen|missing|blocked|locked out|out of (service|use|order)|"
    r"not (fit|ok|okay|usable|safe|in (use|service))|do not use)\b",
    re.IGNORECASE,
)
#: Headings that say the same of every row with something in that column.
_OUT_HEADING = re.compile(
    r"\b(withdrawn|scrapped|quarantined?|on hold|destroyed|failed|condemned|rejected|discarded|retired|disposed|"
    r"decommissioned|out of (service|use))\b"
)
_NO = ("", "no", "n", "false", "0", "-", "–", "—", "n/a")
#: What the file of bad rows adds; it comes back with the mended rows and speaks of what was wrong with them.
ADDED = ("row in the file", "what is wrong")
#: Matched columns whose text is free, so that people write there what has no column of its own.
_FREE = ("note", "site")
_REMEDY = "Register held or withdrawn gear by hand."


def check_in_use(column: Column, cell: str) -> None:
    """Raises BadInput where the cell says, or may say, that the gear is out of use."""
    words = words_of(cell)
    if column.field == STATE.name:
        if words not in _IN_USE or cell.strip() == "?":
            raise BadInput(
                f"It says “{_short(cell)}”; an import takes in only gear in service.",
                f"{_REMEDY} Where the column tells something else, leave it out.",
            )
        return
    if (column.field is not None and column.field not in _FREE) or column.heading in ADDED:
        return
    named = column.field is None and _OUT_HEADING.search(words_of(column.heading)) is not None
    if named and cell.strip().casefold() not in _NO and words not in _IN_USE:
        raise BadInput(f"It says “{_short(cell)}” under this heading.", _REMEDY)
    found = _OUT.search(re.sub(r"[\W_]+", " ", cell))
    if found is not None:
        raise BadInput(
            f"It says “{_short(cell)}”, which may mean gear out of use (“{found[0].lower()}”).",
            f"{_REMEDY} Where the gear is in service, take the word out.",
        )


def said_for_all(state: str, columns: Sequence[Column]) -> None:
    """The same for a state that a person gives for rows which say nothing. Raises BadInput."""
    check_in_use(next((c for c in columns if c.field == STATE.name), Column(0, STATE.words, STATE.name)), state)


def _short(cell: str) -> str:
    return cell.strip()[:60]
