"""Why gear is withdrawn, what the items behind a reason have in common, and what prevents it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType

from scipy.stats import hypergeom

from inspect_core.domain.counted import LifeRow
from inspect_core.domain.gear import model_label
from inspect_core.domain.marks import Category
from inspect_core.domain.record import Retirement
from inspect_core.ports import UnitOfWork
from inspect_core.trends.prevention import LINKS, Link
from inspect_core.trends.reasons import IN_TIME, SPLITS, ParetoBar, Share, pareto, why_withdrawn
from inspect_core.usecases.services import Services
from inspect_core.usecases.trends import Reasons, check_split
from inspect_core.usecases.trends_scope import KEPT, Scope

#: What is told as shared: at least so many items and such a share of them; common practice, no source.
LEAST_SHARED, LEAST_SHARE = 3, 0.5

#: What items may have in common, and how it is read from them.
TRAITS: Mapping[str, Callable[[LifeRow], str]] = MappingProxyType(
    {
        "note": lambda life: life.note.strip(),
        "site": lambda life: life.site,
        "model": lambda life: model_label(life.maker, life.model),
        "kind": lambda life: life.kind.value,
    }
)


@dataclass(frozen=True, slots=True)
class Common:
    """A trait that most items behind a reason share, beside how many of the other items carry it.

    `chance`: the probability that at least so many would share it, were the items behind picked from all at random
    (hypergeometric, through scipy). It holds for one trait chosen beforehand; whoever looks through many finds small
    ones by chance.
    """

    trait: str
    value: str
    behind: int
    of_behind: int
    others: int
    of_others: int

    @property
    def in_words(self) -> str:
        """One sentence with both counts."""
        return (
            f"{self.behind} of {self.of_behind} items share the {self.trait} “{self.value}”; "
            f"of the other {self.of_others} items {self.others} have it."
        )

    @property
    def chance(self) -> float:
        """Between 0 and 1."""
        carry, every = self.behind + self.others, self.of_behind + self.of_others
        return float(hypergeom.sf(self.behind - 1, every, carry, self.of_behind))


@dataclass(frozen=True, slots=True)
class Why:
    """Withdrawals of a scope with their Pareto bars, or in order of time where they are split by time. `lives`: every
    item of the scope's gear by its id."""

    scope: Scope
    reasons: Reasons
    bars: tuple[ParetoBar, ...]
    lives: Mapping[str, LifeRow]

    @property
    def in_words(self) -> str:
        """One sentence: the most frequent reason, and what stands beside it."""
        if not self.bars:
            return "No gear was withdrawn in this period."
        if self.reasons.by in IN_TIME:
            most = max(self.bars, key=lambda bar: bar.share.count).share
            return f"Most gear left in {most.label}: {most.count} of {most.total} withdrawn items ({most.share:.0%})."
        first = self.bars[0].share
        named, low, high = _capital(first.label), f"{first.low:.0%}", f"{first.high:.0%}"
        if len(self.bars) < 2:
            return (
                f"{named}: {first.count} of {first.total} withdrawn items ({first.share:.0%}, 95 % interval {low} to "
                f"{high})."
            )
        second, together = self.bars[1].share.label, f"{self.bars[1].together:.0%}"
        return (
            f"{named}: {first.count} of {first.total} withdrawn items ({first.share:.0%}, 95 % interval {low} to "
            f"{high}); together with {second}, {together}."
        )

    def common(self, label: str) -> tuple[Common, ...]:
        """What most items behind a bar have in common more often than the others, the most telling first."""
        return in_common({one.item_id for one in self.reasons.behind(label)}, tuple(self.lives.values()))


def why(services: Services, scope: Scope, *, by: str = "category") -> Why:
    """Why the gear of a scope was withdrawn. Raises BadInput for an unknown split."""
    check_split(by)

    def make(uow: UnitOfWork, today: date) -> Why:
        found = withdrawals(uow, scope)
        split = SPLITS[by]
        reasons = Reasons(by, scope.since, scope.until or today, why_withdrawn(found, by), found)
        lives = {life.item_id: life for life in lives_of(uow, scope)}
        bars = pareto(split(one) for one in found)
        if by in IN_TIME:
            bars = tuple(sorted(bars, key=lambda bar: bar.share.label))
        return Why(scope, reasons, bars, MappingProxyType(lives))

    return KEPT.answer(services, ("why", scope, by), make)


@dataclass(frozen=True, slots=True)
class Prevention:
    """Reasons found, most frequent first, each with likely causes and what prevents them."""

    scope: Scope
    lines: tuple[tuple[Share, tuple[Link, ...]], ...]

    @property
    def in_words(self) -> str:
        """One sentence: the most frequent reason and the first measure against it."""
        if not self.lines:
            return "No reason is on record for this gear and period, so there is nothing to prevent from it."
        share, links = self.lines[0]
        return (
            f"Start with {share.label}, which took out {share.count} of {share.total} withdrawn items: "
            f"look for {links[0].cause}. Against it: {links[0].measure}."
        )


def prevention(services: Services, scope: Scope) -> Prevention:
    """What prevents the reasons that withdrew this gear."""
    named = {category.value: category for category in Category}
    shares = why(services, scope).reasons.shares
    return Prevention(scope, tuple((share, LINKS[named[share.label]]) for share in shares if share.label in named))


def withdrawals(uow: UnitOfWork, scope: Scope) -> tuple[Retirement, ...]:
    """Withdrawals of the scope's gear in its period."""
    found = uow.reviews.retirements(since=scope.since, until=scope.until)
    return tuple(one for one in found if scope.holds(one.kind, one.site, one.maker, one.model))


def lives_of(uow: UnitOfWork, scope: Scope) -> tuple[LifeRow, ...]:
    """Every item of the scope's gear, in order of its tag."""
    return tuple(row for row in uow.reviews.lives() if scope.holds(row.kind, row.site, row.maker, row.model))


def in_common(behind: Collection[str], lives: Sequence[LifeRow]) -> tuple[Common, ...]:
    """Traits that at least LEAST_SHARED items and LEAST_SHARE of those in `behind` (item ids) share, and that are
    rarer among the other items; by how far the two shares lie apart."""
    inside = [life for life in lives if life.item_id in behind]
    outside = [life for life in lives if life.item_id not in behind]
    found = []
    for trait, read in TRAITS.items():
        counted = Counter(value for life in inside if (value := read(life)))
        if not counted:
            continue
        value, many = min(counted.items(), key=lambda pair: (-pair[1], pair[0]))
        others = sum(read(life) == value for life in outside)
        if many < LEAST_SHARED or many / len(inside) < LEAST_SHARE:
            continue
        if many / len(inside) > _share(others, len(outside)):
            found.append(Common(trait, value, many, len(inside), others, len(outside)))
    return tuple(sorted(found, key=lambda c: _share(c.others, c.of_others) - c.behind / c.of_behind))


def _share(count: int, total: int) -> float:
    return count / total if total else 0.0


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
