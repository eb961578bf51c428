"""The questions of the trends page over many stores, answered by the same functions as over one: what these ask a
store for is counted here from Parquet."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from functools import partial
from types import TracebackType
from typing import Any, Self, cast

from inspect_core.domain.counted import AheadRow, DamageRow, LifeRow, MarkCount, Tally
from inspect_core.domain.custody import State
from inspect_core.domain.decision import Outcome
from inspect_core.domain.gear import Component, Kind, model_label
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category
from inspect_core.domain.record import Retirement
from inspect_core.domain.second_reading import InspectorCount, ReadPhoto, SharedPhoto
from inspect_core.ports import Clock, PhotoStore, UnitOfWork
from inspect_core.rules.model import RuleSet
from inspect_core.usecases.fleet.counting import Counts, Damages, count, damages, merged, worst
from inspect_core.usecases.fleet.engine import Engine
from inspect_core.usecases.fleet.form import BLIND_LOOKS, ITEMS, PHOTO_USES, WITHDRAWALS
from inspect_core.usecases.fleet.stores import Store, pieces, small_rows
from inspect_core.usecases.services import Services

_IN_SERVICE = Outcome.IN_SERVICE.value
_LIVE = (State.IN_SERVICE.value, State.ON_HOLD.value)


def fleet_services(stores: Sequence[Store], engine: Engine, clock: Clock, rules: RuleSet) -> Services:
    """Services whose reviews count over these stores, for `trends_plain.question_plain` and the functions behind it.
    Nothing else can be asked of them: there are no photos, and nothing is recorded."""
    unit = _FleetUnit(stores, engine)

    def opened(*, write: bool = False) -> UnitOfWork:
        return cast(UnitOfWork, unit)

    nothing = cast(PhotoStore, None)
    return Services(opened, nothing, clock, rules, place=", ".join(str(store.folder) for store in stores))


class _FleetUnit:
    """What a unit of work gives to the questions of trends."""

    def __init__(self, stores: Sequence[Store], engine: Engine) -> None:
        self.reviews = FleetReviews(stores, engine)
        self.second_readings = _BlindLooks(stores)
        self.people, self.ledger = _NoPeople(), _NoLedger()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        return None


class _NoPeople:
    def all(self) -> tuple[Any, ...]:
        return ()  # people are codes here


class _NoLedger:
    def head(self) -> None:
        return None  # several accounts have no common head, so no answer is kept under one


class _BlindLooks:
    def __init__(self, stores: Sequence[Store]) -> None:
        self._stores = stores

    def all(self) -> tuple[ReadPhoto, ...]:
        return tuple(
            ReadPhoto(
                store.named(row["photo"]),
                store.named(row["inspection"]),
                store.named(row["item"]),
                store.named(row["tag"]),
                Kind(row["kind"]),
                row["day"],
                store.named(row["first_by"]),
                row["first"],
                store.named(row["second_by"]),
                row["second"],
            )
            for store in self._stores
            for row in small_rows(store, BLIND_LOOKS)
        )


class FleetReviews:
    """What the questions of trends ask of Reviews, over many stores. Inspections are read once for each site, model
    and period that is asked about."""

    def __init__(self, stores: Sequence[Store], engine: Engine) -> None:
        self._stores, self._engine = stores, engine
        self._counts: dict[tuple[Any, ...], Counts] = {}
        self._retirements: tuple[Retirement, ...] | None = None

    def _counted(
        self, site: str | None = None, model: str | None = None, since: date | None = None, until: date | None = None
    ) -> Counts:
        key = (site, model, since, until)
        if key not in self._counts:
            work = partial(count, site=site, model=model, since=since, until=until)
            self._counts[key] = self._engine.spread(list(pieces(self._stores)), work, merged, Counts())
        return self._counts[key]

    def _items(self) -> Iterable[tuple[Store, dict[str, Any]]]:
        """Every item of every store in the order of its tag."""
        every = [(store, row) for store in self._stores for row in small_rows(store, ITEMS)]
        return sorted(every, key=lambda one: one[0].named(one[1]["tag"]))

    def lives(self) -> tuple[LifeRow, ...]:
        left: dict[str, date] = {}
        for one in self.retirements():
            left[one.item_id] = min(one.on, left.get(one.item_id, one.on))
        return tuple(
            LifeRow(
                store.named(row["id"]),
                store.named(row["tag"]),
                Kind(row["kind"]),
                row["maker"],
                row["model"],
                row["site"],
                row["note"],
                row["first_used_on"],
                row["registered_on"],
                left.get(store.named(row["id"])),
            )
            for store, row in self._items()
        )

    def retirements(self, *, since: date | None = None, until: date | None = None) -> tuple[Retirement, ...]:
        if self._retirements is None:
            every = [_retirement(store, row) for store in self._stores for row in small_rows(store, WITHDRAWALS)]
            self._retirements = tuple(sorted(every, key=lambda one: one.on))
        return tuple(one for one in self._retirements if _holds(one.on, since, until))

    def tallies(self, *, since: date | None = None, until: date | None = None) -> tuple[Tally, ...]:
        many, bad = Counter[tuple[str, ...]](), Counter[tuple[str, ...]]()
        for (kind, site, month, model, outcome), found in self._counted(since=since, until=until).inspections.items():
            key = (month, kind, site, model)
            many[key] += found
            bad[key] += found * (outcome != _IN_SERVICE)
        return tuple(
            Tally(Kind(kind), site, month, found, bad[month, kind, site, model], model)
            for (month, kind, site, model), found in sorted(many.items())
        )

    def category_counts(self, *, kind: Kind | None = None, **within: Any) -> Mapping[Category, int]:
        found = Counter[Category]()
        for (of, category), many in self._counted(**within).categories.items():
            if kind is None or of == kind.value:
                found[Category(category)] += many
        return found

    def inspector_counts(self, *, kind: Kind | None = None, **within: Any) -> tuple[InspectorCount, ...]:
        many, bad = Counter[tuple[str, str, bool]](), Counter[tuple[str, str, bool]]()
        for (by, of, type_, outcome), found in self._counted(**within).people.items():
            if kind is None or of == kind.value:
                key = (by, of, type_ != InspectionType.BEFORE_USE.value)
                many[key] += found
                bad[key] += found * (outcome != _IN_SERVICE)
        return tuple(
            InspectorCount(by, Kind(of), detail, found, bad[by, of, detail])
            for (by, of, detail), found in sorted(many.items())
        )

    def mark_counts(self, kind: Kind, **within: Any) -> tuple[MarkCount, ...]:
        counts = self._counted(**within)
        shown: dict[str, Counter[Category]] = {}
        for (of, component, category), many in counts.marks.items():
            if of == kind.value:
                shown.setdefault(component, Counter())[Category(category)] += many
        return tuple(
            MarkCount(
                Component(component),
                categories.total(),
                len(counts.items[kind.value, component]),
                counts.looks[kind.value, component],
                tuple(sorted(categories.items(), key=lambda pair: (-pair[1], pair[0].value))),
            )
            for component, categories in sorted(shown.items())
        )

    def looked_at(self, kind: Kind, **within: Any) -> Mapping[Component, int]:
        seen = self._counted(**within).seen
        return {Component(component): many for (of, component), many in seen.items() if of == kind.value}

    def ahead(self) -> tuple[AheadRow, ...]:
        return tuple(
            AheadRow(
                store.named(row["id"]),
                store.named(row["tag"]),
                Kind(row["kind"]),
                row["site"],
                row["made_on"],
                row["maker_max_age_years"],
                row["next_due"],
            )
            for store, row in self._items()
            if row["state"] in _LIVE
        )

    def damages(self) -> tuple[DamageRow, ...]:
        none: Damages = {}
        found = self._engine.spread(list(pieces(self._stores)), damages, worst, none)
        return tuple(
            DamageRow(item, Component(component), on, damage) for (item, component, on), damage in sorted(found.items())
        )

    def shared_photos(
        self,
        *,
        kind: Kind | None = None,
        site: str | None = None,
        model: str | None = None,
        since: date | None = None,
        until: date | None = None,
    ) -> tuple[SharedPhoto, ...]:
        wanted = {"kind": kind.value if kind else None, "site": site, "model": model}
        return tuple(
            SharedPhoto(
                store.named(row["photo"]),
                store.named(row["inspection"]),
                store.named(row["item"]),
                store.named(row["tag"]),
                row["day"],
                store.named(row["by"]),
            )
            for store in self._stores
            for row in small_rows(store, PHOTO_USES)
            if _holds(row["day"], since, until) and all(word in (None, row[name]) for name, word in wanted.items())
        )

    def models(self) -> tuple[str, ...]:
        return tuple(sorted({model_label(row["maker"], row["model"]) for _, row in self._items()} - {""}))


def _retirement(store: Store, row: Mapping[str, Any]) -> Retirement:
    def word(make: Callable[[str], Any], text: str | None) -> Any:
        return None if text is None else make(text)

    reasons = (
        (word(Category, one["category"]), word(Component, one["component"]), one["rule"]) for one in row["reasons"]
    )
    return Retirement(
        store.named(row["item"]),
        store.named(row["tag"]),
        Kind(row["kind"]),
        row["maker"],
        row["model"],
        row["site"],
        row["day"],
        row["first_day"],
        tuple(reasons),
        row["price"],
    )


def _holds(day: date, since: date | None, until: date | None) -> bool:
    return (since is None or day >= since) and (until is None or day <= until)
