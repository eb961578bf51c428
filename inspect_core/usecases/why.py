"""Why a recorded inspection ended as it did: every rule that was weighed, cleared ones included."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from inspect_core.deciding import Verdict, Weighed, weigh
from inspect_core.domain.errors import NotFound
from inspect_core.domain.inspection import Inspection
from inspect_core.usecases.reevaluate import past_of
from inspect_core.usecases.services import Services


@dataclass(frozen=True, slots=True)
class Why:
    """Every rule with what became of it, in file order.

    `same_rules`: whether the rules of today are the very ones that decided then; where they are not, `weighed` shows
    what the rules of today say of that day, which the reader must be told.
    """

    inspection: Inspection
    on: date
    same_rules: bool
    weighed: tuple[Weighed, ...]

    def of(self, *verdicts: Verdict) -> tuple[Weighed, ...]:
        """The rules with one of these verdicts."""
        return tuple(weighed for weighed in self.weighed if weighed.verdict in verdicts)


def why(inspection_id: str, services: Services) -> Why:
    """Weigh a recorded inspection again and tell every rule. Nothing is stored. Raises NotFound."""
    with services.unit_of_work() as uow:
        inspection = uow.inspections.get(inspection_id)
        item = uow.items.get(inspection.item_id)
        inspections = uow.inspections.of_item(item.id)
    # A corrected inspection can be opened too; the one that corrects it is left out of its past.
    known = [i for i in inspections if i.corrects != inspection_id]
    for id_, case, on, _ in past_of(item, known):
        if id_ == inspection_id:
            same = inspection.decision.rules == services.rules.stamp
            return Why(inspection, on, same, weigh(case, services.rules, on))
    raise NotFound("This inspection is not among those of its item.", "Open the item and choose it there.")
