"""Due dates as a calendar that any calendar program reads (RFC 5545), and a file of it that is kept up to date."""

from __future__ import annotations

import logging
import threading
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from inspect_core.domain.access import Action
from inspect_core.domain.custody import State
from inspect_core.domain.errors import BadInput, BartackError
from inspect_core.domain.record import ItemRow
from inspect_core.ports import Clock, UnitOfWork, UnitOfWorkFactory
from inspect_core.rules.model import RuleSet
from inspect_core.usecases import account
from inspect_core.usecases.acting import acting
from inspect_core.usecases.ages import ends_on, past_age_in
from inspect_core.usecases.plain import setting_entry
from inspect_core.usecases.services import Services

if TYPE_CHECKING:
    from icalendar import Event, Todo

_log = logging.getLogger(__name__)

#: How far ahead the calendar reaches, days: a year's interval and a little more.
AHEAD_DAYS = 400
#: When it reminds, before the day: common practice, no source.
ALARMS = (timedelta(days=14), timedelta(days=1))
#: Where the store remembers the file that it keeps.
_SETTING = "calendar file"
#: The store's own note that its file is not rewritten: it came out of an archive, which names a place on another
#: machine, or one that somebody chose to harm.
_RESTING = "calendar file rests"
#: What a file that may be replaced begins with, and the line near its beginning that says it is ours.
_BEGINS, _OURS = b"BEGIN:VCALENDAR", b"PRODID:-//Bartack//"
_CAUTION = "The maker's instructions, local codes and a competent person come first."


def calendar(
    rows: Sequence[ItemRow], now: datetime, *, tasks: bool = False, ends: Mapping[str, date] | None = None
) -> bytes:
    """The due dates of these items as an iCalendar file. `ends`: item id → the day on which it is past its age.

    Each item is one whole-day event on its due date (with `tasks` a to-do due on it), under an identifier that stays
    the same when the date changes, so that programs move it instead of adding another. No person's name is in it.
    """
    from icalendar import Calendar  # loaded where a calendar is made: it takes a while

    book = Calendar()
    book.add("prodid", "-//Bartack//Due inspections//EN")
    book.add("version", "2.0")
    book.add("method", "PUBLISH")
    book.add("name", "Gear inspections due")  # RFC 7986
    book.add("x-wr-calname", "Gear inspections due")
    book.add("refresh-interval", timedelta(hours=6), parameters={"VALUE": "DURATION"})  # RFC 7986
    for row in rows:
        if row.standing.next_due is not None:
            book.add_component(_entry(row, row.standing.next_due, now, tasks))
        if ends and row.item.id in ends:
            book.add_component(_end_of_life(row, ends[row.item.id], now))
    return bytes(book.to_ical())


def uid_of(row: ItemRow) -> str:
    """The identifier of an item's entry: it stays when the date, the tag or the site changes."""
    return f"{row.item.id}-inspection-due@bartack"


def _entry(row: ItemRow, due: date, now: datetime, tasks: bool) -> Event | Todo:
    from icalendar import Alarm, Event, Todo

    item, standing = row.item, row.standing
    entry: Event | Todo = Todo() if tasks else Event()
    entry.add("uid", uid_of(row))
    entry.add("dtstamp", now)
    held = " (on hold)" if standing.state is State.ON_HOLD else ""
    entry.add("summary", f"Inspection in detail due: {item.tag}, {item.kind.value}{held}")
    if tasks:
        entry.add("due", due)
        entry.add("status", "NEEDS-ACTION")
    else:
        entry.add("dtstart", due)
        entry.add("dtend", due + timedelta(days=1))
        entry.add("transp", "TRANSPARENT")
    if item.site:
        entry.add("location", item.site)
    made = " ".join(filter(None, (item.maker, item.model)))
    lines = [f"Tag {item.tag}, {item.kind.value}", made, f"Serial {item.serial}" if item.serial else "", _CAUTION]
    entry.add("description", "\n".join(filter(None, lines)))
    entry.add("categories", ["Gear inspection"])
    for before in ALARMS:
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("trigger", -before, parameters={"RELATED": "END"} if tasks else {})
        alarm.add("description", f"Inspection in detail of {item.tag} is due {due.isoformat()}")
        entry.add_component(alarm)
    return entry


def _end_of_life(row: ItemRow, day: date, now: datetime) -> Event:
    """The day from which an item's age forbids to use it; an event, since there is nothing to tick off."""
    entry = _entry(row, day, now, tasks=False)
    item = row.item
    entry["uid"] = f"{item.id}-past-its-age@bartack"
    entry["summary"] = f"Past its age, do not use: {item.tag}, {item.kind.value}"
    for alarm in entry.walk("VALARM"):
        alarm["description"] = f"{item.tag} is past its age from {day.isoformat()} on"
    return cast("Event", entry)


def due_calendar(
    services: Services, *, site: str | None = None, ahead_days: int = AHEAD_DAYS, tasks: bool = False
) -> bytes:
    """The calendar of everything overdue or due within so many days."""
    return _render(services.unit_of_work, services.clock, services.rules, site, ahead_days, tasks)


def keep_calendar(path: Path, by: str, services: Services, *, site: str | None = None, tasks: bool = False) -> Path:
    """Write the calendar to a file and remember to rewrite it whenever a due date changes; one file a store.

    A calendar program that reads a file, or an address at which it is served, stays up to date by itself. Raises
    BadInput where it cannot be written or another file lies there, with nothing remembered.
    """
    place = path.expanduser().absolute()
    with services.unit_of_work() as uow:
        acting(uow, services, by, Action.SETTINGS)
    write_calendar(place, due_calendar(services, site=site, tasks=tasks))
    with services.unit_of_work(write=True) as uow:
        _remember({"path": str(place), "site": site, "tasks": tasks}, by, uow, services)
        uow.commit()
    return place


def kept_calendar(services: Services) -> Path | None:
    """The file that is kept up to date, if any."""
    with services.unit_of_work() as uow:
        return kept_file(uow)


def kept_file(uow: UnitOfWork) -> Path | None:
    """The file that is kept up to date, if any, inside a unit of work."""
    kept = _kept(uow)
    return Path(kept["path"]) if kept else None


def rest_calendar(uow: UnitOfWork) -> None:
    """Rewrite no file until somebody chooses one on this machine; what the account says of the setting stays."""
    if uow.settings.get(_SETTING):
        uow.settings.put(_RESTING, True)


def _kept(uow: UnitOfWork) -> Any:
    return None if uow.settings.get(_RESTING) else uow.settings.get(_SETTING)


def forget_calendar(by: str, services: Services) -> None:
    """Keep the file no longer; what was written stays where it is."""
    with services.unit_of_work(write=True) as uow:
        acting(uow, services, by, Action.SETTINGS)
        _remember(None, by, uow, services)
        uow.commit()


def _remember(value: Any, by: str, uow: UnitOfWork, services: Services) -> None:
    """Keep the setting, and enter it in the account as every setting is."""
    uow.settings.put(_SETTING, value)
    if uow.settings.get(_RESTING):
        uow.settings.put(_RESTING, False)
    account.enter(uow, services.clock.now(), "setting", _SETTING, setting_entry(_SETTING, value, by))


def write_calendar(path: Path, data: bytes) -> None:
    """Replace the file whole, so that nobody reads half of it.

    Raises BadInput, with the file left as it is, where it is neither empty nor a calendar of this program's.
    """
    _check_ours(path)
    aside = path.with_name(f".{path.name}.{uuid.uuid4().hex[:8]}")
    try:
        aside.write_bytes(data)
        aside.replace(path)
    except OSError as fault:
        aside.unlink(missing_ok=True)
        raise _unwritable(path, fault) from None


def _check_ours(path: Path) -> None:
    """Raises BadInput where replacing what lies there would destroy something else."""
    try:
        if not path.exists():
            return
        if not path.is_file():
            raise BadInput(f"The calendar file “{path}” cannot be written: it is no file.", "Choose another place.")
        with path.open("rb") as file:
            beginning = file.read(1024)
    except OSError as fault:
        raise _unwritable(path, fault) from None
    if beginning and not (beginning.startswith(_BEGINS) and _OURS in beginning):
        raise BadInput(
            f"“{path}” is another file, no calendar that this program wrote.",
            "Choose another place; it is left as it is.",
        )


def _unwritable(path: Path, fault: OSError) -> BadInput:
    reason = (fault.strerror or "unwritable").lower()
    return BadInput(f"The calendar file “{path}” cannot be written: {reason}.", "Choose another place.")


class CalendarKeeper:
    """Rewrites the kept file some moments after due dates changed; many changes at once rewrite it once.

    A file that cannot be written never spoils the record: it is logged, and `fault` holds the words.
    """

    def __init__(self, unit_of_work: UnitOfWorkFactory, clock: Clock, rules: RuleSet, *, wait: float = 2.0) -> None:
        self._unit_of_work, self._clock, self._rules, self._wait = unit_of_work, clock, rules, wait
        self._lock = threading.Lock()
        self._timer: threading.Timer | None = None
        self.fault = ""

    def changed(self) -> None:
        """Due dates changed: rewrite the file soon."""
        with self._lock:
            if self._timer is None:
                self._timer = threading.Timer(self._wait, self.flush)
                self._timer.daemon = True
                self._timer.start()

    def flush(self) -> None:
        """Rewrite the file now, if anything changed since it was last written."""
        with self._lock:
            timer, self._timer = self._timer, None
        if timer is None:
            return
        timer.cancel()
        try:
            with self._unit_of_work() as uow:
                kept = _kept(uow)
            if kept:
                tasks = bool(kept.get("tasks"))
                data = _render(self._unit_of_work, self._clock, self._rules, kept.get("site"), AHEAD_DAYS, tasks)
                write_calendar(Path(kept["path"]), data)
            self.fault = ""
        except BartackError as error:
            self.fault = error.problem
            _log.warning("the calendar file was not rewritten: %s", error.problem)


def _render(
    open_unit: UnitOfWorkFactory, clock: Clock, rules: RuleSet, site: str | None, ahead_days: int, tasks: bool
) -> bytes:
    now = clock.now()
    until = now.date() + timedelta(days=ahead_days)
    with open_unit() as uow:
        rows = uow.items.rows(
            sites=() if site is None else (site,),
            states=(State.IN_SERVICE, State.ON_HOLD),
            due_by=until,
        )
        known = {row.item.id for row in rows}
        old = [one.row for one in past_age_in(uow, rules, until, site=site) if one.row.item.id not in known]
    days = ((row.item.id, ends_on(row.item, rules)) for row in (*rows, *old))
    ends = {item_id: day for item_id, day in days if day is not None and day <= until}
    # Of gear that is due only later, the end of its life alone is told.
    later = tuple(replace(row, standing=replace(row.standing, next_due=None)) for row in old)
    return calendar((*rows, *later), now, tasks=tasks, ends=ends)
