"""What of an item and an inspection is searched, and how a person's typed words are read. Pure functions."""

from __future__ import annotations

import hashlib
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from inspect_core.domain.decision import FindingOutcome
from inspect_core.domain.gear import Fibre, Item
from inspect_core.domain.inspection import Inspection

#: A longer search than this is a paste by mistake; the rest is left out.
_MOST_WORDS = 16
_LONGEST_WORD = 64
#: What codes start with: in an item's own row, and in the rows of its inspections.
CODE = "zzcode"
CODE_OF = "zzof"


@dataclass(frozen=True, slots=True)
class TypedWord:
    """A word as it was typed. `starts`: whether words that only start so count as well. `code`: its letters and
    digits alone, as tags and serials are compared."""

    text: str
    starts: bool
    code: str


def typed_words(text: str) -> tuple[TypedWord, ...]:
    """The words of a typed text, each once, split at white space. A word without any letter or digit is left out,
    since it could match nothing. A lone last letter or digit ("RIG-1", "f") starts nothing: too much starts so."""
    cut = (word[:_LONGEST_WORD] for word in text.split())
    kept = dict.fromkeys(word for word in cut if any(_is_searched(sign) for sign in word))
    return tuple(TypedWord(word, _last_run(word) > 1, _code(word)) for word in kept)[:_MOST_WORDS]


def _last_run(word: str) -> int:
    """Length of the last run of letters and digits."""
    runs = "".join(sign if _is_searched(sign) else " " for sign in word).split()
    return len(runs[-1])


def _code(text: str) -> str:
    return "".join(sign for sign in text if _is_searched(sign)).lower()


def _codes(prefix: str, item: Item) -> str:
    """Tag and serial as made-up words, so that "rig12" and "RIG-12" are one."""
    return " ".join(prefix + code for code in (_code(item.tag), _code(item.serial)) if code)


def _is_searched(sign: str) -> bool:
    """Letters, digits and private-use signs: what FTS5's unicode61 tokenizer keeps."""
    category = unicodedata.category(sign)
    return category[0] in "LN" or category == "Co"


def facet(name: str, value: str) -> str:
    """A made-up word for one value of a filter; nobody types it."""
    return f"zz{name}{hashlib.sha256(value.encode()).hexdigest()[:12]}"


def item_words(item: Item) -> dict[str, str]:
    """The columns of an item's row in `search_docs`."""
    fibre = "" if item.fibre is Fibre.UNKNOWN else item.fibre.value
    parts = (item.tag, item.kind.value, item.maker, item.model, item.serial, item.site, fibre, *item.standards)
    return {
        "own": _joined((*parts, item.note)),
        "about": facet("kind", item.kind.value),
        "facets": f"{facet('site', item.site)} {facet('item', item.id)} {_codes(CODE, item)}",
    }


def words_about(item: Item) -> str:
    """What the row of an inspection says about its item. Tag and serial count only when they are typed out: in
    pieces they are shared by far too many rows."""
    parts = (item.kind.value, item.maker, item.model, item.site)
    return _joined((*parts, _codes(CODE_OF, item), facet("kind", item.kind.value)))


def inspection_words(inspection: Inspection) -> str:
    """What was seen and decided: outcome, marks, reasons that held or withdrew, notes, words among the facts."""
    return _joined(dict.fromkeys(_inspection_parts(inspection)))


def _inspection_parts(inspection: Inspection) -> Iterator[str]:
    yield inspection.outcome.value
    for mark in inspection.marks:
        yield f"{mark.category.value} {mark.component.value}"
        yield mark.note
    for finding in inspection.decision.findings:
        if finding.outcome is not FindingOutcome.CLEARED:
            yield finding.reason
    if inspection.hand:
        yield inspection.hand.reason
    yield inspection.note
    yield from inspection.answer_notes.values()
    yield from (value for value in inspection.facts.values() if isinstance(value, str))
    yield inspection.type.value
    yield inspection.site


def inspection_facets(inspection: Inspection, item_site: str) -> str:
    """Site (of the inspection, else of its item), item, outcome, categories of marks, and the people who signed."""
    signers = {inspection.by, inspection.hand.by} if inspection.hand else {inspection.by}
    return " ".join(
        (
            facet("site", inspection.site or item_site),
            facet("item", inspection.item_id),
            facet("outcome", inspection.outcome.value),
            *sorted({facet("category", mark.category.value) for mark in inspection.marks}),
            *sorted(facet("person", person) for person in signers),
        )
    )


def _joined(parts: Iterable[str]) -> str:
    return " · ".join(part.strip() for part in parts if part.strip())
