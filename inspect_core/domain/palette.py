"""Colours and line patterns, one table for every place that draws: photos, the marking screen, reports.

Nothing is told by colour alone: each mark also has its own line pattern and its category as a word, and each outcome
its own shape and its word.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from inspect_core.domain.custody import State
from inspect_core.domain.decision import FindingOutcome, Outcome
from inspect_core.domain.marks import Category

# The colours of Okabe and Ito, "Color Universal Design" (2008), made to be told apart with any colour vision; without
# black, which serves as ground.
ORANGE = "#E69F00"
SKY_BLUE = "#56B4E9"
BLUISH_GREEN = "#009E73"
YELLOW = "#F0E442"
BLUE = "#0072B2"
VERMILLION = "#D55E00"
REDDISH_PURPLE = "#CC79A7"

#: Width of the line, in pixels, for which the lengths of a pattern are given; they grow with the line.
PATTERN_WIDTH = 3


@dataclass(frozen=True, slots=True)
class Stroke:
    """How the outline of a mark is drawn.

    `colour`: "#RRGGBB". `dash`: drawn and blank lengths in turn for a line PATTERN_WIDTH wide, () for one without gaps.
    `halo`: black or white, whichever stands out more against `colour`; it lies under the line, shows in the gaps, and
    has an edge of the other one, so that the line can be seen on any photo.
    """

    colour: str
    dash: tuple[int, ...] = ()

    @property
    def halo(self) -> str:
        return max(("#000000", "#FFFFFF"), key=lambda ground: contrast(self.colour, ground))

    @property
    def edge(self) -> str:
        return "#FFFFFF" if self.halo == "#000000" else "#000000"


#: How each category is drawn. Every one has a pattern of its own, so that none depends on colour.
STROKES: Mapping[Category, Stroke] = MappingProxyType(
    {
        Category.CUT: Stroke(VERMILLION),
        Category.BURN: Stroke(ORANGE, (12, 4)),
        Category.FRAY: Stroke(SKY_BLUE, (4, 4)),
        Category.RUST: Stroke(YELLOW, (12, 4, 3, 4)),
        Category.DEPLOYED_ABSORBER: Stroke(REDDISH_PURPLE, (20, 5)),
        Category.ABRASION: Stroke(BLUISH_GREEN, (8, 4)),
        Category.BROKEN_STITCH: Stroke(BLUE, (3, 4)),
        Category.DISCOLOURATION: Stroke(YELLOW, (8, 3, 3, 3, 3, 3)),
        Category.CHEMICAL: Stroke(BLUISH_GREEN, (16, 4, 3, 4)),
        Category.DEFORMATION: Stroke(REDDISH_PURPLE, (12, 3, 6, 3)),
        Category.CRACK: Stroke(VERMILLION, (6, 6)),
        Category.WEAR: Stroke(SKY_BLUE, (16, 8)),
        Category.MOVING_PART: Stroke(ORANGE, (10, 3, 3, 3, 10, 6)),
        Category.KNOT_OR_SPLICE: Stroke(BLUISH_GREEN, (3, 8)),
        Category.BROKEN_WIRE: Stroke(BLUE, (20, 4, 6, 4)),
        Category.LABEL: Stroke(SKY_BLUE, (24, 3, 3, 3)),
        Category.OTHER: Stroke(REDDISH_PURPLE, (6, 3)),
    }
)


class SignShape(StrEnum):
    """Geometric shapes of ISO 3864-1 and what they mean there."""

    SQUARE = "square"  # safe condition
    TRIANGLE = "triangle"  # warning
    PROHIBITION = "prohibition"  # circle with a diagonal bar: do not


# Safety colours of ISO 3864-4 by their RAL numbers; the sRGB values are those published for RAL 6032, 1003 and 3001.
SAFETY_GREEN = "#237F52"
SAFETY_YELLOW = "#F9A800"
SAFETY_RED = "#9B2423"


@dataclass(frozen=True, slots=True)
class SafetySign:
    """Shape, safety colour and contrast colour after ISO 3864-1, with the words that always stand beside them."""

    shape: SignShape
    colour: str
    contrast: str
    word: str
    instruction: str


_SAFE = (SignShape.SQUARE, SAFETY_GREEN, "#FFFFFF")
_WARN = (SignShape.TRIANGLE, SAFETY_YELLOW, "#000000")
_DONT = (SignShape.PROHIBITION, SAFETY_RED, "#FFFFFF")

OUTCOME_SIGNS: Mapping[Outcome, SafetySign] = MappingProxyType(
    {
        Outcome.IN_SERVICE: SafetySign(*_SAFE, "In service", "May be used after its check before use."),
        Outcome.HOLD: SafetySign(*_WARN, "Hold", "Do not use until a competent person has released it."),
        Outcome.WITHDRAW: SafetySign(*_DONT, "Withdraw", "Do not use. It never comes back into service."),
    }
)

FINDING_SIGNS: Mapping[FindingOutcome, SafetySign] = MappingProxyType(
    {
        FindingOutcome.CLEARED: SafetySign(*_SAFE, "Cleared", "This rule found nothing against use."),
        FindingOutcome.HOLD: SafetySign(*_WARN, "Hold", "A competent person has to look."),
        FindingOutcome.WITHDRAW: SafetySign(*_DONT, "Withdraw", "This rule takes the item out."),
    }
)

STATE_SIGNS: Mapping[State, SafetySign] = MappingProxyType(
    {
        State.IN_SERVICE: SafetySign(*_SAFE, "In service", "May be used after its check before use."),
        State.ON_HOLD: SafetySign(*_WARN, "On hold", "Do not use until a competent person has released it."),
        State.WITHDRAWN: SafetySign(*_DONT, "Withdrawn", "Do not use. It never comes back into service."),
        State.DESTROYED: SafetySign(*_DONT, "Destroyed", "It no longer exists as gear."),
    }
)


def luminance(colour: str) -> float:
    """Relative luminance of "#RRGGBB", 0 to 1, after WCAG 2.2 ("relative luminance")."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21, after WCAG 2.2 ("contrast ratio")."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)
