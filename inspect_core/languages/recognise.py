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
from dataclasses import dataclass
from functools import lru_cache

_PLACE = re.compile(r"\{(\w+)\}")
_LETTER = re.compile(r"[A-Za-zÀ-ÿ]")
_WORD = re.compile(r"[A-Za-zÀ-ÿ]{2,}")
#: A template with fewer fixed letters than this is weak: what stands in its places has to be known as well.
_WEAK = 9
_LINE_START = re.compile(r"^(\s*(?:[-*>] |#{1,6} |\d+[.)] )*)(.*)$", re.DOTALL)
_SENTENCE_END = re.compile(r"(?<=[.!?:;…])(?<!\b[A-Za-z]\.)(\*{0,2}\s+)")
_PARTS = re.compile(
    r"(\*\*|  \n|:material/\w+:|\s·\s|\s[–—|=+×]\s|[,;:]\s|\s\(|^\(|\)|[“”‘]|\s/\s|"
    r"\sand\s|\sor\s|\sto\s|\sfrom\s|\sof\s|\s%)"
)
_COUNTED = re.compile(r"^([\d  .,]*\d) (.+)$")
_DATA = re.compile(
    r"^[^A-Za-zÀ-ÿ]*$|^\S*\d\S*$|^[A-Z]{1,4}$|^(?:[\d.,±≤≥<>+−-]+\s?)+(?:mm²?|cm|m|kN|N|kg|in|ft|lb|px|°C?|%|MB|kB)?$"
)
_ESCAPED = re.compile(r"\\([\\`*_{}\[\]()<>#+\-.!|~$:&])")
_MARK = re.compile("\ue000(\\d+)\ue001")
_TAG = re.compile(r"(<[^>]*>)")
_ATTRIBUTE = re.compile(r'\b(aria-label|title|alt)="([^"]*)"')
_DEEPEST = 6

#: Text that a person wrote, between isolates of Unicode: they say that what lies inside belongs to no language around.
WRITTEN = re.compile("\u2068([^\u2068\u2069]*)\u2069")


@dataclass(frozen=True, slots=True)
class Template:
    """One sentence with places. `weight`: how many letters are fixed."""

    pattern: re.Pattern[str]
    told: str
    weight: int
    anchor: str


def template(message: str, told: str) -> Template:
    """The template of a message such as "Unfinished work ({work})"."""
    pattern, fixed, last, seen = "", [], 0, set()
    for place in _PLACE.finditer(message):
        before = _bare(message[last : place.start()])
        fixed.append(before)
        pattern += re.escape(before)
        name = place[1]
        close = (
            place.start() > 0 and not message[place.start() - 1].isspace() and message[place.start() - 1] not in "(“«"
        )
        pattern += f"(?P={name})" if name in seen else f"(?P<{name}>.{'*' if close else '+'}?)"
        seen.add(name)
        last = place.end()
    fixed.append(_bare(message[last:]))
    pattern += re.escape(fixed[-1])
    words = sorted((word for text in fixed for word in _WORD.findall(text)), key=len, reverse=True)
    weight = sum(len(_LETTER.findall(text)) for text in fixed)
    # The first word stands alone: glued to a place, it may be the end of another word.
    anchor = next((w for w in words if re.search(rf"(?<![\w}}]){re.escape(w)}(?![\w{{])", message)), "")
    return Template(re.compile(pattern, re.DOTALL), told, weight, anchor)


def _bare(text: str) -> str:
    return text.replace("{{", "{").replace("}}", "}")


class Book:
    """The sentences of one language. `plural`: which form a number takes. `figures`: writes numbers and dates."""

    def __init__(
        self,
        messages: Mapping[str, str],
        counted: Mapping[tuple[str, str], tuple[str, ...]],
        plural: Callable[[int], int],
        figures: Callable[[str], str],
    ) -> None:
        self.plural, self.figures = plural, figures
        self._exact = {_bare(text): _bare(told) for text, told in messages.items() if not _PLACE.search(text)}
        self._lower: dict[str, str] = {}
        for text, told in self._exact.items():
            self._lower.setdefault(text.lower(), told)
        self._counted: dict[str, tuple[str, ...]] = {}
        for (one, several), forms in counted.items():
            for text in (one, several):
                self._counted.setdefault(text.replace("{number} ", "", 1), forms)
        self._by_word: dict[str, list[Template]] = defaultdict(list)
        made = [template(text, told) for text, told in messages.items() if _PLACE.search(text)]
        for one_template in sorted(made, key=lambda t: -t.weight):
            self._by_word[one_template.anchor].append(one_template)
        self._tell = lru_cache(maxsize=20_000)(self._told)

    def tell(self, text: str) -> str:
        """The text in this language; what people wrote stays as they wrote it."""
        if not _LETTER.search(text):
            return self.figures(text)
        return self._tell(text)

    def tell_html(self, text: str) -> str:
        """Markup with its words told: what stands between tags, and the labels and titles in them."""
        parts = _TAG.split(text)
        for place, part in enumerate(parts):
            if place % 2:
                parts[place] = _ATTRIBUTE.sub(lambda m: f'{m[1]}="{_quoted(self.tell(_unquoted(m[2])))}"', part)
            elif part.strip() and not (place and parts[place - 1].lower().startswith(("<style", "<script"))):
                parts[place] = _quoted(self.tell(_unquoted(part)), quote=False)
        return "".join(parts)

    # One text, from the outside in ---------------------------------------------------------------------------------

    def _told(self, text: str) -> str:
        kept: list[str] = []

        def keep(match: re.Match[str]) -> str:
            kept.append(match[1])
            return f"\ue000{len(kept) - 1}\ue001"

        marked = WRITTEN.sub(keep, text)
        escaped = _ESCAPED.search(marked) is not None
        bare = _ESCAPED.sub(r"\1", marked) if escaped else marked
        told = self._known(bare, 0) or "\n".join(self._line(line) for line in bare.split("\n"))
        told = self.figures(told)
        if told == bare:
            told = marked
        elif escaped:
            told = _escape_like(marked, told)
        return _MARK.sub(lambda m: kept[int(m[1])], told)

    def _line(self, line: str) -> str:
        start, core = _LINE_START.match(line).groups()  # type: ignore[union-attr]  # it matches anything
        end = core[len(core.rstrip()) :]
        core = core.rstrip()
        return f"{start}{self._sentences(core, 0)}{end}" if core else line

    def _sentences(self, text: str, depth: int) -> str:
        known = self._known(text, depth)
        if known is not None:
            return known
        pieces = _SENTENCE_END.split(text)
        if len(pieces) == 1:
            return self._parts(text, depth)
        told, place = "", 0
        while place < len(pieces):
            for end in range(len(pieces), place, -2):
                found = self._known("".join(pieces[place:end]), depth)
                if found is not None:
                    break
            else:
                end, found = place + 1, self._parts(pieces[place], depth)
            told += found + (pieces[end] if end < len(pieces) else "")
            place = end + 1
        return told

    def _parts(self, text: str, depth: int) -> str:
        pieces = _PARTS.split(text)
        if len(pieces) == 1:
            return text
        said = [piece for piece in pieces[::2] if piece.strip()]
        known = [self._known(piece.strip(), depth + 1) for piece in said]
        if not any(known):
            return text
        told = ""
        for place, piece in enumerate(pieces):
            if place % 2:
                told += self._joint(piece)
                continue
            found = self._known(piece.strip(), depth + 1) if piece.strip() else None
            told += piece if found is None else piece.replace(piece.strip(), found, 1)
        return told

    def _joint(self, joint: str) -> str:
        word = joint.strip()
        told = self._exact.get(word) if word in ("and", "or", "to", "from", "of") else None
        return joint if told is None else joint.replace(word, told)

    def _known(self, text: str, depth: int) -> str | None:
        """The translation of a text that the book holds as a whole; None where it does not."""
        found = self._word(text)
        if found is not None or depth > _DEEPEST:
            return found
        found = self._filled(text, depth)
        if found is not None:
            return found
        for start, end in (
            ("**", "**"),
            ("(", ")"),
            ("“", "”"),
            ("_", "_"),
            ("", "."),
            ("", ":"),
            ("", ","),
            ("", ";"),
        ):
            if len(text) > len(start + end) and text.startswith(start) and text.endswith(end):
                inner = self._known(text[len(start) : len(text) - len(end)], depth + 1)
                if inner is not None:
                    return f"{start}{inner}{end}"
        return None

    def _word(self, text: str) -> str | None:
        found = self._exact.get(text)
        if found is not None:
            return found
        found = self._lower.get(text.lower())
        if found is not None and found:
            return (found[0].upper() if text[0].isupper() else found[0].lower()) + found[1:]
        counted = _COUNTED.match(text)
        if counted and counted[2] in self._counted:
            number = int(re.sub(r"\D", "", counted[1].split(".")[0]) or "0")
            return self._counted[counted[2]][self.plural(number)].replace("{number}", counted[1])
        return None

    def _filled(self, text: str, depth: int) -> str | None:
        for one in self._candidates(text):
            match = one.pattern.fullmatch(text)
            if match is None:
                continue
            values = {name: self._value(value, depth) for name, value in match.groupdict().items()}
            if one.weight < _WEAK and any(value is None for value in values.values()):
                continue
            filled = {name: value if value is not None else match[name] for name, value in values.items()}
            return one.told.format_map(filled)
        return None

    def _candidates(self, text: str) -> Iterable[Template]:
        found = [*self._by_word.get("", ())]
        for word in set(_WORD.findall(text)):
            found += self._by_word.get(word, ())
        return sorted(found, key=lambda one: -one.weight)

    def _value(self, value: str, depth: int) -> str | None:
        """What stands in a place: told, or None where nothing in it is known."""
        if not value.strip() or _DATA.match(value.strip()) or _MARK.search(value):
            return self._sentences(value, depth + 1) if _MARK.search(value) and len(value) > 4 else value
        start = value[: len(value) - len(value.lstrip())]
        end = value[len(value.rstrip()) :]
        told = self._sentences(value.strip(), depth + 1)
        return None if told == value.strip() and self._word(told) is None else f"{start}{told}{end}"


def _escape_like(before: str, told: str) -> str:
    """Special signs of Markdown escaped again, where the text had escaped them."""
    bold = "**" in before
    guarded = told.replace("**", "\ue002") if bold else told
    escaped = re.sub(r"([\\`*_{}\[\]()<>#+\-.!|~$:&])", r"\\\1", guarded)
    return escaped.replace("\ue002", "**")


def _unquoted(text: str) -> str:
    for entity, sign in (
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&quot;", '"'),
        ("&#x27;", "'"),
        ("&#39;", "'"),
        ("&amp;", "&"),
    ):
        text = text.replace(entity, sign)
    return text


def _quoted(text: str, quote: bool = True) -> str:
    text = text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return text.replace('"', "&quot;") if quote else text
