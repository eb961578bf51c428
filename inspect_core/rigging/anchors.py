"""Anchors: the strength the profile asks for that use, against the rating somebody answers for."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from inspect_core.domain.errors import BadInput
from inspect_core.rigging.figures import find
from inspect_core.rigging.result import HABIT, Answer, Cite, Line, Result, missing, no_figure, within
from inspect_core.rigging.units import Quantity, show_force


class AnchorUse(StrEnum):
    """What the anchor is to hold."""

    ARREST = "fall arrest"
    ARREST_NO_ABSORBER = "fall arrest without absorber"
    RESTRAINT = "travel restraint"


class RatedBy(StrEnum):
    """Who answers for the rating."""

    MAKER = "maker"
    ENGINEER = "engineer"
    NOBODY = "nobody"


@dataclass(frozen=True, slots=True)
class AnchorCase:
    """`rating` in kilonewtons in the direction of the pull; None is not known and holds the anchor."""

    profile: str
    use: AnchorUse
    rating: Quantity | None
    rated_by: RatedBy | None = None
    persons: int = 1
    inspected: bool | None = None

    def __post_init__(self) -> None:
        if not 1 <= self.persons <= 100:
            raise BadInput("The number of persons on the anchor must be 1 to 100.", "Count those attached at one time.")
        if self.rating is not None and self.rating.value < 0:
            raise BadInput("The anchor's rating is below zero.", "Leave it out when it is not known.")


CAUTIONS = (
    "A rating holds for the direction it was given for and for the structure it was fixed to.",
    "No photo shows what is under the roof skin: fixings and structure belong to a competent person.",
)


def check_anchor_strength(case: AnchorCase) -> Result:
    """The entered rating against the figure of the profile and use (rows C24 to C32 of the facts table)."""
    lines = [_strength_line(case), _rated_line(case.rated_by), _inspected_line(case.inspected)]
    figure = _figure_use(case)
    needed = find(figure, case.profile)
    numbers: dict[str, float | None] = {
        "rating_kn": case.rating.value if case.rating else None,
        "needed_kn": needed.needed("low") * (case.persons if needed.per_person else 1) if needed else None,
    }
    return Result("anchor", case.profile, tuple(lines), CAUTIONS, numbers)


def _figure_use(case: AnchorCase) -> str:
    """A profile with one figure for arrest applies it with and without an absorber."""
    use = f"anchor: {case.use.value}"
    if case.use is AnchorUse.ARREST_NO_ABSORBER and find(use, case.profile) is None:
        return f"anchor: {AnchorUse.ARREST.value}"
    return use


def _strength_line(case: AnchorCase) -> Line:
    topic = "anchor strength"
    if case.rating is None:
        return Line(
            topic,
            Answer.ASK,
            "The anchor's rating is not known: it is on hold.",
            HABIT,
            "Nobody clips on until a competent person has established the rating.",
        )
    figure = find(_figure_use(case), case.profile)
    if figure is None:
        return no_figure(topic, f"an anchor for {case.use.value}", case.profile)
    each = figure.needed("low")
    if figure.per_person:
        needed = each * case.persons
    elif case.persons > 1:
        return Line(
            topic,
            Answer.NO if case.rating.value < each else Answer.ASK,
            f"{figure.words} It does not say how to count {case.persons} persons on one anchor.",
            Cite.figure(figure),
            "Use one anchor per person, or ask a competent person.",
            case.rating.value,
            case.rating.uncertainty,
            "kN",
            each,
        )
    else:
        needed = each
    words = f"{figure.words} Needed here: {show_force(needed)}."
    return within(
        topic, case.rating, "kN", Cite.figure(figure), words, low=needed, digits=3, remedy="Choose a stronger anchor."
    )


def _rated_line(rated_by: RatedBy | None) -> Line:
    topic = "who answers for the rating"
    if rated_by is None:
        return missing(topic, "Who gave the rating", "Look for the maker's plate or the engineer's drawing.")
    if rated_by is RatedBy.NOBODY:
        return Line(
            topic,
            Answer.ASK,
            "Nobody answers for the rating: the anchor is on hold.",
            HABIT,
            "Nobody clips on until a competent person has established the rating.",
        )
    return Line(topic, Answer.GO, f"Rated by the {rated_by.value}.", HABIT)


def _inspected_line(inspected: bool | None) -> Line:
    topic = "anchor looked over"
    if inspected is None:
        return missing(topic, "Whether the anchor was looked over today", "Look at it, its fixings and the structure.")
    if inspected:
        return Line(topic, Answer.GO, "Looked over today and nothing wrong was seen.", HABIT)
    return Line(topic, Answer.NO, "Something is wrong with the anchor.", HABIT, "Choose another; have it inspected.")
