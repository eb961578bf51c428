"""Set-up checks as rows: one for the check, one for each item that it used."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Row

from inspect_core.domain.errors import Conflict, NotFound
from inspect_core.domain.setup import SetupRecord
from storage.mapping import frozen, offset_of, on_site
from storage.tables import setup_items, setups
from storage.work import Work


class SqlSetups:
    """Fulfils SetupRepository."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add(self, record: SetupRecord) -> None:
        values = {
            "id": record.id,
            "at": record.at,
            "at_offset": offset_of(record.at),
            "by": record.by,
            "site": record.site,
            "place": record.place,
            "check_name": record.check,
            "profile": record.profile,
            "answer": record.answer,
            "asked": dict(record.case),
            "result": dict(record.result),
            "photo_ids": list(record.photo_ids),
        }
        clash = Conflict("This set-up check is recorded already.", "Look at the item's history.")
        number = self._work.insert(setups, values, clash=clash)
        rows = [{"item_id": item, "setup": number, "position": n} for n, item in enumerate(record.item_ids)]
        self._work.insert_many(setup_items, rows)

    def find(self, record_id: str) -> SetupRecord | None:
        row = self._work.first(sa.select(setups).where(setups.c.id == record_id))
        return self._records([row])[0] if row is not None else None

    def get(self, record_id: str) -> SetupRecord:
        found = self.find(record_id)
        if found is None:
            raise NotFound("No set-up check is known by this identifier.", "Open it from the item's history.")
        return found

    def of_item(self, item_id: str) -> tuple[SetupRecord, ...]:
        statement = (
            sa.select(setups)
            .join(setup_items, setup_items.c.setup == setups.c.number)
            .where(setup_items.c.item_id == item_id)
            .order_by(setups.c.number.desc())
        )
        return tuple(self._records(self._work.rows(statement)))

    def _records(self, rows: Sequence[Row[Any]]) -> list[SetupRecord]:
        numbers = [row.number for row in rows]
        used = self._work.rows(
            sa.select(setup_items).where(setup_items.c.setup.in_(numbers)).order_by(setup_items.c.position)
        )
        return [_record(row, tuple(item.item_id for item in used if item.setup == row.number)) for row in rows]


def _record(row: Row[Any], item_ids: tuple[str, ...]) -> SetupRecord:
    return SetupRecord(
        id=row.id,
        at=on_site(row.at, row.at_offset),
        by=row.by,
        site=row.site,
        place=row.place,
        check=row.check_name,
        profile=row.profile,
        answer=row.answer,
        case=frozen(row.asked),
        result=frozen(row.result),
        item_ids=item_ids,
        photo_ids=tuple(row.photo_ids),
    )
