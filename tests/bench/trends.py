"""The trends page over a whole store: each question cold, one kept, and the counts behind them against bare SQL.

The stores are those of the store's own benches. Cold: nothing kept, statsmodels and scipy loaded. In them a third of
all inspections withdraw and every mark is a cut, so answers are as large as they get.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import cache
from itertools import count

from inspect_core.bootstrap import SystemClock
from inspect_core.domain.gear import Kind
from inspect_core.ledger import next_entry
from inspect_core.ports import UnitOfWork
from inspect_core.rules.loader import load_rules
from inspect_core.usecases.services import Services
from inspect_core.usecases.trends_agree import agree
from inspect_core.usecases.trends_ahead import outlook, spend
from inspect_core.usecases.trends_life import life
from inspect_core.usecases.trends_rates import rates
from inspect_core.usecases.trends_scope import Scope
from inspect_core.usecases.trends_where import where
from inspect_core.usecases.trends_why import why
from storage.photos_on_disk import PhotosOnDisk
from storage.unit_of_work import unit_of_work_factory
from tests.bench import storage as stores
from tests.bench.registry import Job, bench, sizes
from tests.bench.store_of_size import store_of
from tests.storage import made

_KIND = Kind.WEBBING_LANYARD
_ALL, _YEARS = Scope(), Scope(since=date(2016, 5, 17))

_COLD: tuple[tuple[str, Callable[[Services], object]], ...] = (
    ("why, cold", lambda services: why(services, _ALL)),
    ("how long, cold", lambda services: life(services, _ALL)),
    ("how often, cold", lambda services: rates(services, _ALL)),
    ("how often from a day on, cold", lambda services: rates(services, _YEARS)),
    ("where, one kind, cold", lambda services: where(services, _ALL, _KIND)),
    ("where from a day on, cold", lambda services: where(services, _YEARS, _KIND)),
    ("do inspectors agree, cold", lambda services: agree(services, _ALL)),
    ("cost, cold", lambda services: spend(services, _ALL)),
    ("coming, cold", lambda services: outlook(services, _ALL)),
)
_OF = "FROM inspections n JOIN items i ON i.id = n.item_id"
_CUT_KIND = f"WHERE i.kind = '{_KIND.value}'"
#: What is counted, and the bare SQL that counts it from the records themselves.
_COUNTS: tuple[tuple[str, Callable[[UnitOfWork], object], str], ...] = (
    (
        "inspections by kind, site, model, month",
        lambda unit: unit.reviews.tallies(),
        "SELECT n.month, i.kind, n.site, i.maker, i.model, count(*), sum(n.outcome <> 'in service') "
        f"{_OF} GROUP BY 1, 2, 3, 4, 5",
    ),
    (
        "looks by component, one kind",
        lambda unit: unit.reviews.looked_at(_KIND),
        f"SELECT a.key, count(*) {_OF} JOIN json_each(n.answers) a {_CUT_KIND} AND a.value IN ('sound', 'defect')"
        " GROUP BY 1",
    ),
    (
        "marks by component, one kind",
        lambda unit: unit.reviews.mark_counts(_KIND),
        f"SELECT m.component, m.category, count(*) {_OF} JOIN marks m ON m.inspection = n.number {_CUT_KIND}"
        " GROUP BY 1, 2",
    ),
    (
        "inspections by person",
        lambda unit: unit.reviews.inspector_counts(),
        f"SELECT n.\"by\", i.kind, n.type, count(*), sum(n.outcome <> 'in service') {_OF} GROUP BY 1, 2, 3",
    ),
    (
        "newest 200 that ended out of service",
        lambda unit: unit.reviews.found_defects(),
        f"SELECT n.id, n.item_id, i.tag, i.kind, n.site, n.day {_OF} WHERE n.outcome <> 'in service'"
        " ORDER BY n.day DESC, n.number DESC LIMIT 200",
    ),
)


@cache
def _services(size: int) -> Services:
    store = store_of(size)
    units = unit_of_work_factory(store.engine)
    with units(write=True) as unit:
        if unit.ledger.head() is None:
            unit.ledger.add(next_entry(None, made.NOW, "inspection", "inspection-1", {"id": "inspection-1"}))
            unit.commit()
    return Services(units, PhotosOnDisk(store.folder / "photos"), SystemClock(), load_rules(), f"bench {size}")


def _cold(size: int, ask: Callable[[Services], object]) -> Job:
    """Every call under a new name of the place, so that nothing kept is found."""
    services, names, store = _services(size), count(), store_of(size)

    def ours() -> object:
        return ask(replace(services, place=f"bench {size} {next(names)}"))

    sent = stores.sent_by(store, ours)
    return Job(
        ours,
        lambda: stores.replay(store, sent, "ROLLBACK"),
        rounds=3,
        target_ms=1000.0,
        note=f"{len(sent) - 1} statements",
    )


def _kept(size: int) -> Job:
    """Asked again while nothing was recorded: the head of the account is read, nothing else."""
    services = _services(size)
    return Job(lambda: rates(services, _ALL), rounds=20, target_ms=100.0)


def _counted(size: int, read: Callable[[UnitOfWork], object], sql: str) -> Job:
    """Against counting every record with bare SQL."""
    store = store_of(size)
    job = stores.reading(store, read)
    return replace(
        job, floor=lambda: store.bare.execute(sql).fetchall(), rounds=3, target_ratio=1.3, note="floor: every record"
    )


def _declare(size: int) -> None:
    for name, ask in _COLD:
        bench(f"trends of {size:,}: {name}")(lambda ask=ask: _cold(size, ask))  # type: ignore[misc]
    bench(f"trends of {size:,}: how often, kept")(lambda: _kept(size))
    for name, read, sql in _COUNTS:
        bench(f"trends of {size:,}: {name}")(lambda read=read, sql=sql: _counted(size, read, sql))  # type: ignore[misc]


for _size in sizes():
    _declare(_size)
