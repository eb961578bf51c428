"""Blind second readings: kept for good, handed out without the first answer, and set beside it for trends."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Row

from inspect_core.domain.custody import State
from inspect_core.domain.decision import Outcome
from inspect_core.domain.errors import Conflict
from inspect_core.domain.gear import Kind
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.second_reading import CANNOT_TELL, SOUND, BlindReading, ReadPhoto, UnreadPhoto
from storage.mapping import offset_of, on_site
from storage.reading_tables import second_readings
from storage.tables import inspection_photos, inspections, items, marks
from storage.work import Work

_CORRECTED = sa.select(inspections.c.corrects).where(inspections.c.corrects.is_not(None))
#: How many categories the first look marked on a photo, and the first of them.
_ON_PHOTO = sa.and_(
    marks.c.inspection == inspection_photos.c.inspection, marks.c.photo_id == inspection_photos.c.photo_id
)
_SHOWN = sa.select(sa.func.count(marks.c.category.distinct())).where(_ON_PHOTO).scalar_subquery()
_FIRST = sa.select(sa.func.min(marks.c.category)).where(_ON_PHOTO).scalar_subquery()
#: Every blind answer with what stands beside it.
_BESIDE = (
    sa.select(
        second_readings.c.photo_id,
        second_readings.c.inspection_id,
        second_readings.c.by.label("second_by"),
        second_readings.c.answer,
        inspections.c.item_id,
        inspections.c.day,
        inspections.c.by.label("first_by"),
        items.c.tag,
        items.c.kind,
        _FIRST.label("first"),
    )
    .join_from(second_readings, inspections, inspections.c.id == second_readings.c.inspection_id)
    .join(items, items.c.id == inspections.c.item_id)
    .join(
        inspection_photos,
        sa.and_(
            inspection_photos.c.inspection == inspections.c.number,
            inspection_photos.c.photo_id == second_readings.c.photo_id,
        ),
    )
)


class SqlSecondReadings:
    """Fulfils SecondReadingRepository."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add(self, reading: BlindReading) -> None:
        values = {
            "id": reading.id,
            "photo_id": reading.photo_id,
            "inspection_id": reading.inspection_id,
            "by": reading.by,
            "at": reading.at,
            "at_offset": offset_of(reading.at),
            "answer": reading.answer,
            "note": reading.note,
        }
        clash = Conflict(
            "This photo was read by the same person before.", "Read the next one; the second is not blind."
        )
        self._work.insert(second_readings, values, clash=clash)

    def find(self, reading_id: str) -> BlindReading | None:
        row = self._work.first(sa.select(second_readings).where(second_readings.c.id == reading_id))
        return None if row is None else _reading(row)

    def count(self, by: str) -> int:
        statement = sa.select(sa.func.count().label("many")).where(second_readings.c.by == by)
        row = self._work.first(statement)
        return 0 if row is None else int(row.many)

    def unread(self, by: str, *, damaged: bool, limit: int) -> tuple[UnreadPhoto, ...]:
        """In order of their SHA-256, which is the same haphazard order for every reader, so that photos are read by
        several people before others are read by one. Stops as soon as it has enough."""
        statement = (
            sa.select(inspection_photos.c.photo_id, inspections.c.id, items.c.kind)
            .join_from(inspection_photos, inspections, inspections.c.number == inspection_photos.c.inspection)
            .join(items, items.c.id == inspections.c.item_id)
            .where(*self._unseen(by), _SHOWN == 1 if damaged else sa.and_(_SHOWN == 0, _sound()))
            .order_by(inspection_photos.c.photo_id, inspections.c.number)
            .limit(limit)
        )
        found = {row.photo_id: UnreadPhoto(row.photo_id, row.id, Kind(row.kind)) for row in self._work.rows(statement)}
        return tuple(found.values())

    def may_read(self, photo_id: str, inspection_id: str, by: str) -> bool:
        """Whether that photo of that inspection can be read blind by that person."""
        statement = (
            sa.select(inspections.c.id)
            .join_from(inspection_photos, inspections, inspections.c.number == inspection_photos.c.inspection)
            .where(*self._unseen(by), inspection_photos.c.photo_id == photo_id, inspections.c.id == inspection_id)
        )
        return self._work.first(statement) is not None

    def all(self) -> tuple[ReadPhoto, ...]:
        """Every blind answer beside the first look, by photo. Photos on which the first look marked more than one
        category have no single first answer and are left out, as are inspections that were corrected since."""
        statement = _BESIDE.where(_SHOWN <= 1, inspections.c.id.not_in(_CORRECTED)).order_by(
            second_readings.c.photo_id, second_readings.c.number
        )
        return tuple(_beside(row) for row in self._work.rows(statement))

    def doubted(self) -> tuple[ReadPhoto, ...]:
        later = inspections.alias()
        looked_again = sa.select(later.c.id).where(
            later.c.item_id == inspections.c.item_id,
            later.c.at > inspections.c.at,
            later.c.type != InspectionType.BEFORE_USE.value,
            later.c.id.not_in(_CORRECTED),
        )
        statement = (
            _BESIDE.where(
                second_readings.c.answer.not_in((SOUND, CANNOT_TELL)),
                _SHOWN == 0,
                # Hidden from the planner, which would walk all gear in service to find the few readings.
                sa.func.coalesce(items.c.state, "").in_((State.IN_SERVICE.value, State.ON_HOLD.value)),
                inspections.c.id.not_in(_CORRECTED),
                ~sa.exists(looked_again),
            )
        ).order_by(second_readings.c.number)
        return tuple(_beside(row) for row in self._work.rows(statement))

    def _unseen(self, by: str) -> Sequence[sa.ColumnElement[bool]]:
        """Conditions: this person neither recorded the photo, in whichever inspection, nor read it before."""
        own, used = inspections.alias(), inspection_photos.alias()
        recorded = (
            sa.select(own.c.id)
            .join_from(used, own, own.c.number == used.c.inspection)
            .where(used.c.photo_id == inspection_photos.c.photo_id, own.c.by == by)
        )
        read = sa.select(second_readings.c.number).where(
            second_readings.c.photo_id == inspection_photos.c.photo_id, second_readings.c.by == by
        )
        return (~sa.exists(recorded), ~sa.exists(read), inspections.c.id.not_in(_CORRECTED))


def _sound() -> sa.ColumnElement[bool]:
    # A photo without marks in an inspection that held the item may show what nobody marked.
    return inspections.c.outcome == Outcome.IN_SERVICE.value


def _reading(row: Row[Any]) -> BlindReading:
    at = on_site(row.at, row.at_offset)
    return BlindReading(row.id, row.photo_id, row.inspection_id, row.by, at, row.answer, row.note)


def _beside(row: Row[Any]) -> ReadPhoto:
    return ReadPhoto(
        photo_id=row.photo_id,
        inspection_id=row.inspection_id,
        item_id=row.item_id,
        tag=row.tag,
        kind=Kind(row.kind),
        on=row.day,
        first_by=row.first_by,
        first=row.first or SOUND,
        second_by=row.second_by,
        second=row.answer,
    )
