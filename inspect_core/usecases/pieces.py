"""One piece, one tag: gear that a new entry would bring into the register a second time, known by its serial number."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

from inspect_core.domain.custody import State
from inspect_core.domain.errors import Conflict
from inspect_core.domain.gear import Item, maker_key, serial_key
from inspect_core.domain.record import ItemRow
from inspect_core.ports import UnitOfWork


def same_maker(one: Item, other: Item) -> bool:
    """Whether both may come from one maker; a maker that is not known may be any."""
    mine, theirs = maker_key(one.maker), maker_key(other.maker)
    return mine == theirs or not mine or not theirs


def registered_before(items: Sequence[Item], uow: UnitOfWork) -> Mapping[str, ItemRow]:
    """Item id → the registered piece with the same serial number and maker, gear that came out of use first."""
    keys = {item.id: serial_key(item.serial) for item in items}
    by_key: dict[str, list[ItemRow]] = defaultdict(list)
    for row in uow.items.with_serials([item.serial for item in items if keys[item.id]]):
        by_key[serial_key(row.item.serial)].append(row)
    found: dict[str, ItemRow] = {}
    for item in items:
        twins = [
            row
            for row in (by_key.get(keys[item.id], ()) if keys[item.id] else ())
            if row.item.id != item.id and row.item.tag != item.tag and same_maker(item, row.item)
        ]
        if twins:
            found[item.id] = min(twins, key=lambda row: row.standing.state not in _OUT)
    return found


def check_new_piece(item: Item, uow: UnitOfWork) -> None:
    """Raises Conflict where a registered piece of that maker carries the serial number."""
    twin = registered_before([item], uow).get(item.id)
    if twin is not None:
        raise twin_refused(item, twin)


def twin_refused(item: Item, twin: ItemRow) -> Conflict:
    """Why an item may not be entered beside the piece that it seems to be."""
    if twin.standing.state in _OUT:
        return Conflict(
            f"The serial number {item.serial} belongs to {twin.item.tag}, which is {twin.standing.state.value}.",
            "Withdrawn gear never comes back: keep it apart. If this is another piece, check serial number and maker.",
        )
    return Conflict(
        f"The serial number {item.serial} belongs to {twin.item.tag} already.",
        f"One piece has one tag: open {twin.item.tag}. If this is another piece, check serial number and maker.",
    )


_OUT = (State.WITHDRAWN, State.DESTROYED)
