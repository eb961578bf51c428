"""Importing a register: every row looked at, every bad one told, and either all good rows entered at once or none."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, islice
from typing import Any

from inspect_core.domain.access import Action
from inspect_core.domain.errors import BadInput, BartackError, Conflict
from inspect_core.domain.gear import Item, maker_key, serial_key
from inspect_core.domain.wording import shown
from inspect_core.ports import UnitOfWork
from inspect_core.usecases.acting import acting
from inspect_core.usecases.import_columns import BY_NAME, NEEDED, STATE, Column
from inspect_core.usecases.import_states import ADDED, check_in_use, said_for_all
from inspect_core.usecases.import_table import Row, Table, write_csv
from inspect_core.usecases.import_values import DayOrder, value_of
from inspect_core.usecases.pieces import registered_before, twin_refused
from inspect_core.usecases.register import check_item, enter_item, parse_item
from inspect_core.usecases.services import Services


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with a row: the column's heading ("" where it is the row as a whole), and both sentences."""

    column: str
    problem: str
    remedy: str = ""

    def __str__(self) -> str:
        return f"{self.column}: {self.problem}" if self.column else self.problem


@dataclass(frozen=True, slots=True)
class GoodRow:
    """A row that can be entered, as the item that it becomes."""

    row: Row
    item: Item


@dataclass(frozen=True, slots=True)
class BadRow:
    """A row that cannot be entered, with everything that is wrong with it."""

    row: Row
    faults: tuple[Fault, ...]


@dataclass(frozen=True, slots=True)
class Preview:
    """What an import would do. Nothing is written yet."""

    table: Table
    columns: tuple[Column, ...]
    good: tuple[GoodRow, ...]
    bad: tuple[BadRow, ...]


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import did."""

    items: tuple[Item, ...]
    left_out: int


def preview(
    table: Table,
    columns: Sequence[Column],
    services: Services,
    *,
    order: DayOrder = DayOrder.ASK,
    numbers_needed: bool = True,
    defaults: Mapping[str, str] | None = None,
) -> Preview:
    """Look at every row. Writes nothing.

    `order`: how days are written that are not year-month-day. `numbers_needed`: a row without the number that its
    kind's rules weigh by is bad. `defaults`: field → value for rows that say nothing. A row that speaks of gear out of
    use is bad, and so is one whose maker and serial number are in use. Raises BadInput where no column is the tag or
    none tells the kind.
    """
    by_field = {column.field: column for column in columns if column.field}
    for name in ("tag", "kind"):
        if name not in by_field and not (defaults or {}).get(name):
            raise BadInput(f"No column is matched to the {BY_NAME[name].words.lower()}.", "Say which column holds it.")
    said_for_all((defaults or {}).get(STATE.name, ""), columns)
    read = [_read(row, columns, services, order, numbers_needed, defaults or {}) for row in table.rows]
    items = [item for _, item, _ in read if item is not None]
    twice, serials = _twice(read), _Serials(read)
    good: list[GoodRow] = []
    bad: list[BadRow] = []
    tag_heading, serial_heading = (by_field[name].heading if name in by_field else "" for name in ("tag", "serial"))
    with services.unit_of_work() as uow:
        twins = registered_before(items, uow)
        for row, item, found in read:
            faults = list(found)
            if item is not None:
                faults += _tag_faults(item, row, twice, tag_heading, uow)
                faults += serials.faults(item, row, serial_heading)
                if item.id in twins:
                    refused = twin_refused(item, twins[item.id])
                    faults.append(Fault(serial_heading, refused.problem, refused.remedy))
            if item is None or faults:
                bad.append(BadRow(row, tuple(faults)))
            else:
                good.append(GoodRow(row, item))
    return Preview(table, tuple(columns), tuple(good), tuple(bad))


def import_rows(
    looked: Preview,
    by: str,
    services: Services,
    *,
    skip_bad: bool,
    progress: Callable[[int, int], object] = lambda done, total: None,
) -> Imported:
    """Enter all good rows in one transaction, or nothing. `progress` hears how many of how many are done.

    Raises BadInput where rows are bad and `skip_bad` does not say to leave them out, or none is good; Conflict where
    a tag or a serial number has come into use since the preview; NotAllowed.
    """
    if looked.bad and not skip_bad:
        raise BadInput(
            f"{len(looked.bad)} of {len(looked.table.rows)} rows are bad, so nothing was imported.",
            "Mend them in the file, or say that they are to be left out.",
        )
    if not looked.good:
        raise BadInput("No row can be imported.", "Look at what is wrong with each row and mend the file.")
    with services.unit_of_work(write=True) as uow:
        acting(uow, services, by, Action.IMPORT)
        twins = registered_before([one.item for one in looked.good], uow)
        for done, one in enumerate(looked.good):
            if done % 100 == 0:
                progress(done, len(looked.good))
            if uow.items.find_tag(one.item.tag) is not None:
                raise Conflict(
                    f"The tag {one.item.tag} (row {one.row.number}) has come into use, so nothing was imported.",
                    "Look at the preview again.",
                )
            if one.item.id in twins:
                raise twin_refused(one.item, twins[one.item.id])
            enter_item(one.item, by, uow, services)
        uow.commit()
    return Imported(tuple(one.item for one in looked.good), len(looked.bad))


def bad_rows_csv(looked: Preview) -> bytes:
    """The bad rows as they came, with the row's number and what is wrong; to be mended and imported again."""
    header = (*looked.table.header, *ADDED)
    rows = (
        (*one.row.cells, str(one.row.number), " ".join(f"{fault} {fault.remedy}".strip() for fault in one.faults))
        for one in looked.bad
    )
    return write_csv(header, rows)


_Read = tuple[Row, Item | None, tuple[Fault, ...]]


def _read(
    row: Row,
    columns: Sequence[Column],
    services: Services,
    order: DayOrder,
    numbers_needed: bool,
    defaults: Mapping[str, str],
) -> _Read:
    """A row's item, or everything that is wrong with the row by itself."""
    if row.fault:
        return row, None, (Fault("", row.fault, "Mend the row."),)
    fields: dict[str, Any] = {name: value for name, value in defaults.items() if value}
    faults: list[Fault] = []
    headings = {column.field: column.heading for column in columns if column.field}
    for column, cell in zip(columns, row.cells, strict=True):
        try:
            check_in_use(column, cell)
            value = value_of(column, cell, order)
            if value is not None and column.field is not None:
                fields[column.field] = value
                if column.field == "tag":
                    parse_item({"tag": value, "kind": "harness"}, "")
        except BartackError as error:
            faults.append(Fault(column.heading, error.problem, error.remedy))
    fields.pop(STATE.name, None)
    told = {fault.column for fault in faults}
    for name in ("tag", "kind"):
        if name not in fields and headings.get(name, "") not in told:
            faults.append(Fault(headings.get(name, ""), f"The {name} is missing.", "Every item needs it."))
    if faults:
        return row, None, tuple(faults)
    try:
        item = parse_item(fields, services.new_id())
        check_item(item, services, services.today())
    except BartackError as error:
        return row, None, (Fault(_heading_for(error, headings), error.problem, error.remedy),)
    needed = NEEDED.get(item.kind)
    if numbers_needed and needed and getattr(item, needed) is None:
        words = BY_NAME[needed].words.lower()
        missing = Fault(
            headings.get(needed, ""),
            f"The {words} is missing; the rules of a {item.kind.value} need it.",
            "Measure it, or allow rows without it.",
        )
        return row, None, (missing,)
    return row, item, ()


def _heading_for(error: BartackError, headings: Mapping[str, str]) -> str:
    """The column that a refusal of the item as a whole is about, where its words name one."""
    about = {
        "first use": "first_used_on",
        "day of making": "made_on",
        "profile": "profile",
        "rope diameter": "rope_range_mm",
        "price": "price",
        **{name: name for name in ("site", "maker", "model", "serial", "note")},
    }
    return next((headings[name] for words, name in about.items() if words in error.problem and name in headings), "")


def _twice(read: Sequence[_Read]) -> Mapping[str, list[int]]:
    rows: dict[str, list[int]] = defaultdict(list)
    for row, item, _ in read:
        if item is not None:
            rows[item.tag].append(row.number)
    return rows


class _Serials:
    """Which rows carry which serial number, to find those that carry one piece twice."""

    def __init__(self, read: Sequence[_Read]) -> None:
        self._rows: dict[str, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
        self._tags: dict[int, str] = {}
        for row, item, _ in read:
            if item is not None and serial_key(item.serial):
                self._rows[serial_key(item.serial)][maker_key(item.maker)].append(row.number)
                self._tags[row.number] = item.tag

    def faults(self, item: Item, row: Row, heading: str) -> list[Fault]:
        """A fault where another row, under another tag, carries the same serial number and may be of that maker."""
        makers = self._rows.get(serial_key(item.serial), {})
        own = maker_key(item.maker)
        near = chain(*makers.values()) if not own else chain(makers.get(own, ()), makers.get("", ()))
        others = islice((n for n in near if n != row.number and self._tags[n] != item.tag), 5)
        told = ", ".join(map(str, sorted(others)))
        if not told:
            return []
        problem = f"The serial number {item.serial} stands in row {told} as well."
        return [
            Fault(heading, problem, "One piece has one tag: leave one of them out, or put the number or maker right.")
        ]


def _tag_faults(item: Item, row: Row, twice: Mapping[str, list[int]], heading: str, uow: UnitOfWork) -> list[Fault]:
    faults = []
    others = [str(number) for number in twice[item.tag] if number != row.number]
    if others:
        faults.append(
            Fault(
                heading,
                f"The tag {item.tag} stands in row {', '.join(others[:5])} as well.",
                "Nobody can tell which one is right: give each item its own tag.",
            )
        )
    known = uow.items.find_tag(item.tag)
    if known is not None:
        faults.append(
            Fault(heading, f"The tag {item.tag} is in use by a {known.kind.value}.", "Leave this row out, or mend it.")
        )
    return faults


def shown_item(item: Item) -> dict[str, str]:
    """An item as the preview shows it: what was read, with units."""
    pair = item.rope_range_mm
    told = {
        "Tag": item.tag,
        "Kind": item.kind.value,
        "Site": item.site,
        "Maker": item.maker,
        "Model": item.model,
        "Serial": item.serial,
        "Made on": item.made_on.isoformat() if item.made_on else "",
        "First used on": item.first_used_on.isoformat() if item.first_used_on else "",
        "Webbing width": shown(item.webbing_width_mm, "mm") if item.webbing_width_mm else "",
        "Rope diameter": shown(item.rope_diameter_mm, "mm") if item.rope_diameter_mm else "",
        "Accepts rope": f"{pair[0]:g} to {pair[1]:g} mm" if pair else "",
        "Standards": ", ".join(item.standards),
    }
    return told
