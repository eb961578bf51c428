"""Search: how records enter the index, and how hits are found and put together.

Every item and inspection has one row in `search_docs` with three columns of words:

own     the record's own words, of which a hit shows a snippet
about   words of the item that an inspection is of, so that "RIG-12 cut" finds the cuts of RIG-12
facets  made-up words for filters, people, tags and serials, so that the index itself narrows the hits down

A hit needs every word typed, in `own` or `about`, and at least one of them in `own`: the tag alone finds the item
and not each of its inspections. Names of people have an index of their own and match inspections through facets,
so that a name can be changed without touching any inspection.

The row's id sorts the hits: items first, the last registered foremost, then inspections, newest first. The query
language of the database lives in `storage.fts5` and `storage.tsvector`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from types import ModuleType
from typing import Any, TypeVar

import sqlalchemy as sa
from sqlalchemy.engine import Row

from inspect_core.domain.custody import Standing, State
from inspect_core.domain.decision import Outcome
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Item, Kind
from inspect_core.domain.inspection import Inspection, InspectionType
from inspect_core.domain.marks import Category
from inspect_core.domain.record import Page, SearchHit
from storage import fts5, tsvector
from storage.indexed_words import (
    TypedWord,
    damage_facets,
    facet,
    inspection_facets,
    inspection_words,
    item_words,
    same,
    typed_words,
    words_about,
)
from storage.mapping import item_of, on_site, standing_of
from storage.prepared import Kept, Prepared
from storage.tables import inspections, items, search_docs
from storage.work import Work

#: Ids of items' rows start here; those of inspections, made of their time, stay below.
_ITEMS = 1 << 62
_END = (1 << 63) - 1
#: Inspections of one and the same second that keep their exact place in the order.
_PER_SECOND = 64
_BEGINNING = datetime(1, 1, 1, tzinfo=UTC)
#: So many items in the wanted states are looked for by name.
_FEW = 200
#: What brings the index up to date with each row that is added.
_ADDED = "search_docs_added"
#: So many people of one name are looked for.
_MOST_NAMED = 100
#: The most hits one page may hold.
_MOST = 200

T = TypeVar("T")
_LAST_TAKEN = Prepared(
    sa.select(sa.func.max(search_docs.c.id).label("last")).where(
        search_docs.c.id >= sa.bindparam("low"), search_docs.c.id < sa.bindparam("high")
    )
)
_REWRITE = sa.text(
    "UPDATE search_docs SET own = :own, about = :about, facets = :facets"
    " WHERE item_id = :its_item AND inspection_id = :its_inspection"
)
_TAGGED = Prepared(sa.select(items.c.number).where(items.c.tag == sa.bindparam("tag")))
#: Ids that one statement names; what is not needed stays empty, which is nobody's id.
_SLOTS = 21
_LATER = inspections.alias("later")
_NO_IDS = ("",) * _SLOTS
_IDS = [sa.bindparam(f"id{place}", type_=sa.Text) for place in range(_SLOTS)]
#: What a hit shows of its item: the id, the item, where it stands, its photo.
_ITEMS_BY_ID = Kept(
    sa.select(items).where(items.c.id.in_(_IDS)), lambda row: (row.id, (item_of(row), standing_of(row), row.photo_id))
)
#: And of its inspection: the id, when, outcome, photo, whether it was corrected.
_INSPECTIONS_BY_ID = Kept(
    sa.select(
        *(inspections.c[name] for name in ("id", "at", "at_offset", "outcome", "photo_id")),
        sa.exists().where(_LATER.c.corrects == inspections.c.id).label("corrected"),
    ).where(inspections.c.id.in_(_IDS)),
    lambda row: (row.id, (on_site(row.at, row.at_offset), Outcome(row.outcome), row.photo_id, bool(row.corrected))),
)


class SqlSearch:
    """Fulfils SearchIndex; the repositories tell it what to index, inside their transaction."""

    def __init__(self, work: Work) -> None:
        self._work = work
        #: How the words are asked for; both modules have the same functions.
        self._language = fts5 if work.dialect == "sqlite" else tsvector

    def add_item(self, number: int, item: Item) -> None:
        self._work.insert(search_docs, {"id": _ITEMS + number, "item_id": item.id, **item_words(item)})

    def change_item(self, number: int, item: Item) -> None:
        """Brings the item's own row up to date, and what its inspections' rows say about it where that changed."""
        column = search_docs.c
        self._work.change(sa.update(search_docs).where(column.id == _ITEMS + number).values(item_words(item)))
        about = words_about(item)
        stale = sa.and_(column.item_id == item.id, column.id < _ITEMS, column.about != about)
        self._work.change(sa.update(search_docs).where(stale).values(about=about))

    @contextmanager
    def rewriting(self) -> Iterator[None]:
        """Inside the block words may be written anew row by row; the index follows at its end in one go, because
        bringing it up to date with each row would take many times as long."""
        if self._work.dialect != "sqlite":
            yield
            return
        (trigger,) = self._work.driven(*fts5.FOLLOWING)[0]
        self._work.change(sa.text(f"DROP TRIGGER {fts5.FOLLOWING[1][0]}"))
        yield
        self._work.driven(trigger)
        for making in fts5.REBUILD:
            self._work.change(sa.text(making))

    @contextmanager
    def filling(self) -> Iterator[None]:
        """The same for words of a store that has none yet."""
        if self._work.dialect != "sqlite":
            yield
            return
        (trigger,) = self._work.driven(fts5.FOLLOWING[0], (_ADDED,))[0]
        self._work.change(sa.text(f"DROP TRIGGER {_ADDED}"))
        yield
        self._work.driven(trigger)
        for making in fts5.REBUILD:
            self._work.change(sa.text(making))

    def rewrite_item(self, number: int, item: Item) -> None:
        """Writes the words of the item's own row anew."""
        self._work.change(sa.update(search_docs).where(search_docs.c.id == _ITEMS + number).values(item_words(item)))

    def rewrite_inspections(self, every: Iterable[tuple[Inspection, Item]]) -> None:
        """Writes the words of inspections' rows anew."""
        rows = [
            {
                "own": inspection_words(inspection),
                "about": words_about(item),
                "facets": inspection_facets(inspection, item.site),
                "its_item": item.id,
                "its_inspection": inspection.id,
            }
            for inspection, item in every
        ]
        self._work.change_many(_REWRITE, rows)

    def add_inspection(self, inspection: Inspection, item: Item) -> None:
        self._work.insert(search_docs, _document(self._free_id(inspection.at), inspection, item))

    def add_items(self, every: Iterable[tuple[int, Item]]) -> None:
        """Many items, with their numbers."""
        rows = [{"id": _ITEMS + number, "item_id": item.id, **item_words(item)} for number, item in every]
        self._work.insert_many(search_docs, rows)

    def add_inspections(self, every: Iterable[tuple[Inspection, Item]]) -> None:
        """Many inspections; those whose second is taken, which are few, one after the other."""
        free, full = dict[int, tuple[Inspection, Item]](), list[tuple[Inspection, Item]]()
        for one in every:
            low = _first_id(one[0].at)
            if free.setdefault(low, one) is not one:
                full.append(one)
        taken = self._work.rows(sa.select(search_docs.c.id).where(search_docs.c.id.in_(list(free))))
        full += [free.pop(row.id) for row in taken]
        self._work.insert_many(search_docs, [_document(number, *one) for number, one in free.items()])
        for one in full:
            self.add_inspection(*one)

    def _free_id(self, at: datetime) -> int:
        """An id that sorts by time; where its second is full, the next free one."""
        low = _first_id(at)
        while True:
            high = low + _PER_SECOND
            row = self._work.first(_LAST_TAKEN, {"low": low, "high": high})
            last: int | None = row.last if row else None
            if last is None:
                return low
            if last + 1 < high:
                return last + 1
            low = high

    def find(
        self,
        text: str,
        *,
        kinds: Sequence[Kind] = (),
        sites: Sequence[str] = (),
        states: Sequence[State] = (),
        categories: Sequence[Category] = (),
        outcomes: Sequence[Outcome] = (),
        since: date | None = None,
        until: date | None = None,
        makers: Sequence[str] = (),
        models: Sequence[str] = (),
        people: Sequence[str] = (),
        types: Sequence[InspectionType] = (),
        damage_from: float | None = None,
        damage_to: float | None = None,
        limit: int = 20,
        after: str | None = None,
    ) -> Page:
        """Hits for every word typed; any text is allowed and none of it is syntax.

        A word finds what starts so, whatever its case or accents; a single letter or digit finds only itself. Tags
        and serials are found from their first signs on, with or without their dashes; beside other words they are
        typed whole. Text without a letter or digit finds nothing, empty text everything that fits the filters.
        Filters by category, outcome, date, person (ids), type and damage used (bounds included) leave inspections only;
        makers and models are compared without case. `limit` is 1 to 200. Raises BadInput for an
        `after` that no page gave.
        """
        words = typed_words(text)
        if text.strip() and not words:
            return Page((), None)
        in_state, narrow = self._in(states)
        facets = (
            in_state,
            [facet("kind", kind.value) for kind in kinds],
            [facet("site", site) for site in sites],
            [facet("category", category.value) for category in categories],
            [facet("outcome", outcome.value) for outcome in outcomes],
            [facet("maker", same(maker)) for maker in makers],
            [facet("model", same(model)) for model in models],
            [facet("person", person) for person in people],
            [facet("type", one.value) for one in types],
            damage_facets(damage_from, damage_to) if damage_from is not None or damage_to is not None else [],
        )
        expression = self._language.expression(
            [(self._spelled(word), self._people(word)) for word in words], [group for group in facets if group]
        )
        bounds = {"since": since, "until": until, "damage_from": damage_from, "damage_to": damage_to}
        narrow |= {name: bound for name, bound in bounds.items() if bound is not None}
        exact = self._exact(text)
        limit = max(1, min(limit, _MOST))
        first: Sequence[Row[Any]] = ()
        if exact is not None and after is None:
            first = self._matching(expression, narrow, exact, exact, 1)
        if exact is not None:
            narrow["exact"] = exact
        low, high = _id_range(since, until)
        if after is not None:
            high = min(high, _key(after) - 1)
        rest = self._matching(expression, narrow, low, high, limit + 1 - len(first))
        found = (*first, *rest)
        hits = self._hits(found[:limit])
        if len(found) <= limit:
            return Page(hits, None)
        shown = [doc.id for doc in found[len(first) : limit]]
        return Page(hits, str(shown[-1] if shown else _END))

    def _matching(
        self, expression: str, narrow: Mapping[str, Any], low: int, high: int, limit: int
    ) -> Sequence[Row[Any]]:
        given = {"low": low, "high": high, "limit": limit, **narrow}
        if expression:
            given["expression"] = expression
        return self._work.rows(_asked(self._language, bool(expression), tuple(narrow)), given)

    def _in(self, states: Sequence[State]) -> tuple[list[str], dict[str, Any]]:
        """Items in those states: as facets where they are few, so that the index finds them; else as a condition
        to be tried on hit after hit, which soon fills a page because they are many."""
        if not states:
            return [], {}
        named = [state.value for state in states]
        slots = {f"state{place}": named[place] if place < len(named) else named[0] for place in range(len(State))}
        few = self._work.rows(_FEW_IN, {**slots, "limit": _FEW + 1})
        if len(few) > _FEW:
            return [], slots
        return [facet("item", row.id) for row in few] or [facet("item", "")], {}

    def _spelled(self, word: TypedWord) -> TypedWord:
        """The word with what it may stand for, where that is known and little."""
        asked = fts5.spellings(word) if self._language is fts5 else None
        if asked is None:
            return word
        found = tuple(term for (term,) in self._work.driven(*asked))
        return replace(word, spelled=found) if len(found) <= fts5.MOST_SPELLED else word

    def _people(self, word: TypedWord) -> list[str]:
        """Facets of people with a name that holds a word starting so."""
        given = {"name": self._language.named(word), "limit": _MOST_NAMED}
        return [facet("person", person) for (person,) in self._work.tuples(self._language.PEOPLE_NAMED, given)]

    def _exact(self, text: str) -> int | None:
        """The row of the item whose whole tag was typed: it comes before those whose tag only starts so."""
        row = self._work.first(_TAGGED, {"tag": text.replace("\0", " ").strip().upper()})
        return _ITEMS + row.number if row else None

    def _hits(self, docs: Sequence[Row[Any]]) -> tuple[SearchHit, ...]:
        its_item = self._by_id(_ITEMS_BY_ID, {doc.item_id for doc in docs})
        its_inspection = self._by_id(_INSPECTIONS_BY_ID, {doc.inspection_id for doc in docs if doc.inspection_id})
        return tuple([_hit(doc, its_item[doc.item_id], its_inspection.get(doc.inspection_id)) for doc in docs])

    def _by_id(self, asked: Kept[tuple[str, T]], ids: Iterable[str]) -> dict[str, T]:
        wanted, found = sorted(ids), dict[str, T]()
        for start in range(0, len(wanted), _SLOTS):
            some = wanted[start : start + _SLOTS]
            found |= self._work.made_of(asked, (*some, *_NO_IDS[len(some) :]))
        return found


def _document(number: int, inspection: Inspection, item: Item) -> dict[str, Any]:
    return {
        "id": number,
        "item_id": inspection.item_id,
        "inspection_id": inspection.id,
        "day": inspection.at.date(),
        "own": inspection_words(inspection),
        "about": words_about(item),
        "facets": inspection_facets(inspection, item.site),
    }


def _hit(
    doc: Row[Any], shown: tuple[Item, Standing, str | None], found: tuple[datetime, Outcome, str | None, bool] | None
) -> SearchHit:
    item, standing, photo_id = shown
    if found is None:
        return SearchHit(item, standing, doc.inspection_id, None, None, photo_id, doc.snippet)
    at, outcome, marked, corrected = found
    return SearchHit(item, standing, doc.inspection_id, at, outcome, marked or photo_id, doc.snippet, corrected)


_IN_STATE = items.c.state.in_([sa.bindparam(f"state{place}", type_=sa.Text) for place in range(len(State))])
_FEW_IN = Prepared(sa.select(items.c.id).where(_IN_STATE).limit(sa.bindparam("limit", type_=sa.Integer)))


@cache
def _asked(language: ModuleType, words: bool, narrow: tuple[str, ...]) -> Prepared:
    """The statement that finds documents, with the conditions of those names; its values bear the same names."""
    used = inspections.c.damage_used
    conditions = {
        "since": search_docs.c.day >= sa.bindparam("since", type_=sa.Date),
        "until": search_docs.c.day <= sa.bindparam("until", type_=sa.Date),
        "exact": search_docs.c.id != sa.bindparam("exact", type_=sa.BigInteger),
        "state0": sa.exists().where(items.c.id == search_docs.c.item_id, _IN_STATE),
    }
    of_damage = {
        "damage_from": used >= sa.bindparam("damage_from", type_=sa.Float),
        "damage_to": used <= sa.bindparam("damage_to", type_=sa.Float),
    }
    asked = [condition for name, condition in conditions.items() if name in narrow]
    damaged = [condition for name, condition in of_damage.items() if name in narrow]
    if damaged:
        asked.append(sa.exists().where(inspections.c.id == search_docs.c.inspection_id, *damaged))
    statement: sa.Select[Any] = language.matching(words).where(*asked)
    return Prepared(statement)


def _first_id(at: datetime) -> int:
    return int((at.astimezone(UTC) - _BEGINNING).total_seconds()) * _PER_SECOND


def _id_range(since: date | None, until: date | None) -> tuple[int, int]:
    """Ids that days on site can have. Zones reach a day to either side of UTC, so the day itself is compared too."""
    low, high = 0, _END
    if since is not None and since.toordinal() > 1:
        low = _first_id(datetime.combine(since - timedelta(days=1), time(), UTC))
    if until is not None:
        high = _ITEMS - 1
        if until.toordinal() < date.max.toordinal() - 2:
            high = _first_id(datetime.combine(until + timedelta(days=2), time(), UTC))
    return low, high


def _key(after: str) -> int:
    if not (after.isascii() and after.isdigit() and int(after) <= _END):
        raise BadInput("This is no page of a search.", "Search again from the first page.")
    return int(after)
