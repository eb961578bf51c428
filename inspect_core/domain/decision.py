"""The question put to the rules and the answer they give."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from types import MappingProxyType

from inspect_core.domain.errors import BadInput, NotAllowed
from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.marks import Category, Reading
from inspect_core.domain.people import Person

#: What a fact may be: a yes or no, a number in the fact's unit, a date, or one word of the fact's own list.
FactValue = bool | float | date | str


class Answer(StrEnum):
    """What was found when a component was looked at."""

    SOUND = "sound"
    DEFECT = "defect"
    UNSEEN = "unseen"
    ABSENT = "absent"


class Outcome(StrEnum):
    """What happens to the item."""

    IN_SERVICE = "in service"
    HOLD = "hold"
    WITHDRAW = "withdraw"

    @property
    def severity(self) -> int:
        return list(Outcome).index(self)


class FindingOutcome(StrEnum):
    """What one rule says."""

    CLEARED = "cleared"
    HOLD = "hold"
    WITHDRAW = "withdraw"

    @property
    def severity(self) -> int:
        return list(FindingOutcome).index(self)


class Basis(StrEnum):
    """What a rule rests on."""

    PUBLISHED = "published"
    MAKER = "maker"
    COMMON_PRACTICE = "common practice"
    FROM_MEMORY = "from memory"


@dataclass(frozen=True, slots=True)
class CaseMark:
    """A mark as the rules see it: no picture, no geometry."""

    id: str
    component: Component
    category: Category
    readings: tuple[Reading, ...] = ()


@dataclass(frozen=True, slots=True)
class Case:
    """Everything the rules may weigh about one item at one inspection."""

    kind: Kind
    profile: str
    facts: Mapping[str, FactValue] = field(default_factory=lambda: MappingProxyType({}))
    answers: Mapping[Component, Answer] = field(default_factory=lambda: MappingProxyType({}))
    marks: tuple[CaseMark, ...] = ()


@dataclass(frozen=True, slots=True)
class Finding:
    """One rule met, not ruled out, or measured and cleared. Empty text and None mean "does not apply"."""

    rule: str
    outcome: FindingOutcome
    reason: str
    source: str
    basis: Basis
    mark: str | None = None
    component: Component | None = None
    measure: str | None = None
    value: float | None = None
    uncertainty: float | None = None
    limit: float | None = None
    unit: str | None = None
    analogue: bool = False  # the source was written for lifting gear


@dataclass(frozen=True, slots=True)
class RulesStamp:
    """Which rule set decided: its version and the SHA-256 of its canonical content."""

    version: str
    digest: str


@dataclass(frozen=True, slots=True)
class Decision:
    """The rules' answer. `damage_used`: largest (reading + uncertainty) / limit over all measured findings, at
    least 1 where a rule that allows none is met; 0 where nothing was measured or met."""

    outcome: Outcome
    damage_used: float
    findings: tuple[Finding, ...]
    rules: RulesStamp

    @property
    def deciding(self) -> tuple[Finding, ...]:
        """The findings that made the outcome, worst first, in the order they were found."""
        standing = [f for f in self.findings if f.outcome is not FindingOutcome.CLEARED]
        return tuple(sorted(standing, key=lambda f: -f.outcome.severity))


@dataclass(frozen=True, slots=True)
class HandDecision:
    """A competent person's reasoned judgement beside the rules."""

    outcome: Outcome
    reason: str
    by: str


def hand_decision(decision: Decision, outcome: Outcome, reason: str, by: Person, on: date) -> HandDecision:
    """A judgement by hand, refused where it may not be made.

    It may be more severe than the rules, and may settle a hold; it never puts a rule's withdrawal back in service.
    Raises NotAllowed or BadInput.
    """
    if not by.competent_on(on):
        raise NotAllowed(
            "Only a competent person whose qualification is in date may decide by hand.",
            "Leave the item on hold and ask a competent person.",
        )
    if decision.outcome is Outcome.WITHDRAW and outcome is not Outcome.WITHDRAW:
        raise NotAllowed(
            "A rule withdraws this item, and no judgement puts it back.",
            "Keep it withdrawn. If a mark was wrong, record a new inspection that corrects this one.",
        )
    if len(reason.strip()) < 10:
        raise BadInput("A decision by hand needs its reason.", "Write what you saw and why it decides, in a sentence.")
    return HandDecision(outcome, reason.strip(), by.id)
