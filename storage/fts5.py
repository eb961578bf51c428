"""Full-text search as SQLite does it (https://www.sqlite.org/fts5.html): its tables and its query language.

Another engine brings a module with the same functions; nothing outside this one knows FTS5.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa

from storage.indexed_words import CODE, CODE_OF, TypedWord
from storage.tables import people, search_docs

#: Words of text that a snippet shows.
_SNIPPET = 24

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
    return " OR ".join([f"own : {_typed(word)}", code] + ([_facets(facets)] if facets else []))


def _about(word: TypedWord) -> str:
    return f'about : {_typed(word)} OR about : "{CODE_OF}{word.code}"'


def _facets(facets: Sequence[str]) -> str:
    # Kinds stand in `about`, since they are the item's; everything else in `facets`.
    return "{about facets} : (" + " OR ".join(facets) + ")"


def _typed(word: TypedWord) -> str:
    """A typed word as an FTS5 string: quoted, so that nothing in it is syntax."""
    quoted = '"' + word.text.replace('"', " ").replace("\0", " ") + '"'
    return quoted + " *" if word.starts else quoted


def matching(
    expression: str, narrow: Sequence[sa.ColumnElement[bool]], low: int, high: int, limit: int
) -> sa.Select[Any]:
    """Rows of `search_docs` with a snippet, highest id first, that match and have an id from `low` to `high`."""
    docs = search_docs.c
    columns = (docs.id, docs.item_id, docs.inspection_id)
    if not expression:
        whole = sa.select(*columns, sa.func.substr(docs.own, 1, 160).label("snippet"))
        return whole.where(docs.id.between(low, high), *narrow).order_by(docs.id.desc()).limit(limit)
    snippet: sa.Label[str] = sa.literal_column(f"snippet(search_index, 0, '', '', '…', {_SNIPPET})").label("snippet")
    # The plus keeps the planner from walking the documents and asking the index about each.
    joined = _index.join(search_docs, docs.id == sa.literal_column("+search_index.rowid"))
    return (
        sa.select(*columns, snippet)
        .select_from(joined)
        .where(
            sa.literal_column("search_index").op("MATCH")(expression),
            _index.c.rowid >= low,
            _index.c.rowid <= high,
            *narrow,
        )
        .order_by(_index.c.rowid.desc())
        .limit(limit)
    )


def people_named(word: TypedWord, limit: int) -> sa.Select[Any]:
    """Ids of people with a name that holds a word starting so."""
    matched = sa.literal_column("search_people").op("MATCH")(_typed(word))
    return (
        sa.select(people.c.id)
        .where(people.c.number.in_(sa.select(_people.c.rowid).where(matched).limit(limit)))
        .order_by(people.c.number)
    )


def is_index_table(name: str) -> bool:
    """Whether a table belongs to the full-text index."""
    return name.startswith(("search_index", "search_people"))
