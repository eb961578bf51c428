"""People and what they are on this site."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
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
    None means that no end date was entered, which the screens say.

    `name_salt` is a random text beside the name: the ledger holds only the commitment made of both, so that the name
    can be taken out of the store for good. `coded`: the name was replaced by a code and the salt thrown away.
    """

    id: str
    name: str
    role: Role
    qualified_until: date | None = None
    active: bool = True
    name_salt: str = field(default="", compare=False, repr=False)
    coded: bool = False

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

    @property
    def name_commitment(self) -> str | None:
        """What the ledger holds instead of the name; None where no salt is kept (see `commitment`)."""
        return commitment(self.name, self.name_salt) if self.name_salt else None


def commitment(name: str, salt: str) -> str:
    """Hex SHA-256 over the salt, a zero byte and the name in UTF-8. Without the salt, which is random and lies only
    beside the name, nobody can tell from it whose name it was."""
    return hashlib.sha256(salt.encode() + b"\0" + name.encode()).hexdigest()
