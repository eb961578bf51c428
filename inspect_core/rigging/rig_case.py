"""Set-up cases in and out as JSON values: what `bartack rig CASE.json --json` reads and prints.

`docs/setup_checks.md` shows one case of each check.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Fibre, Item, Kind, clean_tag
from inspect_core.domain.geometry import Point
from inspect_core.rigging import case_forms as forms
from inspect_core.rigging.anchors import AnchorCase, AnchorUse, RatedBy, check_anchor_strength
from inspect_core.rigging.arrest import AbsorberClass
from inspect_core.rigging.case_fields import Faults, read
from inspect_core.rigging.clearance import ClearanceCase, Datum, check_clearance
from inspect_core.rigging.direction import DirectionCase, PullTest, check_direction
from inspect_core.rigging.figures import BASES, PROFILES, shipped
from inspect_core.rigging.guardrail import GuardrailCase, RailMaterial, check_guardrail, heights_from_photo
from inspect_core.rigging.kit import Gate, JoinedTo, Joint, Kit, KitPart, KitUse, Role
from inspect_core.rigging.kit_fit import check_kit
from inspect_core.rigging.restraint import Tether, check_restraint
from inspect_core.rigging.result import CAUTIONS, Answer, Result
from inspect_core.rigging.roof import Pair, Roof
from inspect_core.rigging.roof_input import Plan, SketchScale, plan_from_csv, plan_from_sketch
from inspect_core.rigging.swing import SwingCase, check_swing
from inspect_core.rigging.units import SYSTEMS, UNITS, Quantity

Values = dict[str, Any]
_NO_MARK = (None, None)


def check_case(case: object) -> Result:
    """Run the check a case names. Raises BadInput, naming every faulty key at once; never anything else."""
    faults = Faults()
    given = case if isinstance(case, Mapping) else {}
    name, system = given.get("check"), given.get("units")
    if not isinstance(name, str) or name not in forms.FORMS:
        raise BadInput(
            "The case names no check.", f"Give an object whose “check” is one of: {', '.join(forms.CHECKS)}."
        )
    known = system if isinstance(system, str) and system in SYSTEMS else None
    values = read({**forms.HEAD, **forms.FORMS[name]}, given, "", known, faults)
    faults.stop()
    return _CHECKS[name](values)


def rig_case(case: object) -> dict[str, object]:
    """`check_case` with its answer as plain JSON values. Same input, same bytes."""
    return check_case(case).as_dict()


def describe() -> dict[str, object]:
    """The whole vocabulary of set-up cases: keys of every check, words, units, profiles and all figures."""
    return {
        "answers": [answer.value for answer in Answer],
        "bases": list(BASES),
        "profiles": list(PROFILES),
        "units": {dimension.value: list(known) for dimension, known in UNITS.items()},
        "systems": {name: {d.value: unit for d, unit in known.items()} for name, known in SYSTEMS.items()},
        "every case": {key: spec.as_dict() for key, spec in forms.HEAD.items()},
        "checks": {name: {k: spec.as_dict() for k, spec in form.items()} for name, form in forms.FORMS.items()},
        "figures": [figure.as_dict() for figure in shipped()],
        "cautions": list(CAUTIONS),
    }


def _chosen(values: Values, names: Mapping[str, Callable[[str], object]]) -> Values:
    """Choices as members of their enum, None kept."""
    return {key: make(values[key]) if values[key] is not None else None for key, make in names.items()}


def _two(values: list[Any] | None, what: str) -> tuple[Any, Any] | None:
    if values is None:
        return None
    if len(values) != 2:
        raise BadInput(f"The {what} needs two entries and has {len(values)}.", "Give exactly two, or leave it out.")
    return values[0], values[1]


def _range(values: list[Quantity] | None, what: str) -> tuple[float, float] | None:
    """Smallest and largest, narrowed by their uncertainties so that doubt never widens a range."""
    both = _two(values, what)
    return None if both is None else (both[0].high, both[1].low)


def _kit(v: Values) -> Result:
    parts = tuple(_part(raw) for raw in v["parts"])
    joints = tuple(Joint(**{**raw, **_chosen(raw, {"joined_to": JoinedTo, "gate": Gate})}) for raw in v["joints"] or ())
    return check_kit(Kit(v["profile"], KitUse(v["use"]), v["on"], parts, joints, v["user_mass"]))


def _part(raw: Values) -> KitPart:
    tag = clean_tag(raw["tag"])
    span = _range(raw["accepted_rope_range"], f"accepted rope range of {tag}")
    label = raw["label_rope_diameter"]
    item = Item(
        id=tag,
        tag=tag,
        kind=Kind(raw["kind"]),
        made_on=raw["made_on"],
        first_used_on=raw["first_used_on"],
        fibre=Fibre(raw["fibre"] or Fibre.UNKNOWN),
        rope_diameter_mm=None if label is None else round(label.value * 1000, 6),
        rope_range_mm=None if span is None else (round(span[0] * 1000, 6), round(span[1] * 1000, 6)),
        maker_max_age_years=raw["maker_max_age_years"],
    )
    strength = raw["strength"]
    return KitPart(
        role=Role(raw["role"]),
        item=item,
        status=raw["status"] or "",
        due_on=raw["due_on"],
        strength_kn=None if strength is None else strength.low,
        mass_range_kg=_range(raw["mass_range"], f"mass range of {tag}"),
        absorber=raw["absorber"],
        absorber_class=_chosen(raw, {"absorber_class": AbsorberClass})["absorber_class"],
        rope_type=raw["rope_type"] or "",
        accepted_rope_types=tuple(raw["accepted_rope_types"] or ()),
        rope_diameter=raw["rope_diameter"],
    )


def _direction(v: Values) -> Result:
    arrow, rope = _two(v["arrow"], "arrow"), _two(v["rope"], "rope")
    tail, head, grab, anchor = (Point(*p) if p else None for p in (arrow or _NO_MARK) + (rope or _NO_MARK))
    sd = v["point_sd_px"]
    if sd is None and arrow and rope:
        raise BadInput("The pointing error of the marks is missing.", "Give point_sd_px; 2 pixels is usual by finger.")
    case = DirectionCase(
        v["profile"],
        tail,
        head,
        grab,
        anchor,
        point_sd_px=1.0 if sd is None else sd,
        pull_test=PullTest(v["pull_test"] or PullTest.NOT_DONE),
        back_ring_between_shoulder_blades=v["back_ring_between_shoulder_blades"],
        chest_strap_mid_chest=v["chest_strap_mid_chest"],
        leg_straps_snug=v["leg_straps_snug"],
    )
    return check_direction(case)


def _restraint(v: Values) -> Result:
    plan = _plan(v)
    if plan.anchor is None:
        raise BadInput("The anchor is missing.", "Give its two coordinates.")
    tether = Tether(v["rope"], v["lanyard"], v["stretch_share"], v["harness_shift"], v["body_reach"])
    return check_restraint(plan.roof, plan.anchor, tether, v["profile"])


def _plan(v: Values) -> Plan:
    ways = [name for name in ("roof", "csv", "sketch") if v[name] is not None]
    if len(ways) != 1:
        raise BadInput(
            "The roof is missing." if not ways else f"The roof is given {len(ways)} ways.",
            "Give one of roof, csv or sketch.",
        )
    closed = frozenset((_ring_number(e["ring"]), e["edge"] - 1) for e in v["closed_edges"] or ())
    doubt = v["point_uncertainty"].value if v["point_uncertainty"] else 0.0
    if ways != ["roof"] and (v["openings"] is not None or v["anchor"] is not None):
        raise BadInput(f"Openings and anchor belong inside the {ways[0]}.", "Move them there.")
    if ways == ["roof"]:
        roof = Roof(tuple(v["roof"]), tuple(tuple(ring) for ring in v["openings"] or ()), closed, doubt)
        return Plan(roof, v["anchor"])
    if ways == ["csv"]:
        if v["units"] is None:
            raise BadInput("The list of points has no unit.", "Name the units of the case.")
        plan = plan_from_csv(v["csv"], "m" if v["units"] == "SI" else "ft", point_uncertainty=doubt)
        roof = plan.roof
        return Plan(Roof(roof.outer, roof.openings, roof.closed_edges | closed, doubt), plan.anchor)
    sketch = v["sketch"]
    plan = plan_from_sketch(
        sketch["roof"], sketch["openings"] or (), sketch["anchor"], _scale(sketch["scale"]), closed_edges=closed
    )
    roof = plan.roof
    return Plan(Roof(roof.outer, roof.openings, closed, roof.point_uncertainty + doubt, roof.scale_share), plan.anchor)


def _ring_number(name: str) -> int:
    if name == "roof":
        return 0
    tail = name.removeprefix("opening ")
    if tail != name and tail.isascii() and tail.isdecimal() and len(tail) < 6 and int(tail) > 0:
        return int(tail)
    raise BadInput(f"“{name[:20]}” is no ring of the plan.", "Use “roof”, “opening 1”, “opening 2” and so on.")


def _scale(raw: Values) -> SketchScale:
    ends = _two(raw["points"], "scale")
    start, end = ends if ends is not None else ((0.0, 0.0), (0.0, 0.0))
    return SketchScale(start, end, raw["length"], raw["point_sd_px"])


def _clearance(v: Values) -> Result:
    kept = {key: v[key] for key in forms.FORMS["clearance"] if key not in ("datum", "absorber", "mass_range")}
    case = ClearanceCase(
        profile=v["profile"],
        datum=Datum(v["datum"]),
        absorber=_chosen(v, {"absorber": AbsorberClass})["absorber"],
        mass_range=_range(v["mass_range"], "mass range"),
        **kept,
    )
    return check_clearance(case)


def _swing(v: Values) -> Result:
    return check_swing(SwingCase(v["profile"], v["height"], v["offset"], v["clear"], v["maker_offset"]))


def _anchor(v: Values) -> Result:
    rated = _chosen(v, {"rated_by": RatedBy})["rated_by"]
    return check_anchor_strength(
        AnchorCase(v["profile"], AnchorUse(v["use"]), v["rating"], rated, v["persons"], v["inspected"])
    )


def _guardrail(v: Values) -> Result:
    kept = {key: v[key] for key in forms.FORMS["guardrail"] if key not in ("top_rail", "material", "timber", "photo")}
    tops = tuple(v["top_rail"] or ())
    if v["photo"] is not None:
        seen = _heights(v["photo"])
        clash = [key for key in ("mid_rail", "toe_board") if key in seen and kept[key] is not None]
        if clash or ("top_rail" in seen and tops):
            raise BadInput("A height is given both typed and on the photo.", "Leave one of them out.")
        tops = tops or seen.pop("top_rail", ())
        kept.update(seen)
    case = GuardrailCase(
        profile=v["profile"],
        top_rail=tops,
        material=_chosen(v, {"material": RailMaterial})["material"],
        timber=_two(v["timber"], "timber section"),
        **kept,
    )
    return check_guardrail(case)


def _heights(photo: Values) -> Values:
    named: list[tuple[str, Pair]] = [("top_rail", p) for p in photo["top_rail"] or ()]
    named += [(key, photo[key]) for key in ("mid_rail", "toe_board") if photo[key] is not None]
    heights = heights_from_photo(photo["base"], [p for _, p in named], _scale(photo["scale"]))
    out: Values = {}
    for (key, _), height in zip(named, heights, strict=True):
        out[key] = (*out.get(key, ()), height) if key == "top_rail" else height
    return out


_CHECKS: Mapping[str, Callable[[Values], Result]] = MappingProxyType(
    {
        "kit fit": _kit,
        "direction": _direction,
        "restraint": _restraint,
        "clearance": _clearance,
        "swing": _swing,
        "anchor": _anchor,
        "guardrail": _guardrail,
    }
)
