"""Kits as rows: what each holds now, and every event with what it held then."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Row

from inspect_core.domain.errors import Conflict, NotFound
from inspect_core.domain.kits import Kit, KitEvent, KitMove
from storage.mapping import name_key, offset_of, on_site
from storage.people_tables import kit_event_items, kit_events, kit_items, kits
from storage.work import Work


class SqlKits:
    """Fulfils KitRepository."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def put(self, kit: Kit) -> None:
        values = {
            "id": kit.id,
            "name": kit.name,
            "since": kit.since,
            "since_offset": offset_of(kit.since),
            "holder": kit.holder,
            "dissolved": kit.dissolved,
        }
        known = self._work.first(sa.select(kits.c.number).where(kits.c.id == kit.id))
        if known is None:
            number = self._work.insert(kits, values)
        else:
            number = known.number
            self._work.change(sa.update(kits).where(kits.c.number == number).values(values))
            self._work.change(sa.delete(kit_items).where(kit_items.c.kit == number))
        clash = Conflict("An item of this kit is in another kit.", "Take it out of that kit first.")
        for position, item_id in enumerate(kit.item_ids):
            self._work.insert(kit_items, {"item_id": item_id, "kit": number, "position": position}, clash=clash)

    def get(self, kit_id: str) -> Kit:
        row = self._work.first(sa.select(kits).where(kits.c.id == kit_id))
        if row is None:
            raise NotFound("No such kit is known.", "Open it from the list of kits.")
        return self._kits([row])[0]

    def find_name(self, name: str) -> Kit | None:
        key = name_key(name)
        return next((kit for kit in self.all() if name_key(kit.name) == key), None)

    def all(self, *, dissolved: bool = False) -> tuple[Kit, ...]:
        statement = sa.select(kits).order_by(sa.func.lower(kits.c.name), kits.c.number)
        if not dissolved:
            statement = statement.where(kits.c.dissolved.is_(False))
        return self._kits(self._work.rows(statement))

    def with_item(self, item_id: str) -> Kit | None:
        found = self.holding((item_id,))
        return found[0] if found else None

    def holding(self, item_ids: Sequence[str]) -> tuple[Kit, ...]:
        if not item_ids:
            return ()
        inside = sa.select(kit_items.c.kit).where(kit_items.c.item_id.in_(list(item_ids)))
        return self._kits(self._work.rows(sa.select(kits).where(kits.c.number.in_(inside))))

    def _kits(self, rows: Sequence[Row[Any]]) -> tuple[Kit, ...]:
        numbers = [row.number for row in rows]
        inside = self._work.rows(
            sa.select(kit_items).where(kit_items.c.kit.in_(numbers)).order_by(kit_items.c.kit, kit_items.c.position)
        )
        held: dict[int, list[str]] = {}
        for item in inside:
            held.setdefault(item.kit, []).append(item.item_id)
        return tuple(
            Kit(
                id=row.id,
                name=row.name,
                item_ids=tuple(held.get(row.number, ())),
                since=on_site(row.since, row.since_offset),
                holder=row.holder,
                dissolved=row.dissolved,
            )
            for row in rows
        )

    def add_event(self, event: KitEvent) -> None:
        kit = self._work.first(sa.select(kits.c.number).where(kits.c.id == event.kit_id))
        if kit is None:
            raise NotFound("No such kit is known.", "Open it from the list of kits.")
        number = self._work.insert(
            kit_events,
            {
                "id": event.id,
                "kit": kit.number,
                "at": event.at,
                "at_offset": offset_of(event.at),
                "by": event.by,
                "move": event.move.value,
                "holder": event.holder,
                "taken_out": event.taken_out,
                "put_in": event.put_in,
                "note": event.note,
            },
            clash=Conflict("This is recorded already.", "Look at the kit's history; nothing was written twice."),
        )
        self._work.insert_many(
            kit_event_items,
            [{"event": number, "item_id": item, "position": n} for n, item in enumerate(event.item_ids)],
        )

    def find_event(self, event_id: str) -> KitEvent | None:
        found = self._events(kit_events.c.id == event_id)
        return found[0] if found else None

    def events(self, kit_id: str) -> tuple[KitEvent, ...]:
        return self._events(kits.c.id == kit_id)

    def events_of_item(self, item_id: str) -> tuple[KitEvent, ...]:
        held = sa.select(kit_event_items.c.event).where(kit_event_items.c.item_id == item_id)
        return self._events(sa.or_(kit_events.c.number.in_(held), kit_events.c.taken_out == item_id))

    def _events(self, wanted: sa.ColumnElement[bool]) -> tuple[KitEvent, ...]:
        rows = self._work.rows(
            sa.select(kit_events, kits.c.id.label("kit_id"))
            .join(kits, kits.c.number == kit_events.c.kit)
            .where(wanted)
            .order_by(kit_events.c.at.desc(), kit_events.c.number.desc())
        )
        numbers = [row.number for row in rows]
        inside = self._work.rows(
            sa.select(kit_event_items)
            .where(kit_event_items.c.event.in_(numbers))
            .order_by(kit_event_items.c.event, kit_event_items.c.position)
        )
        held: dict[int, list[str]] = {}
        for item in inside:
            held.setdefault(item.event, []).append(item.item_id)
        return tuple(
            KitEvent(
                id=row.id,
                kit_id=row.kit_id,
                at=on_site(row.at, row.at_offset),
                by=row.by,
                move=KitMove(row.move),
                item_ids=tuple(held.get(row.number, ())),
                holder=row.holder,
                taken_out=row.taken_out,
                put_in=row.put_in,
                note=row.note,
            )
            for row in rows
        )
