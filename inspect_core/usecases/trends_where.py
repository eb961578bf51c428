"""Where on a kind of gear damage happens."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from inspect_core.domain.counted import MarkRow
from inspect_core.domain.gear import Component, Kind, components_of
from inspect_core.ports import UnitOfWork
from inspect_core.trends.damage_map import ComponentDamage, DamageMark, damage_by_component, damage_drawing
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
    marks: tuple[MarkRow, ...]
    elsewhere: int

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

    def behind(self, component: Component) -> tuple[MarkRow, ...]:
        """The marks on a component, newest inspection first."""
        return tuple(mark for mark in self.marks if mark.component is component)


def where(services: Services, scope: Scope, kind: Kind) -> Where:
    """Where damage was marked on items of that kind, at the scope's site and in its period."""

    def make(uow: UnitOfWork, today: date) -> Where:
        bounds = {"site": scope.site, "since": scope.since, "until": scope.until}
        found = uow.reviews.marked(kind, **bounds)  # type: ignore[arg-type]
        looked = uow.reviews.looked_at(kind, **bounds)  # type: ignore[arg-type]
        own = set(components_of(kind))
        kept = tuple(mark for mark in found if mark.component in own)
        marks = [DamageMark(m.inspection_id, m.item_id, m.component, m.category) for m in kept]
        damages = damage_by_component(kind, marks, looked)
        return Where(scope, kind, damages, damage_drawing(kind, damages), kept, len(found) - len(kept))

    return KEPT.answer(services, ("where", scope, kind), make)
