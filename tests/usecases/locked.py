"""A site with sign-in: everybody has a PIN of their own. Argon2 with the least it allows, since tests sign in often."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from argon2 import PasswordHasher

from inspect_core.bootstrap import SystemClock
from inspect_core.domain.credentials import Credential
from inspect_core.domain.gear import Item
from inspect_core.domain.people import Person, Role
from inspect_core.usecases.register import add_person
from inspect_core.usecases.services import Services
from inspect_core.usecases.sign_in import begin_locked, sign_in
from storage.hashed_secrets import Argon2Secrets
from tests.usecases.site import Site

CHEAP = Argon2Secrets(PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
PINS = {
    "worker": "482915",
    "competent": "903157",
    "second": "715038",
    "manager": "260947",
    "administrator": "594682",
    "expired": "380462",
}


class LockedSite(Site):
    """The site of the other tests, once its administrator has turned sign-in on and everybody chose a PIN. `expired` is
    a competent person whose qualification has run out."""

    def __init__(self, folder: Path, *, real_time: bool = False) -> None:
        super().__init__(folder)
        self.folder = folder
        self.services = replace(self.services, hasher=CHEAP)
        if real_time:
            self.services = replace(self.services, clock=SystemClock())
        self.administrator = add_person(
            Person("person-administrator", "Administrator", Role.ADMINISTRATOR), self.services
        ).id
        over = self.clock.now().date().replace(year=self.clock.now().year - 1)
        self.expired = add_person(Person("person-expired", "Expired", Role.COMPETENT_PERSON, over), self.services).id
        self.lock()

    def lock(self) -> None:
        begin_locked("Administrator", PINS["administrator"], self.services)
        with self.services.unit_of_work(write=True) as uow:
            for name, pin in PINS.items():
                uow.sign_ins.put_credential(Credential(f"person-{name}", CHEAP.hash(pin), self.services.clock.now()))
            uow.commit()

    def signed_in(self, name: str) -> Services:
        """The services of a session in which that person is signed in."""
        return replace(self.services, actor=sign_in(f"person-{name}", PINS[name], self.services).actor)

    def lanyard_by(self, name: str, tag: str = "LAN-001") -> Item:
        """A lanyard that this person registers."""
        before, self.services = self.services, self.signed_in(name)
        item = self.lanyard(tag, by=f"person-{name}")
        self.services = before
        return item

    def become(self, name: str) -> None:
        """The helpers of the site act as that person from now on."""
        self.services = self.signed_in(name)
