"""People and what their role lets them do."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from inspect_core.domain.errors import BadInput


class Role(StrEnum):
    """What a person is on this site."""

    WORKER = "worker"
    COMPETENT_PERSON = "competent person"
    MANAGER = "manager"
    ADMINISTRATOR = "administrator"


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who checks, inspects or reads. `qualified_until` bounds a competent person's qualification;
    None means that no end date was entered, which the screens say."""

    id: str
    name: str
    role: Role
    qualified_until: date | None = None
    active: bool = True

    def __post_init__(self) -> None:
        if not self.name.strip() or len(self.name) > 80:
            raise BadInput(
                "A person needs a name of 1 to 80 characters.", "Enter the name or the site's code for them."
            )

    def competent_on(self, day: date) -> bool:
        """Whether this person may sign as a competent person on that day."""
        if self.role is not Role.COMPETENT_PERSON or not self.active:
            return False
        return self.qualified_until is None or day <= self.qualified_until
