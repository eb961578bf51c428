"""Putting an item on hold because of what has become known, inside the unit of work that has learnt it."""

from __future__ import annotations

from dataclasses import replace

from inspect_core.domain.custody import CustodyEvent, Move, Standing, State
from inspect_core.ports import UnitOfWork
from inspect_core.usecases import account
from inspect_core.usecases.plain import custody_plain
from inspect_core.usecases.services import Services

#: Gear that a hold still means something to.
LIVE = (State.IN_SERVICE, State.ON_HOLD)


def hold(standing: Standing, why: str, by: str, uow: UnitOfWork, services: Services) -> Standing:
    """Put it on hold and enter it. Gear on hold already is held anew, so that only an inspection after this moment can
    release it."""
    now = services.clock.now()
    event = CustodyEvent(services.new_id(), standing.item_id, now, by, Move.HOLD, standing.state, State.ON_HOLD, why)
    held = replace(standing, state=State.ON_HOLD, since=now, reason=why)
    uow.custody.add(event)
    uow.items.set_standing(held)
    account.enter(uow, now, "custody", event.id, {"custody": custody_plain(event)})
    return held
