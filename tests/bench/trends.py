"""The trends page over a whole store: each question cold, one kept, and the counts behind them against bare SQL.

The store and its size are those of the store's own benches. Cold: nothing kept, statsmodels and scipy loaded. In that
store a third of all inspections withdraw and every mark is a cut, so answers are as large as they get.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from itertools import count
from pathlib import Path
from typing import Any

from inspect_core.bootstrap import SystemClock
from inspect_core.domain.gear import Kind
from inspect_core.ledger import next_entry
from inspect_core.ports import UnitOfWork
from inspect_core.rules.loader import load_rules
from inspect_core.usecases.services import Services
from inspect_core.usecases.trends_ahead import outlook, spend
from inspect_core.usecases.trends_life import life
from inspect_core.usecases.trends_rates import rates
from inspect_core.usecases.trends_scope import Scope
from inspect_core.usecases.trends_where import where
from inspect_core.usecases.trends_why import why
from storage.photos_on_disk import PhotosOnDisk
from storage.unit_of_work import unit_of_work_factory
from tests.bench import storage as filled
from tests.bench.registry import Job, bench
from tests.storage import made

_SIZE = f"trends of {filled._MANY:,} inspections: "
_KIND = Kind.WEBBING_LANYARD
_ALL = Scope()


@cache
def _services() -> Services:
    engine, _ = filled._store()
    units = unit_of_work_factory(engine)
    with units(write=True) as unit:
        if unit.ledger.head() is None:
            unit.ledger.add(next_entry(None, made.NOW, "inspection", "inspection-1", {"id": "inspection-1"}))
            unit.commit()
    photos = PhotosOnDisk(Path(str(engine.url.database)).parent / "photos")
    return Services(units, photos, SystemClock(), load_rules(), "bench")


def _cold(ask: Callable[[Services], object]) -> Job:
    """Every call under a new name of the place, so that nothing kept is found."""
    services, names = _services(), count()

    def ours() -> object:
        return ask(replace(services, place=f"bench {next(names)}"))

    sent = filled._sent(ours)
    return Job(
        ours, lambda: filled._replay(sent, "ROLLBACK"), rounds=3, target_ms=1000.0, note=f"{len(sent) - 1} statements"
    )


def _counting(read: Callable[[UnitOfWork], object], **aims: Any) -> Job:
    return replace(filled._reading(read, **aims), rounds=3)


@bench(_SIZE + "why, cold")
def why_cold() -> Job:
    """Withdrawals with their reasons, bars, and every item for what they share."""
    return _cold(lambda services: why(services, _ALL))


@bench(_SIZE + "how long, cold")
def life_cold() -> Job:
    """Curves of all and by kind, log-rank, incidence."""
    return _cold(lambda services: life(services, _ALL))


@bench(_SIZE + "how often, cold")
def rates_cold() -> Job:
    """Rates and u-chart from one count over every inspection."""
    return _cold(lambda services: rates(services, _ALL))


@bench(_SIZE + "where, one kind, cold")
def where_cold() -> Job:
    """Every mark of one kind, and the answers of its inspections."""
    return _cold(lambda services: where(services, _ALL, _KIND))


@bench(_SIZE + "cost, cold")
def spend_cold() -> Job:
    """Withdrawals with their reasons and prices."""
    return _cold(lambda services: spend(services, _ALL))


@bench(_SIZE + "coming, cold")
def coming_cold() -> Job:
    """Every item in use."""
    return _cold(lambda services: outlook(services, _ALL))


@bench(_SIZE + "how often, kept")
def rates_kept() -> Job:
    """Asked again while nothing was recorded: the head of the account is read, nothing else."""
    services = _services()
    return Job(lambda: rates(services, _ALL), rounds=20, target_ms=100.0)


@bench(_SIZE + "tallies by kind, site and month")
def tallies() -> Job:
    """The count alone."""
    return _counting(lambda unit: unit.reviews.tallies())


@bench(_SIZE + "looked at, one kind")
def looked_at() -> Job:
    """The answers of every inspection of one kind, spread into rows."""
    return _counting(lambda unit: unit.reviews.looked_at(_KIND))
