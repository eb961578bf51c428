"""Tells somebody when a committed unit of work has changed a due date or a state that lists go by."""

from __future__ import annotations

from collections.abc import Callable
from types import TracebackType
from typing import Any, Self, cast

from inspect_core.domain.custody import Standing
from inspect_core.domain.gear import Item
from inspect_core.ports import ItemRepository, UnitOfWork, UnitOfWorkFactory


def tell_of_due(open_unit: UnitOfWorkFactory, on_change: Callable[[], None]) -> UnitOfWorkFactory:
    """The same units of work, with `on_change` called after each commit that changed what is due."""

    def opened(*, write: bool = False) -> UnitOfWork:
        unit = open_unit(write=write)
        # It passes everything on but what it watches, so it is a unit of work in all but its class.
        return cast(UnitOfWork, _Watched(unit, on_change)) if write else unit

    return opened


class _Watched:
    def __init__(self, unit: UnitOfWork, on_change: Callable[[], None]) -> None:
        self._unit, self._on_change = unit, on_change
        self.due_changed = False

    def __enter__(self) -> Self:
        self._unit.__enter__()
        self.items = cast(ItemRepository, _WatchedItems(self._unit.items, self))
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._unit.__exit__(kind, error, trace)

    def commit(self) -> None:
        self._unit.commit()
        if self.due_changed:
            self._on_change()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._unit, name)


class _WatchedItems:
    """Items whose changes are compared with what the same unit of work read before."""

    def __init__(self, items: ItemRepository, unit: _Watched) -> None:
        self._items, self._unit = items, unit
        self._read: dict[str, Standing] = {}

    def standing(self, item_id: str) -> Standing:
        found = self._items.standing(item_id)
        self._read[item_id] = found
        return found

    def set_standing(self, standing: Standing) -> None:
        self._items.set_standing(standing)
        before = self._read.get(standing.item_id)
        if before is None or (before.next_due, before.state) != (standing.next_due, standing.state):
            self._unit.due_changed = True

    def add(self, item: Item, standing: Standing) -> None:
        self._items.add(item, standing)
        self._unit.due_changed = True

    def update(self, item: Item) -> None:
        self._items.update(item)
        self._unit.due_changed = True

    def __getattr__(self, name: str) -> Any:
        return getattr(self._items, name)
