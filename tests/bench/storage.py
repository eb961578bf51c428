"""The store: one save, one item's history, pages of search, lists and counts, each against bare SQL.

A floor sends the statements that ours sends through Python's own driver on the same file, with the same settings,
fetches every row and builds nothing from it: no JSON is read, no value checked, no name resolved.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime, timedelta
from itertools import cycle
from typing import Any

from sqlalchemy import event

from inspect_core.domain.decision import Outcome
from inspect_core.domain.life import Wanted
from inspect_core.domain.marks import Category
from inspect_core.ledger import next_entry
from inspect_core.ports import UnitOfWork
from inspect_core.usecases import account
from storage import lives
from storage.signing_key import KeyFile
from storage.unit_of_work import unit_of_work_factory
from tests.bench.registry import Job, bench, sizes
from tests.bench.store_of_size import FIRST, Store, inspection_of, photos_of, store_of
from tests.storage import made

Sent = list[tuple[str, Any, bool]]


def sent_by(store: Store, call: Callable[[], object]) -> Sent:
    """The statements that a call sends, with their values."""
    engine = store.engine
    sent: Sent = []

    def note(_connection: Any, _cursor: Any, sql: str, values: Any, _context: Any, many: bool) -> None:
        sent.append((sql, values, many))

    event.listen(engine, "before_cursor_execute", note)
    call()
    event.remove(engine, "before_cursor_execute", note)
    return sent


def replay(store: Store, sent: Iterable[tuple[str, Any, bool]], end: str) -> None:
    """The same statements through the bare driver."""
    bare = store.bare
    for sql, values, many in sent:
        if many:
            bare.executemany(sql, values)
        else:
            bare.execute(sql, values).fetchall()
    bare.execute(end)


def reading(store: Store, read: Callable[[UnitOfWork], object], **aims: Any) -> Job:
    """One unit of work that reads."""
    units = unit_of_work_factory(store.engine)

    def ours() -> object:
        with units() as unit:
            return read(unit)

    sent = sent_by(store, ours)
    return Job(ours, lambda: replay(store, sent, "ROLLBACK"), note=f"{len(sent) - 1} statements", **aims)


def _save(store: Store, *, with_heads: bool) -> Job:
    """Everything that recording one inspection writes, durable; the floor repeats its statements with new keys."""
    signer = KeyFile(store.folder / "key.pem")
    seal = (lambda unit: account.seal(unit, signer)) if with_heads else None
    units = unit_of_work_factory(store.engine, seal)

    def record(number: int) -> None:
        one = inspection_of(number, store.items)
        with units(write=True) as unit:
            assert unit.inspections.find(one.id) is None
            for photo in photos_of(number):
                unit.photos.add(photo)
            unit.inspections.add(one)
            unit.custody.add(made.withdrawal(number, one.item_id, one.id))
            unit.items.set_standing(made.standing(one.item_id, last_inspection_id=one.id))
            if with_heads:
                account.enter(unit, made.NOW, "inspection", one.id, {"id": one.id})
            else:
                unit.ledger.add(next_entry(unit.ledger.head(), made.NOW, "inspection", one.id, {"id": one.id}))
            unit.commit()

    record(store.new_number())  # the tree takes in what the saves before it left out
    pattern = store.new_number()
    sent = sent_by(store, lambda: record(pattern))
    top = "SELECT (SELECT max(number) FROM inspections), (SELECT max(number) FROM ledger), max(id) FROM search_docs"
    row, _, document = store.bare.execute(top + " WHERE inspection_id = ?", (f"inspection-{pattern}",)).fetchone()

    def floor() -> None:
        number = store.new_number()
        rows, entries, _ = store.bare.execute(top + " WHERE id = 0").fetchone()
        keys = {
            f"inspection-{pattern}": f"inspection-{number}",
            f"move-{pattern}": f"move-{number}",
            row: rows + 1,
            **{old.id: new.id for old, new in zip(photos_of(pattern), photos_of(number), strict=True)},
            document: document + (number - pattern) * 300 * 64,  # five minutes, as the store counts
        }
        replay(store, [(sql, _with(keys, sql, values, many, entries), many) for sql, values, many in sent], "COMMIT")

    return Job(
        lambda: record(store.new_number()),
        floor,
        rounds=40,
        target_ratio=3.0,
        target_growth=1.5,
        note=f"{len(sent) + 1} statements",
    )


def _with(keys: dict[Any, Any], sql: str, values: Any, many: bool, entries: int) -> Any:
    if many:
        return [_with(keys, sql, row, False, entries) for row in values]
    if sql.startswith("INSERT INTO ledger"):
        return (entries + 1, *values[1:-1], os.urandom(32).hex())
    if sql.startswith(("INSERT INTO tree_nodes", "INSERT INTO tree_heads")):
        return (entries + 1, *values[1:])
    return tuple(keys.get(value, value) for value in values)


def _strangers(store: Store) -> Job:
    """The newest page of another item each time, with nothing known of rows seen before."""
    units = unit_of_work_factory(store.engine)
    read = min(store.items, 100)
    strange = cycle(range(read))

    def page(number: int) -> object:
        lives.forget()
        with units() as unit:
            return unit.life.page(f"item-{number}", Wanted())

    sent = cycle([sent_by(store, lambda number=number: page(number)) for number in range(read)])
    return Job(lambda: page(next(strange)), lambda: replay(store, next(sent), "ROLLBACK"), rounds=99)


_Read = Callable[[UnitOfWork, Store], object]
_OF_HISTORY: dict[str, Any] = {"target_ms": 5.0, "target_ratio": 2.0, "target_growth": 1.5, "rounds": 60}
_OF_SEARCH: dict[str, Any] = {"target_ms": 50.0, "target_ratio": 2.0, "target_growth": 1.5, "rounds": 40}
#: Name, what is read, aims.
_READS: tuple[tuple[str, _Read, dict[str, Any]], ...] = (
    ("history page, newest 20", lambda u, s: u.life.page("item-3", Wanted()), _OF_HISTORY),
    (
        "history page, the fourth",
        lambda u, s: u.life.page("item-3", Wanted(), after=_middle(s)),
        _OF_HISTORY,
    ),
    (
        "history page, one component",
        lambda u, s: u.life.page("item-3", Wanted(category=Category.CUT)),
        _OF_HISTORY,
    ),
    ("timeline, newest 24 photos", lambda u, s: u.life.pictures("item-3", Wanted()), {"target_ratio": 2.0}),
    ("history of one item, whole aggregates", lambda u, s: u.inspections.of_item("item-3"), {}),
    ("search, rare word", lambda u, s: u.search.find("zirconium"), _OF_SEARCH),
    ("search, common word", lambda u, s: u.search.find("frayed"), _OF_SEARCH),
    (
        "search, three words and a tag",
        lambda u, s: u.search.find("RIG-3 frayed store room"),
        _OF_SEARCH,
    ),
    ("search, half a common word", lambda u, s: u.search.find("fray"), _OF_SEARCH),
    ("search, two letters", lambda u, s: u.search.find("fr"), _OF_SEARCH),
    ("search, one letter", lambda u, s: u.search.find("f"), _OF_SEARCH),
    (
        "search, word with filters",
        lambda u, s: u.search.find(
            "frayed",
            sites=["North yard"],
            categories=[Category.CUT],
            outcomes=[Outcome.WITHDRAW],
            since=date(2015, 1, 2),
            until=date(2015, 1, 20),
            damage_from=1.0,
            damage_to=1.5,
        ),
        _OF_SEARCH,
    ),
    ("what is due, first 50", lambda u, s: u.items.rows(due_by=date(2016, 1, 1), limit=50), {"target_ratio": 2.0}),
    ("retirements with reasons", lambda u, s: u.reviews.retirements(), {"rounds": 5}),
)


def _middle(store: Store) -> str:
    """The key of a place in the middle of the item's life."""
    at = FIRST + timedelta(minutes=5 * (store.size // 2))
    return f"{(at - datetime(1, 1, 1, tzinfo=UTC)) // timedelta(microseconds=1)}.2.1"


def _declare(size: int) -> None:
    def read(name: str, ask: _Read, aims: dict[str, Any]) -> None:
        @bench(f"store of {size:,}: {name}")
        def _job() -> Job:
            store = store_of(size)
            return reading(store, lambda unit: ask(unit, store), **aims)

    bench(f"store of {size:,}: save, 3 photos, marks, move, ledger entry")(
        lambda: _save(store_of(size), with_heads=False)
    )
    bench(f"store of {size:,}: save, the same with a signed tree head")(lambda: _save(store_of(size), with_heads=True))
    bench(f"store of {size:,}: history page, another item each time")(lambda: _strangers(store_of(size)))
    for name, ask, aims in _READS:
        read(name, ask, aims)


for _size in sizes():
    _declare(_size)
