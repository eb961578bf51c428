"""What a site decides once for everybody: two-person release, how long a sign-in lasts. In the ledger when changed."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from inspect_core.domain.access import Action
from inspect_core.domain.credentials import Lasting
from inspect_core.ports import UnitOfWork
from inspect_core.usecases import account
from inspect_core.usecases.acting import acting
from inspect_core.usecases.plain import setting_entry
from inspect_core.usecases.services import Services

#: Names in the settings table. `verify` compares each with the last ledger entry of the subject "setting" by that name.
TWO_PERSONS = "two-person release"
LASTING = "sign-in lasts"
RECORDED = (TWO_PERSONS, LASTING)


def two_persons(uow: UnitOfWork) -> bool:
    """Whether a release takes a competent person other than the one who raised the hold. Off unless turned on."""
    return uow.settings.get(TWO_PERSONS) is True


def lasting(uow: UnitOfWork) -> Lasting:
    """How long sign-ins last here."""
    kept = uow.settings.get(LASTING)
    return Lasting(**kept) if isinstance(kept, dict) else Lasting()


def shown(services: Services) -> tuple[bool, Lasting]:
    """Both, for a screen."""
    with services.unit_of_work() as uow:
        return two_persons(uow), lasting(uow)


def set_two_persons(value: bool, by: str, services: Services) -> None:
    """Turn the two-person release on or off. Raises NotAllowed."""
    _set(TWO_PERSONS, value, by, services)


def set_lasting(value: Lasting, by: str, services: Services) -> None:
    """Change how long sign-ins last; those that were begun keep their times. Raises NotAllowed."""
    _set(LASTING, asdict(value), by, services)


def _set(name: str, value: Any, by: str, services: Services) -> None:
    with services.unit_of_work(write=True) as uow:
        person = acting(uow, services, by, Action.SETTINGS)
        if uow.settings.get(name) == value:
            return
        uow.settings.put(name, value)
        account.enter(uow, services.clock.now(), "setting", name, setting_entry(name, value, person.id))
        uow.commit()
