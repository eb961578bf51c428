"""Kit fit: do these parts belong together, on this worker, today?"""

from __future__ import annotations

from datetime import date

from inspect_core.domain.gear import Fibre
from inspect_core.rigging.arrest import mass_lines
from inspect_core.rigging.figures import find
from inspect_core.rigging.joints import joint_lines
from inspect_core.rigging.kit import Kit, KitPart, KitUse, Role
from inspect_core.rigging.result import HABIT, MAKER, Answer, Cite, Line, Result, missing, within
from inspect_core.rigging.units import Quantity, show_force

CAUTIONS = (
    "Parts of different makers may be joined only where both makers allow it.",
    "Fit on paper is not fit on the body: look at the worker wearing it.",
)


def check_kit(kit: Kit) -> Result:
    """Every part in service and in date, rope grab for its rope, gates, absorbers, mass and strength."""
    lines = _roles(kit)
    for part in kit.parts:
        lines += _status(part, kit)
    lines += _rope_grabs(kit)
    lines += joint_lines(kit)
    lines += _absorbers(kit)
    for part in kit.parts:
        lines += _mass(part, kit)
        lines += _strength(part, kit.profile)
    return Result("kit fit", kit.profile, tuple(lines), CAUTIONS)


def _roles(kit: Kit) -> list[Line]:
    lines: list[Line] = []

    def lacking(what: str, remedy: str) -> None:
        lines.append(Line("parts", Answer.NO, f"The kit has no {what}.", HABIT, remedy))

    if len(kit.having(Role.HARNESS)) != 1:
        what = "harness" if not kit.having(Role.HARNESS) else "single harness: several are named"
        lacking(what, "Name the one harness the worker wears.")
    links = kit.having(Role.LANYARD) + kit.having(Role.ROPE_GRAB) + kit.having(Role.SELF_RETRACTING)
    if not links:
        lacking("lanyard, rope grab or self-retracting lifeline", "Add what joins harness and anchor.")
    grabs, ropes = kit.having(Role.ROPE_GRAB), kit.having(Role.LIFELINE)
    if grabs and not ropes:
        lacking("lifeline for its rope grab", "Add the lifeline.")
    if ropes and not grabs:
        lines.append(
            Line(
                "parts",
                Answer.ASK,
                "A lifeline without a rope grab.",
                HABIT,
                "Add the rope grab, or ask how the worker is joined to the line.",
            )
        )
    if len(grabs) > 1 or len(ropes) > 1:
        lines.append(
            Line(
                "parts",
                Answer.ASK,
                "More than one rope grab or lifeline: which runs on which is not known.",
                HABIT,
                "Check one rope grab on one lifeline at a time.",
            )
        )
    if not kit.having(Role.ANCHOR):
        lines.append(
            missing("parts", "The anchor", "Add the anchor sling, or run the anchor check for the fixed anchor.")
        )
    return lines


def _status(part: KitPart, kit: Kit) -> list[Line]:
    figure = find(f"defective gear: {kit.use.value}", kit.profile)
    cite = Cite.figure(figure) if figure else HABIT
    topic = f"{part.name}: status"
    if part.status == "in service":
        lines = [Line(topic, Answer.GO, "In service.", cite)]
    elif part.status in ("hold", "on hold", "withdrawn", "destroyed"):
        word = "on hold" if part.status.endswith("hold") else part.status
        lines = [Line(topic, Answer.NO, f"It is {word}.", cite, "Take another; held gear needs a competent person.")]
    else:
        lines = [missing(topic, "Whether it is in service", "Look its tag up, or check it before use.", cite)]
    topic = f"{part.name}: in date"
    if part.due_on is None:
        lines.append(missing(topic, "When its next inspection is due", "Look its tag up; have it inspected."))
    elif kit.on > part.due_on:
        lines.append(
            Line(topic, Answer.NO, f"Its inspection was due on {part.due_on}.", HABIT, "Have it inspected before use.")
        )
    else:
        lines.append(Line(topic, Answer.GO, f"Next inspection due on {part.due_on}.", HABIT))
    lines += _age(part, kit.on)
    return lines


def _age(part: KitPart, on: date) -> list[Line]:
    limit, topic = part.item.maker_max_age_years, f"{part.name}: age"
    if limit is None:
        return []
    start = part.item.made_on or part.item.first_used_on
    if start is None:
        return [missing(topic, "When it was made", "Read the label.", MAKER)]
    years = (on - start).days / 365.25
    words = f"The maker allows {limit:g} year{'s' if limit != 1 else ''}."
    return [within(topic, Quantity(years), "years", MAKER, words, high=limit, digits=1)]


def _rope_grabs(kit: Kit) -> list[Line]:
    lines: list[Line] = []
    for rope in kit.having(Role.LIFELINE):
        lines += _lifeline_size(rope, kit.profile)
        for grab in kit.having(Role.ROPE_GRAB):
            lines += [_diameter(grab, rope), _rope_type(grab, rope)]
    return lines


def _measured_mm(rope: KitPart) -> Quantity | None:
    """Diameter in millimetres: measured when there is a reading, else the label's."""
    if rope.rope_diameter is not None:
        return Quantity(round(rope.rope_diameter.value * 1000, 6), round(rope.rope_diameter.uncertainty * 1000, 6))
    return None if rope.item.rope_diameter_mm is None else Quantity(rope.item.rope_diameter_mm)


def _diameter(grab: KitPart, rope: KitPart) -> Line:
    topic = f"{grab.name} on {rope.name}: diameter"
    size, accepted = _measured_mm(rope), grab.item.rope_range_mm
    if accepted is None:
        return missing(topic, "The rope range the grab accepts", "Read it from the grab's body.", MAKER)
    if size is None:
        return missing(topic, "The diameter of the lifeline", "Measure it, or read its label.", MAKER)
    low, high = accepted
    words = f"The rope grab accepts {low:g} mm to {high:g} mm."
    if rope.rope_diameter is None:
        words += " The label's diameter was used: a worn or swollen rope differs."
    return within(
        topic, size, "mm", MAKER, words, low=low, high=high, digits=1, remedy="Use the rope this grab is made for."
    )


def _rope_type(grab: KitPart, rope: KitPart) -> Line:
    topic = f"{grab.name} on {rope.name}: rope type"
    if not grab.accepted_rope_types:
        return missing(topic, "Which rope the grab is made for", "Read the grab's instructions.", MAKER)
    if not rope.rope_type:
        return missing(topic, "What type of rope the lifeline is", "Read its label.", MAKER)
    accepted = {_fold(word) for word in grab.accepted_rope_types}
    named = ", ".join(grab.accepted_rope_types)
    if _fold(rope.rope_type) in accepted:
        return Line(topic, Answer.GO, f"{rope.rope_type} is what the grab is made for ({named}).", MAKER)
    return Line(
        topic,
        Answer.NO,
        f"{rope.rope_type} is not what the grab is made for ({named}).",
        MAKER,
        "Use the rope this grab is made for.",
    )


def _fold(word: str) -> str:
    return " ".join(word.casefold().split())


def _lifeline_size(rope: KitPart, profile: str) -> list[Line]:
    figure = find("lifeline diameter", profile)
    # The rule speaks of the rope's designation, so its label stands before a reading, which wear and damp change.
    label = rope.item.rope_diameter_mm
    size = _measured_mm(rope) if label is None else Quantity(label)
    if figure is None:
        return []
    topic = f"{rope.name}: least diameter"
    if size is None:
        return [missing(topic, "The diameter of the lifeline", "Measure it, or read its label.")]
    polypropylene = rope.item.fibre is Fibre.POLYPROPYLENE
    words = figure.words + ("" if polypropylene else " A thinner rope of another fibre must be shown to be as strong.")
    outside = Answer.NO if polypropylene else Answer.ASK
    return [within(topic, size, "mm", Cite.figure(figure), words, low=figure.low, digits=1, outside=outside)]


def _absorbers(kit: Kit) -> list[Line]:
    """Count absorbers between harness and anchor. A self-retracting lifeline brakes like one."""
    topic = "energy absorber"
    chain = [p for p in kit.parts if p.role in (Role.LANYARD, Role.ROPE_GRAB, Role.LIFELINE, Role.HARNESS)]
    brakes = list(kit.having(Role.SELF_RETRACTING))
    fitted = [p for p in chain if p.absorber is True] + brakes
    unknown = [p for p in chain if p.absorber is None and p.role is not Role.HARNESS]
    if len(fitted) > 1:
        names = " and ".join(p.name for p in fitted)
        return [
            Line(
                topic,
                Answer.NO,
                f"More than one absorber in the chain: {names}.",
                HABIT,
                "Leave one out unless the makers of both allow them together.",
            )
        ]
    if unknown:
        names = ", ".join(p.name for p in unknown)
        return [missing(topic, f"Whether there is an energy absorber in {names}", "Look at it and read its label.")]
    if fitted:
        return [Line(topic, Answer.GO, f"One absorber: {fitted[0].name}.", HABIT)]
    if kit.use is KitUse.RESTRAINT:
        return [Line(topic, Answer.GO, "None, and travel restraint needs none.", HABIT)]
    return [
        Line(
            topic,
            Answer.NO,
            "No energy absorber in a fall-arrest kit.",
            HABIT,
            "Use a lanyard with an energy absorber.",
        )
    ]


def _mass(part: KitPart, kit: Kit) -> list[Line]:
    if part.role is Role.ANCHOR and part.mass_range_kg is None:
        return []
    return mass_lines(kit.profile, f"{part.name}: user mass", kit.user_mass, part.mass_range_kg, part.absorber_class)


_STRENGTH = {
    Role.LANYARD: "lanyard and lifeline strength",
    Role.LIFELINE: "lanyard and lifeline strength",
    Role.CONNECTOR: "ring and snap hook strength",
    Role.SELF_RETRACTING: "self-retracting line strength",
}


def _strength(part: KitPart, profile: str) -> list[Line]:
    figure = find(_STRENGTH[part.role], profile) if part.role in _STRENGTH else None
    if figure is None:
        return []
    topic = f"{part.name}: strength"
    if part.strength_kn is None:
        return [missing(topic, "The strength on its label", f"Read the label. {figure.words}", Cite.figure(figure))]
    limit = figure.needed("low")
    words = f"{figure.words} That is {show_force(limit)}."
    return [within(topic, Quantity(part.strength_kn), "kN", Cite.figure(figure), words, low=limit, digits=3)]
