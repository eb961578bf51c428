"""Where on a kind of gear damage happens."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from inspect_core.domain.counted import MarkRow
from inspect_core.domain.gear import Component, Kind, components_of
from inspect_core.ports import UnitOfWork
from inspect_core.trends.damage_map import ComponentDamage, damage_drawing, damage_from_counts
from inspect_core.usecases.services import Services
from inspect_core.usecases.trends_scope import KEPT, Scope


@dataclass(frozen=True, slots=True)
class Where:
    """Marks per component of one kind. `drawing`: the kind's outline as SVG. `elsewhere`: marks left out because the
    kind has no such component."""

    scope: Scope
    kind: Kind
    damages: tuple[ComponentDamage, ...]
    drawing: str
    elsewhere: int

    @property
    def marks(self) -> int:
        """How many marks the figures hold."""
        return sum(damage.marks for damage in self.damages)

    @property
    def in_words(self) -> str:
        """One sentence: the component with the highest rate, or that there is none."""
        rated = [damage for damage in self.damages if damage.per_100]
        if not rated:
            looked = max((damage.looked_at for damage in self.damages), default=0)
            return (
                f"No mark on a {self.kind} can be given as a rate (at most {looked} inspections looked at a component)."
            )
        most = max(rated, key=lambda damage: damage.per_100 or 0.0)
        behind = "on 1 item" if most.items == 1 else f"on {most.items} different items"
        return (
            f"On a {self.kind} most marks lie on the {most.component}: {most.marks} {behind}, {most.per_100:.1f} per "
            f"100 inspections that looked (95 % interval {most.low:.1f} to {most.high:.1f})."
        )


def where(services: Services, scope: Scope, kind: Kind) -> Where:
    """Where damage was marked on items of that kind, at the scope's site and in its period."""

    def make(uow: UnitOfWork, today: date) -> Where:
        within = scope.within
        found = uow.reviews.mark_counts(kind, **within)
        looked = uow.reviews.looked_at(kind, **within)
        own = set(components_of(kind))
        damages = damage_from_counts(kind, (count for count in found if count.component in own), looked)
        elsewhere = sum(count.marks for count in found if count.component not in own)
        return Where(scope, kind, damages, damage_drawing(kind, damages), elsewhere)

    return KEPT.answer(services, ("where", scope, kind), make)


def marks_behind(
    services: Services, scope: Scope, kind: Kind, component: Component, *, limit: int = 200
) -> tuple[MarkRow, ...]:
    """The marks on a component, newest inspection first."""
    with services.unit_of_work() as uow:
        return uow.reviews.marked(kind, component, limit=limit, **scope.within)
