"""Importing a register, sorting a roll, and the calendar of due dates."""

from __future__ import annotations

import csv
import io
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from icalendar import Calendar, Event

from inspect_core.usecases.due_calendar import due_calendar
from inspect_core.usecases.import_columns import guess_columns
from inspect_core.usecases.import_register import import_rows, preview
from inspect_core.usecases.import_table import read_table
from inspect_core.usecases.roll_plan import plan_roll
from tests.bench.registry import Job, bench
from tests.usecases.registers import register
from tests.usecases.site import Site
from tests.usecases.test_roll_plan import KNOWN, photo

_ROWS, _BAD = 5000, 200


def _site() -> Site:
    return Site(Path(tempfile.mkdtemp(prefix="bench-yard-")))


@bench("register of 5,000 rows: looked at")
def looking() -> Job:
    """Against parsing the same file as CSV and nothing more."""
    site, data = _site(), register(_ROWS, _BAD, seed=11).csv()

    def ours() -> object:
        table = read_table(data, "gear.csv")
        return preview(table, guess_columns(table.header), site.services)

    return Job(ours, lambda: list(csv.reader(io.StringIO(data.decode()))), rounds=3, target_ms=2000)


@bench("register of 5,000 rows: imported")
def importing() -> Job:
    """Every item with its ledger entry, custody event and search words, in one transaction."""
    data = register(_ROWS, _BAD, seed=11).csv()
    table = read_table(data, "gear.csv")

    def ours() -> object:
        site = _site()
        looked = preview(table, guess_columns(table.header), site.services)
        return import_rows(looked, site.competent, site.services, skip_bad=True)

    return Job(ours, rounds=1, target_ms=15_000)


@bench("calendar of 1,000 due dates")
def calendar() -> Job:
    """Against the library writing as many bare events."""
    site = _site()
    data = register(1000, 0, seed=3).csv()
    table = read_table(data, "gear.csv")
    import_rows(
        preview(table, guess_columns(table.header), site.services), site.competent, site.services, skip_bad=True
    )

    def floor() -> object:
        book = Calendar()
        for n in range(1000):
            event = Event()
            event.add("uid", str(n))
            event.add("dtstart", datetime(2026, 1, 1, tzinfo=UTC).date())
            event.add("summary", f"Inspection {n}")
            book.add_component(event)
        return book.to_ical()

    return Job(lambda: due_calendar(site.services), floor, rounds=3)


@bench("roll of 600 photos: sorted")
def sorting() -> Job:
    """The plan alone, without reading pictures."""
    roll = [photo(n, *(("WL-1", "WL-2", "H-3")[n % 3],) if n % 5 == 0 else ()) for n in range(600)]
    return Job(
        lambda: plan_roll(roll, KNOWN), lambda: sorted(roll, key=lambda one: str(one.captured_at)), target_ms=300
    )
