"""What the parts of a sentence are: quantities, clauses, verdicts, and words between marks of markup."""

from __future__ import annotations

import re

PARTS = re.compile(
    r"(\*\*|  \n|\s·\s|\s[–—|=+×]\s|[,;:]\s|\s\(|^\(|\)|[“”‘]|\s/\s|\s%|\.$)",
)
NUMBER = re.compile(r"\d[\d.,]*")
UNIT = r"(?:mm²?|mm2|cm|m|kN|N|J|kg|g|in|ft|lbf?|px|°[CF]?|%|s|ms|h|min|a|y|W|Hz|M?Pa)"
#: A number with a unit of measure is no sentence: "3.5 in" puts nothing in.
QUANTITY = re.compile(rf"[\d.,±≤≥<>+−–/ -]*\d ?{UNIT}\.?")
#: A quantity as a sentence states it: "0.90 m (2 ft 11.4 in)", "4.12 m ± 0.10 m".
STATED = re.compile(rf"[−-]?\d[\d.,]* ?{UNIT}(?: ± \d[\d.,]* ?{UNIT})?(?: \((?:\d[\d.,]* ?{UNIT} ?)+\))?")
#: Several quantities with where they are from: "15 % (OSHA 29 CFR 1910.184); 10 % (the maker)".
CITED = re.compile(rf"(?:[−-]?\d[\d.,]* ?{UNIT} \([^;]*\)(?:; |$))+")
#: Words that turn a verdict round: a sentence in which one of them stays English is not told at all.
TURNS = {"above", "below", "within", "over", "under", "more", "less", "not", "no", "never", "at least", "at most"}
#: What shows that a part of a sentence is still an English one.
ENGLISH = re.compile(
    r"\b(?:is|are|was|were|be|not|no|never|must|cannot|above|below|within|limit|or have|used?|withdrawn|more|less)\b"
)


def is_one_thing(value: str) -> bool:
    """Whether a value is one word, name or quantity, not several put together."""
    return (
        not value
        or STATED.fullmatch(value) is not None
        or (PARTS.search(value) is None and any(map(str.isalnum, value)))
    )


def is_clause(piece: str) -> bool:
    """Whether a part of a sentence says something by itself."""
    return len(piece.split()) > 2 and ENGLISH.search(piece) is not None


def counts(pieces: list[str]) -> bool:
    """Whether "of" stands between plain numbers only: "3 of 5", but not "the limit of 95 mm"."""
    return all(
        joint.strip() != "of" or (NUMBER.fullmatch(before.strip()) and NUMBER.match(after.strip()))
        for before, joint, after in zip(pieces[::2], pieces[1::2], pieces[2::2], strict=False)
    )


def first(text: str, upper: bool) -> str:
    """The text with a capital letter at its start, or without."""
    return (text[0].upper() if upper else text[0].lower()) + text[1:]


def unquoted(text: str) -> str:
    """Markup's entities as signs."""
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


def quoted(text: str, quote: bool = True) -> str:
    """Signs that markup reads, as entities."""
    text = text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return text.replace('"', "&quot;") if quote else text
