"""Items, custody, photos, people, drafts and the ledger. Inspections have `storage.inspections`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from types import MappingProxyType
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Row

from inspect_core.domain.ages import AgeCut
from inspect_core.domain.custody import CustodyEvent, Standing, State
from inspect_core.domain.errors import Conflict, NotFound
from inspect_core.domain.gear import Item, Kind, clean_tag
from inspect_core.domain.people import Person
from inspect_core.domain.photos import Photo
from inspect_core.domain.record import Draft, ItemRow, LedgerEntry
from storage import aged, mapping
from storage.inspections import SqlInspections
from storage.old_tags import find_old_tag, keep_old_tags
from storage.prepared import Change, Prepared
from storage.search import SqlSearch
from storage.tables import custody, drafts, inspection_photos, inspections, items, ledger, people, photos
from storage.work import Work

#: So many ids go into one list of a query.
_BATCH = 500

# Statements of the hot paths are built once; building one costs more than SQLite takes to answer it.
_ITEM = Prepared(sa.select(items).where(items.c.id == sa.bindparam("id")))
_STAND = Change(
    sa.update(items)
    .where(items.c.id == sa.bindparam("its_id"))
    .values(
        {
            name: sa.bindparam(name)
            for name in (
                "state",
                "since",
                "since_offset",
                "reason",
                "last_inspection_id",
                "last_seen_on",
                "last_periodic_on",
                "next_due",
                "damage_used",
            )
        }
    )
)
_TAGGED = Prepared(sa.select(items).where(items.c.tag == sa.bindparam("tag")))
#: Word for word as in its index: a bound value in its place would not let SQLite use it.
_SERIAL_KEY: sa.ColumnElement[str] = sa.literal_column("lower(replace(items.serial, ' ', ''))", sa.Text)
_PHOTO = Prepared(sa.select(photos).where(photos.c.id == sa.bindparam("id")))
_PERSON = Prepared(sa.select(people).where(people.c.id == sa.bindparam("id")))
#: So many numbers go into one list of a query.
_BATCH = 500
_HEAD = Prepared(sa.select(ledger).order_by(ledger.c.number.desc()).limit(1))


class SqlItems:
    """Fulfils ItemRepository."""

    def __init__(self, work: Work, search: SqlSearch) -> None:
        self._work = work
        self._search = search

    def add(self, item: Item, standing: Standing) -> None:
        if standing.item_id != item.id:
            raise ValueError("the standing is of another item")
        values = mapping.item_values(item) | mapping.standing_values(standing)
        number = self._work.insert(items, values, clash=_tag_in_use(item.tag))
        keep_old_tags(self._work, item, _tag_in_use(item.tag))
        self._search.add_item(number, item)

    def update(self, item: Item) -> None:
        row = self._row(item.id)
        statement = sa.update(items).where(items.c.id == item.id).values(mapping.item_values(item))
        self._work.change(statement, clash=_tag_in_use(item.tag))
        keep_old_tags(self._work, item, _tag_in_use(item.tag))
        self._search.change_item(row.number, item)
        SqlInspections(self._work, self._search).recount(mapping.item_of(row), item)

    def set_standing(self, standing: Standing) -> None:
        if not self._work.change(_STAND, {"its_id": standing.item_id, **mapping.standing_values(standing)}):
            raise _no_item(standing.item_id)

    def get(self, item_id: str) -> Item:
        return mapping.item_of(self._row(item_id))

    def find_tag(self, tag: str) -> Item | None:
        wanted = {"tag": tag.strip().upper()}
        row = self._work.first(_TAGGED, wanted)
        if row is not None:
            return mapping.item_of(row)
        return find_old_tag(self._work, wanted["tag"])

    def with_serials(self, serials: Sequence[str]) -> tuple[ItemRow, ...]:
        wanted = sorted({"".join(serial.split()) for serial in serials} - {""})
        found = [
            mapping.item_row_of(row)
            for start in range(0, len(wanted), _BATCH)
            for row in self._work.rows(
                # Both sides go through the same function, so that both mean the same by lower case.
                sa.select(items).where(_SERIAL_KEY.in_([sa.func.lower(one) for one in wanted[start : start + _BATCH]]))
            )
        ]
        return tuple(sorted(found, key=lambda row: row.item.tag))

    def standing(self, item_id: str) -> Standing:
        return mapping.standing_of(self._row(item_id))

    def rows(
        self,
        *,
        kinds: Sequence[Kind] = (),
        sites: Sequence[str] = (),
        states: Sequence[State] = (),
        due_from: date | None = None,
        due_by: date | None = None,
        limit: int | None = None,
    ) -> tuple[ItemRow, ...]:
        statement = sa.select(items)
        if kinds:
            statement = statement.where(items.c.kind.in_([kind.value for kind in kinds]))
        if sites:
            statement = statement.where(items.c.site.in_(list(sites)))
        if states:
            statement = statement.where(items.c.state.in_([state.value for state in states]))
        if due_by is not None:
            in_use = (State.IN_SERVICE.value, State.ON_HOLD.value)
            statement = statement.where(items.c.next_due <= due_by, items.c.state.in_(in_use))
        if due_from is not None:
            statement = statement.where(items.c.next_due >= due_from)
        statement = statement.order_by(items.c.next_due.asc().nulls_last(), items.c.tag).limit(limit)
        return tuple(mapping.item_row_of(row) for row in self._work.rows(statement))

    def age_limits(self) -> tuple[tuple[float | None, float | None], ...]:
        return aged.age_limits(self._work)

    def maybe_aged(
        self, cuts: Sequence[AgeCut], *, kinds: Sequence[Kind] = (), sites: Sequence[str] = ()
    ) -> tuple[ItemRow, ...]:
        return aged.maybe_aged(self._work, cuts, kinds=kinds, sites=sites)

    def due_counts(self, on: date, until: date) -> tuple[tuple[str, int, int, int], ...]:
        """By site; sites with nothing to do are left out."""
        live = (State.IN_SERVICE.value, State.ON_HOLD.value)
        late = sa.func.sum(sa.case((items.c.next_due < on, 1), else_=0))
        due = (
            sa.select(items.c.site, late.label("late"), sa.func.count().label("many"))
            .where(items.c.state.in_(live), items.c.next_due <= until)
            .group_by(items.c.site)
        )
        held = (
            sa.select(items.c.site, sa.func.count().label("many"))
            .where(items.c.state == State.ON_HOLD.value)
            .group_by(items.c.site)
        )
        found = {row.site: [int(row.late), int(row.many) - int(row.late), 0] for row in self._work.rows(due)}
        for row in self._work.rows(held):
            found.setdefault(row.site, [0, 0, 0])[2] = int(row.many)
        return tuple((site, late, soon, held) for site, (late, soon, held) in sorted(found.items()))

    def counts(self) -> Mapping[State, int]:
        """How many items are in each state; every state is there, with 0 where none is."""
        counted = self._work.rows(sa.select(items.c.state, sa.func.count().label("many")).group_by(items.c.state))
        found = {State(row.state): int(row.many) for row in counted}
        return MappingProxyType({state: found.get(state, 0) for state in State})

    def sites(self) -> tuple[str, ...]:
        statement = sa.select(items.c.site).where(items.c.site != "").distinct().order_by(items.c.site)
        return tuple(row.site for row in self._work.rows(statement))

    def makers(self) -> tuple[tuple[str, str], ...]:
        statement = sa.select(items.c.maker, items.c.model).distinct().order_by(items.c.maker, items.c.model)
        return tuple((row.maker, row.model) for row in self._work.rows(statement))

    def _row(self, item_id: str) -> Row[Any]:
        row = self._work.first(_ITEM, {"id": item_id})
        if row is None:
            raise _no_item(item_id)
        return row


def _no_item(item_id: str) -> NotFound:
    return NotFound(f"No item is registered as {item_id}.", "Search for its tag, or register it.")


def _tag_in_use(tag: str) -> Conflict:
    return Conflict(f"The tag {clean_tag(tag)} is in use.", "Open the item that carries it, or choose another tag.")


class SqlCustody:
    """Fulfils CustodyRepository."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add(self, event: CustodyEvent) -> None:
        clash = Conflict("This move is recorded already.", "Look at the item's history; nothing was written twice.")
        self._work.insert(custody, mapping.custody_values(event), clash=clash)

    def of_item(self, item_id: str) -> tuple[CustodyEvent, ...]:
        statement = (
            sa.select(custody)
            .where(custody.c.item_id == item_id)
            .order_by(custody.c.at.desc(), custody.c.number.desc())
        )
        return tuple(mapping.custody_of(row) for row in self._work.rows(statement))

    def witnessed_by(self, name: str) -> int:
        row = self._work.first(sa.select(sa.func.count().label("many")).where(custody.c.witness == name))
        return int(row.many) if row else 0


class SqlPhotos:
    """Fulfils PhotoRepository."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add(self, photo: Photo) -> None:
        if self.find(photo.id) is None:
            self._work.insert(photos, mapping.photo_values(photo))

    def get(self, photo_id: str) -> Photo:
        photo = self.find(photo_id)
        if photo is None:
            raise NotFound("The store knows no such photo.", "Open it from the item's history.")
        return photo

    def find(self, photo_id: str) -> Photo | None:
        row = self._work.first(_PHOTO, {"id": photo_id})
        return mapping.photo_of(row) if row else None

    def many(self, photo_ids: Sequence[str]) -> Mapping[str, Photo]:
        """Those of them that are known, by their ids."""
        found: dict[str, Photo] = {}
        for start in range(0, len(photo_ids), _BATCH):
            some = sa.select(photos).where(photos.c.id.in_(photo_ids[start : start + _BATCH]))
            found |= {row.id: mapping.photo_of(row) for row in self._work.rows(some)}
        return found

    def hashes(self) -> tuple[tuple[str, str], ...]:
        statement = sa.select(photos.c.id, photos.c.phash).where(
            photos.c.id.in_(sa.select(inspection_photos.c.photo_id).distinct())
        )
        return tuple((row.id, row.phash) for row in self._work.rows(statement))

    def uses(self, photo_id: str) -> tuple[tuple[str, str], ...]:
        """In the order in which the inspections were recorded; each inspection once."""
        statement = (
            sa.select(inspections.c.item_id, inspections.c.id)
            .where(
                inspections.c.number.in_(
                    sa.select(inspection_photos.c.inspection).where(inspection_photos.c.photo_id == photo_id)
                )
            )
            .order_by(inspections.c.number)
        )
        return tuple((row.item_id, row.id) for row in self._work.rows(statement))


class SqlPeople:
    """Fulfils PersonRepository."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def add(self, person: Person) -> None:
        values = mapping.person_values(person)
        known = self._work.first(sa.select(people.c.number).where(people.c.id == person.id))
        if known is None:
            self._work.insert(people, values)
        else:
            self._work.change(sa.update(people).where(people.c.number == known.number).values(values))

    def get(self, person_id: str) -> Person:
        row = self._work.first(_PERSON, {"id": person_id})
        if row is None:
            raise NotFound("The store knows no such person.", "Choose a person from the list, or add them.")
        return mapping.person_of(row)

    def find_name(self, name: str) -> Person | None:
        """Case and spacing aside. Of several with one name, one who is active, and the first added."""
        statement = (
            sa.select(people)
            .where(people.c.name_key == mapping.name_key(name))
            .order_by(people.c.active.desc(), people.c.number)
        )
        row = self._work.first(statement.limit(1))
        return mapping.person_of(row) if row else None

    def all(self) -> tuple[Person, ...]:
        """By name."""
        statement = sa.select(people).order_by(people.c.name_key, people.c.number)
        return tuple(mapping.person_of(row) for row in self._work.rows(statement))

    def forget_old_names(self) -> None:
        if self._work.dialect == "sqlite":
            self._work.change(sa.text("INSERT INTO search_people (search_people) VALUES ('rebuild')"))


class SqlDrafts:
    """Fulfils DraftRepository."""

    def __init__(self, work: Work) -> None:
        self._work = work

    def save(self, draft: Draft) -> None:
        values = mapping.draft_values(draft)
        if not self._work.change(sa.update(drafts).where(drafts.c.id == draft.id).values(values)):
            self._work.insert(drafts, values)

    def find(self, draft_id: str) -> Draft | None:
        row = self._work.first(sa.select(drafts).where(drafts.c.id == draft_id))
        return mapping.draft_of(row) if row else None

    def of_item(self, item_id: str) -> tuple[Draft, ...]:
        """Last saved first."""
        statement = sa.select(drafts).where(drafts.c.item_id == item_id).order_by(drafts.c.saved_at.desc())
        return tuple(mapping.draft_of(row) for row in self._work.rows(statement))

    def newest(self, limit: int) -> tuple[Draft, ...]:
        """Last saved first, over all items."""
        statement = sa.select(drafts).order_by(drafts.c.saved_at.desc()).limit(limit)
        return tuple(mapping.draft_of(row) for row in self._work.rows(statement))

    def discard(self, draft_id: str) -> None:
        self._work.change(sa.delete(drafts).where(drafts.c.id == draft_id))


class SqlLedger:
    """Fulfils LedgerRepository."""

    def __init__(self, work: Work) -> None:
        self._work = work
        self._added: LedgerEntry | None = None

    def head(self) -> LedgerEntry | None:
        row = self._work.first(_HEAD)
        return mapping.entry_of(row) if row else None

    def add(self, entry: LedgerEntry) -> None:
        clash = Conflict(
            f"Entry {entry.number} of the ledger is written already.", "Read the ledger's head again, then save."
        )
        self._work.insert(ledger, mapping.entry_values(entry), clash=clash)
        self._added = entry

    def added(self) -> LedgerEntry | None:
        return self._added

    def of_subject(self, subject: str, subject_id: str) -> tuple[LedgerEntry, ...]:
        about = sa.and_(ledger.c.subject == subject, ledger.c.subject_id == subject_id)
        statement = sa.select(ledger).where(about).order_by(ledger.c.number)
        return tuple(mapping.entry_of(row) for row in self._work.rows(statement))

    def numbered(self, numbers: Sequence[int]) -> tuple[LedgerEntry, ...]:
        found: list[LedgerEntry] = []
        for start in range(0, len(numbers), _BATCH):
            batch = list(numbers[start : start + _BATCH])
            statement = sa.select(ledger).where(ledger.c.number.in_(batch)).order_by(ledger.c.number)
            found += map(mapping.entry_of, self._work.rows(statement))
        return tuple(found)

    def entries(self, *, after: int = 0, limit: int | None = None) -> tuple[LedgerEntry, ...]:
        statement = sa.select(ledger).where(ledger.c.number > after).order_by(ledger.c.number).limit(limit)
        return tuple(mapping.entry_of(row) for row in self._work.rows(statement))
