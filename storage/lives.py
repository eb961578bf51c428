"""One item's life, a page at a time.

Entries are in order of their time; of one time inspections stand first, then moves, each by its number. That place,
written out, is the key of the next page.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from itertools import starmap
from operator import itemgetter
from types import MappingProxyType
from typing import Any

from inspect_core.domain.custody import CustodyEvent, Move, State
from inspect_core.domain.decision import Basis, Finding, FindingOutcome, HandDecision, Outcome
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import Point, Shape, ShapeType
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.life import (
    LifeFigures,
    LifePage,
    Look,
    MarkedPhoto,
    Measured,
    Pictured,
    PicturePage,
    SeenPhoto,
    Wanted,
)
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.domain.signatures import Signature, SignedBy
from storage import life_statements as ask
from storage.mapping import on_site
from storage.prepared import Prepared
from storage.work import Work

#: A row as the driver gives it.
_Row = tuple[Any, ...]
#: The most entries or pictures that one page may hold.
_MOST = 2000
_EPOCH = datetime(1, 1, 1, tzinfo=UTC)
_TICK = timedelta(microseconds=1)
_LATEST = datetime(9999, 12, 31, 23, 59, 59, 999999, tzinfo=UTC)
#: Numbers after every other of their time, and before.
_LAST, _FIRST = 1 << 62, 0
_INSPECTION, _MOVE = 2, 1
# Looked up by their words: calling an enumeration takes many times as long, and a page has hundreds of them.
_TYPES = {one.value: one for one in InspectionType}
_OUTCOMES = {one.value: one for one in Outcome}
_FOUND = {one.value: one for one in FindingOutcome}
_COMPONENTS = {one.value: one for one in Component}
_CATEGORIES = {one.value: one for one in Category}
_SHAPES = {one.value: one for one in ShapeType}
_BASES = {one.value: one for one in Basis}
_NO_ROWS = (0,) * ask.SLOTS
_NO_PLACE = BadInput("This is no page of an item's history.", "Open the item again.")


class SqlLives:
    """Fulfils LifeReader."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def page(self, item_id: str, wanted: Wanted, *, limit: int = 20, after: str | None = None) -> LifePage:
        limit = max(1, min(limit, _MOST))
        at, rank, number = _place(after, 3) if after else (_LATEST, _INSPECTION, _LAST)
        given = {"item": item_id, "at": at, "limit": limit + 1, **_filters(wanted)}
        asked = ask.looks(wanted.component is not None, wanted.category is not None, *_narrow(wanted))
        rows = self._work.raw(asked, given | {"number": number if rank == _INSPECTION else _FIRST})
        moved: list[_Row] = []
        if not wanted.inspections_only:
            bound = number if rank == _MOVE else _LAST
            moved = self._work.raw(ask.moves(wanted.year is not None), given | {"number": bound})
        places = [(row[3], _INSPECTION, row[0], row) for row in rows]
        if moved:
            # Times are in order as the driver gives them: as times, or as text written in one form.
            places += [(row[3], _MOVE, row[0], row) for row in moved]
            places.sort(key=itemgetter(0, 1, 2), reverse=True)
        shown = places[:limit]
        looks = self._looks([row for _, rank, _, row in shown if rank == _INSPECTION])
        entries = tuple([looks[number] if rank == _INSPECTION else _move(row) for _, rank, number, row in shown])
        if len(places) <= limit:
            return LifePage(entries, None)
        at, rank, number, _ = shown[-1]
        return LifePage(entries, _key(time_at(at, 0), rank, number))

    def _looks(self, rows: Sequence[_Row]) -> dict[int, Look]:
        numbers = [row[0] for row in rows]
        children = [self._of(asked, numbers) for asked in (ask.PHOTOS, ask.MARKS, ask.DECIDING)]
        return {row[0]: _look(row, *[tuple(own.get(row[0], ())) for own in children]) for row in rows}

    def _of(self, asked: Prepared, numbers: Sequence[int]) -> dict[int, list[_Row]]:
        """Child rows by the number of their inspection."""
        found: dict[int, list[_Row]] = {}
        for start in range(0, len(numbers), ask.SLOTS):
            some = numbers[start : start + ask.SLOTS]
            for row in self._work.raw_of(asked, (*some, *_NO_ROWS[len(some) :])):
                own = found.get(row[0])
                if own is None:
                    found[row[0]] = [row]
                else:
                    own.append(row)
        return found

    def pictures(self, item_id: str, wanted: Wanted, *, limit: int = 24, after: str | None = None) -> PicturePage:
        limit = max(1, min(limit, _MOST))
        at, number, position = _place(after, 3) if after else (_LATEST, _LAST, -1)
        given = {"item": item_id, "at": at, "number": number, "position": position, "limit": limit + 1}
        asked = ask.pictured(wanted.component is not None, wanted.category is not None, *_narrow(wanted))
        rows = self._work.raw(asked, given | _filters(wanted))
        shown = rows[:limit]
        marked: dict[tuple[int, str], list[tuple[Component, Category]]] = defaultdict(list)
        for own in self._of(ask.SHOWN, list(dict.fromkeys(row[0] for row in shown))).values():
            for number, photo_id, component, category in own:
                marked[number, photo_id].append((_COMPONENTS[component], _CATEGORIES[category]))
        pictures = tuple(
            Pictured(
                photo=SeenPhoto(*row[8:]),
                inspection_id=row[2],
                at=time_at(row[3], row[4]),
                type=_TYPES[row[5]],
                outcome=_OUTCOMES[row[6]],
                shown=tuple(dict.fromkeys(marked[row[0], row[8]])),
                corrected=bool(row[7]),
            )
            for row in shown
        )
        last = shown[-1] if len(rows) > limit else None
        return PicturePage(pictures, _key(time_at(last[3], 0), last[0], last[1]) if last else None)

    def figures(self, item_id: str) -> LifeFigures:
        of_item = {"item": item_id}
        types = dict(self._work.tuples(ask.TYPES, of_item))
        shown = {
            (Component(part), Category(category)) for part, category in self._work.tuples(ask.SHOWN_KINDS, of_item)
        }
        return LifeFigures(
            inspections=sum(types.values()),
            photos_by_year=MappingProxyType({int(y): many for y, many in self._work.tuples(ask.BY_YEAR, of_item)}),
            shown=tuple(sorted(shown)),
            types=tuple(one for one in InspectionType if one.value in types),
        )

    def measured(self, item_id: str) -> tuple[Measured, ...]:
        limits: dict[tuple[int, str, str, str], list[tuple[float, str]]] = defaultdict(list)
        for number, mark, measure, limit, unit, rule in self._work.tuples(ask.LIMITS, {"item": item_id}):
            limits[number, mark, measure, unit].append((limit, rule))
        found = []
        for number, inspection_id, at, offset, mark, component, category, readings in self._work.tuples(
            ask.READINGS, {"item": item_id}
        ):
            for one in (Reading(*values) for values in readings):
                allowed = tuple(dict.fromkeys(limits.get((number, mark, one.measure, one.unit), ())))
                found.append(
                    Measured(on_site(at, offset), inspection_id, Component(component), Category(category), one, allowed)
                )
        return tuple(found)

    def comparable(self, item_id: str, component: Component | None = None) -> tuple[MarkedPhoto, ...]:
        first: dict[tuple[str, str], MarkedPhoto] = {}
        for inspection_id, at, offset, type_, part, *photo in self._work.tuples(ask.COMPARABLE, {"item": item_id}):
            if component is None or part == component.value:
                seen = MarkedPhoto(
                    SeenPhoto(*photo), inspection_id, on_site(at, offset), InspectionType(type_), Component(part)
                )
                first.setdefault((inspection_id, part), seen)
        return tuple(first.values())

    def around(self, inspection_id: str) -> tuple[int, tuple[str, ...]]:
        asked = {"id": inspection_id}
        ((earlier,),) = self._work.tuples(ask.EARLIER, asked)
        return earlier, tuple([id_ for (id_,) in self._work.tuples(ask.CORRECTING, asked)])

    def marks(self, inspection_id: str) -> tuple[Mark, ...]:
        return tuple(map(_mark, self._work.raw(ask.ITS_MARKS, {"id": inspection_id})))


def _narrow(wanted: Wanted) -> tuple[bool, bool]:
    return wanted.type is not None, wanted.year is not None


def _filters(wanted: Wanted) -> dict[str, Any]:
    given: dict[str, Any] = {}
    if wanted.component is not None:
        given["component"] = wanted.component.value
    if wanted.category is not None:
        given["category"] = wanted.category.value
    if wanted.type is not None:
        given["type"] = wanted.type.value
    if wanted.year is not None:
        given |= {"first": date(wanted.year, 1, 1), "end": date(wanted.year, 12, 31)}
    return given


def _key(at: datetime, *numbers: int) -> str:
    return ".".join(str(number) for number in ((at - _EPOCH) // _TICK, *numbers))


def _place(after: str, length: int) -> tuple[datetime, int, int]:
    parts = after.split(".")
    if len(parts) != length or not all(part.isascii() and part.isdigit() and len(part) < 20 for part in parts):
        raise _NO_PLACE
    ticks, one, two = map(int, parts)
    try:
        return _EPOCH + ticks * _TICK, min(one, _LAST), min(two, _LAST)
    except OverflowError:
        raise _NO_PLACE from None


#: So many inspections and times are kept as they were made of their rows. What a row makes depends on the row alone, so
#: nothing kept can be stale; a page is drawn anew at every click, mostly of the same rows. An inspection with more text
#: of drawings and readings than this is made each time: thousands of points are large to keep.
_KEPT, _LONGEST_KEPT = 2048, 3000


def _look(row: _Row, photos: tuple[_Row, ...], marks: tuple[_Row, ...], found: tuple[_Row, ...]) -> Look:
    long = sum([len(mark[6]) + len(mark[7]) for mark in marks]) > _LONGEST_KEPT
    return (_made_look if long else _kept_look)(row, photos, marks, found)


def _made_look(row: _Row, photos: tuple[_Row, ...], marks: tuple[_Row, ...], found: tuple[_Row, ...]) -> Look:
    _, id_, type_, at, offset, by, outcome, hand_outcome, hand_reason, hand_by, corrects, corrected, note, *signed = row
    signed_at, how = signed
    deciding = map(_finding, found)
    return Look(
        id=id_,
        type=_TYPES[type_],
        at=time_at(at, offset),
        by=by,
        outcome=_OUTCOMES[outcome],
        hand=HandDecision(_OUTCOMES[hand_outcome], hand_reason, hand_by) if hand_outcome else None,
        corrects=corrects,
        corrected=bool(corrected),
        note=note,
        photos=tuple([SeenPhoto(*photo[1:]) for photo in photos]),
        marks=tuple(map(_mark, marks)),
        deciding=tuple(sorted(deciding, key=lambda finding: -finding.outcome.severity) if len(found) > 1 else deciding),
        signature=None if signed_at is None else Signature(by, time_at(signed_at, offset), SignedBy(how)),
    )


_kept_look = lru_cache(maxsize=_KEPT)(_made_look)


@lru_cache(maxsize=_KEPT)
def time_at(at: str | datetime, offset: int) -> datetime:
    """A stored time, as the driver gives it, as it was on site."""
    utc = datetime.fromisoformat(at).replace(tzinfo=UTC) if isinstance(at, str) else at
    return on_site(utc, offset)


def forget() -> None:
    """Nothing made of rows is known any more; for measuring what a page costs the first time."""
    _kept_look.cache_clear()
    time_at.cache_clear()


def _mark(row: _Row) -> Mark:
    _, id_, photo_id, component, category, shape, points, readings, note, made_by = row
    drawn, read = json.loads(f"[{points},{readings}]")
    return Mark(
        id_,
        photo_id,
        _COMPONENTS[component],
        _CATEGORIES[category],
        Shape(_SHAPES[shape], tuple(starmap(Point, drawn))),
        tuple(starmap(Reading, read)),
        note,
        made_by,
    )


def _finding(row: _Row) -> Finding:
    _, rule, outcome, reason, source, basis, mark, component, *rest = row
    part = _COMPONENTS[component] if component else None
    return Finding(rule, _FOUND[outcome], reason, source, _BASES[basis], mark, part, *rest)


def _move(row: _Row) -> CustodyEvent:
    _, id_, item_id, at, offset, by, move, before, after, reason, inspection_id, photo_id, *rest = row
    return CustodyEvent(
        id=id_,
        item_id=item_id,
        at=time_at(at, offset),
        by=by,
        move=Move(move),
        before=State(before) if before else None,
        after=State(after),
        reason=reason,
        inspection_id=inspection_id,
        photo_id=photo_id,
        witness=rest[0],
        witness_id=rest[1],
        signature=None if rest[2] is None else Signature(by, time_at(rest[2], offset), SignedBy(rest[3])),
    )
