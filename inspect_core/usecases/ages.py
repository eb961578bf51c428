"""What age alone says of gear: at registration, and before it is handed out."""

from __future__ import annotations

from datetime import date

from inspect_core.deciding import decide
from inspect_core.domain.decision import Case, Finding, FindingOutcome
from inspect_core.domain.gear import Item
from inspect_core.domain.record import ItemRow
from inspect_core.rules.model import LooksAt
from inspect_core.usecases.casefile import facts_of_item
from inspect_core.usecases.services import Services


def age_findings(item: Item, on: date, services: Services) -> tuple[Finding, ...]:
    """What the rules about age say of an item on that day, worst first; nothing where they let it pass."""
    # Nobody has looked at the gear, so whatever else is missing counts for nothing here.
    ages = {rule.id for rule in services.rules.rules if rule.looks_at is LooksAt.AGE}
    case = Case(item.kind, item.profile, facts_of_item(item, on))
    return tuple(finding for finding in decide(case, services.rules, on).findings if finding.rule in ages)


def hold_reason(item: Item, on: date, services: Services) -> str:
    """Why an item that nobody has inspected has to be on hold from the beginning; "" where age says nothing."""
    return _told(age_findings(item, on, services))


def too_old(row: ItemRow, on: date, services: Services) -> str:
    """What age says against handing the item out that day; "" where it says nothing.

    A hold that age gave already at the last inspection in detail was judged then by a competent person; a maker's limit
    that has passed is never judged away.
    """
    found = age_findings(row.item, on, services)
    last = row.standing.last_periodic_on
    if found and last is not None:
        judged = {finding.rule for finding in age_findings(row.item, last, services)}
        found = tuple(f for f in found if f.outcome is FindingOutcome.WITHDRAW or f.rule not in judged)
    return _told(found)


def _told(found: tuple[Finding, ...]) -> str:
    return " ".join(finding.reason for finding in found)
