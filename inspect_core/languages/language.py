"""The languages on offer."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from inspect_core.languages.recognise import Book

CATALOGUES = Path(__file__).with_name("catalogues")


@dataclass(frozen=True, slots=True)
class Language:
    """`name`: as its own speakers call it. `complete`: False where only a part is translated; readers are told so."""

    code: str
    name: str
    complete: bool = True

    @property
    def is_source(self) -> bool:
        """Whether this is the language in which everything is written."""
        return self.code == "en"

    @property
    def tag(self) -> str:
        """As documents name it (BCP 47)."""
        return "en-GB" if self.is_source else self.code

    def tell(self, text: str) -> str:
        """A text of the program in this language; what is not recognised stays as it is."""
        if self.is_source or not text:
            return text
        return book(self.code).tell(text)

    def tell_html(self, text: str) -> str:
        """Markup with its words told."""
        return text if self.is_source else book(self.code).tell_html(text)

    def mixed(self, text: str) -> str:
        """A note or reason that may be of the program or of a person: only whole sentences of the program are told."""
        return text if self.is_source or not text else book(self.code).mixed(text)

    def phrases(self, messages: Iterable[str]) -> list[list[str]]:
        """Sentences with named places beside their translations, for front ends that fill the places themselves."""
        return [] if self.is_source else [[one, book(self.code).translation(one)] for one in messages]

    def day(self, when: date) -> str:
        """A date: in words, or as ISO 8601 in the source language."""
        return self.tell(when.isoformat())

    def cell(self, head: str, text: str) -> str:
        """What stands under a head: as it was typed where a person chose it, told where it is the program's."""
        from inspect_core.languages.owned import is_owned

        return self.tell(self.written(text) if is_owned(head, text) else text)

    def written(self, text: str) -> str:
        """A text that a person wrote, marked so that `tell` leaves it alone wherever it is put."""
        if self.is_source or not text:
            return text
        from inspect_core.languages.templates import as_written

        return as_written(text)


#: Punctuation as a language sets it: in French with the narrow space that does not break, or the common one.
_SIGNS = {
    "fr": {":": "\u00a0:", ";": "\u202f;", "“": "«\u202f", "”": "\u202f»"},
    "es": {"“": "«", "”": "»"},
}

ENGLISH = Language("en", "English")
FRENCH = Language("fr", "Français")
SPANISH = Language("es", "Español", complete=False)
OFFERED = (ENGLISH, FRENCH, SPANISH)
#: For tests only: every message in brackets, so that what was not recognised shows.
PSEUDO = Language("qps", "Pseudo", complete=False)


@lru_cache(maxsize=64)
def language(code: str | None) -> Language:
    """The language for a code such as "fr", "fr-CA" or "es_MX.UTF-8"; English where it is not on offer."""
    short = (code or "").replace("_", "-").split("-")[0].split(".")[0].lower()
    return next((one for one in (*OFFERED, PSEUDO) if one.code == short), ENGLISH)


@cache
def book(code: str) -> Book:
    """The sentences of one language, read once."""
    from babel import Locale

    from inspect_core.languages.catalogue import read
    from inspect_core.languages.figures import grouper, writer
    from inspect_core.languages.recognise import Book

    if code == PSEUDO.code:
        return _pseudo(Book)
    held = read(CATALOGUES / f"{code}.po")
    return Book(
        held.messages, held.counted, held.plural, writer(Locale(code)), _SIGNS.get(code, {}), grouper(Locale(code))
    )


def _pseudo(make: Callable[..., Book]) -> Book:
    """Every fixed word in brackets; what stands in a place shows whether it was recognised by itself."""
    from inspect_core.languages.catalogue import read

    held = read(CATALOGUES / f"{FRENCH.code}.po", every=True)

    def bracketed(text: str) -> str:
        return "‹" + re.sub(r"({[a-z0-9_]+})", r"›\1‹", text) + "›"

    counted = {ids: tuple(map(bracketed, ids)) for ids in held.counted}
    return make({text: bracketed(text) for text in held.messages}, counted, lambda n: int(n != 1), lambda text: text)
