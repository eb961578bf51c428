"""What if, over many stores: every recorded inspection weighed again by other rules, with the same answers that the
stores themselves would give."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from typing import Any

from inspect_core.domain.custody import State
from inspect_core.domain.decision import Outcome
from inspect_core.rules.model import RuleSet
from inspect_core.usecases.fleet.engine import Engine
from inspect_core.usecases.fleet.form import ITEMS, case_of
from inspect_core.usecases.fleet.stores import Piece, Store, pieces, small_rows
from inspect_core.usecases.reevaluate import Change, Past, Refused, WhatIf, weigh
from inspect_core.usecases.what_if import change_plain, past_plain

_ABOUT = ("id", "item", "kind", "at", "day", "profile", "rules_outcome", "corrected")
_COLUMNS = (*_ABOUT, "answers", "facts", "marks")
#: A store and item, and the order of an inspection in the item's life: what a change stands under.
_Place = tuple[str, str, Any]
_Part = tuple[int, list[tuple[_Place, Change]], list[tuple[_Place, Refused]]]


@dataclass(frozen=True, slots=True)
class FleetWhatIf:
    """Every past case that would differ, in the order in which a store tells them; `items`: (store, tag, change) of
    items in service whose last inspection the other rules would not have let pass."""

    past: WhatIf
    items: tuple[tuple[Store, str, Change], ...]

    def plain(self) -> dict[str, Any]:
        """As JSON data, in the form of a what-if over one store; `items_in_service` also names the store where there
        are several."""
        return {
            **past_plain(self.past),
            "items_in_service": [
                {**({"store": store.name} if store.name else {}), "tag": tag, **change_plain(change)}
                for store, tag, change in self.items
            ],
        }


def what_if(stores: Sequence[Store], old: RuleSet, new: RuleSet, engine: Engine) -> FleetWhatIf:
    """Weigh every recorded inspection of these stores by `new`, each on its own day. Raises BadInput."""
    work = partial(_weigh, old=old, new=new)
    none: _Part = (0, [], [])
    cases, changes, refused = engine.spread(list(pieces(stores)), work, _merged, none)
    order, in_service = _order(stores, {(place[0], place[1]) for place, _ in (*changes, *refused)})
    by_id = {(place[0], change.id): change for place, change in changes}
    concerned = [
        (store, tag, by_id[store.name, last])
        for store, tag, last in in_service
        if (store.name, last) in by_id and by_id[store.name, last].stricter
    ]
    told = {store.name: store for store in stores}

    def place_of(one: tuple[_Place, Any]) -> Any:
        store, item, at = one[0]
        return order[store, item], at, one[1].id

    return FleetWhatIf(
        WhatIf(
            cases,
            old.digest,
            new.digest,
            tuple(replace(c, id=told[place[0]].named(c.id)) for place, c in sorted(changes, key=place_of)),
            tuple(replace(r, id=told[place[0]].named(r.id)) for place, r in sorted(refused, key=place_of)),
        ),
        tuple((store, tag, replace(change, id=store.named(change.id))) for store, tag, change in concerned),
    )


def _weigh(piece: Piece, old: RuleSet, new: RuleSet) -> _Part:
    rows = [row for row in piece.read(_COLUMNS).to_pylist() if not row["corrected"]]
    past: list[Past] = [(row["id"], case_of(row), row["day"], Outcome(row["rules_outcome"])) for row in rows]
    places: dict[str, _Place] = {row["id"]: (piece.store.name, row["item"], row["at"]) for row in rows}
    cases, changes, refused = weigh(past, old, new)
    return cases, [(places[one.id], one) for one in changes], [(places[one.id], one) for one in refused]


def _merged(one: _Part, other: _Part) -> _Part:
    return one[0] + other[0], [*one[1], *other[1]], [*one[2], *other[2]]


def _order(
    stores: Sequence[Store], wanted: set[tuple[str, str]]
) -> tuple[dict[tuple[str, str], Any], list[tuple[Store, str, str]]]:
    """Where each of these items stands in its store's list (by due date, then tag), and every item in service in that
    order as (store, tag, last inspection)."""
    order: dict[tuple[str, str], Any] = {}
    serving: list[tuple[Any, Store, str, str]] = []
    for number, store in enumerate(stores):
        for row in small_rows(store, ITEMS, ("id", "tag", "state", "next_due", "last_inspection")):
            place = (number, row["next_due"] is None, row["next_due"] or date.min, row["tag"])
            if (store.name, row["id"]) in wanted:
                order[store.name, row["id"]] = place
                if row["state"] == State.IN_SERVICE.value and row["last_inspection"]:
                    serving.append((place, store, row["tag"], row["last_inspection"]))
    serving.sort(key=lambda one: one[0])
    return order, [one[1:] for one in serving]


def by_store(found: FleetWhatIf, stores: Iterable[Store]) -> dict[str, int]:
    """How many changes each store has, where there are several."""
    many = Counter(change.id.split(": ", 1)[0] for change in found.past.changes)
    return {store.name: many[store.name] for store in stores if store.name}
