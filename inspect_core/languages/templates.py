"""Sentences with named places, as patterns that recognise what was made of them; words that are in no language."""

from __future__ import annotations

import re
from dataclasses import dataclass

from inspect_core.languages.owned import owned

PLACE = re.compile(r"\{(\w+)\}")
LETTER = re.compile(r"[A-Za-zÀ-ÿ]")
WORD = re.compile(r"[A-Za-zÀ-ÿ]{2,}")


def as_written(text: str) -> str:
    """A text between isolates of Unicode (UAX 9): it belongs to no language around it."""
    start, end = "\u2068", "\u2069"
    return f"{start}{text.replace(start, '').replace(end, '')}{end}" if text else text


@dataclass(frozen=True, slots=True)
class Template:
    """One sentence with places. `weight`: how many letters are fixed. `leads`: it begins with fixed words.
    `owned`: places that hold what a person chose."""

    pattern: re.Pattern[str]
    told: str
    weight: int
    anchor: str
    leads: bool
    owned: frozenset[str]


def template(message: str, told: str) -> Template:
    """The template of a message such as "Unfinished work ({work})"."""
    pattern, fixed, last = "", [], 0
    seen: set[str] = set()
    for place in PLACE.finditer(message):
        before = bare(message[last : place.start()])
        fixed.append(before)
        name = place[1]
        # What is glued to the words before may be empty; of two places side by side the first takes all it can.
        glued = (
            place.start() > 0 and not message[place.start() - 1].isspace() and message[place.start() - 1] not in "(“«"
        )
        greedy = "" if message[place.end() : place.end() + 1] == "{" else "?"
        pattern += re.escape(before)
        pattern += f"(?P={name})" if name in seen else f"(?P<{name}>.{'*' if glued else '+'}{greedy})"
        seen.add(name)
        last = place.end()
    fixed.append(bare(message[last:]))
    pattern += re.escape(fixed[-1])
    words = sorted((word for text in fixed for word in WORD.findall(text)), key=len, reverse=True)
    weight = sum(len(LETTER.findall(text)) for text in fixed)
    # The first word stands alone: glued to a place, it may be the end of another word.
    anchor = next((w for w in words if re.search(rf"(?<![\w}}]){re.escape(w)}(?![\w{{])", message)), "")
    return Template(
        re.compile(pattern, re.DOTALL),
        told,
        weight,
        anchor,
        bool(WORD.match(fixed[0])),
        owned(message, frozenset(seen)),
    )


def bare(text: str) -> str:
    return text.replace("{{", "{").replace("}}", "}")
