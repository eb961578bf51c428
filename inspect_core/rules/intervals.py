"""When the next periodic inspection is due."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from inspect_core.domain.dates import add_months
from inspect_core.domain.decision import Basis, Case, FactValue
from inspect_core.domain.gear import Kind
from inspect_core.rules.model import COMMON, RuleSet, cite


@dataclass(frozen=True, slots=True)
class Due:
    """When the next periodic inspection is due, and by which figure."""

    on: date
    months: int
    source: str
    section: str
    basis: Basis
    row: str = ""
    analogue: bool = False

    @property
    def citation(self) -> str:
        return cite(self.source, self.section, self.row)


def next_due(
    rules: RuleSet, profile: str, kind: Kind, last: date, severe: bool = False, maker_months: int | None = None
) -> Due:
    """The next periodic inspection after `last`: the shortest interval that the profile, the common set or the
    maker (`maker_months`) asks for. Raises BadInput for an unknown profile."""
    own = rules.profile(profile)
    both = own.intervals + (() if own.name == COMMON else rules.profile(COMMON).intervals)
    fitting = [i for i in both if (severe or not i.severe) and (not i.kinds or kind in i.kinds)]
    shortest = min(fitting, key=lambda i: i.months)
    if maker_months is not None and 0 < maker_months < shortest.months:
        return Due(add_months(last, maker_months), maker_months, "maker's instructions", "", Basis.MAKER)
    return Due(
        add_months(last, shortest.months),
        shortest.months,
        shortest.source.title,
        shortest.section,
        shortest.basis,
        shortest.row,
        shortest.analogue,
    )


def due_of(case: Case, rules: RuleSet) -> tuple[date, str, Due | None] | None:
    """The day on which the case's periodic inspection is due, in words why, and the interval that sets it.

    The earlier of the date stated and the profile's interval from the last periodic inspection, or from the first use
    where no periodic inspection is known. None where none of these days is known.
    """
    facts: Mapping[str, FactValue] = case.facts
    stated, last, first = facts.get("next due"), facts.get("last periodic inspection"), facts.get("first used on")
    start = last if isinstance(last, date) else first
    computed = None
    if isinstance(start, date):
        computed = next_due(rules, case.profile, case.kind, start, facts.get("service severity") == "severe")
    if isinstance(stated, date) and (computed is None or stated < computed.on):
        return stated, "as set at the last inspection", None
    if computed is None:
        return None
    since = "the last one" if isinstance(last, date) else "the first use, since no periodic inspection is known"
    return computed.on, f"{computed.months} months after {since}", computed
