"""What a changed rule set would have decided: which items in service would change today, and why."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from inspect_core.domain.custody import State
from inspect_core.domain.record import ItemRow
from inspect_core.rules.model import RuleSet
from inspect_core.usecases.plain import finding_plain
from inspect_core.usecases.reevaluate import Change, WhatIf, recorded_past, reevaluate
from inspect_core.usecases.services import Services


@dataclass(frozen=True, slots=True)
class ItemChange:
    """An item in service whose last inspection the other rules would not have let pass."""

    row: ItemRow
    change: Change


@dataclass(frozen=True, slots=True)
class Report:
    """Every past case that would differ, and the items in service that this concerns."""

    past: WhatIf
    items: tuple[ItemChange, ...]


def what_if(
    services: Services,
    other: RuleSet,
    *,
    workers: int = 1,
    progress: Callable[[int, int], None] = lambda done, total: None,
) -> Report:
    """Weigh every recorded inspection by `other`, each on its own day. No record is altered.

    `progress` is called with cases done and cases in all. Raises BadInput for fewer than one worker.
    """
    past = list(recorded_past(services))
    found = reevaluate(past, services.rules, other, workers=workers, progress=lambda done: progress(done, len(past)))
    with services.unit_of_work() as uow:
        rows = uow.items.rows(states=(State.IN_SERVICE,))
    changes = {change.id: change for change in found.changes}
    concerned = [
        ItemChange(row, changes[row.standing.last_inspection_id])
        for row in rows
        if row.standing.last_inspection_id in changes
    ]
    return Report(found, tuple(item for item in concerned if item.change.stricter))


def report_plain(report: Report) -> dict[str, Any]:
    """A report as plain JSON data."""
    items = [{"tag": item.row.item.tag, **change_plain(item.change)} for item in report.items]
    return {**past_plain(report.past), "items_in_service": items}


def past_plain(past: WhatIf) -> dict[str, Any]:
    """Every past case that would differ, as plain JSON data."""
    return {
        "cases": past.cases,
        "old_digest": past.old_digest,
        "new_digest": past.new_digest,
        "changes": [change_plain(change) for change in past.changes],
        "by_rule": dict(past.by_rule),
        "refused": [{"inspection": r.id, "problem": r.problem} for r in past.refused],
    }


def change_plain(change: Change) -> dict[str, Any]:
    """One change as plain JSON data."""
    return {
        "inspection": change.id,
        "on": change.on.isoformat(),
        "recorded": change.recorded.value,
        "would_be": change.would_be.value,
        "appearing": [finding_plain(f) for f in change.appearing],
        "vanishing": [finding_plain(f) for f in change.vanishing],
    }
