"""Catalogues: .po files, kept by translators and read by the program as they are (a quarter of a second for all)."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.plurals import get_plural
from babel.messages.pofile import read_po, write_po

from inspect_core.languages.sources import Message


@dataclass(frozen=True, slots=True)
class Held:
    """What a catalogue holds: sentences, counted ones by (one, several), and which of the forms a number takes."""

    messages: Mapping[str, str]
    counted: Mapping[tuple[str, str], tuple[str, ...]]
    plural: Callable[[int], int]


def read(path: Path, *, every: bool = False) -> Held:
    """The translated sentences of a catalogue; with `every`, also the others, by themselves."""
    messages: dict[str, str] = {}
    counted: dict[tuple[str, str], tuple[str, ...]] = {}
    for message in read_source(path, path.stem):
        if isinstance(message.id, tuple | list):
            forms = tuple(map(str, message.string or ()))
            if every or (forms and all(forms)):
                counted[message.id[0], message.id[1]] = forms
        elif message.id and (every or (message.string and not message.fuzzy)):
            messages[message.id] = str(message.string or message.id)
    # In French nought takes the singular, as in CLDR.
    return Held(messages, counted, (lambda n: int(n > 1)) if path.stem == "fr" else (lambda n: int(n != 1)))


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
