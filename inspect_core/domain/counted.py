"""Rows that trends are made of, as the store counts them over all its records."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.marks import Category


@dataclass(frozen=True, slots=True)
class LifeRow:
    """One item and the days its record knows. `left_on`: the day it was withdrawn, None while it is not."""

    item_id: str
    tag: str
    kind: Kind
    maker: str
    model: str
    site: str
    note: str
    first_used_on: date | None
    registered_on: date | None
    left_on: date | None


@dataclass(frozen=True, slots=True)
class Tally:
    """Inspections of one kind and model at one site in one month ("YYYY-MM"), and how many of them ended out of
    service. `model`: maker and model in one, as `model_label` writes them."""

    kind: Kind
    site: str
    month: str
    inspections: int
    defects: int
    model: str = ""


@dataclass(frozen=True, slots=True)
class FoundDefect:
    """One inspection that ended out of service."""

    inspection_id: str
    item_id: str
    tag: str
    kind: Kind
    site: str
    on: date


@dataclass(frozen=True, slots=True)
class MarkRow:
    """One mark, with the inspection and the item it belongs to."""

    inspection_id: str
    item_id: str
    tag: str
    on: date
    component: Component
    category: Category


@dataclass(frozen=True, slots=True)
class MarkCount:
    """Marks on one component: how many, on how many different items, in how many inspections, and what they show."""

    component: Component
    marks: int
    items: int
    inspections: int
    categories: tuple[tuple[Category, int], ...]


@dataclass(frozen=True, slots=True)
class AheadRow:
    """One item that is not withdrawn, with what its limits are counted from."""

    item_id: str
    tag: str
    kind: Kind
    site: str
    made_on: date | None
    max_age_years: float | None
    next_due: date | None


@dataclass(frozen=True, slots=True)
class DamageRow:
    """Largest damage used that was measured on one component of one item on one day; 1 is at the limit."""

    item_id: str
    component: Component
    on: date
    damage: float
