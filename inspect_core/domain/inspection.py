"""An inspection: who looked at which item, when, what they found and what was decided."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from types import MappingProxyType

from inspect_core.domain.decision import Answer, CaseMark, Decision, FactValue, HandDecision, Outcome
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.marks import Mark
from inspect_core.domain.signatures import Signature


class InspectionType(StrEnum):
    """Why the item was looked at."""

    BEFORE_USE = "before use"
    PERIODIC = "periodic"
    AFTER_EVENT = "after event"


@dataclass(frozen=True, slots=True)
class Inspection:
    """A recorded inspection. Never edited: a later one that names it in `corrects` replaces what it says.

    `at` carries a time zone. `photo_ids` holds every photo taken, marked or not, in the order taken.
    `next_due` is the next periodic inspection's date as known when this one was recorded. `signature` is there where
    the site has sign-in and the inspection is one in detail.
    """

    id: str
    item_id: str
    type: InspectionType
    at: datetime
    by: str
    site: str
    profile: str
    answers: Mapping[Component, Answer]
    facts: Mapping[str, FactValue]
    marks: tuple[Mark, ...]
    photo_ids: tuple[str, ...]
    decision: Decision
    hand: HandDecision | None = None
    corrects: str | None = None
    next_due: date | None = None
    note: str = ""
    answer_notes: Mapping[Component, str] = field(default_factory=lambda: MappingProxyType({}))
    signature: Signature | None = None

    def __post_init__(self) -> None:
        if self.at.tzinfo is None:
            raise BadInput("The time of the inspection has no time zone.", "Give the time with its offset.")
        strays = {mark.photo_id for mark in self.marks} - set(self.photo_ids)
        if strays:
            raise BadInput(
                "A mark lies on a photo that is not part of this inspection.", "Add the photo, then mark it."
            )
        if len({mark.id for mark in self.marks}) != len(self.marks):
            raise BadInput("Two marks carry the same identifier.", "Give every mark its own.")

    @property
    def outcome(self) -> Outcome:
        """What counts: the judgement by hand where there is one, else the rules."""
        return self.hand.outcome if self.hand else self.decision.outcome


def case_marks(marks: tuple[Mark, ...]) -> tuple[CaseMark, ...]:
    """The marks as the rules see them."""
    return tuple(CaseMark(m.id, m.component, m.category, m.readings) for m in marks)
