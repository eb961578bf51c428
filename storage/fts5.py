"""Full-text search as SQLite does it (https://www.sqlite.org/fts5.html): its tables and its query language.

Another engine brings a module with the same functions; nothing outside this one knows FTS5.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa

from storage.indexed_words import CODE, CODE_OF, TypedWord, before_last
from storage.prepared import Prepared
from storage.tables import people, search_docs

#: Words of text that a snippet shows.
_SNIPPET = 24

#: What lets the index follow a change of words: the SQL that made it, with its name; and what makes the index anew, in
#: one piece: what is searched is looked for in each piece, and making it anew leaves a dozen of them.
FOLLOWING = ("SELECT sql FROM sqlite_master WHERE name = ?", ("search_docs_changed",))
REBUILD = (
    "INSERT INTO search_index (search_index) VALUES ('rebuild')",
    "INSERT INTO search_index (search_index) VALUES ('optimize')",
)

_index = sa.table("search_index", sa.column("rowid", sa.Integer))
_people = sa.table("search_people", sa.column("rowid", sa.Integer))


def expression(words: Sequence[tuple[TypedWord, Sequence[str]]], filters: Sequence[Sequence[str]]) -> str:
    """The MATCH expression for typed words, each with the facets that serve as well as the word itself, and for
    filters, each a list of facets of which one must be there. Empty where nothing is asked for."""
    own = " OR ".join(_own(word, facets) for word, facets in words)
    wanted = [f"({own})"] if words else []
    if len(words) > 1:
        wanted.extend(f"({_about(word)} OR {_own(word, facets)})" for word, facets in words)
    wanted.extend(f"({_facets(group)})" for group in filters)
    return " AND ".join(wanted)


def _own(word: TypedWord, facets: Sequence[str]) -> str:
    # One letter would start the codes of a whole fleet.
    code = f'facets : "{CODE}{word.code}"' + (" *" if len(word.code) > 1 else "")
    return " OR ".join([f"own : {typed(word)}", code] + ([_facets(facets)] if facets else []))


def _about(word: TypedWord) -> str:
    return f'about : {typed(word)} OR about : "{CODE_OF}{word.code}"'


def _facets(facets: Sequence[str]) -> str:
    # Kinds stand in `about`, since they are the item's; everything else in `facets`.
    return "{about facets} : (" + " OR ".join(facets) + ")"


def typed(word: TypedWord) -> str:
    """A typed word as FTS5 strings: quoted, so that nothing in it is syntax.

    Words that only start so are named one by one where they are known: FTS5 walks through each of those as far as a
    page needs, while for a beginning it first gathers every row of every such word, a third of a large store.
    """
    if word.spelled:
        before = before_last(word.text)
        return "(" + " OR ".join(f'"{before} {one}"' for one in word.spelled) + ")"
    quoted = '"' + word.text.replace('"', " ").replace("\0", " ") + '"'
    return quoted + " *" if word.starts else quoted


#: More words than these are not named one by one.
MOST_SPELLED = 24
#: Beginnings as short as this have an index of their own.
_INDEXED = 3
# Each step looks up the next word in order; the table shows every use of a word, so only the first is asked for.
_SPELLED = """
WITH RECURSIVE spelled (term) AS (
    SELECT (SELECT term FROM search_terms WHERE term >= ?1 LIMIT 1)
    UNION ALL
    SELECT (SELECT term FROM search_terms WHERE term >= spelled.term || char(1) LIMIT 1)
    FROM spelled WHERE spelled.term < ?2
)
SELECT term FROM spelled WHERE term < ?2 LIMIT ?3
"""


def spellings(word: TypedWord) -> tuple[str, tuple[Any, ...]] | None:
    """SQL and values for the words of the index that start as the typed one does, at most MOST_SPELLED + 1 of them;
    None where they need not be known, or where only FTS5 itself knows how the word is kept."""
    start = word.last
    if not word.starts or len(start) <= _INDEXED or not start.isascii():
        return None
    return _SPELLED, (start, start + "\U0010ffff", MOST_SPELLED + 1)


_SNIPPED: sa.Label[str] = sa.literal_column(f"snippet(search_index, 0, '', '', '…', {_SNIPPET})").label("snippet")
_EXPRESSION = sa.bindparam("expression", type_=sa.Text)
_LOW, _HIGH = sa.bindparam("low", type_=sa.BigInteger), sa.bindparam("high", type_=sa.BigInteger)
_LIMIT = sa.bindparam("limit", type_=sa.Integer)
# The plus keeps the planner from walking the documents and asking the index about each.
_FOUND = (
    sa.select(search_docs.c.id, search_docs.c.item_id, search_docs.c.inspection_id, _SNIPPED)
    .select_from(_index.join(search_docs, search_docs.c.id == sa.literal_column("+search_index.rowid")))
    .where(sa.literal_column("search_index").op("MATCH")(_EXPRESSION), _index.c.rowid >= _LOW, _index.c.rowid <= _HIGH)
    .order_by(_index.c.rowid.desc())
    .limit(_LIMIT)
)
#: Ids of at most `limit` people with a name that holds `name`, a word as `named` writes it.
PEOPLE_NAMED = Prepared(
    sa.select(people.c.id)
    .where(
        people.c.number.in_(
            sa.select(_people.c.rowid)
            .where(sa.literal_column("search_people").op("MATCH")(sa.bindparam("name", type_=sa.Text)))
            .limit(_LIMIT)
        )
    )
    .order_by(people.c.number)
)


def matching(words: bool) -> sa.Select[Any]:
    """Rows of `search_docs` with a snippet, highest id first, at most `limit`, ids from `low` to `high`, that match
    `expression` where words are asked for."""
    docs = search_docs.c
    if words:
        return _FOUND
    whole = sa.select(docs.id, docs.item_id, docs.inspection_id, sa.func.substr(docs.own, 1, 160).label("snippet"))
    return whole.where(docs.id >= _LOW, docs.id <= _HIGH).order_by(docs.id.desc()).limit(_LIMIT)


def named(word: TypedWord) -> str:
    """What asks for names with a word starting so."""
    return typed(word)


def is_index_table(name: str) -> bool:
    """Whether a table belongs to the full-text index."""
    return name.startswith(("search_index", "search_people", "search_terms"))
