"""Fall clearance: the room below that a fall with arrest needs, added line by line, against the room there is.

Two ways of adding lead to the same place (rows C40 to C43 of the facts table use both):

- from the **anchor** down: lanyard + locking distance + deceleration + harness stretch + rope stretch + swing
  + ring above the feet + margin;
- from the **walking surface** down: free fall + deceleration + harness stretch + rope stretch + swing + margin,
  where free fall = lanyard − height of the attachment above the ring (never below zero) + locking distance.

For a self-retracting lifeline the maker's arrest distance stands in place of free fall (or lanyard) and deceleration.
Uncertainties are added one to one, which is never milder than the root of squares.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from enum import StrEnum

from inspect_core.domain.errors import BadInput
from inspect_core.domain.guard import Reach, reach
from inspect_core.rigging.arrest import AbsorberClass, arrest_lines, deceleration_of
from inspect_core.rigging.figures import find
from inspect_core.rigging.result import GEOMETRY, HABIT, MAKER, Answer, Cite, Line, Result, missing, within
from inspect_core.rigging.swing import overhead, swing_drop
from inspect_core.rigging.units import Quantity, show_length, show_spread


class Datum(StrEnum):
    """Where the sum starts, and where the available clearance is measured from."""

    ANCHOR = "anchor"
    SURFACE = "walking surface"


#: Heights above the ring, which may lie below it.
_MAY_SINK = ("attachment_above_ring", "swing_height")


@dataclass(frozen=True, slots=True)
class ClearanceCase:
    """One fall. Lengths in metres, force in kilonewtons, mass in kilograms; None is not known, never zero.

    `available` runs from the datum down to the nearest thing below. `free_fall` may be given, or it follows from
    `lanyard` and `attachment_above_ring` (below zero when the attachment is lower than the ring). `locking` is
    what a rope grab or brake travels before it holds. `arrest_distance` is the maker's whole stopping distance of a
    self-retracting lifeline. `deceleration`, `max_free_fall`, `arrest_force` and `mass_range` come from the label.
    `rope_stretch` in metres, under the arrest force. `ring_height` is the ring above the feet when hanging.
    """

    profile: str
    datum: Datum
    available: Quantity | None
    user_mass: Quantity | None = None
    lanyard: Quantity | None = None
    attachment_above_ring: Quantity | None = None
    free_fall: Quantity | None = None
    locking: Quantity | None = None
    arrest_distance: Quantity | None = None
    absorber: AbsorberClass | None = None
    deceleration: Quantity | None = None
    harness_stretch: Quantity | None = None
    rope_stretch: Quantity | None = None
    swing_height: Quantity | None = None
    swing_offset: Quantity | None = None
    ring_height: Quantity | None = None
    margin: Quantity | None = None
    max_free_fall: Quantity | None = None
    arrest_force: Quantity | None = None
    mass_range: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        for spec in fields(self):
            value = getattr(self, spec.name)
            if isinstance(value, Quantity) and value.value < 0 and spec.name not in _MAY_SINK:
                raise BadInput(f"The {spec.name.replace('_', ' ')} is below zero.", "Measure it again.")
        if self.mass_range is not None and not 0 < self.mass_range[0] <= self.mass_range[1]:
            raise BadInput("The mass range is upside down.", "Give the smallest mass, then the largest.")
        if (self.swing_height is None) != (self.swing_offset is None):
            raise BadInput(
                "A swing needs both a height and an offset.", "Give both, or neither when there is no offset."
            )


@dataclass(frozen=True, slots=True)
class Term:
    """One line of the sum: a length in metres (None where not known), and where it comes from.

    An `assumed` length is counted, but nobody vouches that this part keeps to it, so it asks.
    """

    name: str
    length: Quantity | None
    cite: Cite
    remedy: str = ""
    assumed: bool = False


def free_fall_of(case: ClearanceCase) -> Quantity | None:
    """Free fall in metres: as given, else lanyard − attachment height + locking; None when neither is known."""
    if case.free_fall is not None:
        return case.free_fall
    if case.lanyard is None or case.attachment_above_ring is None or case.locking is None:
        return None
    slack = case.lanyard.value - case.attachment_above_ring.value
    highest = case.lanyard.high - case.attachment_above_ring.low
    value = max(0.0, slack) + case.locking.value
    return Quantity(value, max(0.0, max(0.0, highest) + case.locking.high - value))


def terms_of(case: ClearanceCase) -> tuple[Term, ...]:
    """Every line of the sum in the order in which the fall happens."""
    terms: list[Term] = []
    if case.arrest_distance is not None:
        terms.append(Term("arrest distance", case.arrest_distance, MAKER))
    else:
        if case.datum is Datum.ANCHOR:
            terms.append(Term("lanyard", case.lanyard, GEOMETRY, "Measure the lanyard, hook to hook, undeployed."))
            terms.append(
                Term("locking distance", case.locking, MAKER, "Take it from the maker; 0 without rope grab or brake.")
            )
        else:
            terms.append(
                Term(
                    "free fall",
                    free_fall_of(case),
                    GEOMETRY,
                    "Give it, or lanyard, attachment height and locking distance.",
                )
            )
        length, cite, assumed = deceleration_of(case.profile, case.absorber, case.deceleration)
        remedy = "Read the greatest extension from the absorber's label."
        terms.append(Term("deceleration", length, cite, remedy, assumed))
    terms.append(Term("harness stretch", case.harness_stretch, MAKER, "Take it from the harness maker."))
    terms.append(Term("rope stretch", case.rope_stretch, MAKER, "Take it from the rope maker; 0 without a rope."))
    if case.swing_height is not None and case.swing_offset is not None:
        figure = find("swing drop", case.profile)
        drop = swing_drop(case.swing_height, case.swing_offset)
        cite = Cite.figure(figure) if figure else GEOMETRY
        remedy = "The anchor is not certainly overhead, so this is no pendulum: choose one overhead."
        terms.append(Term("swing", drop, cite, remedy, assumed=not overhead(case.swing_height)))
    if case.datum is Datum.ANCHOR:
        terms.append(Term("ring above the feet", case.ring_height, HABIT, "Measure from the back ring to the soles."))
    terms.append(Term("margin", case.margin, _margin_cite(case.profile), "Choose one; 2 ft (0.61 m) is usual."))
    return tuple(terms)


def _margin_cite(profile: str) -> Cite:
    figure = find("clearance margin", profile)
    return Cite.figure(figure) if figure else HABIT


def total(terms: tuple[Term, ...]) -> Quantity:
    """Sum of what is known in metres, rounded to a nanometre so that equal sums in feet compare equal."""
    known = [term.length for term in terms if term.length is not None]
    return Quantity(round(sum(q.value for q in known), 9), round(sum(q.uncertainty for q in known), 9))


_ROOM = "room below"
CAUTIONS = (
    "This holds for one fall of one worker; an absorber that has opened has no stroke left.",
    "Makers' clearance charts for the very system come before this sum.",
    "A horizontal lifeline sags further under load: its deflection is not in this sum.",
)


def check_clearance(case: ClearanceCase) -> Result:
    """Required against available clearance, and free fall, force and mass against their limits."""
    from inspect_core.rigging.stack import draw_stack

    terms = terms_of(case)
    required = total(terms)
    lines = [_term_line(term) for term in terms]
    complete = all(term.length is not None for term in terms)
    lines.append(_room_line(case, required, complete))
    margin = find("clearance margin", case.profile)
    if case.margin is not None and margin is not None:
        lines.append(
            within(
                "size of the margin",
                case.margin,
                "m",
                Cite.figure(margin),
                "At least 1.5 ft (0.46 m) is usual.",
                low=margin.base("low"),
                outside=Answer.ASK,
            )
        )
    lines += arrest_lines(
        case.profile,
        free_fall=free_fall_of(case),
        max_free_fall=case.max_free_fall,
        arrest_distance=case.arrest_distance,
        absorber=case.absorber,
        deceleration=case.deceleration,
        arrest_force=case.arrest_force,
        user_mass=case.user_mass,
        mass_range=case.mass_range,
    )
    numbers: dict[str, float | None] = {
        "required_m": required.value if complete else None,
        "known_part_m": required.value,
        "required_uncertainty_m": required.uncertainty,
        "available_m": case.available.value if case.available else None,
        "spare_m": case.available.value - required.value if case.available and complete else None,
    }
    room = next(line.answer for line in lines if line.topic == _ROOM)
    picture = draw_stack(case.datum.value, terms, case.available, room.value)
    return Result("clearance", case.profile, tuple(lines), CAUTIONS, numbers, (picture,))


def _term_line(term: Term) -> Line:
    if term.length is None:
        return missing(term.name, f"The {term.name}", term.remedy, term.cite)
    shown = show_length(term.length.value) + show_spread(term.length.uncertainty)
    if term.assumed:
        return Line(
            term.name,
            Answer.ASK,
            f"Nobody vouches for this length; {shown} is counted.",
            term.cite,
            term.remedy,
            term.length.value,
            term.length.uncertainty,
            "m",
        )
    note = " Zero was entered: be sure of it." if term.length.value == 0 and term.name != "locking distance" else ""
    return Line(
        term.name,
        Answer.GO,
        f"Adds {shown}.{note}",
        term.cite,
        value=term.length.value,
        uncertainty=term.length.uncertainty,
        unit="m",
    )


def _room_line(case: ClearanceCase, required: Quantity, complete: bool) -> Line:
    topic, at_least = _ROOM, "" if complete else "at least "
    if case.available is None:
        return missing(topic, "The room below", f"Measure from the {case.datum.value} down to the nearest thing below.")
    words = f"Needed {at_least}{show_length(required.value)}, there is {show_length(case.available.value)}."
    spread = case.available.uncertainty + required.uncertainty
    stands = reach(case.available.value, spread, required.value, lower=True, includes_limit=False)
    if stands is Reach.REACHED:
        answer, remedy = Answer.NO, "Raise the anchor, shorten the system, or use travel restraint."
    elif not complete:
        answer, remedy = Answer.ASK, "Enter the lines that are missing."
    elif stands is Reach.NOT_RULED_OUT:
        answer, remedy = Answer.ASK, "The uncertainties cross: measure by hand."
    else:
        answer, remedy = Answer.GO, ""
    return Line(
        topic,
        answer,
        words,
        GEOMETRY,
        remedy,
        case.available.value,
        case.available.uncertainty,
        "m",
        required.value,
        None,
    )
