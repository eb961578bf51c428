"""What every use case is handed: the doors to the outside, wired once by the bootstrap."""

from __future__ import annotations

import secrets
import uuid
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any, Protocol

from inspect_core.domain.credentials import Actor
from inspect_core.domain.jobs import Granted
from inspect_core.ports import Clock, PhotoStore, UnitOfWorkFactory
from inspect_core.ports_account import Signer
from inspect_core.ports_jobs import JobFiles, JobRunner
from inspect_core.ports_outside import LabelReader, Mailer
from inspect_core.ports_people import SecretHasher
from inspect_core.rules.model import RuleSet


def random_id() -> str:
    """A fresh identifier, 32 hex digits."""
    return uuid.uuid4().hex


def random_secret() -> str:
    """A fresh number that nobody can guess, 32 hex digits: for sign-ins, and beside names in the ledger."""
    return secrets.token_hex(16)


class DrawPicture(Protocol):
    """Draws one demo picture: JPEG bytes with the capture time inside, and the truth about what it shows, with the
    defects as {"component", "category", "shape", "truth"} in full-resolution pixels and millimetres."""

    def __call__(
        self, kind: str, component: str, category: str | None, *, seed: int, captured_at: datetime
    ) -> tuple[bytes, Mapping[str, Any]]: ...


def _untimed(_screen: str) -> AbstractContextManager[None]:
    return nullcontext()


@dataclass(frozen=True)
class Services:
    """`place` tells people where their records lie; `draw` draws the demo site's pictures (None: no demo site);
    `signer` signs the account (None: nothing is signed); `close` lets go of the store's files.

    `hasher` turns PINs into hashes (None: no sign-in). `must_sign_in`: the server signs people in, so that the site is
    locked even where nobody has a PIN. `actor`: who is signed in, of one session only; see `usecases.acting`.
    `scrub` wipes what the store's files keep of values that were replaced. `own_files`: files beside the records that
    belong to the store ("signing key", "settings"). `timed` surrounds the drawing of a screen
    where somebody watches how the program fares.
    `jobs` does what is asked for aside, `job_files` keeps the files that go with it; `granted`: what whoever asked for
    the job at hand was allowed, set by nothing but `usecases.job_work`."""

    unit_of_work: UnitOfWorkFactory
    photos: PhotoStore
    clock: Clock
    rules: RuleSet
    place: str
    draw: DrawPicture | None = None
    new_id: Callable[[], str] = random_id
    hasher: SecretHasher | None = None
    new_secret: Callable[[], str] = random_secret
    must_sign_in: bool = False
    actor: Actor | None = None
    scrub: Callable[[], None] = lambda: None
    signer: Signer | None = None
    close: Callable[[], None] = lambda: None
    mailer: Mailer | None = None
    label_reader: LabelReader | None = None
    timed: Callable[[str], AbstractContextManager[None]] = _untimed
    jobs: JobRunner | None = None
    job_files: JobFiles | None = None
    granted: Granted | None = None
    own_files: Mapping[str, Path] = field(default_factory=dict)

    def today(self) -> date:
        """The date at the clock's own place."""
        return self.clock.now().date()
