"""What every set-up check answers: go, do not go, or ask a competent person, line by line.

Guarded acceptance (JCGM 106, and the same rule as for readings of damage): a value outside its limit is "do not go"
whatever its uncertainty; a value inside whose interval meets or crosses the limit is "ask, measure by hand"; only an
interval that lies wholly inside is "go". So a larger uncertainty can never make an answer milder.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType

from inspect_core.domain.guard import Reach, reach
from inspect_core.rigging.drawing import Drawing
from inspect_core.rigging.figures import Figure
from inspect_core.rigging.units import Quantity


class Answer(StrEnum):
    """The three answers, mildest first."""

    GO = "go"
    ASK = "ask a competent person"
    NO = "do not go"


SEVERITY = {Answer.GO: 0, Answer.ASK: 1, Answer.NO: 2}


def worst(answers: Iterable[Answer]) -> Answer:
    """The most severe answer; no answers at all is "ask"."""
    return max(answers, key=SEVERITY.__getitem__, default=Answer.ASK)


@dataclass(frozen=True, slots=True)
class Cite:
    """Where a line comes from. `row` names the row of the facts table, empty where no figure is involved."""

    source: str
    basis: str
    section: str = ""
    row: str = ""
    caution: str = ""

    @classmethod
    def figure(cls, figure: Figure) -> Cite:
        """The citation of a figure, with its own cautions."""
        return cls(figure.source, figure.basis, figure.section, figure.row, figure.cautions())


#: A trade habit that no published text in our table states.
HABIT = Cite("common practice, no source", "common practice")
#: A limit that the maker prints on the label or in the instructions.
MAKER = Cite("the maker's label or instructions, as entered", "maker")
#: A fact of plane geometry: nothing to look up.
GEOMETRY = Cite("plane geometry", "geometry")


@dataclass(frozen=True, slots=True)
class Line:
    """One thing checked. Numbers are in `unit`; None means that there is none, never zero."""

    topic: str
    answer: Answer
    reason: str
    cite: Cite
    remedy: str = ""
    value: float | None = None
    uncertainty: float | None = None
    unit: str = ""
    low: float | None = None
    high: float | None = None

    def as_dict(self) -> dict[str, object]:
        """Plain values for JSON, numbers rounded to a millionth of the unit."""
        return {
            "topic": self.topic,
            "answer": self.answer.value,
            "reason": self.reason,
            "remedy": self.remedy,
            "value": _plain(self.value),
            "uncertainty": _plain(self.uncertainty),
            "unit": self.unit,
            "low": _plain(self.low),
            "high": _plain(self.high),
            "row": self.cite.row,
            "source": self.cite.source,
            "section": self.cite.section,
            "basis": self.cite.basis,
            "caution": self.cite.caution,
        }


def _plain(number: float | None) -> float | None:
    return None if number is None else round(number, 6) + 0.0


#: What stands under every result.
CAUTIONS = (
    "The maker's instructions, local codes and a competent person come before this sheet.",
    "A reading or a sum proves no strength; a photo shows no hidden damage.",
)


@dataclass(frozen=True, slots=True)
class Result:
    """The answer of one check with every line behind it. `numbers` hold computed values, unit in the key."""

    check: str
    profile: str
    lines: tuple[Line, ...]
    cautions: tuple[str, ...] = ()
    numbers: Mapping[str, float | None] = field(default_factory=lambda: MappingProxyType({}))
    drawings: tuple[Drawing, ...] = ()

    @property
    def answer(self) -> Answer:
        """The worst line; nothing is averaged away."""
        return worst(line.answer for line in self.lines)

    def as_dict(self) -> dict[str, object]:
        """Plain values for JSON; the same input gives the same bytes."""
        return {
            "check": self.check,
            "profile": self.profile,
            "answer": self.answer.value,
            "lines": [line.as_dict() for line in self.lines],
            "numbers": {name: _plain(value) for name, value in self.numbers.items()},
            "cautions": [*self.cautions, *CAUTIONS],
            "drawings": [drawing.as_dict() for drawing in self.drawings],
        }


def missing(topic: str, what: str, remedy: str, cite: Cite = HABIT) -> Line:
    """A line for something not known, which is never taken for sound."""
    return Line(topic, Answer.ASK, f"{what} is not known.", cite, remedy)


def no_figure(topic: str, what: str, profile: str) -> Line:
    """A line for something no figure of that profile covers."""
    return Line(
        topic,
        Answer.ASK,
        f"The profile “{profile}” has no figure here for {what}.",
        HABIT,
        "A competent person decides by the maker's instructions and the local code.",
    )


def within(
    topic: str,
    reading: Quantity,
    unit: str,
    cite: Cite,
    words: str,
    *,
    low: float | None = None,
    high: float | None = None,
    digits: int = 2,
    outside: Answer = Answer.NO,
    remedy: str = "",
) -> Line:
    """Guarded acceptance of `reading` between `low` and `high` (inclusive, all in `unit`).

    `words` state the limit; `outside` is the answer beyond it (a presumption, not a prohibition, may only ask).
    """
    value, spread = reading.value, reading.uncertainty
    shown = f"{value:.{digits}f} {unit}" + (f" ± {spread:.{digits}f} {unit}" if spread else "")
    under = Reach.CLEARED if low is None else reach(value, spread, low, lower=True, includes_limit=False)
    over = Reach.CLEARED if high is None else reach(value, spread, high, includes_limit=False)
    if Reach.REACHED in (under, over):
        side = "below" if under is Reach.REACHED else "above"
        answer, reason = outside, f"{shown} is {side} the limit. {words}"
        remedy = remedy or ("Change the set-up." if outside is Answer.NO else "A competent person decides.")
    elif Reach.NOT_RULED_OUT in (under, over):
        answer, reason = Answer.ASK, f"{shown}: the uncertainty crosses the limit. {words}"
        remedy = "Measure by hand; if it still crosses, a competent person decides."
    else:
        answer, reason, remedy = Answer.GO, f"{shown} is within the limit. {words}", ""
    return Line(topic, answer, reason, cite, remedy, value, spread, unit, low, high)
