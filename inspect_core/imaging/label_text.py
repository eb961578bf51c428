"""From lines of text on a maker's label to proposals for the register. Pure: no picture, no reader.

A proposal is never more than that. What bounds the life of the gear (expiry, service life, next inspection) is told
and never proposed: a wrong figure there would keep gear in use that must not be.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.label_text import LabelReading, Proposal, TextLine, Told
from inspect_core.imaging.label_dates import find_date
from inspect_core.imaging.label_standards import find_standards

#: Signs that readers take for each other, by shape.
_ALIKE = ({"O", "0", "Q", "D"}, {"I", "1", "L", "|"}, {"S", "5"}, {"B", "8"}, {"Z", "2"}, {"G", "6"})
#: Below this the reader itself was unsure.
UNSURE = 0.85

_SEP = r"[\s:.#°º-]*"
_SERIAL = re.compile(
    rf"\b(?:serial(?:\s*(?:number|no|num|nr))?|ser\.?\s*no|s\s*/\s*n|s\.n\.|sn){_SEP}(?=$|[A-Z0-9\s])", re.IGNORECASE
)
_MODEL = re.compile(
    rf"\b(?:model(?:\s*(?:number|no|nr))?|mod\.|style(?:\s*no)?|p\s*/\s*n|part\s*(?:number|no)|"
    rf"art(?:icle)?\.?\s*(?:number|no|nr)|ref(?:erence)?(?:\s*no)?\b\.?){_SEP}",
    re.IGNORECASE,
)
_LOT = re.compile(rf"\b(?:lot|batch)(?:\s*(?:number|no|nr))?{_SEP}(?=$|[A-Z0-9\s])", re.IGNORECASE)
_MADE = re.compile(
    rf"\b(?:date\s*of\s*(?:manufacture|production|mfg)|manufactur(?:ed|ing|e)(?:\s*(?:on|date))?|made(?:\s*on)?|"
    rf"mfg\.?(?:\s*date)?|mfd\.?|d\.?\s?o\.?\s?m\.?|prod(?:uction)?\.?\s*date){_SEP}(?=$|[A-Z0-9\s])",
    re.IGNORECASE,
)
_MAKER = re.compile(
    r"\b(?:manufacturer|manufactured\s*by|made\s*by|maker|producer|produced\s*by)[\s:.]*", re.IGNORECASE
)
_LIFE = re.compile(
    r"expir|\bexp\b|use[\s-]*by|use[\s-]*before|best[\s-]*before|valid[\s-]*(?:until|to)|service[\s-]*life|life[\s-]*span|"
    r"shelf[\s-]*life|useful[\s-]*life|working[\s-]*life|max(?:imum|\.)?[\s-]*(?:life|age)|discard|retire|replace[\s-]*by|"
    r"remove[\s-]*from[\s-]*service|next[\s-]*(?:inspection|service|check)|inspect[\s-]*(?:by|before)|first[\s-]*use|"
    r"in[\s-]*service",
    re.IGNORECASE,
)
_WHY_LIFE = "It bounds the gear’s life. Read it on the gear itself and enter it by hand; it is never taken over."
_OTHER_WORDS = re.compile(
    r"read|instruction|warning|before|users?\b|length|max|kg|lbs?\b|kn\b|size|made|date|only|polyester|nylon|polyamide|"
    r"inspect|drawn|notified|body|ce\b|www|http|@",
    re.IGNORECASE,
)


def read_label(lines: Sequence[TextLine]) -> LabelReading:
    """Proposals from a label's lines, in the order of the register's form, each field at most once but standards."""
    ordered = sorted(lines, key=lambda line: (line.top, line.left))
    told = tuple(Told(line, _WHY_LIFE) for line in ordered if _LIFE.search(_spelled(line.text)))
    usable = [line for line in ordered if not _LIFE.search(_spelled(line.text))]
    found = [
        _named_maker(usable) or _largest(usable),
        _value(usable, _MODEL, "model", _code),
        _value(usable, _SERIAL, "serial", _number_code),
        _made_on(usable),
        _value(usable, _LOT, "lot", _number_code),
    ]
    proposals = [one for one in found if one is not None]
    return LabelReading(tuple(ordered), (*proposals, *_standards(usable)), told)


_FOR_LETTERS = str.maketrans({"0": "O", "1": "I", "5": "S", "8": "B", "|": "I"})


def _spelled(text: str) -> str:
    """The text with digits inside words taken for the letters they look like, to find the words that name a field; as
    long as before, so that places in it stay.

    >>> _spelled("M0DEL: A10, D1SCARD AFTER 2031")
    'MODEL: A10, DISCARD AFTER 2031'
    """

    def mended(match: re.Match[str]) -> str:
        word = match[0]
        letters = sum(sign.isalpha() for sign in word)
        return word.translate(_FOR_LETTERS) if letters >= 3 and letters >= 0.7 * len(word) else word

    return re.sub(r"[A-Za-z0-9|]+", mended, text)


def _value(lines: Sequence[TextLine], word: re.Pattern[str], field: str, take: Callable[[str], str]) -> Proposal | None:
    """What stands behind a word that names the field, on its line or beside or below it."""
    for line in lines:
        found = word.search(_spelled(line.text))
        if not found:
            continue
        value = take(line.text[found.end() :])
        used: tuple[TextLine, ...] = (line,)
        if not value and not line.text[found.end() :].strip(" :.#-"):
            near = _beside(line, lines)
            value, used = (take(near.text), (line, near)) if near is not None else ("", used)
        if value:
            return Proposal(field, value, used, _doubts(value, used))
    return None


def _beside(line: TextLine, lines: Sequence[TextLine]) -> TextLine | None:
    """The nearest line to the right on the same height, else the one right below."""
    middle = (line.top + line.bottom) / 2
    right = [o for o in lines if o is not line and o.left >= line.right - line.height and o.top < middle < o.bottom]
    if right:
        return min(right, key=lambda o: o.left)
    below = [
        o
        for o in lines
        if o is not line and 0 <= o.top - line.bottom + 0.3 * line.height < 1.8 * line.height
        and o.left < line.right and o.right > line.left
    ]  # fmt: skip
    return min(below, key=lambda o: o.top, default=None)


def _code(text: str) -> str:
    """A model's name or number: letters, digits and signs between, up to a gap or another word that names a field."""
    text = _closed(re.split(r"\s{3,}|[;|]", text.strip(" :.#-"))[0])
    for other in (_SERIAL, _LOT, _MADE):
        found = other.search(text)
        if found and found.start() > 0:
            text = text[: found.start()]
    found = re.match(r"[A-Za-z0-9][A-Za-z0-9 ./+-]{0,39}", text)
    return found[0].strip(" .-/") if found else ""


def _closed(text: str) -> str:
    """Codes without the gaps that readers see around a dash or a slash."""
    return re.sub(r"(?<=[A-Za-z0-9])\s?([-/])\s?(?=[A-Za-z0-9])", r"\1", text)


def _number_code(text: str) -> str:
    """A serial or lot number: one run of letters, digits and signs with at least one digit."""
    found = re.match(r"[A-Z0-9][A-Z0-9./-]{1,30}", _closed(text.strip(" :.#°-").upper()))
    value = found[0].strip("./-") if found else ""
    return value if re.search(r"\d", value) else ""


def _made_on(lines: Sequence[TextLine]) -> Proposal | None:
    for line in lines:
        found = _MADE.search(_spelled(line.text))
        if not found:
            continue
        used: tuple[TextLine, ...] = (line,)
        read = find_date(line.text[found.end() :])
        if read is None and not re.search(r"\d", line.text[found.end() :]):
            near = _beside(line, lines)
            if near is not None:
                read, used = find_date(near.text), (line, near)
        if read is not None:
            value = read.day.isoformat() if read.day else ""
            return Proposal("made_on", value, used, (*read.doubts, *_unsure(used)))
    return None


def _standards(lines: Sequence[TextLine]) -> list[Proposal]:
    proposals: dict[str, Proposal] = {}
    for line in lines:
        for mark, doubts in find_standards(line.text):
            proposals.setdefault(mark, Proposal("standards", mark, (line,), (*doubts, *_unsure((line,)))))
    return list(proposals.values())


def _named_maker(lines: Sequence[TextLine]) -> Proposal | None:
    for line in lines:
        found = _MAKER.search(_spelled(line.text))
        if found and not find_date(line.text[found.end() :]):
            value = line.text[found.end() :].strip(" :.,")
            used: tuple[TextLine, ...] = (line,)
            if not value:
                near = _beside(line, lines)
                value, used = (near.text.strip(), (line, near)) if near is not None else ("", used)
            if len(re.findall(r"[A-Za-z]", value)) >= 2:
                return Proposal("maker", value[:80], used, _unsure(used))
    return None


def _largest(lines: Sequence[TextLine]) -> Proposal | None:
    """The line in the largest letters, where it says nothing else that is known."""
    words = {w for k in Kind for w in k.value.split()} | {w.lower() for c in Component for w in c.value.split()}
    fitting = [
        line
        for line in lines
        if len(re.findall(r"[A-Za-z]", line.text)) >= 3
        and not any(p.search(line.text) for p in (_SERIAL, _MODEL, _LOT, _MADE, _OTHER_WORDS))
        and not find_standards(line.text)
        and not {w.lower() for w in re.findall(r"[A-Za-z]+", line.text)} & words
    ]
    if not fitting:
        return None
    largest = max(fitting, key=lambda line: line.height)
    others = [line.height for line in lines if line is not largest]
    if others and largest.height < max(others) * 0.9:
        return None
    doubt = "It is the line in the largest letters; nothing on the label says that it is the maker."
    return Proposal("maker", largest.text.strip()[:80], (largest,), (doubt, *_unsure((largest,))))


def _doubts(value: str, lines: Sequence[TextLine]) -> tuple[str, ...]:
    """What could be wrong with a code: signs that look alike, and what the reader was unsure of."""
    upper = value.upper()
    mixed = bool(re.search(r"\d", upper)) and bool(re.search(r"[A-Z]", upper))
    risky = sorted({sign for sign in upper for alike in _ALIKE if sign in alike and (mixed or not sign.isdigit())})
    doubts = (
        [f"Compare {', '.join(risky)} with the label: such signs are easily taken for each other."] if risky else []
    )
    return (*doubts, *_unsure(lines))


def _unsure(lines: Sequence[TextLine]) -> tuple[str, ...]:
    return ("The reader was unsure of this line.",) if min(line.confidence for line in lines) < UNSURE else ()
