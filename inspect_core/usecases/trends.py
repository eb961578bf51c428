"""Trends over the whole store, as a manager asks for them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Kind
from inspect_core.domain.record import Retirement
from inspect_core.trends.reasons import SPLITS, Share, why_withdrawn
from inspect_core.usecases.services import Services
from inspect_core.usecases.trends_scope import KEPT


@dataclass(frozen=True, slots=True)
class Reasons:
    """Why gear was withdrawn in a period: the shares, and the items behind every bar."""

    by: str
    since: date | None
    until: date
    shares: tuple[Share, ...]
    items: tuple[Retirement, ...]

    def behind(self, label: str) -> tuple[Retirement, ...]:
        """The items that a bar stands for, newest first."""
        split = SPLITS[self.by]
        return tuple(sorted((r for r in self.items if label in split(r)), key=lambda r: r.on, reverse=True))


def retirement_reasons(
    services: Services,
    *,
    by: str = "category",
    since: date | None = None,
    until: date | None = None,
    kind: Kind | None = None,
    site: str | None = None,
) -> Reasons:
    """Why gear was withdrawn. Raises BadInput for an unknown split or dates the wrong way round."""
    check_split(by)
    if since and until and since > until:
        raise BadInput("The first day lies after the last.", "Give the earlier day first.")
    with services.unit_of_work() as uow:
        items = uow.reviews.retirements(since=since, until=until)
    kept = tuple(r for r in items if (kind is None or r.kind is kind) and (site is None or r.site == site))
    return Reasons(by, since, until or services.today(), why_withdrawn(kept, by), kept)


def models(services: Services) -> tuple[str, ...]:
    """Every maker's model on record, by name; items without one are in none."""

    return KEPT.answer(services, ("models",), lambda uow, today: uow.reviews.models())


def item_photos(services: Services, item_ids: Sequence[str]) -> Mapping[str, str]:
    """The photo that lists show for each of these items; items without one are missing."""
    with services.unit_of_work() as uow:
        return uow.reviews.item_photos(item_ids)


def check_split(by: str) -> None:
    """Raises BadInput for a split that withdrawals lack."""
    if by not in SPLITS:
        raise BadInput(f"Withdrawals cannot be split by “{by}”.", f"Use one of: {', '.join(SPLITS)}.")
