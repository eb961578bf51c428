"""Which way a rope grab faces: marks on a photo, the pull test, and how the harness sits.

The user marks the arrow from tail to head, and the rope from the grab toward the anchor, on one photo. A grab lies
along its rope, so the two directions agree or are opposite; anything between means wrong marks or a wrong grab.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from inspect_core.domain.errors import BadInput
from inspect_core.domain.geometry import Point
from inspect_core.rigging.result import HABIT, Answer, Cite, Line, Result, missing

#: Half a right angle: a grab lies along its rope, so marks of a right one differ by far less.
AGREE_DEG = 45.0
#: Beyond a right angle the arrow points away from the anchor.
AGAINST_DEG = 90.0
ARROW = Cite(
    "plane geometry; arrow toward the anchor is common practice, no source",
    "common practice",
    caution="The maker's picture on the grab comes first.",
)


class PullTest(StrEnum):
    """What the grab did when the ring was pulled away from the anchor side of the rope."""

    LOCKED = "locked"
    SLIPPED = "slipped"
    NOT_DONE = "not done"


@dataclass(frozen=True, slots=True)
class DirectionCase:
    """Marks in pixels of one photo (x right, y down); `point_sd_px` the standard deviation of pointing.

    The three fit answers are True, False, or None for not checked.
    """

    profile: str
    arrow_tail: Point | None
    arrow_head: Point | None
    rope_at_grab: Point | None
    rope_toward_anchor: Point | None
    point_sd_px: float
    pull_test: PullTest
    back_ring_between_shoulder_blades: bool | None
    chest_strap_mid_chest: bool | None
    leg_straps_snug: bool | None

    def __post_init__(self) -> None:
        if not (math.isfinite(self.point_sd_px) and self.point_sd_px > 0):
            raise BadInput(
                "The pointing error must be above zero.", "Nobody points exactly: 2 pixels is usual by finger."
            )


CAUTIONS = (
    "The photo proves the moment it was taken, not the minute after.",
    "Pull the rope grab by hand every time it is put on the rope.",
)


def angle_between(case: DirectionCase) -> tuple[float, float] | None:
    """(angle in degrees 0 to 180, expanded uncertainty) between arrow and the way to the anchor; None without marks.

    Each end is pointed at with the same standard deviation s, so a line of length L is turned by √2·s/L (k = 2 here).
    Raises BadInput for a mark without length.
    """
    points = (case.arrow_tail, case.arrow_head, case.rope_at_grab, case.rope_toward_anchor)
    if any(p is None for p in points):
        return None
    tail, head, grab, anchor = (p for p in points if p is not None)
    ax, ay, rx, ry = head.x - tail.x, head.y - tail.y, anchor.x - grab.x, anchor.y - grab.y
    arrow, rope = math.hypot(ax, ay), math.hypot(rx, ry)
    if not (arrow > 0 and rope > 0):
        raise BadInput("A mark has no length.", "Draw the arrow from tail to head, and the rope toward the anchor.")
    angle = math.degrees(math.atan2(abs(ax * ry - ay * rx), ax * rx + ay * ry))
    turn = 2 * math.sqrt(2) * case.point_sd_px * math.hypot(1 / arrow, 1 / rope)
    return angle, math.degrees(turn)


def check_direction(case: DirectionCase) -> Result:
    """Arrow, pull test and harness fit; each "no" is "do not go", each open answer asks."""
    angle = angle_between(case)
    lines = [_arrow_line(angle), _pull_line(case.pull_test)]
    for topic, said, wrong in (
        (
            "back ring",
            case.back_ring_between_shoulder_blades,
            "The back ring does not sit between the shoulder blades.",
        ),
        ("chest strap", case.chest_strap_mid_chest, "The chest strap does not sit at mid-chest."),
        ("leg straps", case.leg_straps_snug, "The leg straps are not snug."),
    ):
        lines.append(_fit_line(topic, said, wrong))
    numbers: dict[str, float | None] = {
        "angle_deg": angle[0] if angle else None,
        "angle_uncertainty_deg": angle[1] if angle else None,
    }
    return Result("direction", case.profile, tuple(lines), CAUTIONS, numbers)


def _arrow_line(angle: tuple[float, float] | None) -> Line:
    topic = "rope grab arrow"
    if angle is None:
        return missing(topic, "Which way the arrow points", "Mark arrow and anchor side on a photo.", ARROW)
    value, spread = angle
    shown = f"{value:.0f}° ± {spread:.0f}° from the way to the anchor"
    if value > AGAINST_DEG:
        answer, reason = Answer.NO, f"The arrow points away from the anchor: {shown}."
        remedy = "Take the rope grab off and put it on the other way round."
    elif value + spread > AGREE_DEG:
        answer, reason = Answer.ASK, f"The marks do not show the direction clearly: {shown}."
        remedy = "Take a sharper, closer photo and mark again, or look with a competent person."
    else:
        answer, reason, remedy = Answer.GO, f"The arrow points toward the anchor: {shown}.", ""
    return Line(topic, answer, reason, ARROW, remedy, value, spread, "°", None, AGREE_DEG)


def _pull_line(pull: PullTest) -> Line:
    topic = "pull test"
    if pull is PullTest.LOCKED:
        return Line(topic, Answer.GO, "Pulled away from the anchor side, the rope grab locked.", HABIT)
    if pull is PullTest.SLIPPED:
        return Line(
            topic,
            Answer.NO,
            "Pulled away from the anchor side, the rope grab slipped.",
            HABIT,
            "Put rope grab and rope on hold.",
        )
    return missing(topic, "Whether the rope grab locks", "Hold the anchor side of the rope and pull the ring sharply.")


def _fit_line(topic: str, said: bool | None, wrong: str) -> Line:
    if said is None:
        return missing(topic, f"How the {topic} sits", "Look, with a second person for the back.")
    if said:
        return Line(topic, Answer.GO, f"{topic.capitalize()}: as it should be.", HABIT)
    return Line(topic, Answer.NO, wrong, HABIT, "Adjust the harness and look again.")
