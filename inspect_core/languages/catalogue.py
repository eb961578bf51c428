"""Catalogues: .po files for translators, and the compiled .mo files that the program reads."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.mofile import read_mo, write_mo
from babel.messages.plurals import get_plural
from babel.messages.pofile import read_po, write_po

from inspect_core.languages.sources import Message


@dataclass(frozen=True, slots=True)
class Held:
    """What a compiled catalogue holds: sentences, counted ones by (one, several), and which form a number takes."""

    messages: Mapping[str, str]
    counted: Mapping[tuple[str, str], tuple[str, ...]]
    plural: Callable[[int], int]


def read(path: Path) -> Held:
    """A compiled catalogue."""
    with path.open("rb") as file:
        catalog = read_mo(file)
    messages: dict[str, str] = {}
    counted: dict[tuple[str, str], tuple[str, ...]] = {}
    for message in catalog:
        if isinstance(message.id, tuple | list):
            counted[message.id[0], message.id[1]] = tuple(map(str, message.string or ()))
        elif message.id and message.string:
            messages[message.id] = str(message.string)
    one_first = path.stem == "fr"  # in French nought takes the singular, as in CLDR
    return Held(messages, counted, (lambda n: int(n > 1)) if one_first else (lambda n: int(n != 1)))


def read_source(path: Path, code: str) -> Catalog:
    """A catalogue for translators; empty where there is none yet."""
    if not path.exists():
        return Catalog(locale=code)
    with path.open("rb") as file:
        return read_po(file, locale=code)


def updated(old: Catalog, found: Iterable[Message], code: str) -> Catalog:
    """A catalogue with exactly the sentences found, keeping every translation that still fits."""
    new = Catalog(
        locale=code,
        project="Bartack",
        version="1",
        charset="utf-8",
        fuzzy=False,
        header_comment="# Bartack, displayed texts",
    )
    new.creation_date = new.revision_date = old.creation_date
    places: dict[tuple[str, str], dict[str, None]] = {}
    for message in found:
        places.setdefault((message.text, message.plural), {})[message.place.split(":")[0]] = None
    taken: set[str] = set()
    for (text, plural), where in places.items():
        if text in taken:
            continue
        taken.add(text)
        before = old.get(text)
        same = before is not None and isinstance(before.id, tuple | list) == bool(plural)
        string = (
            before.string if before is not None and same else (("",) * get_plural(code).num_plurals if plural else "")
        )
        new.add((text, plural) if plural else text, string, locations=[(place, 0) for place in where])
    return new


def write_source(path: Path, catalog: Catalog) -> None:
    with path.open("wb") as file:
        write_po(file, catalog, width=110, include_lineno=False, omit_header=False)


def compile_to(path: Path, catalog: Catalog) -> None:
    with path.open("wb") as file:
        write_mo(file, catalog)
