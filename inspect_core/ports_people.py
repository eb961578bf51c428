"""Protocols for sign-in and kits, beside those of `inspect_core.ports`. `storage` fulfils them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Protocol

from inspect_core.domain.credentials import Credential, SignIn
from inspect_core.domain.kits import Kit, KitEvent


class SecretHasher(Protocol):
    """Turns a PIN or pass phrase into a hash that is slow to guess against."""

    def hash(self, secret: str) -> str:
        """A salted hash that tells its own parameters."""
        ...

    def verify(self, hash: str, secret: str) -> bool:
        """Whether the secret is the one behind the hash; False for a hash that is none."""
        ...


class SignInRepository(Protocol):
    """PINs as hashes, sign-ins that last, and how often somebody guessed wrong lately."""

    def any_credential(self) -> bool:
        """Whether anybody ever got a PIN here, which locks the site."""
        ...

    def credential(self, person_id: str) -> Credential | None: ...

    def credentials(self) -> tuple[Credential, ...]: ...

    def put_credential(self, credential: Credential) -> None:
        """Adds, or replaces that person's."""
        ...

    def put_sign_in(self, sign_in: SignIn) -> None:
        """Adds, or replaces the one with the same key."""
        ...

    def sign_in(self, key: str) -> SignIn | None: ...

    def end_sign_in(self, key: str) -> None: ...

    def end_sign_ins(self, person_id: str) -> None:
        """All of that person's."""
        ...

    def end_old_sign_ins(self, before: datetime) -> None:
        """All that had run out by then."""
        ...

    def add_guess(self, at: datetime) -> int:
        """Counts a guess and returns its number; those older than an hour are forgotten."""
        ...

    def take_back_guess(self, number: int) -> None: ...

    def guesses_since(self, at: datetime) -> int: ...


class KitRepository(Protocol):
    """Kits with what they hold now, and everything that happened to them."""

    def put(self, kit: Kit) -> None:
        """Adds, or replaces the one with the same id. Raises Conflict where another kit holds one of its items."""
        ...

    def get(self, kit_id: str) -> Kit:
        """Raises NotFound."""
        ...

    def find_name(self, name: str) -> Kit | None:
        """The kit of that name that is not dissolved, case and spacing aside."""
        ...

    def all(self, *, dissolved: bool = False) -> tuple[Kit, ...]:
        """By name; those that are dissolved only where asked for."""
        ...

    def with_item(self, item_id: str) -> Kit | None:
        """The kit that holds the item now."""
        ...

    def holding(self, item_ids: Sequence[str]) -> tuple[Kit, ...]:
        """The kits that hold any of these items now."""
        ...

    def add_event(self, event: KitEvent) -> None: ...

    def find_event(self, event_id: str) -> KitEvent | None: ...

    def events(self, kit_id: str) -> tuple[KitEvent, ...]:
        """Newest first."""
        ...

    def events_of_item(self, item_id: str) -> tuple[KitEvent, ...]:
        """Of every kit while it held the item, and when it left; newest first."""
        ...
