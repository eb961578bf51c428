"""One TOML table read strictly: every key is asked for by type, and what is left over is a fault."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from enum import StrEnum
from typing import TypeVar

_E = TypeVar("_E", bound=StrEnum)


class Table:
    """A TOML table with its file and key path; faults are added to the list given, never raised.

    A value that cannot be read comes back as the key's empty value, so that reading goes on and every fault is told.
    """

    def __init__(self, file: str, path: str, data: Mapping[str, object], faults: list[str]) -> None:
        self.file = file
        self.path = path
        self._data = dict(data)
        self._faults = faults
        self._asked: set[str] = set()

    def fault(self, key: str, what: str) -> None:
        where = ".".join(part for part in (self.path, key) if part)
        self._faults.append(f"{self.file}: {where}: {what}")

    def has(self, key: str) -> bool:
        return key in self._data

    def raw(self, key: str) -> object:
        self._asked.add(key)
        return self._data.get(key)

    def text(self, key: str, *, needed: bool = False) -> str:
        value = self.raw(key)
        if value is None:
            if needed:
                self.fault(key, "is missing")
            return ""
        if not isinstance(value, str) or not value.strip():
            self.fault(key, "must be words in quotes")
            return ""
        return value.strip()

    def flag(self, key: str) -> bool:
        value = self.raw(key)
        if value is None:
            return False
        if not isinstance(value, bool):
            self.fault(key, "must be true or false")
            return False
        return value

    def number(self, key: str) -> float | None:
        value = self.raw(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float) or abs(value) > 1e9 or value != value:
            self.fault(key, "must be a number")
            return None
        return value

    def day(self, key: str) -> date | None:
        value = self.raw(key)
        if value is None:
            return None
        if isinstance(value, datetime) or not isinstance(value, date):
            self.fault(key, "must be a day written as 2026-01-31, without quotes")
            return None
        return value

    def texts(self, key: str, *, needed: bool = False) -> tuple[str, ...]:
        value = self.raw(key)
        if value is None:
            if needed:
                self.fault(key, "is missing")
            return ()
        if not isinstance(value, list) or not value or not all(isinstance(entry, str) for entry in value):
            self.fault(key, "must be a list of words, at least one")
            return ()
        for twice in sorted({entry for entry in value if value.count(entry) > 1}):
            self.fault(key, f"names “{twice}” twice")
        return tuple(dict.fromkeys(value))

    def one_of(self, key: str, known: type[_E], *, needed: bool = False) -> _E | None:
        word = self.text(key, needed=needed)
        if not word:
            return None
        try:
            return known(word)
        except ValueError:
            self.fault(key, f"“{word}” is not known; use one of: {', '.join(known)}")
            return None

    def some_of(self, key: str, known: type[_E]) -> tuple[_E, ...]:
        found = []
        for word in self.texts(key):
            try:
                found.append(known(word))
            except ValueError:
                self.fault(key, f"“{word}” is not known; use one of: {', '.join(known)}")
        return tuple(found)

    def tables(self, key: str) -> list[Table]:
        value = self.raw(key)
        if value is None:
            return []
        if not isinstance(value, list) or not all(isinstance(entry, dict) for entry in value):
            self.fault(key, f"must be tables, each begun by [[{key}]]")
            return []
        return [
            Table(self.file, _label(self.path, key, i, entry), entry, self._faults) for i, entry in enumerate(value)
        ]

    def mapping(self, key: str) -> Mapping[str, object]:
        value = self.raw(key)
        if value is None:
            return {}
        if not isinstance(value, dict):
            self.fault(key, 'must be a table such as { "fibre" = ["nylon"] }')
            return {}
        return value

    def done(self) -> None:
        """Every key that nobody asked for is unknown."""
        for key in self._data:
            if key not in self._asked:
                self.fault(key, "unknown key")


def _label(path: str, key: str, place: int, entry: Mapping[str, object]) -> str:
    """A rule is named by its id, a source by its key and so on, so that people find it by searching the file."""
    for name in ("id", "key", "name"):
        if isinstance(entry.get(name), str):
            return f"{path}.{entry[name]}" if path else str(entry[name])
    return f"{path}.{key}[{place + 1}]" if path else f"{key}[{place + 1}]"
