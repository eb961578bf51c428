"""Blind second readings: what somebody who has not seen the first answer says about a recorded photo."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Kind
from inspect_core.domain.marks import Category

SOUND = "sound"
CANNOT_TELL = "cannot tell"
#: What a reader may say: nothing wrong, one category of damage, or that the photo does not show enough.
ANSWERS = (SOUND, *(category.value for category in Category), CANNOT_TELL)
MOST_NOTE = 500


@dataclass(frozen=True, slots=True)
class BlindReading:
    """One person's answer to one photo of one inspection, given without the first answer. Never changed, never given
    twice: the second time is not blind.

    `answer`: one of ANSWERS. `at` carries a time zone. Raises BadInput.
    """

    id: str
    photo_id: str
    inspection_id: str
    by: str
    at: datetime
    answer: str
    note: str = ""

    def __post_init__(self) -> None:
        if self.answer not in ANSWERS:
            raise BadInput(f"“{self.answer[:40]}” is no answer to a photo.", f"Say one of: {', '.join(ANSWERS)}.")
        if self.at.tzinfo is None:
            raise BadInput("The time of the reading has no time zone.", "Give the time with its offset.")
        if len(self.note) > MOST_NOTE:
            raise BadInput(f"The note is longer than {MOST_NOTE} characters.", "Shorten it.")


@dataclass(frozen=True, slots=True)
class UnreadPhoto:
    """A photo that somebody has not read yet, with no word of what the first look found."""

    photo_id: str
    inspection_id: str
    kind: Kind


@dataclass(frozen=True, slots=True)
class ReadPhoto:
    """One blind answer beside the first look: `first` is what the first look's marks on that photo show, SOUND where
    it carries none."""

    photo_id: str
    inspection_id: str
    item_id: str
    tag: str
    kind: Kind
    on: date
    first_by: str
    first: str
    second_by: str
    second: str


@dataclass(frozen=True, slots=True)
class InspectorCount:
    """How many inspections one person made of one kind of gear, and how many of them ended out of service."""

    by: str
    kind: Kind
    in_detail: bool
    inspections: int
    defects: int


@dataclass(frozen=True, slots=True)
class SharedPhoto:
    """One use of a photo that stands in more than one inspection; the person who recorded it, and the item's tag."""

    photo_id: str
    inspection_id: str
    item_id: str
    tag: str
    on: date
    by: str
