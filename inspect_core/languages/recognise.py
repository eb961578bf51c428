"""A text made by the program, recognised and told in another language.

The book holds sentences and templates with named places. A text is looked up as a whole first, then line by line,
sentence by sentence, and last by the parts between commas, colons and the like. What stands in a template's places is
told in the same way. Longer fixed words win over shorter ones; a template with hardly any fixed words counts only where
all that stands in its places is known, so that a person's own words are never half translated.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from functools import lru_cache
from itertools import zip_longest
from types import MappingProxyType

from inspect_core.languages.clauses import (
    CITED,
    PARTS,
    QUANTITY,
    STATED,
    TURNS,
    counts,
    first,
    is_clause,
    is_one_thing,
    quoted,
    unquoted,
)
from inspect_core.languages.figures import GROUPED
from inspect_core.languages.templates import LETTER, PLACE, WORD, Template, as_written, bare, template

#: A template with fewer fixed letters than this is weak: what stands in its places has to be known as well.
_WEAK = 9
_LINE_START = re.compile(r"^(\s*(?:[-*>•] |#{1,6} |\d+[.)] )*)(.*)$", re.DOTALL)
_SENTENCE_END = re.compile(
    # Not after an initial, but after a unit such as m or °C.
    r"(?<=[.!?:;…\ue001])(?:(?<!\b[A-Za-z]\.)|(?<=[\d°] [A-Za-z]\.)|(?<=°[A-Za-z]\.))(\*{0,2}\s+)"
)
_INNER_END = re.compile(r"[.!?;:] ")
_ENDS = (".", ":", ",", ";")
_STRUCTURE = re.compile(r"(\s*\*\*\s*|\s*:material/\w+:\s*|:[a-z-]+\[|\]|\s+·\s+)")
_JOINTS = re.compile(r"(\sand\s|\sor\s|\sto\s|\sfrom\s|\sof\s)")
_AROUND = (("**", "**"), ("(", ")"), ("“", "”"), ("*", "*"), ("_", "_"), ("", "."), ("", ":"), ("", ","), ("", ";"))
_COUNTED = re.compile(r"^([\d  .,]*\d) (.+)$")
_DATA = re.compile(
    r"^[^A-Za-zÀ-ÿ]*$|^\S*\d\S*$|^[a-z0-9]+(?:-[a-z0-9]+)+$|^[A-Z]{1,4}$|^(?:[\d.,±≤≥<>+−-]+\s?)+(?:mm²?|cm|m|kN|N|kg|in|ft|lb|px|°C?|%|MB|kB)?$"
)
#: A short label such as "Open Roof kit 2": what stands in its place may be any name.
_LABEL = re.compile(r"^[A-Z][a-z]{3,}(?: [^\s.,;:!?]+){1,4}$")
#: What a thing is, before names that begin with capitals: "webbing lanyard Maker A A10".
_NAMED = re.compile(r"^([A-Za-z][a-z -]+?) ((?:[A-Z]|\S*\d).*)$")
#: What comes before a person's code or a maker's name, and is a part of it.
_ROLES = {
    "maker",
    "model",
    "serial",
    "site",
    "tag",
    "kit",
    "note",
    "worker",
    "manager",
    "administrator",
    "competent person",
    "inspector",
    "site manager",
}
_ESCAPED = re.compile(r"\\([\\`*_{}\[\]()<>#+\-.!|~$:&])")
#: Signs that are escaped wherever they stand, hidden as private-use characters while a text is told.
_ALWAYS = "\\`*_{}[]<>#|~$&"
#: Of the others, where they would make an icon or a link of what somebody typed.
_OBEYED = re.compile(r"\\(:)(?=material|//)|(?<=www)\\(\.)", re.IGNORECASE)
_HIDDEN = 0xE100
_HIDDEN_SIGN = re.compile(f"[{chr(_HIDDEN)}-{chr(_HIDDEN + 127)}]")
_ESCAPED_START = re.compile(r"^\s*(?:\\[-+]|\d+\\[.)])")
_LINE_SIGN = re.compile(r"^(\s*\d*)([-+.)])")
_ICON = re.compile(r":(?=\w)")
_MARK = re.compile("\ue000(\\d+)\ue001")
_OWNED = re.compile("\ue002(\\d+)\ue003")
_TAG = re.compile(r"(<[^>]*>)")
_ATTRIBUTE = re.compile(r'\b(aria-label|title|alt)="([^"]*)"')
_MOST_SENTENCES = 14

#: Text that a person wrote, between isolates of Unicode: they say that what lies inside belongs to no language around.
WRITTEN = re.compile("\u2068([^\u2068\u2069]*)\u2069")


class Book:
    """The sentences of one language. `plural`: which form a number takes. `figures`: writes numbers and dates.
    `signs`: punctuation that this language sets otherwise. `grouped`: writes a number with thousands."""

    def __init__(
        self,
        messages: Mapping[str, str],
        counted: Mapping[tuple[str, str], tuple[str, ...]],
        plural: Callable[[int], int],
        figures: Callable[[str], str],
        signs: Mapping[str, str] = MappingProxyType({}),
        grouped: Callable[[str], str] = str,
    ) -> None:
        self._grouped = grouped
        self.plural, self.figures, self._signs = plural, figures, signs
        self._messages = messages
        self._exact = {bare(text): bare(told) for text, told in messages.items() if not PLACE.search(text)}
        self._lower: dict[str, str] = {}
        for text, told in self._exact.items():
            self._lower.setdefault(text.lower(), told)
        self._counted: dict[str, tuple[str, ...]] = {}
        for (one, several), forms in counted.items():
            for text in (one, several):
                self._counted.setdefault(text.replace("{number} ", "", 1), forms)
        self._by_word: dict[str, list[Template]] = defaultdict(list)
        made = [template(text, told) for text, told in messages.items() if PLACE.search(text)]
        for made_of in made:
            if made_of.weight:
                self._by_word[made_of.anchor].append(made_of)
        self._tell = lru_cache(maxsize=20_000)(self._told)
        self._known = lru_cache(maxsize=50_000)(self._lookup)

    def tell(self, text: str) -> str:
        """The text in this language; what people wrote stays as they wrote it."""
        if LETTER.search(text) or WRITTEN.search(text):
            return self._tell(text)
        return self._thousands(self.figures(text), text)

    def _thousands(self, told: str, text: str) -> str:
        """Thousands that stood in the English text; a comma that only the translation has is one of decimals."""
        for found in sorted(set(GROUPED.findall(text)), key=len, reverse=True):
            told = re.sub(rf"(?<![\w.,]){re.escape(found)}(?![\w]|[.,]\d)", self._grouped(found), told)
        return told

    def translation(self, message: str) -> str:
        """A message of the book with its places open; itself where it is not translated."""
        return self._messages.get(message, message)

    def tell_html(self, text: str) -> str:
        """Markup with its words told: what stands between tags, and the labels and titles in them."""
        parts = _TAG.split(text)
        for place, part in enumerate(parts):
            if place % 2:
                parts[place] = _ATTRIBUTE.sub(lambda m: f'{m[1]}="{quoted(self.tell(unquoted(m[2])))}"', part)
            elif part.strip() and not (place and parts[place - 1].lower().startswith(("<style", "<script"))):
                parts[place] = quoted(self.tell(unquoted(part)), quote=False)
        return "".join(parts)

    # One text, from the outside in ---------------------------------------------------------------------------------

    def _told(self, text: str) -> str:
        kept: list[str] = []

        def keep(match: re.Match[str]) -> str:
            kept.append(match[1])
            return f"\ue000{len(kept) - 1}\ue001"

        marked = WRITTEN.sub(keep, text)
        if not LETTER.search(marked):
            told = self._thousands(self.figures(marked), marked)
        elif "\\" not in marked:
            told = self._lines(marked)
        else:
            told = self._escaped(marked)
        return _MARK.sub(lambda m: kept[int(m[1])], told)

    def _lines(self, text: str) -> str:
        """Every line told, and the numbers and days in it, but not in what a person chose."""
        kept: list[str] = []

        def keep(match: re.Match[str]) -> str:
            kept.append(match[1])
            return f"\ue002{len(kept) - 1}\ue003"

        told = WRITTEN.sub(keep, "\n".join(self._line(line) for line in text.split("\n")))
        return _OWNED.sub(lambda m: kept[int(m[1])], self._thousands(self.figures(told), text))

    def _escaped(self, text: str) -> str:
        """Markdown in which the special signs of words were escaped: they stay escaped where they could mean something.
        Signs that no sentence of ours has stay hidden meanwhile; of the others only some places count."""
        kept = _OBEYED.sub(lambda m: chr(_HIDDEN + ord(m[1] or m[2])), text)
        bare = _ESCAPED.sub(lambda m: chr(_HIDDEN + ord(m[1])) if m[1] in _ALWAYS else m[1], kept)
        told = self._lines(bare)
        if told == bare:
            return text
        lines = []
        for before, line in zip_longest(text.split("\n"), told.split("\n"), fillvalue=""):
            safe = _LINE_SIGN.sub(r"\1\\\2", line) if _ESCAPED_START.match(before) else line
            lines.append(_ICON.sub(r"\\:", safe) if ":material" not in before else safe)
        return _HIDDEN_SIGN.sub(lambda m: "\\" + chr(ord(m[0]) - _HIDDEN), "\n".join(lines))

    def _line(self, line: str) -> str:
        whole = self._known(line)
        if whole is not None:
            return whole
        start, core = _LINE_START.match(line).groups()  # type: ignore[union-attr]  # it matches anything
        end = core[len(core.rstrip()) :]
        core = core.rstrip()
        return f"{start}{self._sentences(core)}{end}" if core else line

    def _sentences(self, text: str) -> str:
        known = self._known(text)
        if known is not None:
            return known
        pieces = _SENTENCE_END.split(text)
        told = text
        if 1 < len(pieces) <= 2 * _MOST_SENTENCES:
            unknown, told = self._covered(pieces)
            if not unknown:
                return told
        for loosely in (self._filled(text, over_sentences=True), self._filled(text, weak=True)):
            if loosely is not None:
                return loosely
        if len(pieces) == 1 or told == text:
            told = self._parts(text)
        return told if told != text else self._kind_first(text) or self._side_by_side(text) or text

    def _kind_first(self, text: str) -> str | None:
        """A kind of gear before names: "webbing lanyard Maker A A10". A role before a number is a person's code."""
        named = _NAMED.match(text)
        kind = self._word(named[1]) if named and named[1].lower() not in _ROLES else None
        return f"{kind} {named[2]}" if named and kind is not None else None

    def _side_by_side(self, text: str) -> str | None:
        """Two known texts without anything between them: "PIN" and "once more"."""
        words = text.split(" ")
        for place in range(1, len(words) if len(words) < 8 else 0):
            first, second = self._word(" ".join(words[:place])), self._word(" ".join(words[place:]))
            if first is not None and second is not None:
                return f"{first} {second}"
        return None

    def _is_known(self, text: str) -> bool:
        """Whether each of several sentences is known."""
        pieces = _SENTENCE_END.split(text.strip())
        return self._known(text.strip()) is not None or (len(pieces) > 1 and self._covered(pieces)[0] == 0)

    def _weakly(self, text: str) -> str | None:
        found = self._filled(text, weak=True)
        if found is None and text[-1:] in _ENDS and (bare := self._filled(text[:-1], weak=True)) is not None:
            found = bare + self._signs.get(text[-1], text[-1])
        return found

    def mixed(self, text: str) -> str:
        """A text that the program and people wrote together: every sentence that is not wholly known is marked as
        written by somebody, so that `tell` leaves it alone."""
        if self._known(text) is not None:
            return text
        lines = []
        for line in text.split("\n"):
            pieces = _SENTENCE_END.split(line)
            kept = self._covered(pieces, keep=True)[1] if len(pieces) <= 2 * _MOST_SENTENCES else as_written(line)
            lines.append(kept)
        return "\n".join(lines)

    def _covered(self, pieces: list[str], *, keep: bool = False) -> tuple[int, str]:
        """Sentences put together from the fewest unknown pieces, and how many those are. Between them lies space. With
        `keep` the known ones stay as they are and the others are marked as written by somebody."""
        best: dict[int, tuple[int, int, str]] = {len(pieces) + 1: (0, 0, "")}
        for start in range(len(pieces) - 1, -1, -2):
            space = pieces[start + 1] if start + 1 < len(pieces) else ""
            unknown, many, rest = best[start + 2]
            alone = as_written(pieces[start]) if keep else self._weakly(pieces[start]) or self._parts(pieces[start])
            found = [(unknown + bool(LETTER.search(alone)), many + 1, alone + space + rest)]
            for end in range(start + 1, len(pieces) + 1, 2):
                whole = self._known("".join(pieces[start:end]))
                if whole is not None:
                    whole = "".join(pieces[start:end]) if keep else whole
                    unknown, many, rest = best[end + 1]
                    found.append((unknown, many + 1, whole + (pieces[end] if end < len(pieces) else "") + rest))
            best[start] = min(found, key=lambda one: one[:2])
        return best[0][0], best[0][2]

    def _parts(self, text: str) -> str:
        """What stands between commas, colons and the like told by itself; at "and", "to" and so on only where all of it
        is known."""
        pieces = _STRUCTURE.split(text)
        if len(pieces) > 1:
            told = [self._sentences(piece) if n % 2 == 0 and piece.strip() else piece for n, piece in enumerate(pieces)]
            return "".join(told)
        pieces = PARTS.split(text)
        if len(pieces) > 1:
            known = [self._piece(piece, text) for piece in pieces[::2]]
            if any(one is None and is_clause(piece) for one, piece in zip(known, pieces[::2], strict=True)):
                return text  # half a sentence of safety is worse than an English one
            if any(one is not None for one in known):
                pieces[::2] = [piece if one is None else one for piece, one in zip(pieces[::2], known, strict=True)]
                pieces[1::2] = [self._joint(piece) for piece in pieces[1::2]]
                return "".join(pieces)
        pieces = _JOINTS.split(text)
        if len(pieces) == 1:
            return text
        known = [piece if _DATA.match(piece.strip()) else self._piece(piece, text) for piece in pieces[::2]]
        if any(one is None for one in known) or not counts(pieces):
            return text
        return "".join(str(known[n // 2]) if n % 2 == 0 else self._joint(piece) for n, piece in enumerate(pieces))

    def _piece(self, piece: str, of: str) -> str | None:
        """One part of a text, which is shorter than the whole."""
        bare = piece.strip()
        if bare == of or not LETTER.search(bare):
            return None
        found = self._known(bare)
        if found is None and len(bare) < 200:
            found = self._filled(bare, weak=True) or self._kind_first(bare)
        if found is None and len(bare) < 200 and (joined := self._parts(bare)) != bare:
            found = joined
        return None if found is None else piece.replace(bare, found, 1)

    def _joint(self, joint: str) -> str:
        word = joint.strip()
        told = self._signs.get(word) or self._exact.get(word)
        return joint if told is None else joint.replace(word, told)

    def _lookup(self, text: str) -> str | None:
        """The translation of a text that the book holds as a whole; None where it does not."""
        found = self._word(text)
        if found is None and text[-1:] in _ENDS and (bare := self._word(text[:-1])) is not None:
            found = bare + self._signs.get(text[-1], text[-1])
        if found is None:
            found = self._filled(text)
        if found is None and text[:1].isalpha():
            other = self._filled(text[0].swapcase() + text[1:])
            found = None if other is None else first(other, text[0].isupper())
        if found is None and text[-1:].isalpha() and (full := self._exact.get(f"{text}.")) is not None:
            found = full.removesuffix(".")
        if found is not None:
            return found
        for start, end in _AROUND:
            if len(text) > len(start + end) and text.startswith(start) and text.endswith(end):
                inner = self._known(text[len(start) : len(text) - len(end)])
                if inner is not None:
                    return f"{self._signs.get(start, start)}{inner}{self._signs.get(end, end)}"
        return None

    def _word(self, text: str) -> str | None:
        found = self._exact.get(text)
        if found is not None:
            return found
        found = self._lower.get(text.lower())
        if found:
            return first(found, text[0].isupper())
        counted = _COUNTED.match(text)
        if counted and counted[2] in self._counted:
            number = int(re.sub(r"\D", "", counted[1].split(".")[0]) or "0")
            return self._counted[counted[2]][self.plural(number)].replace("{number}", counted[1])
        rest = self._word(counted[2]) if counted else None
        return f"{counted[1]} {rest}" if counted and rest is not None else None

    def _filled(self, text: str, *, weak: bool = False, over_sentences: bool = False) -> str | None:
        """A template with its places told. Weak ones are tried last, and only where all in their places is known; what
        stands in a place is at first no more than a part of one sentence."""
        for one in self._candidates(text):
            match = one.pattern.fullmatch(text) if (one.weight < _WEAK) is weak else None
            if match is None:
                continue
            if weak and not all(map(is_one_thing, match.groups())):
                continue
            long = [value for value in match.groups() if _INNER_END.search(value) and not CITED.fullmatch(value)]
            if long and not (over_sentences and all(map(self._is_known, long))):
                continue
            values = {name: self._value(value) for name, value in match.groupdict().items()}
            if weak and None in values.values() and not (one.leads and _LABEL.match(text)):
                continue
            if weak and QUANTITY.fullmatch(text):
                continue
            if any(value is None and match[name] in TURNS for name, value in values.items()):
                continue
            filled = {name: value if value is not None else match[name] for name, value in values.items()}
            filled |= {name: as_written(match[name]) for name in one.owned}
            told = one.told.format_map(filled)
            return first(told, True) if text[0].isupper() and told[:1].islower() else told
        return None

    def _candidates(self, text: str) -> Iterable[Template]:
        found = [*self._by_word.get("", ())]
        for word in set(WORD.findall(text)):
            found += self._by_word.get(word, ())
        return sorted(found, key=lambda one: -one.weight)

    def _value(self, value: str) -> str | None:
        """What stands in a place: told, or None where nothing in it is known."""
        bare = value.strip()
        word = self._word(bare) if bare else None
        if word is not None:
            return value.replace(bare, word, 1)
        if not bare or _DATA.match(bare) or _MARK.fullmatch(bare) or STATED.fullmatch(bare):
            return value
        told = self._sentences(bare)
        return None if told == bare else value.replace(bare, told, 1)
