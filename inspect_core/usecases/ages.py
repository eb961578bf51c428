"""What age alone says of gear: at registration, in every list, and before it is handed out.

Nothing is written when gear grows too old while nobody looks: whatever shows it works that out at the moment of
reading.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from inspect_core.deciding import decide
from inspect_core.domain.ages import AgeCut
from inspect_core.domain.custody import Standing
from inspect_core.domain.dates import add_months
from inspect_core.domain.decision import Case, Finding, FindingOutcome
from inspect_core.domain.gear import Item, Kind
from inspect_core.domain.record import ItemRow
from inspect_core.ports import UnitOfWork
from inspect_core.rules.model import LooksAt, Rule, RuleSet
from inspect_core.usecases.casefile import facts_of_item
from inspect_core.usecases.services import Services

_IN_USE = "first used on"
#: Which of an item's two limits by the maker a rule goes by: place in `age_limits`.
_MAKERS = {"maker's age limit": 0, "maker's service life": 1}
#: The store is asked for a little more than the rules say, since months have different lengths.
_SLACK = timedelta(days=3)


def age_findings(item: Item, on: date, rules: RuleSet) -> tuple[Finding, ...]:
    """What the rules about age say of an item on that day, worst first; nothing where they let it pass."""
    # Nobody has looked at the gear, so whatever else is missing counts for nothing here.
    ages = {rule.id for rule in rules.rules if rule.looks_at is LooksAt.AGE}
    case = Case(item.kind, item.profile, facts_of_item(item, on))
    return tuple(finding for finding in decide(case, rules, on).findings if finding.rule in ages)


def hold_reason(item: Item, on: date, services: Services) -> str:
    """Why an item that nobody has inspected has to be on hold from the beginning; "" where age says nothing."""
    return _told(age_findings(item, on, services.rules))


def too_old(row: ItemRow, on: date, services: Services) -> str:
    """What age says against handing the item out that day; "" where it says nothing.

    A hold that age gave already at the last inspection in detail was judged then by a competent person; a maker's limit
    that has passed is never judged away.
    """
    return _told(_unjudged(row, on, services.rules))


def age_lifted(before: ItemRow, after: Item, on: date, services: Services) -> bool:
    """Whether age spoke against using the item, judged by nobody, and says less once it is registered as `after`."""
    now = {(finding.rule, finding.outcome) for finding in age_findings(after, on, services.rules)}
    return any((one.rule, one.outcome) not in now for one in _unjudged(before, on, services.rules))


def aged(item: Item, standing: Standing, services: Services) -> str:
    """What age says against using gear in service today; "" where it says nothing, or the gear is out of use anyway."""
    return too_old(ItemRow(item, standing), services.today(), services) if standing.usable else ""


@dataclass(frozen=True, slots=True)
class Aged:
    """An item in service that is past its age, and why."""

    row: ItemRow
    why: str


def past_age(
    services: Services, *, site: str | None = None, kind: Kind | None = None, on: date | None = None
) -> tuple[Aged, ...]:
    """Everything in service that is past its age on that day (today unless given), by tag."""
    with services.unit_of_work() as uow:
        return past_age_in(uow, services.rules, on or services.today(), site=site, kind=kind)


def past_age_in(
    uow: UnitOfWork, rules: RuleSet, on: date, *, site: str | None = None, kind: Kind | None = None
) -> tuple[Aged, ...]:
    """`past_age` inside a unit of work."""
    rows = uow.items.maybe_aged(
        cuts(rules, uow.items.age_limits(), on),
        kinds=(kind,) if kind else (),
        sites=() if site is None else (site,),
    )
    told = ((row, _told(_unjudged(row, on, rules))) for row in rows)
    return tuple(Aged(row, why) for row, why in told if why)


def cuts(rules: RuleSet, limits: Iterable[tuple[float | None, float | None]], on: date) -> tuple[AgeCut, ...]:
    """Every way in which gear may be past its age on that day; the rules are asked about what lies in them.

    `limits`: (years from the day of making, years from the first use) as makers limit them.
    """
    pairs = tuple(limits)
    found: dict[AgeCut, None] = {}
    for rule in rules.rules:
        if rule.looks_at is not LooksAt.AGE or not rule.in_force(on):
            continue
        in_use = rule.fact == _IN_USE
        makers = {pair[1 if in_use else 0] for pair in pairs} - {None}
        if rule.limit_fact is not None:
            place = _MAKERS.get(rule.limit_fact)
            years = {pair[place] for pair in pairs} - {None} if place is not None else set()
            found |= {_cut(in_use, limit, limit, rule, on): None for limit in sorted(filter(None, years))}
        elif isinstance(rule.limit, int | float):
            found[_cut(in_use, None, rule.limit, rule, on)] = None
            if not any(name in rule.unless_known for name in _MAKERS):
                found |= {_cut(in_use, limit, rule.limit, rule, on): None for limit in sorted(filter(None, makers))}
    return tuple(found)


def _cut(in_use: bool, makers: float | None, years: float, rule: Rule, on: date) -> AgeCut:
    day = add_months(on, -int(years * 12)) + _SLACK
    return AgeCut(in_use, makers, day, rule.hold_if_unknown)


def ends_on(item: Item, rules: RuleSet) -> date | None:
    """The first day on which age will speak against an item, as it is registered now; None where no rule bounds it."""
    facts = facts_of_item(item, date.max)
    ends = []
    for rule in rules.for_item(item.profile, item.kind):
        limit = rule.number_limit(facts) if rule.looks_at is LooksAt.AGE else None
        begun = facts.get(rule.fact or "")
        if limit is not None and isinstance(begun, date):
            ends.append(add_months(begun, int(limit * 12)))
    return next((day for day in sorted(ends) if age_findings(item, day, rules)), None)


def _unjudged(row: ItemRow, on: date, rules: RuleSet) -> tuple[Finding, ...]:
    found = age_findings(row.item, on, rules)
    last = row.standing.last_periodic_on
    if found and last is not None:
        judged = {finding.rule for finding in age_findings(row.item, last, rules)}
        found = tuple(f for f in found if f.outcome is FindingOutcome.WITHDRAW or f.rule not in judged)
    return found


def _told(found: tuple[Finding, ...]) -> str:
    return " ".join(finding.reason for finding in found)


def told_of(rows: Iterable[ItemRow], services: Services) -> Mapping[str, str]:
    """Item id → what age says against using it today, for those in service of which it says something."""
    told = {row.item.id: aged(row.item, row.standing, services) for row in rows}
    return {item_id: why for item_id, why in told.items() if why}
