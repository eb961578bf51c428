"""Guardrails: typed or photographed heights, spacing and timber against the profile (rows C01 to C15)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields
from enum import StrEnum

from inspect_core.domain.errors import BadInput
from inspect_core.rigging.figures import Figure, find
from inspect_core.rigging.result import HABIT, SEVERITY, Answer, Cite, Line, Result, missing, no_figure, within
from inspect_core.rigging.roof_input import SketchScale
from inspect_core.rigging.units import Dimension, Quantity, from_base, show_force, show_length


class RailMaterial(StrEnum):
    """What the rails are made of."""

    TIMBER = "timber"
    WIRE_ROPE = "wire rope"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class GuardrailCase:
    """Heights above the surface walked on and other lengths in metres, loads in kilonewtons; None is not known.

    `top_rail` holds one reading per place measured: give the lowest and the highest. A toe board height of zero means
    that there is none. `timber` is (thickness, depth) of the smallest member. Loads are what a design, a test or the
    maker answers for; `strength_accepted` is a competent person's word in their place.
    """

    profile: str
    top_rail: tuple[Quantity, ...]
    mid_rail: Quantity | None = None
    toe_board: Quantity | None = None
    toe_gap: Quantity | None = None
    edge_distance: Quantity | None = None
    post_spacing: Quantity | None = None
    material: RailMaterial | None = None
    timber: tuple[Quantity, Quantity] | None = None
    rope_diameter: Quantity | None = None
    separators: Quantity | None = None
    top_load: Quantity | None = None
    top_load_down: Quantity | None = None
    mid_load: Quantity | None = None
    toe_load: Quantity | None = None
    strength_accepted: bool | None = None

    def __post_init__(self) -> None:
        readings = [(f.name, getattr(self, f.name)) for f in fields(self)]
        flat = [
            (name, q) for name, v in readings for q in (v if isinstance(v, tuple) else (v,)) if isinstance(q, Quantity)
        ]
        for name, quantity in flat:
            if quantity.value < 0:
                raise BadInput(f"The {name.replace('_', ' ')} is below zero.", "Measure it again.")


CAUTIONS = (
    "Measure at the lowest and the highest place, from the surface the feet stand on.",
    "A height proves no strength: fixings, posts and rails belong to a competent person.",
)

_MEND = "Put the guardrail right before anybody works here."


def check_guardrail(case: GuardrailCase) -> Result:
    """Every height, gap, spacing, section and load for which there is a reading or a figure."""
    from inspect_core.rigging.elevation import draw_guardrail

    lines = [*_top_lines(case), _mid_line(case), *_toe_lines(case), *_gap_lines(case)]
    lines += [*_edge_lines(case), *_spacing_lines(case)]
    lines += _strength_lines(case)
    result = Result("guardrail", case.profile, tuple(lines), CAUTIONS)
    picture = draw_guardrail(case, tuple(lines))
    return Result("guardrail", case.profile, result.lines, CAUTIONS, {}, (picture,))


def _limit_words(figure: Figure) -> str:
    low, high = figure.base("low"), figure.base("high")
    if low is not None and high is not None:
        return f"{figure.words} That is {show_length(low)} to {show_length(high)}."
    return f"{figure.words} That is {show_length(low if low is not None else figure.needed('high'))}."


def _against(topic: str, reading: Quantity, figure: Figure) -> Line:
    return within(
        topic,
        reading,
        "m",
        Cite.figure(figure),
        _limit_words(figure),
        low=figure.base("low"),
        high=figure.base("high"),
        digits=3,
        remedy=_MEND,
    )


def _top_lines(case: GuardrailCase) -> list[Line]:
    topic = "top rail height"
    if not case.top_rail:
        return [missing(topic, "The height of the top rail", "Measure its lowest and its highest place.")]
    figure = find(topic, case.profile)
    if figure is None:
        return [no_figure(topic, "the height of the top rail", case.profile)]
    many = len(case.top_rail) > 1
    return [_against(f"{topic}, place {i}" if many else topic, q, figure) for i, q in enumerate(case.top_rail, start=1)]


def _mid_line(case: GuardrailCase) -> Line:
    """The mid rail against half way from the surface, or the toe board where the source says so, to the top edge."""
    topic = "mid rail height"
    figure = find(topic, case.profile)
    above_toe = find("mid rail above toe board", case.profile)
    asked = figure or above_toe
    if case.mid_rail is None:
        return missing(topic, "The height of the mid rail", "Measure it; without one a person can slide through.")
    if case.mid_rail.value == 0:
        return Line(topic, Answer.NO, "There is no mid rail.", Cite.figure(asked) if asked else HABIT, "Fit one.")
    if asked is None:
        if find("rail gap", case.profile) is not None:
            return Line(topic, Answer.GO, "Judged by the gaps between the rails, below.", HABIT)
        return no_figure(topic, "the height of the mid rail", case.profile)
    base = Quantity(0.0) if figure else case.toe_board
    if not case.top_rail or base is None:
        what = "The height of the top rail" if not case.top_rail else "The height of the toe board"
        return missing(topic, what, "Measure it: the mid rail belongs half way.", Cite.figure(asked))
    offs = [
        Quantity(
            abs(case.mid_rail.value - (top.value + base.value) / 2),
            case.mid_rail.uncertainty + (top.uncertainty + base.uncertainty) / 2,
        )
        for top in case.top_rail
    ]
    slack = asked.needed("tolerance")
    words = f"{asked.words} More than {show_length(slack)} off is not half way."
    judged = [
        within(f"{topic}, off half way", off, "m", Cite.figure(asked), words, high=slack, digits=3, remedy=_MEND)
        for off in offs
    ]
    return max(judged, key=lambda line: (SEVERITY[line.answer], line.value or 0.0))


def _toe_lines(case: GuardrailCase) -> list[Line]:
    topic, figure = "toe board height", find("toe board height", case.profile)
    lines: list[Line] = []
    if case.toe_board is None:
        lines.append(missing(topic, "The height of the toe board", "Measure it; enter 0 when there is none."))
    elif figure is None:
        lines.append(no_figure(topic, "the toe board", case.profile))
    else:
        lines.append(_millimetres(topic, case.toe_board, figure))
    gap = find("toe board gap", case.profile)
    if gap is not None and case.toe_board is not None and case.toe_board.value > 0:
        if case.toe_gap is None:
            lines.append(missing("toe board gap", "The gap under the toe board", "Measure the widest place."))
        else:
            lines.append(_millimetres("toe board gap", case.toe_gap, gap))
    return lines


def _edge_lines(case: GuardrailCase) -> list[Line]:
    topic, figure = "guardrail from the edge", find("guardrail from the edge", case.profile)
    if figure is None:
        return []
    if case.edge_distance is None:
        return [missing(topic, "How far the guardrail stands from the edge", "Measure the widest place.")]
    return [_millimetres(topic, case.edge_distance, figure)]


def _gap_lines(case: GuardrailCase) -> list[Line]:
    """Gaps between heights, for profiles that limit them; rail depths are not taken off, so never too small."""
    figure = find("rail gap", case.profile)
    if figure is None or not case.top_rail or case.mid_rail is None:
        return []
    base = case.toe_board or Quantity(0.0)
    highest = max(case.top_rail, key=lambda q: q.high)
    lines = []
    for topic, upper, lower in (
        ("gap below the mid rail", case.mid_rail, base),
        ("gap above the mid rail", highest, case.mid_rail),
    ):
        gap = Quantity(max(0.0, upper.value - lower.value), upper.uncertainty + lower.uncertainty)
        lines.append(_against(topic, gap, figure))
    return lines


def _spacing_lines(case: GuardrailCase) -> list[Line]:
    figure = find("post spacing", case.profile)
    lines: list[Line] = []
    wire = case.material is RailMaterial.WIRE_ROPE
    if figure is not None and not wire:
        topic = "post spacing"
        if case.post_spacing is None:
            lines.append(missing(topic, "The spacing of the posts", "Measure the widest, centre to centre."))
        else:
            lines.append(_against(topic, case.post_spacing, figure))
    if case.material is None:
        lines.append(missing("material", "What the rails are made of", "Say timber, wire rope or other."))
    thickness, depth = find("timber thickness", case.profile), find("timber depth", case.profile)
    if case.material is RailMaterial.TIMBER and thickness is not None and depth is not None:
        if case.timber is None:
            lines.append(missing("timber section", "The timber's section", "Measure the thinnest post or rail."))
        else:
            small, large = sorted(case.timber, key=lambda q: q.value)
            lines.append(_millimetres("timber thickness", small, thickness))
            lines.append(_millimetres("timber depth", large, depth))
    if wire:
        lines += _wire_lines(case)
    return lines


def _wire_lines(case: GuardrailCase) -> list[Line]:
    wanted = (
        ("wire rope rail diameter", case.rope_diameter, "The diameter of the wire rope"),
        ("wire rope rail separators", case.separators, "The spacing of the separators"),
        ("wire rope rail supports", case.post_spacing, "The spacing of the supports"),
    )
    lines = []
    for topic, reading, what in wanted:
        figure = find(topic, case.profile)
        if figure is None:
            lines.append(no_figure(topic, what[0].lower() + what[1:], case.profile))
        elif reading is None:
            lines.append(missing(topic, what, "Measure it."))
        elif figure.unit == "mm":
            lines.append(_millimetres(topic, reading, figure))
        else:
            lines.append(_against(topic, reading, figure))
    return lines


def _millimetres(topic: str, reading: Quantity, figure: Figure) -> Line:
    """Boards, sections and diameters are shown in millimetres."""
    low, high = (
        None if limit is None else round(limit * 1000, 6) for limit in (figure.base("low"), figure.base("high"))
    )
    value = Quantity(round(reading.value * 1000, 6), round(reading.uncertainty * 1000, 6))
    return within(
        topic, value, "mm", Cite.figure(figure), _limit_words(figure), low=low, high=high, digits=1, remedy=_MEND
    )


def _strength_lines(case: GuardrailCase) -> list[Line]:
    """Loads that a design or test answers for, or else a competent person's acceptance; never read off a photo."""
    lines: list[Line] = []
    answered = 0
    loads = (
        ("top rail load", case.top_load, True),
        ("top rail downward load", case.top_load_down, True),
        ("mid rail load", case.mid_load, case.mid_rail is None or case.mid_rail.value > 0),
        ("toe board load", case.toe_load, case.toe_board is None or case.toe_board.value > 0),
    )
    wanted = [(topic, load, figure) for topic, load, there in loads if there and (figure := find(topic, case.profile))]
    for topic, load, figure in wanted:
        if load is not None:
            answered += 1
            words = f"{figure.words} That is {show_force(figure.needed('low'))}."
            lines.append(within(topic, load, "kN", Cite.figure(figure), words, low=figure.base("low"), digits=3))
    if case.strength_accepted is False:
        lines.append(
            Line("strength", Answer.NO, "A competent person did not accept the strength.", HABIT, "Have it mended.")
        )
    elif answered == len(wanted) > 0:
        pass
    elif case.strength_accepted:
        lines.append(Line("strength", Answer.GO, "A competent person accepted posts, rails and fixings.", HABIT))
    else:
        needs = ", ".join(
            f"{t} {from_base(f.needed('low'), 'N', Dimension.FORCE):.0f} N ({f.row})" for t, _, f in wanted
        )
        remedy = "Enter the loads it was designed or tested for" + (f": {needs}" if needs else "")
        lines.append(
            missing("strength", "What the guardrail holds", remedy + ", or have a competent person accept it.")
        )
    return lines


def heights_from_photo(
    base: tuple[float, float], tops: Sequence[tuple[float, float]], scale: SketchScale
) -> tuple[Quantity, ...]:
    """Heights in metres of points above `base`, all in pixels of one photo, with uncertainty (k = 2).

    Guardrail, base and known length must lie in one plane that the camera faces squarely. Pointing at both ends and the
    scale are combined by root of squares (GUM, JCGM 100, 5.1.2).
    """
    size, share = scale.metres_per_pixel(), scale.relative_uncertainty()
    pointing = 2 * math.sqrt(2) * scale.point_sd_px * size
    heights = (math.dist(base, top) * size for top in tops)
    return tuple(Quantity(height, math.hypot(pointing, height * share)) for height in heights)
