"""What the use cases need from the outside, as protocols. `storage` fulfils them; tests may pass fakes.

A unit of work is opened per action and left either by `commit()` or with nothing written.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from types import TracebackType
from typing import Protocol, Self

from inspect_core.domain.ages import AgeCut
from inspect_core.domain.counted import AheadRow, DamageRow, FoundDefect, LifeRow, MarkCount, MarkRow, Tally
from inspect_core.domain.custody import CustodyEvent, Standing, State
from inspect_core.domain.decision import Outcome
from inspect_core.domain.gear import Component, Item, Kind
from inspect_core.domain.inspection import Inspection, InspectionType
from inspect_core.domain.marks import Category
from inspect_core.domain.people import Person
from inspect_core.domain.photos import Photo
from inspect_core.domain.record import Draft, ItemRow, LedgerEntry, Page, Retirement
from inspect_core.ports_account import RecordReader, Rows, TreeRepository
from inspect_core.ports_jobs import JobRepository
from inspect_core.ports_looking import LifeReader, SavedSearchRepository
from inspect_core.ports_outside import RollRepository, SettingsRepository, SetupRepository
from inspect_core.ports_people import KitRepository, SignInRepository
from inspect_core.ports_trends import SecondReadingRepository, TrendSplits


class Clock(Protocol):
    """Tells the time, with its zone."""

    def now(self) -> datetime: ...


class PhotoStore(Protocol):
    """Write-once store of originals by SHA-256, and of their copies without metadata."""

    def put(self, photo_id: str, original: bytes, copies: Mapping[str, bytes]) -> bool:
        """Store an original with its copies ("preview", "thumb", "full"). True when it was new, False when it was
        there already. Durable when this returns. Raises StoreFault."""
        ...

    def original(self, photo_id: str) -> bytes:
        """The stored bytes. Raises NotFound, or StoreFault when they no longer match their name."""
        ...

    def copy(self, photo_id: str, name: str) -> bytes:
        """A derived copy by name. Raises NotFound."""
        ...

    def has(self, photo_id: str) -> bool: ...

    def ids(self) -> Iterator[str]:
        """Every stored photo, in the order of their SHA-256."""
        ...


class ItemRepository(Protocol):
    """Registered gear and where it stands."""

    def add(self, item: Item, standing: Standing) -> None:
        """Raises Conflict when the tag is in use."""
        ...

    def update(self, item: Item) -> None: ...

    def set_standing(self, standing: Standing) -> None: ...

    def get(self, item_id: str) -> Item:
        """Raises NotFound."""
        ...

    def find_tag(self, tag: str) -> Item | None:
        """The item that carries the tag, or carried it before its register was corrected."""
        ...

    def with_serials(self, serials: Sequence[str]) -> tuple[ItemRow, ...]:
        """Every item, whatever its state, that carries one of these serial numbers, case and blanks aside; by tag."""
        ...

    def standing(self, item_id: str) -> Standing: ...

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
        """Items that fit every filter given, soonest due first, then by tag. `due_by` keeps in-service and held
        items with a due date on or before it, `due_from` those with one on or after it."""
        ...

    def age_limits(self) -> tuple[tuple[float | None, float | None], ...]:
        """(years from the day of making, years from the first use) as makers limit them, each pair once; both None
        is left out."""
        ...

    def maybe_aged(
        self, cuts: Sequence[AgeCut], *, kinds: Sequence[Kind] = (), sites: Sequence[str] = ()
    ) -> tuple[ItemRow, ...]:
        """Items in service that lie in any of the cuts, by tag."""
        ...

    def due_counts(self, on: date, until: date) -> tuple[tuple[str, int, int, int], ...]:
        """(site, overdue on that day, due from it until the other, on hold) of every site with work, by name."""
        ...

    def counts(self) -> Mapping[State, int]: ...

    def sites(self) -> tuple[str, ...]: ...

    def makers(self) -> tuple[tuple[str, str], ...]:
        """(maker, model) of every item, each once, in order; "" where none is entered."""
        ...


class InspectionRepository(Protocol):
    """Recorded inspections, never edited."""

    def add(self, inspection: Inspection) -> None: ...

    def get(self, inspection_id: str) -> Inspection:
        """Raises NotFound."""
        ...

    def find(self, inspection_id: str) -> Inspection | None: ...

    def of_item(self, item_id: str, *, limit: int | None = None) -> tuple[Inspection, ...]:
        """Newest first."""
        ...

    def by_prefix(self, prefix: str) -> tuple[str, ...]:
        """Ids that start with `prefix`, at most ten, for people who type the short form."""
        ...


class CustodyRepository(Protocol):
    """Moves that were made."""

    def add(self, event: CustodyEvent) -> None: ...

    def of_item(self, item_id: str) -> tuple[CustodyEvent, ...]:
        """Newest first."""
        ...

    def witnessed_by(self, name: str) -> int:
        """How many old records name a witness in just these words."""
        ...


class PhotoRepository(Protocol):
    """What is known of stored photos."""

    def add(self, photo: Photo) -> None:
        """Does nothing where the photo is known already."""
        ...

    def get(self, photo_id: str) -> Photo:
        """Raises NotFound."""
        ...

    def find(self, photo_id: str) -> Photo | None: ...

    def many(self, photo_ids: Sequence[str]) -> Mapping[str, Photo]:
        """Those of them that are known, by their ids."""
        ...

    def hashes(self) -> tuple[tuple[str, str], ...]:
        """(photo id, perceptual hash) of every photo that some inspection holds."""
        ...

    def uses(self, photo_id: str) -> tuple[tuple[str, str], ...]:
        """(item id, inspection id) of every inspection that holds the photo."""
        ...


class PersonRepository(Protocol):
    """People of the site."""

    def add(self, person: Person) -> None:
        """Adds, or replaces the person with the same id."""
        ...

    def get(self, person_id: str) -> Person:
        """Raises NotFound."""
        ...

    def find_name(self, name: str) -> Person | None: ...

    def all(self) -> tuple[Person, ...]: ...

    def forget_old_names(self) -> None:
        """Makes the index of names anew, so that it holds none that was replaced."""
        ...


class DraftRepository(Protocol):
    """Unfinished inspections."""

    def save(self, draft: Draft) -> None: ...

    def find(self, draft_id: str) -> Draft | None: ...

    def of_item(self, item_id: str) -> tuple[Draft, ...]: ...

    def newest(self, limit: int) -> tuple[Draft, ...]:
        """Over all items, last saved first."""
        ...

    def discard(self, draft_id: str) -> None: ...


class LedgerRepository(Protocol):
    """The chain, only ever added to."""

    def head(self) -> LedgerEntry | None: ...

    def add(self, entry: LedgerEntry) -> None: ...

    def added(self) -> LedgerEntry | None:
        """The last entry that this unit of work added."""
        ...

    def of_subject(self, subject: str, subject_id: str) -> tuple[LedgerEntry, ...]:
        """Entries about one thing, oldest first."""
        ...

    def numbered(self, numbers: Sequence[int]) -> tuple[LedgerEntry, ...]:
        """The entries with these numbers, in order."""
        ...

    def entries(self, *, after: int = 0, limit: int | None = None) -> tuple[LedgerEntry, ...]: ...


class SearchIndex(Protocol):
    """Full-text search over items, inspections, findings and people; filled as records are added."""

    def find(
        self,
        text: str,
        *,
        kinds: Sequence[Kind] = (),
        sites: Sequence[str] = (),
        states: Sequence[State] = (),
        categories: Sequence[Category] = (),
        outcomes: Sequence[Outcome] = (),
        since: date | None = None,
        until: date | None = None,
        makers: Sequence[str] = (),
        models: Sequence[str] = (),
        people: Sequence[str] = (),
        types: Sequence[InspectionType] = (),
        damage_from: float | None = None,
        damage_to: float | None = None,
        limit: int = 20,
        after: str | None = None,
    ) -> Page:
        """`people`: ids. `damage_from`, `damage_to`: damage used of inspections, bounds included."""
        ...


class Reviews(TrendSplits, Protocol):
    """Reads that count over the whole store."""

    def retirements(self, *, since: date | None = None, until: date | None = None) -> tuple[Retirement, ...]: ...

    def lives(self) -> tuple[LifeRow, ...]:
        """Every item, in order of its tag."""
        ...

    def tallies(self, *, since: date | None = None, until: date | None = None) -> tuple[Tally, ...]:
        """Inspections and those that ended out of service per kind, site, model and month, by month."""
        ...

    def found_defects(
        self,
        *,
        kind: Kind | None = None,
        site: str | None = None,
        model: str | None = None,
        since: date | None = None,
        until: date | None = None,
        limit: int = 200,
    ) -> tuple[FoundDefect, ...]:
        """Inspections that ended out of service, newest first."""
        ...

    def mark_counts(
        self,
        kind: Kind,
        *,
        site: str | None = None,
        model: str | None = None,
        since: date | None = None,
        until: date | None = None,
    ) -> tuple[MarkCount, ...]:
        """Marks on one kind's items, counted by component."""
        ...

    def marked(
        self,
        kind: Kind,
        component: Component,
        *,
        site: str | None = None,
        model: str | None = None,
        since: date | None = None,
        until: date | None = None,
        limit: int = 200,
    ) -> tuple[MarkRow, ...]:
        """Marks on a component of one kind's items, newest inspection first."""
        ...

    def looked_at(
        self,
        kind: Kind,
        *,
        site: str | None = None,
        model: str | None = None,
        since: date | None = None,
        until: date | None = None,
    ) -> Mapping[Component, int]:
        """In how many inspections of a kind each component was answered sound or defect, or marked."""
        ...

    def ahead(self) -> tuple[AheadRow, ...]:
        """Items in service or on hold, in order of their tags."""
        ...

    def damages(self) -> tuple[DamageRow, ...]:
        """Measured damage of those items, by item, component and day."""
        ...


class UnitOfWork(Protocol):
    """One transaction. Leaving the block without `commit()` writes nothing."""

    items: ItemRepository
    inspections: InspectionRepository
    custody: CustodyRepository
    photos: PhotoRepository
    people: PersonRepository
    sign_ins: SignInRepository
    kits: KitRepository
    drafts: DraftRepository
    setups: SetupRepository
    rolls: RollRepository
    jobs: JobRepository
    settings: SettingsRepository
    second_readings: SecondReadingRepository
    ledger: LedgerRepository
    tree: TreeRepository
    records: RecordReader
    rows: Rows
    search: SearchIndex
    saved_searches: SavedSearchRepository
    life: LifeReader
    reviews: Reviews

    def __enter__(self) -> Self: ...

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None: ...

    def commit(self) -> None: ...

    def rollback(self) -> None: ...


class UnitOfWorkFactory(Protocol):
    """Opens a unit of work. `write` takes the write lock at once, so that what is read cannot change under it."""

    def __call__(self, *, write: bool = False) -> UnitOfWork: ...
