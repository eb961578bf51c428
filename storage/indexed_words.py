"""What of an item and an inspection is searched, and how a person's typed words are read. Pure functions."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache

from inspect_core.domain.decision import FindingOutcome
from inspect_core.domain.gear import Fibre, Item
from inspect_core.domain.inspection import Inspection

#: A longer search than this is a paste by mistake; the rest is left out.
_MOST_WORDS = 16
_LONGEST_WORD = 64
#: What codes start with: in an item's own row, and in the rows of its inspections.
CODE = "zzcode"
CODE_OF = "zzof"
_LEADING_ZEROS = re.compile(r"(?<!\d)0+(?=\d)")
#: Damage used is found by tenths up to here; what lies higher shares one word.
_TENTHS = 20


@dataclass(frozen=True, slots=True)
class TypedWord:
    """A word as it was typed. `starts`: whether words that only start so count as well. `code`: its letters and
    digits alone, as tags and serials are compared. `spelled`: words of the index that its last run of letters and
    digits may stand for, where they were looked up; None where they were not, or are too many."""

    text: str
    starts: bool
    code: str
    spelled: tuple[str, ...] | None = None

    @property
    def last(self) -> str:
        """Its last run of letters and digits, in lower case and without accents."""
        return _folded(_runs(self.text)[-1])


@lru_cache(maxsize=256)
def typed_words(text: str) -> tuple[TypedWord, ...]:
    """The words of a typed text, each once, split at white space. A word without any letter or digit is left out,
    since it could match nothing. A lone last letter or digit ("RIG-1", "f") starts nothing: too much starts so."""
    cut = (word[:_LONGEST_WORD] for word in text.split())
    kept = dict.fromkeys(word for word in cut if any(_is_searched(sign) for sign in word))
    return tuple(TypedWord(word, len(_runs(word)[-1]) > 1, _code(word)) for word in kept)[:_MOST_WORDS]


def before_last(word: str) -> str:
    """What stands before the last run of letters and digits."""
    runs = _runs(word)
    return " ".join(runs[:-1])


def _runs(word: str) -> list[str]:
    """Its runs of letters and digits."""
    return "".join(sign if _is_searched(sign) else " " for sign in word).split()


def _folded(text: str) -> str:
    return "".join(sign for sign in unicodedata.normalize("NFD", text.lower()) if not unicodedata.combining(sign))


def _code(text: str) -> str:
    return "".join(sign for sign in text if _is_searched(sign)).lower()


def _codes(prefix: str, item: Item) -> str:
    """Tags, old ones too, and serial as made-up words, so that "rig12" and "RIG-12" are one, and "WL-1" finds
    WL-0001."""
    written = (item.tag, *item.former_tags, item.serial)
    codes = [_code(text) for text in written] + [_code(_LEADING_ZEROS.sub("", text)) for text in written]
    return " ".join(prefix + code for code in dict.fromkeys(codes) if code)


def _is_searched(sign: str) -> bool:
    """Letters, digits and private-use signs: what FTS5's unicode61 tokenizer keeps."""
    category = unicodedata.category(sign)
    return category[0] in "LN" or category == "Co"


def facet(name: str, value: str) -> str:
    """A made-up word for one value of a filter; nobody types it."""
    return f"zz{name}{hashlib.sha256(value.encode()).hexdigest()[:12]}"


def same(text: str) -> str:
    """What two spellings of a maker's or a model's name share."""
    return " ".join(text.casefold().split())


def damage_tenth(damage: float) -> int:
    """The tenth that a share of damage used lies in; never lower for more damage."""
    return int(min(max(damage, 0.0) * 10, _TENTHS))


def damage_facets(least: float | None, most: float | None) -> list[str]:
    """Facets that hold every damage used from `least` to `most`, and a little more at both ends."""
    low = 0 if least is None else damage_tenth(least)
    high = _TENTHS if most is None else damage_tenth(most)
    return [facet("damage", str(tenth)) for tenth in range(low, high + 1)]


def _gear_facets(item: Item) -> str:
    return " ".join(
        (facet("kind", item.kind.value), facet("maker", same(item.maker)), facet("model", same(item.model)))
    )


def item_words(item: Item) -> dict[str, str]:
    """The columns of an item's row in `search_docs`."""
    fibre = "" if item.fibre is Fibre.UNKNOWN else item.fibre.value
    parts = (item.tag, item.kind.value, item.maker, item.model, item.serial, item.site, fibre, *item.standards)
    return {
        "own": _joined((*parts, item.note, *item.former_tags)),
        "about": _gear_facets(item),
        "facets": f"{facet('site', item.site)} {facet('item', item.id)} {_codes(CODE, item)}",
    }


def words_about(item: Item) -> str:
    """What the row of an inspection says about its item. Tag and serial count only when they are typed out: in
    pieces they are shared by far too many rows."""
    parts = (item.kind.value, item.maker, item.model, item.site)
    return _joined((*parts, _codes(CODE_OF, item), _gear_facets(item)))


def inspection_words(inspection: Inspection) -> str:
    """What was seen and decided: outcome, marks, reasons that held or withdrew with their sources and rules, notes,
    words among the facts."""
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
    for finding in inspection.decision.findings:
        if finding.outcome is not FindingOutcome.CLEARED:
            yield finding.source
            yield finding.rule


def inspection_facets(inspection: Inspection, item_site: str) -> str:
    """Site (of the inspection, else of its item), item, outcome, type, categories of marks, the people who signed, and
    how much damage was used."""
    signers = {inspection.by, inspection.hand.by} if inspection.hand else {inspection.by}
    return " ".join(
        (
            facet("site", inspection.site or item_site),
            facet("item", inspection.item_id),
            facet("outcome", inspection.outcome.value),
            facet("type", inspection.type.value),
            facet("damage", str(damage_tenth(inspection.decision.damage_used))),
            *sorted({facet("category", mark.category.value) for mark in inspection.marks}),
            *sorted(facet("person", person) for person in signers),
        )
    )


def _joined(parts: Iterable[str]) -> str:
    return " · ".join(part.strip() for part in parts if part.strip())
