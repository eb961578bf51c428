"""What a label's picture says: lines read from it, and what they could mean for the register."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class TextLine:
    """One line of text in a picture.

    `box`: four corners (x, y) in pixels of the upright picture, x right, y down, from the upper left of the text
    clockwise. `confidence`: the reader's own figure from 0 to 1, which is no probability of being right.
    """

    text: str
    box: tuple[tuple[float, float], ...]
    confidence: float

    @property
    def left(self) -> float:
        return min(x for x, _ in self.box)

    @property
    def right(self) -> float:
        return max(x for x, _ in self.box)

    @property
    def top(self) -> float:
        return min(y for _, y in self.box)

    @property
    def bottom(self) -> float:
        return max(y for _, y in self.box)

    @property
    def height(self) -> float:
        return self.bottom - self.top


@dataclass(frozen=True, slots=True)
class Proposal:
    """A value that a field of the register could take; it counts for nothing until a person takes it over.

    `field`: a field of an item, or "lot", which goes into the note. `value`: as the register would store it, dates
    year-month-day. `doubts`: what could be wrong with it, as sentences.
    """

    field: str
    value: str
    lines: tuple[TextLine, ...]
    doubts: tuple[str, ...] = ()

    @property
    def confidence(self) -> float:
        return min(line.confidence for line in self.lines)


@dataclass(frozen=True, slots=True)
class Told:
    """A line that says something which is never taken over by itself, and why."""

    line: TextLine
    why: str


@dataclass(frozen=True, slots=True)
class LabelReading:
    """Everything that was read of a label."""

    lines: tuple[TextLine, ...]
    proposals: tuple[Proposal, ...] = ()
    told: tuple[Told, ...] = ()
