"""An item's life as it is looked back on: one entry for each inspection or move, pictures, and readings over time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from inspect_core.domain.custody import CustodyEvent
from inspect_core.domain.decision import Finding, HandDecision, Outcome
from inspect_core.domain.gear import Component
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.domain.signatures import Signature


@dataclass(frozen=True, slots=True)
class Wanted:
    """What of a life is asked for. Filters by component, category and type leave inspections only; `year` is counted
    on site."""

    component: Component | None = None
    category: Category | None = None
    type: InspectionType | None = None
    year: int | None = None

    @property
    def everything(self) -> bool:
        """Whether nothing is left out."""
        return self == Wanted()

    @property
    def inspections_only(self) -> bool:
        """Whether moves are left out."""
        return not (self.component is None and self.category is None and self.type is None)


@dataclass(frozen=True, slots=True)
class SeenPhoto:
    """A photo of an inspection: its id, and its size in pixels once upright."""

    id: str
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Look:
    """One inspection as a history shows it: without its answers and facts, and of its findings only those that held
    or withdrew. `corrected`: a later inspection corrects this one."""

    id: str
    type: InspectionType
    at: datetime
    by: str
    outcome: Outcome
    hand: HandDecision | None
    corrects: str | None
    corrected: bool
    note: str
    photos: tuple[SeenPhoto, ...]
    marks: tuple[Mark, ...]
    deciding: tuple[Finding, ...]
    signature: Signature | None = None


@dataclass(frozen=True, slots=True)
class LifePage:
    """A page of a life, newest first. `after` asks for the next one; None on the last."""

    entries: tuple[Look | CustodyEvent, ...]
    after: str | None


@dataclass(frozen=True, slots=True)
class Pictured:
    """One photo in the timeline, with the inspection it was taken at and what is marked on it. `corrected`: a later
    inspection corrects that one."""

    photo: SeenPhoto
    inspection_id: str
    at: datetime
    type: InspectionType
    outcome: Outcome
    shown: tuple[tuple[Component, Category], ...]
    corrected: bool


@dataclass(frozen=True, slots=True)
class PicturePage:
    """A page of pictures, newest first. `after` asks for the next one; None on the last."""

    pictures: tuple[Pictured, ...]
    after: str | None


@dataclass(frozen=True, slots=True)
class LifeFigures:
    """How much a life holds: inspections, photos by year on site (newest first; 0 in a year without), and
    what may be asked for."""

    inspections: int
    photos_by_year: Mapping[int, int]
    shown: tuple[tuple[Component, Category], ...]
    types: tuple[InspectionType, ...]

    @property
    def photos(self) -> int:
        """All photos."""
        return sum(self.photos_by_year.values())


@dataclass(frozen=True, slots=True)
class Measured:
    """One reading of a mark, and what a rule allowed. `limits`: (limit, id of its rule) in the reading's unit;
    empty where no rule weighed it."""

    at: datetime
    inspection_id: str
    component: Component
    category: Category
    reading: Reading
    limits: tuple[tuple[float, str], ...]


@dataclass(frozen=True, slots=True)
class MarkedPhoto:
    """A photo on which a component was marked; one that could be compared with another."""

    photo: SeenPhoto
    inspection_id: str
    at: datetime
    type: InspectionType
    component: Component
