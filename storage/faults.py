"""What the database and the disk report, as refusals that a person can act on.

The only place that reads error codes of SQLite (https://www.sqlite.org/rescode.html), of PostgreSQL
(https://www.postgresql.org/docs/current/errcodes-appendix.html) and of the operating system.
"""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from types import TracebackType

from sqlalchemy.exc import DBAPIError, StatementError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from inspect_core.domain.errors import BadInput, BartackError, Conflict, StoreFault

_FULL = StoreFault, "The disk is full, so nothing was saved.", "Free some space, then save again."
_READ_ONLY = (
    StoreFault,
    "The store may only be read, so nothing was saved.",
    "Give this account the right to write to the store's folder, then save again.",
)
_DAMAGED = (
    StoreFault,
    "The store's file is damaged or is no store of ours.",
    "Stop using it, keep a copy of the folder, and restore the newest archive into an empty folder.",
)
_BUSY = StoreFault, "Somebody else is writing to the store just now.", "Wait a moment, then save again."
_CROWDED = StoreFault, "Too many people are using the store just now.", "Wait a moment, then try again."
_NO_FOLDER = (
    StoreFault,
    "The store's file cannot be opened.",
    "Check that its folder exists, that the disk is connected, and that this account may use it.",
)
_DISK = (
    StoreFault,
    "The disk could not be read or written.",
    "Check the disk and its connection, then try again; look at the record before repeating a save.",
)

_GONE = (
    StoreFault,
    "The database server does not answer, so nothing more was saved.",
    "Wait a moment, look at the record, then try again; if it lasts, tell whoever runs the server.",
)
_ACCOUNT = (
    StoreFault,
    "The database server refused this program's account.",
    "Ask whoever runs the server to check the address, the account and its rights.",
)
_BROKEN_TEXT = BadInput, "The text holds a broken character.", "Type the text again."
_TOO_LARGE = BadInput, "A number or a date is too large to be stored.", "Enter it again."

_BY_SQLITE = {
    sqlite3.SQLITE_FULL: _FULL,
    sqlite3.SQLITE_READONLY: _READ_ONLY,
    sqlite3.SQLITE_PERM: _READ_ONLY,
    sqlite3.SQLITE_CORRUPT: _DAMAGED,
    sqlite3.SQLITE_NOTADB: _DAMAGED,
    sqlite3.SQLITE_BUSY: _BUSY,
    sqlite3.SQLITE_LOCKED: _BUSY,
    sqlite3.SQLITE_CANTOPEN: _NO_FOLDER,
    sqlite3.SQLITE_IOERR: _DISK,
}
#: By SQLSTATE, or by its first two signs.
_BY_STATE = {
    "53100": _FULL,
    "53300": _CROWDED,
    "25006": _READ_ONLY,
    "55P03": _BUSY,
    "57014": _BUSY,
    "40": _BUSY,
    "08": _GONE,
    "57P0": _GONE,
    "28": _ACCOUNT,
    "3D": _ACCOUNT,
    "42501": _ACCOUNT,
    "XX": _DAMAGED,
    "58": _DISK,
    "22021": _BROKEN_TEXT,
    "22P05": _BROKEN_TEXT,
    "22003": _TOO_LARGE,
    "22008": _TOO_LARGE,
}
_BY_ERRNO = {
    errno.ENOSPC: _FULL,
    errno.EDQUOT: _FULL,
    errno.EROFS: _READ_ONLY,
    errno.EACCES: _READ_ONLY,
    errno.EPERM: _READ_ONLY,
    errno.ENOENT: _NO_FOLDER,
    errno.ENOTDIR: _NO_FOLDER,
}
_TWICE = (sqlite3.SQLITE_CONSTRAINT_UNIQUE, sqlite3.SQLITE_CONSTRAINT_PRIMARYKEY, sqlite3.SQLITE_CONSTRAINT_ROWID)


def of_database(error: DBAPIError, clash: BartackError | None = None) -> BartackError:
    """The refusal for a database error. `clash` is given back where the store holds the same key already."""
    code = getattr(error.orig, "sqlite_errorcode", 0)
    state = getattr(error.orig, "sqlstate", None) or ""
    if code in _TWICE or state == "23505":
        return clash or Conflict(
            "The store holds this record already.", "Look at what is stored; it is not written twice."
        )
    if code == sqlite3.SQLITE_CONSTRAINT_FOREIGNKEY or state == "23503":
        return Conflict(
            "The record names an item, an inspection or a photo that the store does not hold.",
            "Store that first, then save this again.",
        )
    known = _BY_SQLITE.get(code & 0xFF) or _of_state(state, error)
    if known is None:
        return StoreFault("The store refused the record.", f"Report this with the words: {error.orig}.")
    return _told(known)


def _told(known: tuple[type[BartackError], str, str]) -> BartackError:
    family, problem, remedy = known
    return family(problem, remedy)


def gone() -> BartackError:
    """The refusal where the database server does not answer, for what speaks to it by other means."""
    return _told(_GONE)


def _of_state(state: str, error: DBAPIError) -> tuple[type[BartackError], str, str] | None:
    """What PostgreSQL or its driver meant; the driver gives no code where the server is gone or a text holds a NUL."""
    for length in (5, 4, 2):
        if state[:length] in _BY_STATE:
            return _BY_STATE[state[:length]]
    if not state and (error.connection_invalidated or type(error.orig).__name__ == "OperationalError"):
        return _GONE if not isinstance(error.orig, sqlite3.Error) else None
    if not state and "NUL" in str(error.orig):
        return _BROKEN_TEXT
    return None


def of_disk(error: OSError) -> StoreFault:
    """The refusal for an error of the file system."""
    family, problem, remedy = _BY_ERRNO.get(error.errno or 0, _DISK)
    return family(problem, remedy)


class DatabaseFaults:
    """Turns database errors inside the block into refusals, and values that no database holds into BadInput. `clash` is
    raised where a key is there already. A class, because one stands around every statement: a generator's way in and
    out takes as long as a small answer."""

    __slots__ = ("_clash",)

    def __init__(self, clash: BartackError | None = None) -> None:
        self._clash = clash

    def __enter__(self) -> None:
        return None

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if error is None:
            return
        if isinstance(error, DBAPIError):
            raise of_database(error, self._clash) from error
        if isinstance(error, StatementError):  # raised while values are made ready
            if isinstance(error.orig, BartackError):
                raise error.orig from None
        elif isinstance(error, PoolTimeout):
            raise _told(_CROWDED) from None
        elif isinstance(error, UnicodeEncodeError):
            raise _told(_BROKEN_TEXT) from None
        elif isinstance(error, OverflowError):
            raise _told(_TOO_LARGE) from None


def database_faults(clash: BartackError | None = None) -> DatabaseFaults:
    """A block whose database errors become refusals."""
    return DatabaseFaults(clash)


@contextmanager
def disk_faults() -> Iterator[None]:
    """Turns file-system errors inside the block into refusals."""
    try:
        yield
    except OSError as error:
        raise of_disk(error) from error
