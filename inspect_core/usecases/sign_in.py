"""Signing in and out, and choosing PINs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from inspect_core.domain.access import Action
from inspect_core.domain.credentials import Actor, Credential, Method, SignIn, check_secret
from inspect_core.domain.errors import BadInput, NotAllowed
from inspect_core.domain.people import Person, Role
from inspect_core.domain.typed import one_line
from inspect_core.ports import UnitOfWork
from inspect_core.usecases import account
from inspect_core.usecases.acting import acting, key_of, locked, present, touch
from inspect_core.usecases.plain import person_entry
from inspect_core.usecases.services import Services
from inspect_core.usecases.signing import hasher_of, prove
from inspect_core.usecases.site_settings import lasting


@dataclass(frozen=True, slots=True)
class SignedIn:
    """Who signed in, what proves it from now on (`Services.actor`), until when at the longest, and whether the PIN was
    given by an administrator and has to be replaced."""

    person: Person
    actor: Actor
    until: datetime
    given: bool = False


def is_locked(services: Services) -> bool:
    """Whether writing takes a sign-in here."""
    with services.unit_of_work() as uow:
        return locked(uow, services)


def with_pin(services: Services) -> frozenset[str]:
    """The ids of everybody who has a PIN."""
    with services.unit_of_work() as uow:
        return frozenset(c.person_id for c in uow.sign_ins.credentials())


def locked_out(services: Services) -> frozenset[str]:
    """The ids of those whose PIN is locked at this moment."""
    now = services.clock.now()
    with services.unit_of_work() as uow:
        return frozenset(c.person_id for c in uow.sign_ins.credentials() if c.locked_at(now))


def sign_in(name: str, secret: str, services: Services, *, shared: bool = False) -> SignedIn:
    """Sign in by name (or id) and PIN or pass phrase. `shared`: on a phone that several people use, so that it ends
    sooner without use. Raises NotAllowed, with the same words for an unknown name and a wrong PIN."""
    with services.unit_of_work() as uow:
        found = uow.people.find_name(name.strip()) or next((p for p in uow.people.all() if p.id == name), None)
    credential = prove(found.id if found is not None and found.active else None, secret, services)
    with services.unit_of_work(write=True) as uow:
        person = uow.people.get(credential.person_id)
        signed = start(uow, services, person, Method.PIN, shared=shared)
        uow.commit()
    return replace(signed, given=credential.given)


def start(uow: UnitOfWork, services: Services, person: Person, method: Method, *, shared: bool = False) -> SignedIn:
    """Begin a sign-in of somebody who has proved who they are."""
    now, times = services.clock.now(), lasting(uow)
    token = services.new_secret()
    until = now + timedelta(hours=times.hours)
    idle = timedelta(minutes=times.shared_minutes if shared else times.idle_minutes)
    uow.sign_ins.end_old_sign_ins(now)
    uow.sign_ins.put_sign_in(SignIn(key_of(token), person.id, method, now, now, until, idle))
    return SignedIn(person, Actor(person.id, token), until)


def sign_out(services: Services) -> None:
    """End the sign-in behind `services.actor`; nothing where there is none."""
    if services.actor is None:
        return
    with services.unit_of_work(write=True) as uow:
        uow.sign_ins.end_sign_in(key_of(services.actor.token))
        uow.commit()


def signed_in(services: Services) -> Person | None:
    """The person behind `services.actor` while the sign-in lasts; being asked counts as use."""
    with services.unit_of_work() as uow:
        found = present(uow, services)
        if found is None:
            return None
        person = uow.people.get(found.person_id)
    if services.clock.now() - found.seen_at >= timedelta(minutes=1):
        with services.unit_of_work(write=True) as uow:
            still = present(uow, services)
            if still is not None and touch(uow, services, still):
                uow.commit()
    return person


def must_choose(services: Services) -> bool:
    """Whether the PIN of whoever is signed in was given by an administrator and has to be replaced."""
    if services.actor is None:
        return False
    with services.unit_of_work() as uow:
        credential = uow.sign_ins.credential(services.actor.person_id)
        return credential is not None and credential.given


def begin_locked(name: str, secret: str, services: Services) -> SignedIn:
    """Turn sign-in on: enter the first administrator with their PIN, or give one who is entered already theirs.

    From then on the site is locked. Raises NotAllowed where it is locked already or the name belongs to somebody
    who is no administrator.
    """
    name = one_line(name)
    kept = check_secret(secret, name)
    hashed, now = hasher_of(services).hash(kept), services.clock.now()
    with services.unit_of_work(write=True) as uow:
        if locked(uow, services):
            raise NotAllowed("This site has sign-in already.", "Ask an administrator to enter you.")
        person = uow.people.find_name(name)
        if person is None:
            person = Person(services.new_id(), name, Role.ADMINISTRATOR, name_salt=services.new_secret())
            uow.people.add(person)
            account.enter(uow, now, "person", person.id, {"person": person_entry(person), "by": person.id})
        if person.role is not Role.ADMINISTRATOR or not person.active:
            raise NotAllowed(
                f"{person.name} is no administrator of this site.", "The first PIN of a site is an administrator's."
            )
        _keep(uow, services, person.id, hashed, by=person.id, given=False)
        signed = start(uow, services, person, Method.PIN)
        uow.commit()
    return signed


def choose_pin(person_id: str, current: str | None, secret: str, services: Services) -> None:
    """Somebody signed in chooses their own PIN. `current`: the one they have, None where they have none yet.

    Every other sign-in of theirs ends. Raises BadInput for a secret that is not good enough or the one they have.
    """
    with services.unit_of_work() as uow:
        person = uow.people.get(person_id)
        known = uow.sign_ins.credential(person_id)
        if not locked(uow, services):
            raise NotAllowed("This site has no sign-in yet.", "An administrator turns it on under People.")
    kept = check_secret(secret, person.name)
    if known is not None:
        prove(person_id, current or "", services)
        if hasher_of(services).verify(known.hash, kept):
            raise BadInput("This is the PIN that you have already.", "Choose another one.")
    hashed = hasher_of(services).hash(kept)
    with services.unit_of_work(write=True) as uow:
        acting(uow, services, person_id, Action.SET_OWN_PIN)
        mine = present(uow, services)
        _keep(uow, services, person_id, hashed, by=person_id, given=False)
        if mine is not None:
            uow.sign_ins.put_sign_in(mine)
        uow.commit()


def give_pin(person_id: str, secret: str, by: str, services: Services) -> None:
    """An administrator gives somebody a PIN, which also ends a lock. It signs nothing: the person has to choose their
    own first. Every sign-in of theirs ends."""
    with services.unit_of_work() as uow:
        person = uow.people.get(person_id)
        if not locked(uow, services):
            raise NotAllowed("This site has no sign-in yet.", "Turn it on with the first administrator's PIN.")
    if person_id == by:
        raise BadInput("Your own PIN is chosen, not given.", "Change it under your own name, with the one you have.")
    kept = check_secret(secret, person.name)
    hashed = hasher_of(services).hash(kept)
    with services.unit_of_work(write=True) as uow:
        acting(uow, services, by, Action.RESET_PIN)
        if not uow.people.get(person_id).active:
            raise NotAllowed(f"{person.name} is no longer active here.", "Make them active first.")
        _keep(uow, services, person_id, hashed, by=by, given=True)
        uow.commit()


def _keep(uow: UnitOfWork, services: Services, person_id: str, hashed: str, *, by: str, given: bool) -> None:
    """Keep a new secret, end the sign-ins made with the old one, and write that it happened, never what it is."""
    now = services.clock.now()
    uow.sign_ins.put_credential(Credential(person_id, hashed, now, given))
    uow.sign_ins.end_sign_ins(person_id)
    what = "PIN given" if given else "PIN chosen"
    account.enter(uow, now, "sign-in", person_id, {"person": person_id, "by": by, "event": what})
