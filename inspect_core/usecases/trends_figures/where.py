"""Figures of where damage happens: one kind's outline drawing, components shaded by their rate."""

from __future__ import annotations

from inspect_core.domain.gear import Kind
from inspect_core.reports.figure import Figure, Table
from inspect_core.trends.damage_map import ComponentDamage
from inspect_core.usecases.services import Services
from inspect_core.usecases.trends_figures.common import Estimate, beside
from inspect_core.usecases.trends_scope import Scope
from inspect_core.usecases.trends_where import Where, where

_MEANS = (
    "marks per 100 inspections in which that component was seen, with 95 % interval; “14 on 11” is 14 marks on 11 "
    "items. It says which component, not where on it."
)
_METHOD = "exact Poisson interval (Garwood 1936), through scipy; several marks of one inspection make it too narrow."


def kinds(scope: Scope) -> tuple[str, ...]:
    """The kinds that can be looked at: one at a time."""
    return (scope.kind.value,) if scope.kind else tuple(kind.value for kind in Kind)


def figures(services: Services, scope: Scope, kind: str) -> tuple[Figure, ...]:
    """The drawing of one kind with its table, and with a day of a change both sides of it."""
    period = scope.period(services.today())
    first = _map(where(services, scope.whole(), Kind(kind)), scope, period)
    return (first,) if scope.change is None else (first, _beside(services, scope, Kind(kind), period))


def _map(answer: Where, scope: Scope, period: str) -> Figure:
    rows = [
        (
            damage.component.value,
            f"{damage.marks} on {damage.items}",
            damage.looked_at,
            "too few" if damage.per_100 is None else f"{damage.per_100:.1f} ({damage.low:.1f} to {damage.high:.1f})",
        )
        for damage in answer.damages
    ]
    away = f"; {answer.elsewhere} marks on parts that this kind lacks are left out" if answer.elsewhere else ""
    words = "; ".join(damage.in_words for damage in answer.damages)
    return Figure(
        f"damage-{answer.kind.value.replace(' ', '-')}",
        f"Where on a {answer.kind.value}",
        answer.in_words,
        Table.of(("Component", "Marks", "Seen", "Per 100"), rows),
        f"{answer.marks} marks, {scope.gear}{away}",
        period,
        _MEANS,
        _METHOD,
        drawing=answer.drawing,
        words=f"Where damage happens on a {answer.kind.value}: {words}",
    )


def _beside(services: Services, scope: Scope, kind: Kind, period: str) -> Figure:
    both = [where(services, side, kind) for side in scope.sides()]
    found = [{damage.component.value: damage for damage in one.damages} for one in both]

    def estimate(one: ComponentDamage) -> Estimate | None:
        if one.per_100 is None or one.low is None or one.high is None:
            return None
        return Estimate(f"{one.marks} in {one.looked_at}", one.per_100, one.low, one.high)

    return beside(
        f"damage-{kind.value.replace(' ', '-')}-before-and-after",
        f"Marks per 100 looks on a {kind.value}",
        f"{both[0].marks} marks before {scope.change}, {both[1].marks} from that day on.",
        {label: (estimate(found[0][label]), estimate(found[1][label])) for label in found[0]},
        (f"before {scope.change}", f"from {scope.change} on"),
        share=False,
        counted=f"{both[0].marks + both[1].marks} marks, {scope.gear}",
        period=period,
        means=_MEANS,
        method=_METHOD,
    )
