"""Registering gear and people."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from inspect_core.domain.access import Action
from inspect_core.domain.custody import CustodyEvent, Move, Standing, State
from inspect_core.domain.errors import BadInput, Conflict, NotAllowed
from inspect_core.domain.gear import Fibre, Item, Kind, clean_tag
from inspect_core.domain.people import Person, Role
from inspect_core.domain.typed import one_line, some_lines
from inspect_core.ports import UnitOfWork
from inspect_core.rules.intervals import next_due
from inspect_core.usecases import account
from inspect_core.usecases.acting import acting, locked
from inspect_core.usecases.ages import hold_reason
from inspect_core.usecases.casefile import check_facts
from inspect_core.usecases.holding import hold
from inspect_core.usecases.pieces import check_new_piece
from inspect_core.usecases.plain import custody_plain, item_plain, person_entry
from inspect_core.usecases.services import Services

MOST_TEXT = 200
MOST_NOTE = 2000
#: No maker allows gear for longer; a larger number is a year, such as 2030.
MOST_YEARS = 100
#: Marks of standards that one label prints, and the letters of one.
MOST_STANDARDS, MOST_STANDARD = 20, 60


@dataclass(frozen=True, slots=True)
class RegisterItem:
    """A new item and the person who enters it."""

    item: Item
    by: str


def register(command: RegisterItem, services: Services) -> Item:
    """Enter a new item in service, with its first due date, and return it as stored.

    Gear that its age alone forbids to use is entered on hold. The same id a second time changes nothing. Raises
    Conflict when another item carries the tag, or the maker's serial number; BadInput when the profile is unknown or a
    date lies ahead.
    """
    now = services.clock.now()
    today = now.date()
    item = replace(command.item, tag=clean_tag(command.item.tag), registered_on=command.item.registered_on or today)
    check_item(item, services, today)
    with services.unit_of_work(write=True) as uow:
        acting(uow, services, command.by, Action.REGISTER)
        known = uow.items.find_tag(item.tag)
        if known is not None:
            if known.id == item.id:
                return known
            if known.tag != item.tag:
                raise Conflict(
                    f"Tag {item.tag} was the tag of {known.tag}, a {known.kind.value}.",
                    "An old label would lead to the wrong gear: give this one its own tag.",
                )
            raise Conflict(
                f"Tag {item.tag} is in use by a {known.kind.value}.", "Open that item, or give this one its own tag."
            )
        check_new_piece(item, uow)
        enter_item(item, command.by, uow, services)
        uow.commit()
    return item


def enter_item(item: Item, by: str, uow: UnitOfWork, services: Services) -> None:
    """Write a new item in service with its first due date, its first custody event and its place in the ledger; on hold
    where its age alone says so. It becomes real with the unit of work's commit. Raises Conflict when the tag is in
    use."""
    now = services.clock.now()
    standing = Standing(
        item_id=item.id,
        state=State.IN_SERVICE,
        since=now,
        reason="Registered; not inspected yet.",
        next_due=first_due(item, now.date(), services),
    )
    event = CustodyEvent(services.new_id(), item.id, now, by, Move.REGISTER, None, State.IN_SERVICE, standing.reason)
    uow.items.add(item, standing)
    uow.custody.add(event)
    account.enter(uow, now, "item", item.id, {"item": item_plain(item), "custody": custody_plain(event)})
    why = hold_reason(item, now.date(), services)
    if why:
        hold(standing, why, by, uow, services)


def first_due(item: Item, today: date, services: Services) -> date:
    """When gear that nobody has inspected in detail yet is due, from its first use on."""
    start = item.first_used_on or item.registered_on or today
    return next_due(services.rules, item.profile, item.kind, start).on


def check_item(item: Item, services: Services, today: date) -> None:
    """Raises BadInput where the profile or a lasting fact is unknown, a date lies ahead or a text is too long."""
    profiles = {profile.name for profile in services.rules.profiles}
    if item.profile not in profiles:
        raise BadInput(f"“{item.profile}” is no profile.", f"Use one of: {', '.join(sorted(profiles))}.")
    for words, day in (("day of making", item.made_on), ("first use", item.first_used_on)):
        if day is not None and day > today:
            raise BadInput(f"The {words} lies in the future.", "Check the date; the order is year-month-day.")
    for words, years in (("age", item.maker_max_age_years), ("time in use", item.maker_max_use_years)):
        if years is not None and years > MOST_YEARS:
            raise BadInput(
                f"A longest {words} of {years:g} years is more than {MOST_YEARS}.",
                "Give the years that the maker allows, not the year in which they end.",
            )
    for words, text in (("site", item.site), ("maker", item.maker), ("model", item.model), ("serial", item.serial)):
        if len(text) > MOST_TEXT:
            raise BadInput(f"The {words} is longer than {MOST_TEXT} characters.", "Shorten it.")
    if len(item.standards) > MOST_STANDARDS or any(len(mark) > MOST_STANDARD for mark in item.standards):
        raise BadInput(
            f"There are more than {MOST_STANDARDS} standards, or one is longer than {MOST_STANDARD} characters.",
            "Give those that the label prints, parted by commas.",
        )
    if len(item.note) > MOST_NOTE:
        raise BadInput(f"The note is longer than {MOST_NOTE} characters.", "Shorten it.")
    check_facts(item.lasting_facts, services.rules, today)


_NUMBERS = (
    *("webbing_width_mm", "rope_diameter_mm", "packed_length_mm", "throat_mm"),
    *("maker_max_age_years", "maker_max_use_years", "price"),
)
_DATES = ("made_on", "first_used_on")
_TEXTS = ("site", "maker", "model", "serial", "note")
#: Every field a form or a command may give for a new item.
ITEM_FIELDS = (
    *("tag", "kind", "profile", "fibre", "standards", "rope_range_mm", "maker_limits", "lasting_facts"),
    *_TEXTS,
    *_DATES,
    *_NUMBERS,
)


def parse_item(fields: Mapping[str, Any], item_id: str) -> Item:
    """An item from plain values as a form, a command or a table row gives them; empty means not known.

    `standards` is a list or comma-separated text, `rope_range_mm` a pair or "low-high", `maker_limits` and
    `lasting_facts` are mappings; a lasting fact that is "unknown" is not known.
    Raises BadInput naming the field.
    """
    given = {k: v for k, v in fields.items() if v is not None and v != ""}
    unknown = sorted(set(given) - set(ITEM_FIELDS))
    if unknown:
        raise BadInput(f"“{unknown[0]}” is no field of an item.", f"Use only: {', '.join(sorted(ITEM_FIELDS))}.")
    for needed in ("tag", "kind"):
        if needed not in given:
            raise BadInput(f"The {needed} is missing.", "Every item needs its tag and its kind.")
    values: dict[str, Any] = {name: one_line(str(given[name])) for name in _TEXTS if name in given and name != "note"}
    if "note" in given:
        values["note"] = some_lines(str(given["note"]))
    values |= {name: _number(name, given[name]) for name in _NUMBERS if name in given}
    values |= {name: _date(name, given[name]) for name in _DATES if name in given}
    if "fibre" in given:
        values["fibre"] = _word("fibre", given["fibre"], Fibre)
    if "profile" in given:
        values["profile"] = str(given["profile"]).strip().lower()
    if "standards" in given:
        marks = given["standards"].split(",") if isinstance(given["standards"], str) else given["standards"]
        values["standards"] = tuple(kept for mark in marks if (kept := one_line(str(mark))))
    if "rope_range_mm" in given:
        values["rope_range_mm"] = _range(given["rope_range_mm"])
    if "maker_limits" in given:
        values["maker_limits"] = {
            str(k): _number(f"maker limit {k}", v) for k, v in dict(given["maker_limits"]).items()
        }
    if "lasting_facts" in given:
        known = {str(name): value for name, value in dict(given["lasting_facts"]).items()}
        values["lasting_facts"] = {name: value for name, value in known.items() if value not in ("", None, "unknown")}
    return Item(id=item_id, tag=clean_tag(str(given["tag"])), kind=_word("kind", given["kind"], Kind), **values)


def _word(name: str, value: Any, words: Any) -> Any:
    try:
        return words(str(value).strip())
    except ValueError:
        raise BadInput(f"“{value}” is no {name}.", f"Use one of: {', '.join(w.value for w in words)}.") from None


def _number(name: str, value: Any) -> float:
    try:
        number = float(str(value).replace(",", "."))
    except ValueError:
        number = float("nan")
    if number != number or number in (float("inf"), float("-inf")):
        raise BadInput(f"The {name.replace('_', ' ')} “{value}” is not a number.", "Give digits only, without a unit.")
    return number


def _date(name: str, value: Any) -> date:
    if isinstance(value, date):
        return value
    try:
        return date.fromisoformat(str(value).strip())
    except ValueError:
        raise BadInput(
            f"The {name.replace('_', ' ')} “{value}” is not a date.", "Write year-month-day, such as 2025-03-31."
        ) from None


def _range(value: Any) -> tuple[float, float]:
    parts = str(value).replace("–", "-").split("-") if isinstance(value, str) else list(value)
    if len(parts) != 2:
        raise BadInput(
            "The accepted rope range needs two numbers.", "Give the smallest and the largest, such as 14-16."
        )
    return (_number("rope range", parts[0]), _number("rope range", parts[1]))


def add_person(person: Person, services: Services, *, by: str | None = None) -> Person:
    """Enter a person, or replace the one with the same id. `by` may stay out only while the site has no sign-in.

    The ledger gets who the person is by id, role and dates, and a commitment to the name, never the name itself.
    Raises Conflict when another carries the name, NotAllowed where `by` may not, or where it would leave nobody who
    can look after people.
    """
    now = services.clock.now()
    person = replace(person, name=one_line(person.name))
    with services.unit_of_work(write=True) as uow:
        known = next((p for p in uow.people.all() if p.id == person.id), None)
        if by is not None or locked(uow, services):
            acting(uow, services, by or "", Action.CHANGE_PERSON if known else Action.ADD_PERSON)
        namesake = uow.people.find_name(person.name)
        if namesake is not None and namesake.id != person.id:
            raise Conflict(
                f"{person.name} is entered already.", "Pick them from the list, or add a letter to the name."
            )
        if known == person:
            return known
        if known is not None:
            _check_change(known, person, by, uow)
        else:
            _check_administrators(None, person, by, uow)
        kept = _salted(known, person, services)
        uow.people.add(kept)
        if not kept.active:
            uow.sign_ins.end_sign_ins(kept.id)
        account.enter(uow, now, "person", kept.id, {"person": person_entry(kept), "by": by})
        uow.commit()
    return kept


def _salted(known: Person | None, person: Person, services: Services) -> Person:
    """With the salt that belongs to the name: a new one for a new name, none for a code."""
    if known is None or known.name != person.name:
        return replace(person, name_salt=services.new_secret(), coded=False)
    if known.coded:
        return replace(person, name_salt="", coded=True)
    return replace(person, name_salt=known.name_salt or services.new_secret())


def _check_change(known: Person, person: Person, by: str | None, uow: UnitOfWork) -> None:
    """A manager makes nobody an administrator, nobody extends their own qualification or raises their own role, and
    one administrator with a PIN always stays."""
    if by == known.id and (person.role, person.qualified_until, person.active) != (
        known.role,
        known.qualified_until,
        known.active,
    ):
        raise NotAllowed("Nobody changes their own role or qualification.", "Ask another manager or administrator.")
    _check_administrators(known, person, by, uow)
    stays = person.active and person.role is Role.ADMINISTRATOR
    if known.role is Role.ADMINISTRATOR and known.active and not stays and uow.sign_ins.any_credential():
        others = {c.person_id for c in uow.sign_ins.credentials()} - {known.id}
        left = [p for p in uow.people.all() if p.id in others and p.active and p.role is Role.ADMINISTRATOR]
        if not left:
            raise NotAllowed(
                "This is the only administrator with a PIN.",
                "Give another administrator a PIN first, then change this.",
            )


def _check_administrators(known: Person | None, person: Person, by: str | None, uow: UnitOfWork) -> None:
    touches = Role.ADMINISTRATOR in (person.role, known.role if known else person.role)
    if by is not None and touches and uow.people.get(by).role is not Role.ADMINISTRATOR:
        raise NotAllowed("Only an administrator enters or changes administrators.", "Ask an administrator.")


def person_named(name: str, role: Role, services: Services) -> Person:
    """The person of that name, entered with that role where the site does not know them yet and has no sign-in."""
    with services.unit_of_work() as uow:
        known = uow.people.find_name(name.strip())
        if known is None and locked(uow, services):
            raise NotAllowed(f"Nobody here is called {name.strip()[:80]}.", "A manager or administrator enters people.")
    return known or add_person(Person(services.new_id(), name.strip(), role), services)
