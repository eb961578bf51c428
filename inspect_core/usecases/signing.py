"""Proving a PIN, and the signature that comes of it. The only place where a PIN is compared with its hash."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from inspect_core.domain.access import PERMISSIONS, Action
from inspect_core.domain.credentials import (
    MOST_GUESSES,
    MOST_GUESSES_A_MINUTE,
    MOST_LETTERS,
    Credential,
    as_entered,
    check_lock,
    guessed,
)
from inspect_core.domain.errors import BadInput, NotAllowed
from inspect_core.domain.people import Role
from inspect_core.domain.signatures import Signature
from inspect_core.ports import UnitOfWork
from inspect_core.ports_people import SecretHasher
from inspect_core.usecases.acting import locked
from inspect_core.usecases.services import Services


def hasher_of(services: Services) -> SecretHasher:
    """What hashes secrets. Raises NotAllowed where this program came without it."""
    if services.hasher is None:
        raise NotAllowed("This program came without its sign-in part.", "Install it again from a whole package.")
    return services.hasher


def prove(person_id: str | None, secret: str, services: Services) -> Credential:
    """The person's credential where the secret is theirs; NotAllowed where it is not, or while it is locked.

    Every guess is counted and written before it is compared, so that guesses made at once or cut off count as well; a
    right one takes its count back. `person_id` None stands for a name that nobody has: it costs the same time and says
    the same.
    """
    hasher, now = hasher_of(services), services.clock.now()
    secret = as_entered(secret)[: MOST_LETTERS + 1]
    with services.unit_of_work(write=True) as uow:
        if uow.sign_ins.guesses_since(now - timedelta(minutes=1)) >= MOST_GUESSES_A_MINUTE:
            raise NotAllowed("Too many wrong guesses on this site just now.", "Wait a minute, then try again.")
        credential = uow.sign_ins.credential(person_id) if person_id else None
        if credential is not None:
            check_lock(credential, now)
            last = _is_last_administrator(credential, uow)
            uow.sign_ins.put_credential(guessed(credential, now, last_administrator=last))
        number = uow.sign_ins.add_guess(now)
        uow.commit()
    if credential is None:
        hasher.hash(secret)
        raise _wrong()
    if not hasher.verify(credential.hash, secret):
        raise _wrong()
    with services.unit_of_work(write=True) as uow:
        held = uow.sign_ins.credential(credential.person_id)
        if held is None or held.hash != credential.hash:  # set anew while this was compared
            raise _wrong()
        right = replace(held, failures=0, locked_until=None)
        uow.sign_ins.put_credential(right)
        uow.sign_ins.take_back_guess(number)
        uow.commit()
    return right


def _wrong() -> NotAllowed:
    return NotAllowed(
        "The name or the PIN is not right.", f"Try again; after {MOST_GUESSES} wrong guesses the PIN stays locked."
    )


def _is_last_administrator(credential: Credential, uow: UnitOfWork) -> bool:
    """Whether nobody else could reset this one."""
    if uow.people.get(credential.person_id).role is not Role.ADMINISTRATOR:
        return False
    for other in uow.sign_ins.credentials():
        if other.person_id != credential.person_id and not other.locked_for_good:
            person = uow.people.get(other.person_id)
            if person.active and person.role is Role.ADMINISTRATOR:
                return False
    return True


def signature_for(by: str, action: Action, pin: str | None, services: Services) -> Signature | None:
    """The signature of somebody who enters their PIN again, None in a site without sign-in or for what needs none.

    Called before the use case opens its unit of work, and never by a screen. Raises BadInput where the PIN is
    missing, NotAllowed where it is wrong, locked, or was given by an administrator and so is known to two.
    """
    if not PERMISSIONS[action].signed:
        return None
    with services.unit_of_work() as uow:
        if not locked(uow, services):
            return None
        actor = services.actor
        if actor is None or actor.person_id != by:
            return None  # refused by `acting`, with better words than a wrong PIN would get
        if uow.sign_ins.credential(by) is None:
            raise NotAllowed("You have no PIN to sign with yet.", "Choose one under People, then sign.")
    if not pin:
        raise BadInput("This has to be signed.", "Enter your PIN or pass phrase again.")
    if prove(by, pin, services).given:
        raise NotAllowed(
            "This PIN was given to you, so somebody else knows it.", "Choose your own under People, then sign."
        )
    return Signature(by, services.clock.now())
