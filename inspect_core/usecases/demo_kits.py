"""The demo site's kits: one worn, one with an item that went on hold while it was worn, one back in the store."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, timedelta

from inspect_core.domain.custody import Move, State
from inspect_core.domain.gear import Kind
from inspect_core.domain.kits import KitMove
from inspect_core.domain.record import ItemRow
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.kits import ChangeKit, change_kit
from inspect_core.usecases.services import Services

_WORN = (Kind.HARNESS, Kind.WEBBING_LANYARD, Kind.ROPE_GRAB, Kind.VERTICAL_LIFELINE)
_KITS = ("Roof kit 1", "Roof kit 2", "Roof kit 3")
_STEP = timedelta(minutes=5)


def make_kits(
    services: Services,
    workers: Mapping[str, str],
    giver: str,
    until: date,
    wait: Callable[[timedelta], None],
) -> int:
    """Make up to three kits of gear that may be used on the last day, and return how many. `workers`: name → id of
    those who get them; `giver`: who makes them up and issues them; `wait` moves the story's clock."""
    with services.unit_of_work() as uow:
        rows = {kind: _usable(uow.items.rows(kinds=(kind,), states=(State.IN_SERVICE,)), until) for kind in _WORN}
    made = 0
    for name, wearer in zip(_KITS, list(workers.values()), strict=False):
        parts = [found.pop(0) for found in rows.values() if found]
        if len(parts) < 2:
            break
        wait(_STEP)
        ids = tuple(row.item.id for row in parts)
        kit = change_kit(
            ChangeKit(services.new_id(), services.new_id(), KitMove.MAKE, giver, name=name, item_ids=ids), services
        )
        wait(_STEP)
        change_kit(ChangeKit(services.new_id(), kit.id, KitMove.ISSUE, giver, holder=wearer), services)
        made += 1
        wait(_STEP)
        if made == 2:
            words = "The buckle does not click shut by itself."
            make_move(MakeMove(services.new_id(), ids[0], Move.HOLD, wearer, words), services)
        elif made == 3:
            change_kit(ChangeKit(services.new_id(), kit.id, KitMove.RETURN, wearer, note="Job done."), services)
    return made


def _usable(rows: tuple[ItemRow, ...], until: date) -> list[ItemRow]:
    """Those due last first, so that a kit does not fall due at once."""
    return sorted((r for r in rows if r.standing.usable_on(until)), key=lambda r: r.standing.next_due or until)[::-1]
