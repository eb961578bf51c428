"""Which part of the record a trend looks at, and answers kept for as long as the record stays as it is."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, replace
from datetime import date
from threading import Lock
from typing import Any, TypeVar

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Kind
from inspect_core.ports import UnitOfWork
from inspect_core.usecases.services import Services

Answer = TypeVar("Answer")


@dataclass(frozen=True, slots=True)
class Scope:
    """Gear of one kind or every kind, at one site or every site, in a period with both days included; None: no bound.

    Raises BadInput for days the wrong way round.
    """

    kind: Kind | None = None
    site: str | None = None
    since: date | None = None
    until: date | None = None

    def __post_init__(self) -> None:
        if self.since and self.until and self.since > self.until:
            raise BadInput("The first day lies after the last.", "Give the earlier day first.")

    def holds(self, kind: Kind, site: str) -> bool:
        """Whether gear of that kind at that site is looked at."""
        return (self.kind is None or kind is self.kind) and (self.site is None or site == self.site)

    @property
    def gear(self) -> str:
        """Kind and site in words."""
        return f"{self.kind or 'every kind'}, {self.site or 'every site'}"

    def period(self, today: date) -> str:
        """The period in words."""
        since = self.since.isoformat() if self.since else "the first record"
        return f"{since} to {(self.until or today).isoformat()}"

    def whole_life(self) -> Scope:
        """The same gear without the bounds of the period."""
        return replace(self, since=None, until=None)


class Kept:
    """The last answers, each under the head of the account that it was made from.

    Whatever is recorded moves the head, so an answer is found again only while nothing was recorded and the day is
    the same. The head is read before the records: what is recorded between the two makes an answer newer than its
    key, never older.
    """

    def __init__(self, most: int = 64) -> None:
        self._most = most
        self._answers: OrderedDict[Hashable, Any] = OrderedDict()
        self._lock = Lock()

    def answer(
        self, services: Services, question: Hashable, make: Callable[[UnitOfWork, date], Answer], *, fresh: bool = False
    ) -> Answer:
        """The kept answer to a question, or the one that `make` gives from the records and today's date.

        `question` names what is asked with everything it depends on. `fresh`: make it anew whatever is kept.
        """
        today = services.today()
        with services.unit_of_work() as uow:
            head = uow.ledger.head()
            if head is None:
                return make(uow, today)
            key = (services.place, head.number, head.digest, today, question)
            with self._lock:
                if key in self._answers and not fresh:
                    self._answers.move_to_end(key)
                    kept: Answer = self._answers[key]
                    return kept
            made = make(uow, today)
        with self._lock:
            self._answers[key] = made
            self._answers.move_to_end(key)
            while len(self._answers) > self._most:
                self._answers.popitem(last=False)
        return made


KEPT = Kept()
