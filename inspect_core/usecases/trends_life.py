"""How long gear lasts, for which reason it leaves, and what the record cannot tell."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from inspect_core.domain.counted import LifeRow
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import model_label
from inspect_core.ports import UnitOfWork
from inspect_core.trends.causes import Incidences, incidences, incidences_by
from inspect_core.trends.few import TooFew
from inspect_core.trends.lifetimes import Survival, survival, survival_by
from inspect_core.trends.log_rank import LogRank, log_rank
from inspect_core.trends.reasons import category_labels
from inspect_core.trends.watched import GROUPS, Lifetime
from inspect_core.usecases.services import Services
from inspect_core.usecases.trends_scope import KEPT, Scope
from inspect_core.usecases.trends_why import lives_of, withdrawals


@dataclass(frozen=True, slots=True)
class Watched:
    """Lifetimes that the record saw. `no_first_day`: items left out because no first day is known; `from_registered`:
    items whose age is counted from the day they were registered, for want of a first day of use; `contradicting`:
    items left out because their days do not follow each other."""

    lifetimes: tuple[Lifetime, ...]
    no_first_day: int
    from_registered: int
    contradicting: int

    @property
    def in_words(self) -> str:
        """What was left out or counted from another day, or nothing."""
        no_time = sum(life.entered_age_days == life.left_age_days for life in self.lifetimes)
        told = (
            (no_time, "left out: their record began and ended on one day"),
            (self.no_first_day, "left out: no first day is known"),
            (self.contradicting, "left out: their days do not follow each other"),
            (self.from_registered, "counted from the day of registering: their first day of use is not known"),
        )
        return "; ".join(f"{many} {'item' if many == 1 else 'items'} {words}" for many, words in told if many)


@dataclass(frozen=True, slots=True)
class Life:
    """How long gear lasts: over all, by group with the test between groups, and by reason."""

    scope: Scope
    by: str
    on: date
    watched: Watched
    whole: Survival | TooFew
    groups: tuple[Survival | TooFew, ...]
    test: LogRank | TooFew
    causes: Incidences | TooFew
    group_causes: tuple[Incidences | TooFew, ...]
    lives: tuple[LifeRow, ...]

    @property
    def in_words(self) -> str:
        """One sentence: the median of all, or why there is none."""
        return self.whole.in_words

    def behind(self, label: str) -> tuple[LifeRow, ...]:
        """The items of one group in order of their tags."""
        group, wanted = GROUPS[self.by], {life.item_id: life for life in self.watched.lifetimes}
        return tuple(r for r in self.lives if r.item_id in wanted and group(wanted[r.item_id]) == label)


def life(services: Services, scope: Scope, *, by: str = "kind") -> Life:
    """How long the scope's gear lasts over the whole record (a period would cut lives off), split `by` kind, model
    or site, or with a day of a change by "cohort": gear first used before it against gear first used from then on.
    Raises BadInput for another split."""
    if by not in splits_of_life(scope):
        raise BadInput(f"Lives cannot be split by “{by}”.", f"Use one of: {', '.join(splits_of_life(scope))}.")
    scope = scope.whole_life()

    def make(uow: UnitOfWork, today: date) -> Life:
        rows = lives_of(uow, scope)
        reasons = {one.item_id: tuple(sorted(category_labels(one))) for one in withdrawals(uow, scope)}
        seen = watch(rows, reasons, today, scope.change)
        lives = seen.lifetimes
        return Life(
            scope,
            by,
            today,
            seen,
            survival(lives, "All gear"),
            survival_by(lives, by),
            log_rank(lives, by),
            incidences(lives, "All gear"),
            incidences_by(lives, by),
            rows,
        )

    return KEPT.answer(services, ("life", scope, by), make)


def splits_of_life(scope: Scope) -> tuple[str, ...]:
    """The ways to split lives; by cohort only where there is a day to divide them."""
    return tuple(name for name in GROUPS if name != "cohort" or scope.change is not None)


def watch(
    rows: Iterable[LifeRow], reasons: Mapping[str, tuple[str, ...]], today: date, change: date | None = None
) -> Watched:
    """What the record saw of each item: from the day it was registered to its withdrawal or today.

    `reasons`: why an item was withdrawn, by its id. `change`: a day that divides items by when they were first used.
    """
    lives, no_first_day, from_registered, contradicting = [], 0, 0, 0
    for row in rows:
        first = row.first_used_on or row.registered_on
        if first is None:
            no_first_day += 1
            continue
        seen_from, left = row.registered_on or first, row.left_on or today
        if left < max(first, seen_from):
            contradicting += 1
            continue
        from_registered += row.first_used_on is None
        model = model_label(row.maker, row.model)
        lives.append(
            Lifetime.from_days(
                row.item_id,
                row.kind,
                model,
                row.site,
                first_day=first,
                seen_from=seen_from,
                seen_until=left,
                retired=row.left_on is not None,
                reasons=reasons.get(row.item_id, ()) if row.left_on else (),
                cohort=_cohort(first, change),
            )
        )
    return Watched(tuple(lives), no_first_day, from_registered, contradicting)


def _cohort(first: date, change: date | None) -> str:
    if change is None:
        return ""
    return f"first used before {change}" if first < change else f"first used from {change} on"
