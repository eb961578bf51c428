"""Blind second readings: handing out recorded photos without their first answer, and recording what a reader says."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date
from typing import Any

from inspect_core.domain.access import Action, may
from inspect_core.domain.errors import Conflict, NotAllowed
from inspect_core.domain.people import Person
from inspect_core.domain.record import ItemRow
from inspect_core.domain.second_reading import CANNOT_TELL, SOUND, BlindReading, ReadPhoto, UnreadPhoto
from inspect_core.usecases import account
from inspect_core.usecases.acting import acting
from inspect_core.usecases.holding import hold
from inspect_core.usecases.services import Services

#: Photos handed out at once: a few minutes' work, common practice, no source.
AT_A_TIME = 6


#: Says nothing of what was seen on which photo.
HOLD_REASON = (
    "A second reading of a photo, made blind, saw damage that the first look did not mark. A competent person looks at "
    "the gear itself."
)


@dataclass(frozen=True, slots=True)
class RecordReading:
    """One blind answer as a person gives it. `id` is made beforehand, so that a double click records it once."""

    id: str
    photo_id: str
    inspection_id: str
    by: str
    answer: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class ReadingList:
    """Photos for one reader to judge, and how many that person has read so far."""

    photos: tuple[UnreadPhoto, ...]
    read: int


def photos_to_read(by: str, services: Services, *, most: int = AT_A_TIME) -> ReadingList:
    """Photos that this person neither recorded nor read, half of them with a mark as far as there are any.

    The half is a choice, told on the trends page: of photos as they come nearly all are sound, and then agreement
    beyond chance can hardly be seen. Their order says nothing about which half a photo belongs to.
    """
    with services.unit_of_work() as uow:
        readings = uow.second_readings
        damaged = readings.unread(by, damaged=True, limit=most)
        sound = readings.unread(by, damaged=False, limit=most)
        read = readings.count(by)
    of_damaged = max(most - most // 2, most - len(sound))
    chosen = damaged[:of_damaged]
    chosen += sound[: most - len(chosen)]
    return ReadingList(tuple(sorted(chosen, key=lambda photo: _shuffled(photo, by))), read)


@dataclass(frozen=True, slots=True)
class Doubt:
    """Gear that a blind reading puts in doubt. `seen`: what it saw and what the first look said, for those to whom it
    may be told: whoever recorded or read the photo; None for others, who may still read it blind."""

    row: ItemRow
    on: date
    seen: tuple[ReadPhoto, ...] | None


def doubts(viewer: Person, services: Services) -> tuple[Doubt, ...]:
    """Gear, by tag, on whose photo a blind reading saw damage that the first look did not mark, until it is inspected
    in detail. Nothing for people who read no photos."""
    if not may(viewer, Action.SECOND_READING, services.today()):
        return ()
    with services.unit_of_work() as uow:
        by_item: dict[str, list[ReadPhoto]] = {}
        for one in uow.second_readings.doubted():
            by_item.setdefault(one.item_id, []).append(one)
        known = {
            one.photo_id for rows in by_item.values() for one in rows if viewer.id in (one.first_by, one.second_by)
        }
        found = [
            Doubt(
                ItemRow(uow.items.get(item_id), uow.items.standing(item_id)),
                max(one.on for one in rows),
                tuple(rows) if all(one.photo_id in known for one in rows) else None,
            )
            for item_id, rows in by_item.items()
        ]
    return tuple(sorted(found, key=lambda doubt: doubt.row.item.tag))


def _shuffled(photo: UnreadPhoto, by: str) -> str:
    return hashlib.sha256(f"{photo.photo_id} {by}".encode()).hexdigest()


def record_second_reading(command: RecordReading, services: Services) -> BlindReading:
    """Record one blind answer and enter it in the account.

    Raises NotAllowed for people who may not, or who recorded or read that photo before, BadInput for an answer that
    is none, Conflict where the id belongs to another reading. Nothing is written in any of these cases.

    Gear in service on whose photo the answer sees damage that the first look did not mark goes on hold, until somebody
    has looked at the gear itself. The reason names neither photo nor damage: others may still read the photo blind.
    """
    now = services.clock.now()
    reading = BlindReading(
        command.id, command.photo_id, command.inspection_id, command.by, now, command.answer, command.note.strip()
    )
    with services.unit_of_work(write=True) as uow:
        acting(uow, services, command.by, Action.SECOND_READING)
        known = uow.second_readings.find(command.id)
        if known is not None:
            if (known.photo_id, known.by) != (command.photo_id, command.by):
                raise Conflict("Another reading carries this identifier.", "Start the reading again.")
            return known
        if not uow.second_readings.may_read(command.photo_id, command.inspection_id, command.by):
            raise NotAllowed(
                "This photo cannot be read blind by this person: they recorded it, or read it before.",
                "Read the next one.",
            )
        uow.second_readings.add(reading)
        account.enter(uow, now, "second reading", reading.id, reading_plain(reading))
        doubted = {row.inspection_id: row.item_id for row in uow.second_readings.doubted()}
        if reading.answer not in (SOUND, CANNOT_TELL) and reading.inspection_id in doubted:
            standing = uow.items.standing(doubted[reading.inspection_id])
            if standing.usable:
                hold(standing, HOLD_REASON, command.by, uow, services)
        uow.commit()
    return reading


def reading_plain(reading: BlindReading) -> dict[str, Any]:
    """A reading as plain JSON data, for the account."""
    return {
        "id": reading.id,
        "photo": reading.photo_id,
        "inspection": reading.inspection_id,
        "by": reading.by,
        "at": reading.at.isoformat(),
        "answer": reading.answer,
        "note": reading.note,
    }
