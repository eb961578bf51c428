"""Who may do what: one table of actions and roles, and the one function that refuses.

The roles are the site's own (worker, competent person, manager, administrator). That inspections in detail, releases
and withdrawals belong to a competent person follows OSHA 29 CFR 1926.32(f) and EN 365, from memory; the rest is common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from types import MappingProxyType

from inspect_core.domain.errors import NotAllowed
from inspect_core.domain.people import Person, Role


class Action(StrEnum):
    """Everything that writes, in words that follow "may not"."""

    # Gear
    REGISTER = "register gear"
    CORRECT_ITEM = "correct what is registered"
    IMPORT = "import a register"
    PRICES = "set prices"
    # Looking at gear
    CHECK = "check before use"
    INSPECT = "inspect in detail"
    JUDGE = "decide by hand"
    SETUP_CHECK = "record a set-up check"
    ADD_PHOTOS = "hand in photos"
    SECOND_READING = "record a second reading"
    # Custody
    HOLD = "put on hold"
    WITHDRAW = "withdraw"
    RELEASE = "release"
    DESTROY = "destroy"
    REPORT_FALL = "report an arrested fall"
    # Kits
    MAKE_KIT = "make up a kit"
    ISSUE_KIT = "issue a kit"
    RETURN_KIT = "take a kit back"
    # People
    ADD_PERSON = "add people"
    CHANGE_PERSON = "change people"
    SET_OWN_PIN = "set their own PIN"
    RESET_PIN = "set another person's PIN"
    CODE_NAME = "replace a name by a code"
    # The record as a whole
    SETTINGS = "change settings"
    SAVE_SEARCH = "save a search"
    EXPORT = "export the records"
    ARCHIVE = "make an archive"
    RESTORE = "restore an archive"
    RELOCATE = "move the records to another place"
    SIGN_LEDGER = "sign the ledger"
    SEND_MAIL = "send mail"
    WEIGH_PAST = "weigh the past by other rules"


@dataclass(frozen=True, slots=True)
class Permission:
    """Who may do it. `qualified`: a competent person needs a qualification in date for it. `signed`: in a site with
    sign-in it takes the PIN again."""

    roles: tuple[Role, ...]
    qualified: bool = False
    signed: bool = False


_EVERYBODY = tuple(Role)
_COMPETENT = (Role.COMPETENT_PERSON,)
_OFFICE = (Role.MANAGER, Role.ADMINISTRATOR)
_KEEPERS = (Role.COMPETENT_PERSON, Role.MANAGER, Role.ADMINISTRATOR)
_ADMINISTRATOR = (Role.ADMINISTRATOR,)

#: The table. What is not in it nobody may do.
PERMISSIONS: Mapping[Action, Permission] = MappingProxyType(
    {
        Action.REGISTER: Permission(_EVERYBODY),
        Action.CORRECT_ITEM: Permission(_KEEPERS, qualified=True, signed=True),
        Action.IMPORT: Permission(_KEEPERS),
        Action.PRICES: Permission(_OFFICE),
        Action.CHECK: Permission(_EVERYBODY),
        Action.INSPECT: Permission(_COMPETENT, qualified=True, signed=True),
        Action.JUDGE: Permission(_COMPETENT, qualified=True),
        Action.SETUP_CHECK: Permission(_EVERYBODY),
        Action.ADD_PHOTOS: Permission(_EVERYBODY),
        Action.SECOND_READING: Permission(_KEEPERS),
        Action.HOLD: Permission(_EVERYBODY),
        Action.WITHDRAW: Permission(_COMPETENT, qualified=True, signed=True),
        Action.RELEASE: Permission(_COMPETENT, qualified=True, signed=True),
        Action.DESTROY: Permission((Role.COMPETENT_PERSON, Role.MANAGER), qualified=True, signed=True),
        Action.REPORT_FALL: Permission(_EVERYBODY),
        Action.MAKE_KIT: Permission(_KEEPERS),
        Action.ISSUE_KIT: Permission(_KEEPERS),
        Action.RETURN_KIT: Permission(_EVERYBODY),
        Action.ADD_PERSON: Permission(_OFFICE),
        Action.CHANGE_PERSON: Permission(_OFFICE),
        Action.SET_OWN_PIN: Permission(_EVERYBODY),
        Action.RESET_PIN: Permission(_ADMINISTRATOR),
        Action.CODE_NAME: Permission(_ADMINISTRATOR),
        Action.SETTINGS: Permission(_OFFICE),
        Action.SAVE_SEARCH: Permission(_EVERYBODY),
        Action.EXPORT: Permission(_KEEPERS),
        Action.ARCHIVE: Permission(_OFFICE),
        Action.RESTORE: Permission(_ADMINISTRATOR),
        Action.RELOCATE: Permission(_OFFICE),
        Action.SIGN_LEDGER: Permission(_OFFICE),
        Action.SEND_MAIL: Permission(_OFFICE),
        Action.WEIGH_PAST: Permission(_KEEPERS),
    }
)


def may(person: Person, action: Action, on: date) -> bool:
    """Whether `require` would let it pass; for screens that offer only what can be done."""
    try:
        require(person, action, on)
    except NotAllowed:
        return False
    return True


def require(person: Person, action: Action, on: date) -> None:
    """Nothing where the person may do this on that day; else NotAllowed, saying whom to ask instead."""
    permission = PERMISSIONS[action]
    if not person.active:
        raise NotAllowed(f"{person.name} is no longer active here.", "Pick who really does this.")
    if person.role not in permission.roles:
        raise NotAllowed(f"{_a(person.role)} may not {action.value}.", f"Ask {_any_of(permission.roles)}.")
    if permission.qualified and person.role is Role.COMPETENT_PERSON and not person.competent_on(on):
        raise NotAllowed(
            f"This qualification has run out on {person.qualified_until}; without it nobody may {action.value}.",
            "Ask a competent person whose qualification is in date, or have a manager enter the new date.",
        )


def _a(role: Role) -> str:
    return f"An {role.value}" if role is Role.ADMINISTRATOR else f"A {role.value}"


def _any_of(roles: tuple[Role, ...]) -> str:
    words = [_a(role).replace("A", "a", 1) for role in roles]
    return " or ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
