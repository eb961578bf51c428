"""Marks of standards on labels. The numbers known here are those of fall-protection gear, from memory; another number
is proposed too, with that doubt."""

from __future__ import annotations

import re

_DIGITS = r"[0-9OIlSBZ]"
_PARTS = rf"(?:\s?[.\-–]\s?{_DIGITS}{{1,2}})?"
_EDITION = r"(?:\s?[:\-–]\s?((?:19|20)?\d\d(?!\d)))?"
_EN = re.compile(rf"\bEN\s?-?(?:ISO\s?)?({_DIGITS}{{3,5}}(?:\s?-\s?{_DIGITS}(?!\d))?)(?:\s?:\s?((?:19|20)\d\d))?")
_ANSI = re.compile(rf"\b(?:ANSI|ASSE|ASSP)?\s?/?\s?(?:ASSE|ASSP)?\s?(Z\s?3S?5?9{_PARTS}|A\s?10[.]32){_EDITION}")
_CSA = re.compile(rf"\b(?:CSA|CAN)?\s?/?\s?(?:CSA)?\s?-?\s?(Z\s?2S?5?9[.]{_DIGITS}{{1,2}}(?:[.]{_DIGITS})?){_EDITION}")
_AS = re.compile(r"\bAS\s?/\s?NZS\s?(1891[.]\d)")
_ISO = re.compile(r"\bISO\s?(10333-\d)")
_KNOWN_EN = {
    *("341", "353-1", "353-2", "354", "355", "358", "360", "361", "362", "363", "364", "365", "397", "567", "795"),
    *("813", "1496", "1497", "1498", "1868", "1891", "892", "12275", "12277", "12841"),
}
_KNOWN_Z359 = {"1", "2", "3", "4", "6", "7", "11", "12", "13", "14", "15", "16", "17", "18"}
_KNOWN_Z259 = {
    *("1", "2.1", "2.2", "2.3", "2.4", "2.5", "3", "10", "11", "12", "13", "14", "15", "16", "17"),
}
_MEND = str.maketrans({"O": "0", "I": "1", "l": "1", "S": "5", "B": "8", "Z": "2"})


def find_standards(text: str) -> list[tuple[str, tuple[str, ...]]]:
    """(mark as the register writes it, doubts) for every standard that a line names.

    >>> [mark for mark, _ in find_standards("EN 361:2002 EN358")]
    ['EN 361', 'EN 358']
    """
    found: list[tuple[int, str, tuple[str, ...]]] = []
    for match in _EN.finditer(text):
        number, doubts = _mended(match[1].replace(" ", ""))
        known = number in _KNOWN_EN
        found.append((match.start(), f"EN {number}", (*doubts, *_strange(known))))
    for match in _ANSI.finditer(text):
        found.append((match.start(), *_american(match[1].replace(" ", ""))))
    for match in _CSA.finditer(text):
        part, doubts = _mended(match[1].replace(" ", "").split(".", 1)[1])
        found.append((match.start(), f"CSA Z259.{part}", (*doubts, *_strange(part in _KNOWN_Z259))))
    found += [(m.start(), f"AS/NZS {m[1]}", ()) for m in _AS.finditer(text)]
    found += [(m.start(), f"ISO {m[1]}", ()) for m in _ISO.finditer(text)]
    return [(mark, doubts) for _, mark, doubts in sorted(found, key=lambda one: one[0])]


def _american(number: str) -> tuple[str, tuple[str, ...]]:
    if number.startswith("A10"):
        return "ANSI A10.32", ()
    part = re.split(r"[.\-–]", number, maxsplit=1)
    if len(part) < 2:
        return "ANSI Z359", ("The part of the standard is missing, such as Z359.13.",)
    mended, doubts = _mended(part[1])
    return f"ANSI Z359.{mended}", (*doubts, *_strange(mended in _KNOWN_Z359))


def _mended(number: str) -> tuple[str, tuple[str, ...]]:
    """The number with letters taken for the digits that they look like, and the doubt that this is."""
    mended = number.translate(_MEND)
    return mended, (f"It was read as “{number}”; letters were taken for digits.",) if mended != number else ()


def _strange(known: bool) -> tuple[str, ...]:
    return () if known else ("This number is not known here as a standard for such gear: compare it with the label.",)
