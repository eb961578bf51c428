"""Full-text search as PostgreSQL does it (https://www.postgresql.org/docs/current/textsearch.html): the same
functions as `storage.fts5`, with the same answers.

The step of the migrations that makes the index also makes the function `bartack_words`: accents off (`unaccent`),
lower case, split at whatever is no letter or digit, no language's stems: an English site's "Dépôt" and a French
site's "lanyard" are found alike. Weights stand for the columns: A own, B about, C facets.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa

from storage.indexed_words import CODE, CODE_OF, TypedWord
from storage.prepared import Prepared
from storage.tables import people, search_docs

_OWN, _ABOUT, _FACETS = "A", "B", "BC"
#: No record has it: everything stored is parted at such signs.
_NO_WORD = "zz none"
_words: sa.ColumnElement[Any] = sa.literal_column("search_docs.words")


def expression(words: Sequence[tuple[TypedWord, Sequence[str]]], filters: Sequence[Sequence[str]]) -> str:
    """The query for typed words, each with the facets that serve as well as the word itself, and for filters, each a
    list of facets of which one must be there. Empty where nothing is asked for."""
    own = " | ".join(_own(word, facets) for word, facets in words)
    wanted = [f"({own})"] if words else []
    if len(words) > 1:
        wanted.extend(f"({_about(word)} | {_own(word, facets)})" for word, facets in words)
    wanted.extend(f"({_facets(group)})" for group in filters)
    return " & ".join(wanted)


def _own(word: TypedWord, facets: Sequence[str]) -> str:
    # One letter would start the codes of a whole fleet.
    code = _lexeme(CODE + word.code, "*C" if len(word.code) > 1 else "C")
    return " | ".join([_typed(word, _OWN), code, *([_facets(facets)] if facets else [])])


def _about(word: TypedWord) -> str:
    return f"{_typed(word, _ABOUT)} | {_lexeme(CODE_OF + word.code, _ABOUT)}"


def _facets(facets: Sequence[str]) -> str:
    return " | ".join(_lexeme(facet, _FACETS) for facet in facets)


def _typed(word: TypedWord, weights: str) -> str:
    """The runs of letters and digits of a typed word, one after the other."""
    text = unicodedata.normalize("NFC", word.text)
    # What is left of accents that stand by themselves goes, as it does in the other engine.
    kept = "".join(sign for sign in text if unicodedata.category(sign) != "Mn")
    runs = "".join(sign if _is_searched(sign) else " " for sign in kept).split()
    if not runs:
        return _lexeme("", "")
    parts = [_lexeme(run, weights) for run in runs[:-1]]
    parts.append(_lexeme(runs[-1], ("*" if word.starts else "") + weights))
    return "(" + " <-> ".join(parts) + ")"


def _lexeme(text: str, flags: str) -> str:
    # Letters and digits alone, in quotes: nothing in it is syntax. Accents and case go in the database, as they
    # went when the words were stored.
    kept = "".join(sign for sign in text if _is_searched(sign))
    return f"'{kept or _NO_WORD}':{flags}"


def _is_searched(sign: str) -> bool:
    """Letters and digits, but none of which `unaccent` makes an apostrophe, which would end the quotes."""
    parts = [unicodedata.category(part) for part in unicodedata.normalize("NFKD", sign)]
    return parts[0][0] in "LN" and "Lm" not in parts


def _query(name: str) -> sa.ColumnElement[Any]:
    folded = sa.func.lower(sa.func.unaccent(sa.bindparam(name, type_=sa.Text)))
    # `lower` would take the weights' letters with it, which tsquery reads in either case.
    return sa.func.to_tsquery(sa.literal_column("'simple'::regconfig"), folded)


_LIMIT = sa.bindparam("limit", type_=sa.Integer)
#: Ids of at most `limit` people with a name that holds `name`, a word as `named` writes it.
PEOPLE_NAMED = Prepared(
    sa.select(people.c.id)
    .where(sa.func.bartack_words(people.c.name).op("@@")(_query("name").self_group()))
    .order_by(people.c.number)
    .limit(_LIMIT)
)


def named(word: TypedWord) -> str:
    """What asks for names with a word starting so."""
    return _typed(word, "")


class _Found:
    """Rows that match, to which conditions may still be added: the snippet is made for the hits of the page alone, not
    for every row that matches."""

    def __init__(self, matched: sa.Select[Any]) -> None:
        self._matched = matched

    def where(self, *conditions: sa.ColumnElement[bool]) -> sa.Select[Any]:
        found = self._matched.where(*conditions).order_by(search_docs.c.id.desc()).limit(_LIMIT).subquery("found")
        shown = sa.func.ts_headline(
            sa.literal_column("'simple'::regconfig"),
            found.c.own,
            _query("expression"),
            "StartSel='', StopSel='', MaxWords=24, MinWords=12, MaxFragments=1, FragmentDelimiter=…",
        )
        return sa.select(found.c.id, found.c.item_id, found.c.inspection_id, shown.label("snippet")).order_by(
            found.c.id.desc()
        )


def matching(words: bool) -> sa.Select[Any] | _Found:
    """Rows of `search_docs` with a snippet, highest id first, at most `limit`, ids from `low` to `high`, that match
    `expression` where words are asked for."""
    docs = search_docs.c
    columns = (docs.id, docs.item_id, docs.inspection_id)
    between = docs.id.between(sa.bindparam("low", type_=sa.BigInteger), sa.bindparam("high", type_=sa.BigInteger))
    if words:
        return _Found(sa.select(*columns, docs.own).where(_words.op("@@")(_query("expression")), between))
    whole = sa.select(*columns, sa.func.substr(docs.own, 1, 160).label("snippet"))
    return whole.where(between).order_by(docs.id.desc()).limit(_LIMIT)
