"""The typeface of every paper, and what to do with characters it lacks.

Bitstream Vera comes with reportlab under a licence that allows embedding; it holds Latin letters with their accents.
"""

from __future__ import annotations

import unicodedata
from functools import cache
from html import escape
from importlib.resources import as_file, files

from reportlab.lib.fonts import addMapping
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

REGULAR = "BartackText"
BOLD = "BartackText-Bold"
ITALIC = "BartackText-Italic"
BOLD_ITALIC = "BartackText-BoldItalic"
_FILES = {REGULAR: "Vera.ttf", BOLD: "VeraBd.ttf", ITALIC: "VeraIt.ttf", BOLD_ITALIC: "VeraBI.ttf"}

SUBSTITUTED_NOTE = (
    "Characters that this paper's typeface lacks are printed as their Unicode numbers in square brackets. "
    "The record holds them as they were typed."
)


@cache
def register() -> frozenset[int]:
    """Make the typeface known to reportlab, once; gives the code points that it can print."""
    covered: set[int] | None = None
    for name, file in _FILES.items():
        with as_file(files("reportlab") / "fonts" / file) as path:
            font = TTFont(name, str(path))
        pdfmetrics.registerFont(font)
        glyphs = {code for code, glyph in font.face.charToGlyph.items() if glyph}
        covered = glyphs if covered is None else covered & glyphs
    for bold, italic, name in ((0, 0, REGULAR), (1, 0, BOLD), (0, 1, ITALIC), (1, 1, BOLD_ITALIC)):
        addMapping(REGULAR, bold, italic, name)
    return frozenset(covered or ())


class Wording:
    """Text made fit for one paper. `substituted` turns true once something had to be printed by its number."""

    def __init__(self) -> None:
        self._covered = register()
        self._plain = self._covered.issuperset(range(32, 127))
        self.substituted = False

    def plain(self, text: str) -> str:
        """Text of printable characters only: control characters go, letters the typeface lacks become numbers."""
        if text.isascii() and text.isprintable() and self._plain:
            return text  # as nearly every text is; the rest is looked at sign by sign
        pieces: list[str] = []
        missing: list[str] = []
        for character in unicodedata.normalize("NFC", text):
            kind = unicodedata.category(character)
            if character == "\n":
                pass
            elif character in "\u00a0\u202f":
                character = "\u00a0"  # before a colon, and inside quotation marks, of other languages
            elif character == "\t" or kind == "Zs":
                character = " "
            elif kind in ("Cc", "Cf", "Cs"):
                continue
            elif ord(character) not in self._covered:
                missing.append(f"U+{ord(character):04X}")
                continue
            if missing:
                pieces.append(self._by_number(missing))
                missing = []
            pieces.append(character)
        if missing:
            pieces.append(self._by_number(missing))
        return "".join(pieces)

    def _by_number(self, missing: list[str]) -> str:
        self.substituted = True
        return f"[{' '.join(missing)}]"

    def markup(self, text: str) -> str:
        """The same, safe inside reportlab's paragraph markup, line ends kept."""
        return escape(self.plain(text), quote=False).replace("\n", "<br/>")
