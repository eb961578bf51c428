"""`python -m inspect_core.languages`: brings the catalogues up to the sources and says what is not translated."""

from __future__ import annotations

import sys

from babel.messages.catalog import Catalog

from inspect_core.languages.catalogue import read_source, updated, write_source
from inspect_core.languages.gather import messages
from inspect_core.languages.language import CATALOGUES, OFFERED


def main(arguments: list[str]) -> int:
    """Bring them up to date; with "missing CODE" also list what that language lacks."""
    found = list(messages())
    for language in OFFERED[1:]:
        source = CATALOGUES / f"{language.code}.po"
        catalog = updated(read_source(source, language.code), found, language.code)
        write_source(source, catalog)
        lacking = untranslated(catalog)
        print(f"{language.name}: {len(catalog) - len(lacking)} of {len(catalog)} messages translated")
        if arguments[:1] == ["missing"] and language.code in arguments[1:]:
            print("\n".join(lacking))
    return 0


def untranslated(catalog: Catalog) -> list[str]:
    """The messages of a catalogue without a translation, or with one that nobody has looked at."""
    lacking = []
    for message in catalog:
        if not message.id:
            continue
        strings = message.string if isinstance(message.string, tuple | list) else (message.string,)
        if message.fuzzy or not all(strings):
            lacking.append(message.id if isinstance(message.id, str) else " ¦ ".join(message.id))
    return lacking


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
