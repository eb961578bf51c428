"""Who acts in a use case: every one that writes asks here first, inside its unit of work.

A site in which nobody ever got a PIN is open: the name is taken on trust, the table of permissions still holds. As soon
as anybody has a PIN the site is locked: whoever writes has to be signed in, and acts only as themselves. What proves it
is `Services.actor`, which a screen or the command line gets from `usecases.sign_in` and which is looked up in the store
at every writing; a person's id alone proves nothing.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import date, timedelta

from inspect_core.domain.access import PERMISSIONS, Action, require
from inspect_core.domain.credentials import Actor, SignIn
from inspect_core.domain.errors import NotAllowed
from inspect_core.domain.people import Person
from inspect_core.domain.signatures import Signature
from inspect_core.ports import UnitOfWork
from inspect_core.usecases.services import Services

#: How often the store hears that a sign-in is still in use.
_TOUCH = timedelta(minutes=1)


def locked(uow: UnitOfWork, services: Services) -> bool:
    """Whether writing takes a sign-in here."""
    return services.must_sign_in or uow.sign_ins.any_credential()


def acting(
    uow: UnitOfWork,
    services: Services,
    by: str,
    action: Action,
    *,
    on: date | None = None,
    signature: Signature | None = None,
    to_sign: bool = True,
) -> Person:
    """The person who does this, or NotAllowed with what to do instead. Raises NotFound for an unknown person.

    `on`: the day it counts for, today unless given. `signature`: as `signing.signature_for` gave it, for the actions
    that ask for the PIN again. `to_sign` False: this only prepares what is signed when it is recorded.
    """
    if services.granted is not None:
        return _granted(uow, services, by, action)
    if locked(uow, services):
        _check_actor(uow, services, by)
        if to_sign and PERMISSIONS[action].signed and (signature is None or signature.by != by):
            raise NotAllowed("This has to be signed.", "Enter your PIN or pass phrase again.")
    person = uow.people.get(by)
    require(person, action, on or services.today())
    return person


def somebody(uow: UnitOfWork, services: Services) -> None:
    """For writing that carries no name, such as an unfinished inspection: in a locked site, anybody signed in."""
    if services.granted is None and locked(uow, services):
        actor = services.actor
        _check_actor(uow, services, actor.person_id if actor else "")


def present(uow: UnitOfWork, services: Services) -> SignIn | None:
    """The sign-in behind `services.actor` while it lasts, else None."""
    actor = services.actor
    if actor is None:
        return None
    found = uow.sign_ins.sign_in(key_of(actor.token))
    if found is None or found.person_id != actor.person_id or found.over_at(services.clock.now()):
        return None
    return found if uow.people.get(actor.person_id).active else None


def touch(uow: UnitOfWork, services: Services, sign_in: SignIn) -> bool:
    """Keep that it is in use, at most once a minute; whether anything was written."""
    now = services.clock.now()
    if now - sign_in.seen_at < _TOUCH:
        return False
    uow.sign_ins.put_sign_in(replace(sign_in, seen_at=now))
    return True


def key_of(token: str) -> str:
    """What the store keeps of a session's number."""
    return hashlib.sha256(token.encode()).hexdigest()


def _granted(uow: UnitOfWork, services: Services, by: str, action: Action) -> Person:
    """A job does what its asker was allowed when they asked, and nothing else."""
    granted = services.granted
    if granted is None or (granted.person_id, granted.action) != (by, action) or PERMISSIONS[action].signed:
        raise NotAllowed("Nobody asked for this.", "Sign in, then do it yourself.")
    return uow.people.get(by)


def _check_actor(uow: UnitOfWork, services: Services, by: str) -> None:
    actor: Actor | None = services.actor
    if actor is None:
        raise NotAllowed("Nobody is signed in.", "Sign in, then do it again.")
    if actor.person_id != by:
        raise NotAllowed(
            "Whoever is signed in acts only under their own name.", "Sign out, and let the other person sign in."
        )
    if present(uow, services) is None:
        raise NotAllowed("This sign-in is over.", "Sign in again; what was entered is kept.")
