"""What makes a record signed: who re-entered their secret, how and when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from inspect_core.domain.errors import BadInput


class SignedBy(StrEnum):
    """How somebody proved to be who they are while signing."""

    PIN = "PIN entered again"


@dataclass(frozen=True, slots=True)
class Signature:
    """`by` is the person's id. The secret itself is nowhere: it was compared with its hash and forgotten."""

    by: str
    at: datetime
    how: SignedBy = SignedBy.PIN

    def __post_init__(self) -> None:
        if self.at.tzinfo is None:
            raise BadInput("The time of the signature has no time zone.", "Give the time with its offset.")
