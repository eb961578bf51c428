"""Who acts in a use case: every one that writes asks here first, inside its unit of work."""

from __future__ import annotations

from inspect_core.domain.access import Action, require
from inspect_core.domain.people import Person
from inspect_core.ports import UnitOfWork
from inspect_core.usecases.services import Services


def acting(uow: UnitOfWork, services: Services, by: str, action: Action) -> Person:
    """The person who does this, or NotAllowed with what to do instead. Raises NotFound for an unknown person."""
    person = uow.people.get(by)
    require(person, action, services.today())
    return person
