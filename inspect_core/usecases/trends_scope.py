"""Which part of the record a trend looks at, and answers kept for as long as the record stays as it is."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from threading import Lock
from typing import Any, TypedDict, TypeVar

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Kind, model_label
from inspect_core.ports import UnitOfWork
from inspect_core.usecases.services import Services

Answer = TypeVar("Answer")


@dataclass(frozen=True, slots=True)
class Scope:
    """Gear of one kind or every kind, of one model or every model, at one site or every site, in a period with both
    days included; None: no bound. `change`: a day on which something was changed; every answer then also shows what
    was before it beside what is from that day on. `model`: maker and model in one, as `model_label` writes them.

    Raises BadInput for days the wrong way round, or a day of change that leaves nothing of the period on one side.
    """

    kind: Kind | None = None
    site: str | None = None
    since: date | None = None
    until: date | None = None
    model: str | None = None
    change: date | None = None

    def __post_init__(self) -> None:
        if self.since and self.until and self.since > self.until:
            raise BadInput("The first day lies after the last.", "Give the earlier day first.")
        if self.change and ((self.since and self.change <= self.since) or (self.until and self.change > self.until)):
            raise BadInput(
                "The day of the change lies outside the period.", "Choose a day inside it, or a longer period."
            )

    def holds(self, kind: Kind, site: str, maker: str = "", model: str = "") -> bool:
        """Whether gear of that kind and model at that site is looked at."""
        return (
            (self.kind is None or kind is self.kind)
            and (self.site is None or site == self.site)
            and (self.model is None or model_label(maker, model) == self.model)
        )

    @property
    def gear(self) -> str:
        """Kind, model and site in words."""
        model = () if self.model is None else (self.model,)
        return ", ".join((self.kind or "every kind", *model, self.site or "every site"))

    def period(self, today: date) -> str:
        """The period in words."""
        since = self.since.isoformat() if self.since else "the first record"
        return f"{since} to {(self.until or today).isoformat()}"

    def whole_life(self) -> Scope:
        """The same gear without the bounds of the period."""
        return replace(self, since=None, until=None)

    def whole(self) -> Scope:
        """The same gear and period without the day of a change."""
        return replace(self, change=None)

    def sides(self) -> tuple[Scope, Scope]:
        """What lies before the day of the change, and what lies from that day on. Raises BadInput without one."""
        if self.change is None:
            raise BadInput("No day of a change is given.", "Choose the day on which something was changed.")
        before = replace(self, until=self.change - timedelta(days=1), change=None)
        return before, replace(self, since=self.change, change=None)

    @property
    def within(self) -> Within:
        """Site, model and period as the reviews of a store take them."""
        return {"site": self.site, "model": self.model, "since": self.since, "until": self.until}


class Within(TypedDict):
    """Keywords of the reviews that count within a scope."""

    site: str | None
    model: str | None
    since: date | None
    until: date | None


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
