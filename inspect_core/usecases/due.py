"""Due work, site by site: inspections in detail that are overdue or soon due, and what is on hold."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from inspect_core.domain.custody import State
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Kind
from inspect_core.domain.record import ItemRow
from inspect_core.languages import ENGLISH, Language
from inspect_core.usecases import kits
from inspect_core.usecases.ages import Aged, past_age_in
from inspect_core.usecases.services import Services

if TYPE_CHECKING:  # reportlab is loaded only where a sheet is made
    from inspect_core.reports.site_sheet import SheetRow, SiteSheet

#: How far ahead "soon" reaches: common practice, no source.
SOON_DAYS = 30
NO_SITE = "no site entered"


@dataclass(frozen=True, slots=True)
class SiteDue:
    """One site's due work. Overdue and soon hold items in service or on hold, soonest due first; `on_hold` every item
    on hold, whenever it is due; `past_age` items in service that their age forbids to use."""

    site: str
    overdue: tuple[ItemRow, ...] = ()
    soon: tuple[ItemRow, ...] = ()
    on_hold: tuple[ItemRow, ...] = ()
    past_age: tuple[Aged, ...] = ()

    @property
    def name(self) -> str:
        """The site's name, or words where none is entered."""
        return self.site or NO_SITE

    @property
    def empty(self) -> bool:
        return not (self.overdue or self.soon or self.on_hold or self.past_age)


@dataclass(frozen=True, slots=True)
class DueWork:
    """Due work on a day, looking so many days ahead; sites by name, those with nothing to do left out."""

    on: date
    within_days: int
    sites: tuple[SiteDue, ...]

    @property
    def overdue(self) -> tuple[ItemRow, ...]:
        return _by_day(row for site in self.sites for row in site.overdue)

    @property
    def soon(self) -> tuple[ItemRow, ...]:
        return _by_day(row for site in self.sites for row in site.soon)

    @property
    def on_hold(self) -> tuple[ItemRow, ...]:
        return _by_day(row for site in self.sites for row in site.on_hold)

    @property
    def past_age(self) -> tuple[Aged, ...]:
        return tuple(sorted((one for site in self.sites for one in site.past_age), key=lambda one: one.row.item.tag))


def due_work(
    services: Services, *, within_days: int = SOON_DAYS, site: str | None = None, kind: Kind | None = None
) -> DueWork:
    """What is overdue, soon due, on hold and past its age. Raises BadInput for a number of days that makes no sense."""
    if not 0 <= within_days <= 3660:
        raise BadInput("The number of days must lie between 0 and 3660.", "Give how many days ahead to look.")
    on = services.today()
    sites = () if site is None else (site,)
    kinds = (kind,) if kind else ()
    live = (State.IN_SERVICE, State.ON_HOLD)
    with services.unit_of_work() as uow:
        due = uow.items.rows(sites=sites, kinds=kinds, states=live, due_by=on + timedelta(days=within_days))
        held = uow.items.rows(sites=sites, kinds=kinds, states=(State.ON_HOLD,))
        old = past_age_in(uow, services.rules, on, site=site, kind=kind)
    overdue, soon = split_due(due, on)
    late, coming, on_hold = (_by_site(rows) for rows in (overdue, soon, held))
    aged: dict[str, list[Aged]] = defaultdict(list)
    for one in old:
        aged[one.row.item.site].append(one)
    told = tuple(
        SiteDue(
            name,
            tuple(late.get(name, ())),
            tuple(coming.get(name, ())),
            tuple(on_hold.get(name, ())),
            tuple(aged.get(name, ())),
        )
        for name in sorted({*late, *coming, *on_hold, *aged})
    )
    return DueWork(on, within_days, told)


@dataclass(frozen=True, slots=True)
class SiteCount:
    """How much one site has to do."""

    site: str
    overdue: int
    soon: int
    on_hold: int

    @property
    def name(self) -> str:
        return self.site or NO_SITE


@dataclass(frozen=True, slots=True)
class Glance:
    """Due work for a screen: every site's counts, and the first rows of each list over all sites or the one asked for.
    `counts`: how many items stand where; `past_age`: all items in service that their age forbids to use."""

    on: date
    within_days: int
    sites: tuple[SiteCount, ...]
    overdue: tuple[ItemRow, ...]
    soon: tuple[ItemRow, ...]
    on_hold: tuple[ItemRow, ...]
    counts: Mapping[State, int]
    past_age: tuple[Aged, ...] = ()

    @property
    def no_gear(self) -> bool:
        """Whether nothing at all is registered."""
        return not sum(self.counts.values())

    def total(self, site: str | None) -> SiteCount:
        """One site's counts, or those of all."""
        fitting = [one for one in self.sites if site is None or one.site == site]
        sums = [sum(values) for values in zip(*((s.overdue, s.soon, s.on_hold) for s in fitting), strict=True)]
        return SiteCount(site or "", *(sums or [0, 0, 0]))


def glance(services: Services, *, site: str | None = None, within_days: int = SOON_DAYS, limit: int = 100) -> Glance:
    """What a screen shows at once: counts from the database, and at most `limit` rows of each list."""
    on = services.today()
    sites = () if site is None else (site,)
    live = (State.IN_SERVICE, State.ON_HOLD)
    until = on + timedelta(days=within_days)
    with services.unit_of_work() as uow:
        rows = uow.items.rows
        return Glance(
            on,
            within_days,
            tuple(SiteCount(*row) for row in uow.items.due_counts(on, until)),
            rows(sites=sites, states=live, due_by=on - timedelta(days=1), limit=limit),
            rows(sites=sites, states=live, due_from=on, due_by=until, limit=limit),
            rows(sites=sites, states=(State.ON_HOLD,), limit=limit),
            uow.items.counts(),
            past_age_in(uow, services.rules, on, site=site),
        )


def split_due(rows: Sequence[ItemRow], on: date) -> tuple[tuple[ItemRow, ...], tuple[ItemRow, ...]]:
    """(due before that day, due on it or later); rows without a due date are in neither.

    >>> split_due((), date(2026, 3, 2))
    ((), ())
    """
    late = tuple(row for row in rows if row.standing.overdue_on(on))
    coming = tuple(row for row in rows if row.standing.next_due is not None and row.standing.next_due >= on)
    return late, coming


def sheet_of(site: SiteDue, work: DueWork, services: Services, language: Language = ENGLISH) -> bytes:
    """One site's sheet to print and tick off, as PDF."""
    from inspect_core.reports.site_sheet import site_sheets

    return site_sheets((_sheet(site, work, services),), work.on, language)


def sheets_of(work: DueWork, services: Services, language: Language = ENGLISH) -> bytes:
    """Every site's sheet in one PDF, each on pages of its own."""
    from inspect_core.reports.site_sheet import site_sheets

    return site_sheets([_sheet(site, work, services) for site in work.sites], work.on, language)


def _sheet(site: SiteDue, work: DueWork, services: Services) -> SiteSheet:
    from inspect_core.reports.site_sheet import SiteSheet

    old = tuple(one.row for one in site.past_age)
    ids = list(dict.fromkeys(row.item.id for part in (site.overdue, site.soon, site.on_hold, old) for row in part))
    where = kits.whereabouts(ids, services)
    return SiteSheet(
        site=site.name,
        on=work.on,
        within_days=work.within_days,
        overdue=tuple(_sheet_row(row, where) for row in site.overdue),
        soon=tuple(_sheet_row(row, where) for row in site.soon),
        on_hold=tuple(_sheet_row(row, where) for row in site.on_hold),
        past_age=tuple(replace(_sheet_row(one.row, where), why=one.why) for one in site.past_age),
    )


def _sheet_row(row: ItemRow, where: dict[str, str]) -> SheetRow:
    item, standing = row.item, row.standing
    made = " ".join(filter(None, (item.maker, item.model)))
    from inspect_core.reports.site_sheet import SheetRow

    return SheetRow(
        tag=item.tag,
        what=", ".join(filter(None, (item.kind.value, made, f"serial {item.serial}" if item.serial else ""))),
        due=standing.next_due,
        state=standing.state.value,
        why=standing.reason if standing.state is State.ON_HOLD else "",
        who=where.get(item.id, ""),
        typed=tuple(filter(None, (made, item.serial))),
    )


def _by_site(rows: Sequence[ItemRow]) -> dict[str, list[ItemRow]]:
    found: dict[str, list[ItemRow]] = defaultdict(list)
    for row in rows:
        found[row.item.site].append(row)
    return found


def _by_day(rows: Iterable[ItemRow]) -> tuple[ItemRow, ...]:

    return tuple(sorted(rows, key=lambda row: (row.standing.next_due or date.max, row.item.tag)))
