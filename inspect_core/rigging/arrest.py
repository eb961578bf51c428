"""Limits of an arrest: permitted free fall, absorber extension by class, force on the body, and the user's mass."""

from __future__ import annotations

from enum import StrEnum

from inspect_core.rigging.figures import Figure, find
from inspect_core.rigging.result import MAKER, Answer, Cite, Line, missing, no_figure, within
from inspect_core.rigging.units import Quantity, show_force, show_length, show_mass


class AbsorberClass(StrEnum):
    """Class printed on an absorber's label. Newer labels print figures instead: enter those as the maker's."""

    E4 = "E4"
    E6 = "E6"
    EN_355 = "EN 355"
    Z359_6_FT = "Z359.13, 6 ft free fall"
    Z359_12_FT = "Z359.13, 12 ft free fall"


def deceleration_of(
    profile: str, absorber: AbsorberClass | None, maker: Quantity | None
) -> tuple[Quantity | None, Cite, bool]:
    """(distance in metres to count, its source, whether it is only assumed).

    The maker's figure, else the greatest extension of the class, else the profile's cap: that last one is assumed,
    because nothing says that this absorber keeps to it. None where there is none of these.
    """
    if maker is not None:
        return maker, MAKER, False
    figure = find(f"absorber extension {absorber.value}", profile) if absorber else find("deceleration", profile)
    if figure is None:
        return None, MAKER, False
    return Quantity(figure.needed("high")), Cite.figure(figure), absorber is None


def arrest_lines(
    profile: str,
    *,
    free_fall: Quantity | None,
    max_free_fall: Quantity | None,
    arrest_distance: Quantity | None,
    absorber: AbsorberClass | None,
    deceleration: Quantity | None,
    arrest_force: Quantity | None,
    user_mass: Quantity | None,
    mass_range: tuple[float, float] | None,
) -> list[Line]:
    """Free fall, deceleration, force and mass, each against the profile's figure and the maker's."""
    lines = _free_fall_lines(profile, free_fall, max_free_fall, arrest_distance)
    cap = find("deceleration", profile)
    if deceleration is not None and cap is not None:
        lines.append(_cap("deceleration limit", deceleration, cap))
    own = find(f"absorber extension {absorber.value}", profile) if absorber else None
    if deceleration is not None and own is not None:
        lines.append(_cap("absorber extension", deceleration, own))
    if deceleration is None and own is not None and cap is not None:
        # A class may extend further than the profile allows; the absorber at hand may still keep to it.
        greatest = Quantity(own.needed("high"))
        lines.append(_cap("deceleration limit", greatest, cap, outside=Answer.ASK))
    lines += _force_lines(profile, absorber, arrest_force)
    lines += mass_lines(profile, "user mass", user_mass, mass_range, absorber)
    return lines


def _cap(topic: str, reading: Quantity, figure: Figure, unit: str = "m", outside: Answer = Answer.NO) -> Line:
    """A reading in `unit` (m or kN) against the upper limit of a figure."""
    limit = figure.needed("high")
    shown, digits = (show_force(limit), 3) if unit == "kN" else (show_length(limit), 2)
    words = f"{figure.words} That is {shown}."
    return within(topic, reading, unit, Cite.figure(figure), words, high=limit, digits=digits, outside=outside)


def _free_fall_lines(
    profile: str, free_fall: Quantity | None, maker: Quantity | None, arrest_distance: Quantity | None
) -> list[Line]:
    topic, figure = "permitted free fall", find("free fall", profile)
    if free_fall is None:
        remedy = "Give it, or lanyard, attachment height and locking distance."
        if arrest_distance is not None:
            remedy = "Take what the line runs out before it locks from the maker."
        return [missing(topic, "The free fall", remedy)]
    lines = []
    if figure is not None:
        lines.append(_cap(topic, free_fall, figure))
    if maker is not None:
        lines.append(
            within(
                f"{topic}, maker",
                free_fall,
                "m",
                MAKER,
                f"The maker allows {show_length(maker.value)}.",
                high=maker.low,
            )
        )
    if not lines:
        lines.append(no_figure(topic, "the permitted free fall; the label of the absorber may print one", profile))
    return lines


def _force_lines(profile: str, absorber: AbsorberClass | None, stated: Quantity | None) -> list[Line]:
    topic, limit = "arrest force", find("arrest force", profile)
    of_class = find(f"absorber force {absorber.value}", profile) if absorber else None
    lines = []
    if stated is not None and of_class is not None:
        lines.append(_cap("arrest force of the class", stated, of_class, "kN"))
    known, cite = stated, MAKER
    if stated is None and of_class is not None:
        known, cite = Quantity(of_class.needed("high")), Cite.figure(of_class)
    if known is None:
        lines.append(missing(topic, "The greatest arrest force", "Read it from the absorber's label.", MAKER))
    elif limit is not None:
        lines.append(_cap(topic, known, limit, "kN"))
    elif not lines:
        lines.append(
            Line(
                topic,
                Answer.ASK if of_class is None else Answer.GO,
                f"At most {show_force(known.value)} by its "
                + ("label; the profile has no limit here to set it against." if of_class is None else "class."),
                cite,
                "A competent person sets it against the local limit." if of_class is None else "",
                known.value,
                known.uncertainty,
                "kN",
            )
        )
    return lines


def mass_lines(
    profile: str,
    topic: str,
    mass: Quantity | None,
    maker_range: tuple[float, float] | None,
    absorber: AbsorberClass | None = None,
) -> list[Line]:
    """User with clothing and tools (kg) against the maker's range, the class's and the profile's presumption."""
    if mass is None:
        return [missing(topic, "The mass of the user with clothing and tools", "Weigh the user dressed for work.")]
    lines = []
    if maker_range is not None:
        low, high = maker_range
        words = f"The maker allows {show_mass(low)} to {show_mass(high)}."
        lines.append(within(f"{topic}, maker", mass, "kg", MAKER, words, low=low, high=high, digits=1))
    of_class = find(f"absorber mass {absorber.value}", profile) if absorber else None
    if of_class is not None:
        lines.append(
            within(
                f"{topic}, class {absorber.value if absorber else ''}",
                mass,
                "kg",
                Cite.figure(of_class),
                of_class.words,
                low=of_class.base("low"),
                high=of_class.base("high"),
                digits=1,
            )
        )
    if not lines:
        lines.append(missing(f"{topic}, maker", "The range of user mass", "Read it from the label.", MAKER))
    presumed = find("user mass", profile)
    if presumed is not None:
        limit = presumed.needed("high")
        lines.append(
            within(
                f"{topic}, presumption",
                mass,
                "kg",
                Cite.figure(presumed),
                f"{presumed.words} That is {show_mass(limit)}.",
                high=limit,
                digits=1,
                outside=Answer.ASK,
            )
        )
    return lines
