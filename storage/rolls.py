"""Camera rolls as rows, and the store's own small memory."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Row

from inspect_core.domain.errors import NotFound
from inspect_core.domain.roll import Roll, RollPhoto
from storage.mapping import photo_of
from storage.prepared import Prepared
from storage.roll_tables import roll_photos, rolls
from storage.tables import photos, settings
from storage.work import Work


class SqlRolls:
    """Fulfils RollRepository."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add(self, roll: Roll) -> None:
        self._work.insert(rolls, {"id": roll.id, "begun_at": roll.begun_at, "by": roll.by, "done": roll.done})

    def get(self, roll_id: str) -> Roll:
        row = self._row(roll_id)
        return Roll(row.id, row.begun_at, row.by, bool(row.done))

    def unfinished(self, limit: int) -> tuple[tuple[Roll, int], ...]:
        """Newest first."""
        many = sa.select(sa.func.count()).where(roll_photos.c.roll == rolls.c.number).scalar_subquery()
        statement = (
            sa.select(rolls, many.label("many"))
            .where(rolls.c.done.is_(False))
            .order_by(rolls.c.number.desc())
            .limit(limit)
        )
        return tuple((Roll(r.id, r.begun_at, r.by, bool(r.done)), int(r.many)) for r in self._work.rows(statement))

    def set_done(self, roll_id: str, done: bool) -> None:
        self._work.change(sa.update(rolls).where(rolls.c.number == self._row(roll_id).number).values(done=done))

    def add_photo(self, roll_id: str, photo: RollPhoto) -> bool:
        """In the order of adding. False, with nothing changed, where the roll holds that photo already."""
        number = self._row(roll_id).number
        own = roll_photos.c.roll == number
        known = sa.select(roll_photos.c.position).where(own, roll_photos.c.photo_id == photo.photo_id)
        if self._work.first(known) is not None:
            return False
        last = self._work.first(sa.select(sa.func.max(roll_photos.c.position).label("last")).where(own))
        position = 0 if last is None or last.last is None else last.last + 1
        self._work.insert(
            roll_photos,
            {
                "roll": number,
                "photo_id": photo.photo_id,
                "position": position,
                "name": photo.name,
                "tags": list(photo.tags),
                "codes": list(photo.codes),
                "item_id": photo.item_id,
                "left_out": photo.left_out,
                "draft_id": photo.draft_id,
                "camera": photo.camera,
            },
        )
        return True

    def change_photo(self, roll_id: str, photo: RollPhoto) -> None:
        """Keeps what a person changed; what was read of the picture stays."""
        self._work.change(
            sa.update(roll_photos)
            .where(roll_photos.c.roll == self._row(roll_id).number, roll_photos.c.photo_id == photo.photo_id)
            .values(item_id=photo.item_id, left_out=photo.left_out, draft_id=photo.draft_id)
        )

    def photos(self, roll_id: str) -> tuple[RollPhoto, ...]:
        """In the order of adding."""
        statement = (
            sa.select(roll_photos, photos)
            .join(photos, photos.c.id == roll_photos.c.photo_id)
            .where(roll_photos.c.roll == self._row(roll_id).number)
            .order_by(roll_photos.c.position)
        )
        return tuple(_photo(row) for row in self._work.rows(statement))

    def elsewhere(self, roll_id: str, photo_ids: Sequence[str]) -> frozenset[str]:
        number = self._row(roll_id).number
        statement = sa.select(roll_photos.c.photo_id).where(
            roll_photos.c.photo_id.in_(list(photo_ids)),
            roll_photos.c.roll != number,
            roll_photos.c.draft_id.is_not(None),
        )
        return frozenset(row.photo_id for row in self._work.rows(statement))

    def _row(self, roll_id: str) -> Row[Any]:
        row = self._work.first(sa.select(rolls).where(rolls.c.id == roll_id))
        if row is None:
            raise NotFound("No such photo roll is known.", "Drop the photos in again.")
        return row


def _photo(row: Row[Any]) -> RollPhoto:
    photo = photo_of(row)
    return RollPhoto(
        photo_id=row.photo_id,
        name=row.name,
        captured_at=photo.captured_at,
        phash=photo.phash,
        tags=tuple(row.tags),
        codes=tuple(row.codes),
        item_id=row.item_id,
        left_out=None if row.left_out is None else bool(row.left_out),
        draft_id=row.draft_id,
        camera=row.camera,
    )


#: Asked at the end of every save: whether anything may be recorded here.
_VALUE = Prepared(sa.select(settings.c.value).where(settings.c.name == sa.bindparam("name")))


class SqlSettings:
    """Fulfils SettingsRepository."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def get(self, name: str) -> Any:
        row = self._work.first(_VALUE, {"name": name})
        return row.value if row else None

    def put(self, name: str, value: Any) -> None:
        if not self._work.change(sa.update(settings).where(settings.c.name == name).values(value=value)):
            self._work.insert(settings, {"name": name, "value": value})
