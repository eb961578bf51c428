"""The keys of every set-up case, as data: what `rig_case` reads and what `describe` tells."""

from __future__ import annotations

from collections.abc import Mapping

from inspect_core.domain.gear import Fibre, Kind
from inspect_core.rigging.anchors import AnchorUse, RatedBy
from inspect_core.rigging.arrest import AbsorberClass
from inspect_core.rigging.case_fields import Field
from inspect_core.rigging.clearance import Datum
from inspect_core.rigging.direction import PullTest
from inspect_core.rigging.figures import PROFILES
from inspect_core.rigging.guardrail import RailMaterial
from inspect_core.rigging.kit import Gate, JoinedTo, KitUse, Role
from inspect_core.rigging.units import SYSTEMS

STATUSES = ("in service", "hold", "on hold", "withdrawn", "destroyed")

_ABSORBERS = tuple(c.value for c in AbsorberClass)
_FLAG = "true, false, or null for not checked"

SCALE: Mapping[str, Field] = {
    "points": Field("list of pixel", "the two ends of a known length in the picture", needed=True),
    "length": Field("length", "that length, with its uncertainty", needed=True),
    "point_sd_px": Field("number", "standard deviation of pointing in pixels, 2 is usual by finger", needed=True),
}

PART: Mapping[str, Field] = {
    "role": Field("choice", "what the part does", tuple(r.value for r in Role), needed=True),
    "kind": Field("choice", "kind of gear", tuple(k.value for k in Kind), needed=True),
    "tag": Field("text", "the item's tag", needed=True),
    "status": Field("choice", "custody word", STATUSES),
    "due_on": Field("date", "day its next inspection is due"),
    "made_on": Field("date", "day of making, from the label"),
    "first_used_on": Field("date", "day of first use"),
    "maker_max_age_years": Field("number", "the maker's age limit in years"),
    "fibre": Field("choice", "fibre of a rope", tuple(f.value for f in Fibre)),
    "label_rope_diameter": Field("length", "diameter on the lifeline's label"),
    "rope_diameter": Field("length", "diameter measured, with its uncertainty"),
    "rope_type": Field("text", "type of the lifeline's rope, in the maker's words"),
    "accepted_rope_types": Field("list of text", "rope types the rope grab is made for"),
    "accepted_rope_range": Field("list of length", "smallest and largest rope diameter of the rope grab"),
    "absorber": Field("flag", "whether the part holds an energy absorber"),
    "absorber_class": Field("choice", "class on the absorber's label", _ABSORBERS),
    "mass_range": Field("list of mass", "smallest and largest user the maker allows"),
    "strength": Field("force", "strength on the label"),
}

JOINT: Mapping[str, Field] = {
    "hook": Field("text", "the hook or connector", needed=True),
    "to": Field("text", "what it holds", needed=True),
    "joined_to": Field("choice", "what sort of thing that is", tuple(j.value for j in JoinedTo)),
    "gate": Field("choice", "how the gate behaves", tuple(g.value for g in Gate)),
    "throat": Field("length", "opening of the gate"),
    "bar": Field("length", "thickness of what must pass the gate"),
    "alone_in_ring": Field("flag", "whether no other hook hangs in the same ring"),
}

_RING = "“roof” or “opening 1”, “opening 2”, …"

FORMS: Mapping[str, Mapping[str, Field]] = {
    "kit fit": {
        "on": Field("date", "day of the work", needed=True),
        "use": Field("choice", "what the kit is for", tuple(u.value for u in KitUse), needed=True),
        "user_mass": Field("mass", "worker with clothing and tools"),
        "parts": Field("list of object", "every item of the kit", needed=True, inside=PART),
        "joints": Field("list of object", "every hook and what it is clipped to", inside=JOINT),
    },
    "direction": {
        "arrow": Field("list of pixel", "the arrow on the rope grab, from tail to head"),
        "rope": Field("list of pixel", "the rope, from the grab toward the anchor"),
        "point_sd_px": Field("number", "standard deviation of pointing in pixels"),
        "pull_test": Field("choice", "what the grab did when pulled", tuple(p.value for p in PullTest)),
        "back_ring_between_shoulder_blades": Field("flag", _FLAG),
        "chest_strap_mid_chest": Field("flag", _FLAG),
        "leg_straps_snug": Field("flag", _FLAG),
    },
    "restraint": {
        "roof": Field("list of point", "corners of the roof in order, walking once around"),
        "openings": Field("list of list of point", "corners of each opening"),
        "anchor": Field("point", "the anchor"),
        "csv": Field("long text", "instead of roof, openings and anchor: rows of ring,x,y"),
        "sketch": Field(
            "object",
            "instead of roof, openings and anchor: a drawing over a picture",
            inside={
                "roof": Field("list of pixel", "corners in pixels, y down", needed=True),
                "openings": Field("list of list of pixel", "corners of each opening"),
                "anchor": Field("pixel", "the anchor", needed=True),
                "scale": Field("object", "a known length", needed=True, inside=SCALE),
            },
        ),
        "closed_edges": Field(
            "list of object",
            "edges nobody can fall over: a wall, or a guardrail with its own check",
            inside={
                "ring": Field("text", _RING, needed=True),
                "edge": Field("whole number", "counted from 1; edge 1 runs from corner 1 to corner 2", needed=True),
            },
        ),
        "point_uncertainty": Field("length", "expanded uncertainty of any point of the plan"),
        "rope": Field("length", "from the anchor to the end stop of the rope grab"),
        "lanyard": Field("length", "between rope grab and harness ring; 0 when there is none"),
        "stretch_share": Field("number", "share by which rope and lanyard lengthen, 0.05 is 5 %"),
        "harness_shift": Field("length", "how far the ring itself moves"),
        "body_reach": Field("length", "how far the body gets over beyond the ring"),
    },
    "clearance": {
        "datum": Field("choice", "where the sum starts", tuple(x.value for x in Datum), needed=True),
        "available": Field("length", "from the datum down to the nearest thing below"),
        "user_mass": Field("mass", "worker with clothing and tools"),
        "lanyard": Field("length", "lanyard with its absorber, not opened"),
        "attachment_above_ring": Field(
            "length", "height of the attachment above the harness ring; below zero when lower"
        ),
        "free_fall": Field("length", "instead of lanyard, attachment height and locking distance"),
        "locking": Field("length", "what a rope grab or brake travels before it holds"),
        "arrest_distance": Field("length", "the maker's whole stopping distance of a self-retracting lifeline"),
        "absorber": Field("choice", "class on the absorber's label", _ABSORBERS),
        "deceleration": Field("length", "greatest extension of the absorber on its label"),
        "harness_stretch": Field("length", "harness stretch and shift of the ring"),
        "rope_stretch": Field("length", "stretch of the rope under the arrest force"),
        "swing_height": Field("length", "height of the anchor above the ring, where there is an offset"),
        "swing_offset": Field("length", "offset of the anchor to the side"),
        "ring_height": Field("length", "harness ring above the feet (datum anchor)"),
        "margin": Field("length", "room kept free below the feet"),
        "max_free_fall": Field("length", "the maker's greatest free fall"),
        "arrest_force": Field("force", "the maker's greatest arrest force"),
        "mass_range": Field("list of mass", "smallest and largest user the maker allows"),
    },
    "swing": {
        "height": Field("length", "anchor above the harness ring"),
        "offset": Field("length", "worker to the side of the anchor"),
        "clear": Field("length", "from below the anchor to the nearest thing that could be hit, either side"),
        "maker_offset": Field("length", "the maker's greatest offset"),
    },
    "anchor": {
        "use": Field("choice", "what the anchor is to hold", tuple(u.value for u in AnchorUse), needed=True),
        "rating": Field("force", "rated strength in the direction of the pull"),
        "rated_by": Field("choice", "who answers for it", tuple(r.value for r in RatedBy)),
        "persons": Field("whole number", "attached at one time", needed=True),
        "inspected": Field("flag", "looked over today, nothing wrong seen"),
    },
    "guardrail": {
        "top_rail": Field("list of length", "height at each place measured: give the lowest and the highest"),
        "mid_rail": Field("length", "height of the mid rail; 0 when there is none"),
        "toe_board": Field("length", "height of the toe board; 0 when there is none"),
        "toe_gap": Field("length", "gap under the toe board"),
        "edge_distance": Field("length", "from the edge of the surface to the guardrail, widest place"),
        "post_spacing": Field("length", "widest spacing, centre to centre"),
        "material": Field("choice", "what the rails are made of", tuple(m.value for m in RailMaterial)),
        "timber": Field("list of length", "thickness and depth of the smallest post or rail"),
        "rope_diameter": Field("length", "diameter of a wire-rope rail"),
        "separators": Field("length", "spacing of the separators of a wire-rope rail"),
        "top_load": Field("force", "sideways load the top rail is designed or tested for"),
        "top_load_down": Field("force", "downward load of the top rail"),
        "mid_load": Field("force", "load of the mid rail"),
        "toe_load": Field("force", "load of the toe board"),
        "strength_accepted": Field("flag", "a competent person accepted posts, rails and fixings"),
        "photo": Field(
            "object",
            "instead of typed heights: points on one photo that faces the guardrail squarely",
            inside={
                "base": Field("pixel", "the surface walked on, below the rails", needed=True),
                "top_rail": Field("list of pixel", "top edge, one point per place"),
                "mid_rail": Field("pixel", "top of the mid rail"),
                "toe_board": Field("pixel", "top of the toe board"),
                "scale": Field("object", "a known length in the same plane", needed=True, inside=SCALE),
            },
        ),
    },
}
CHECKS = tuple(FORMS)

HEAD: Mapping[str, Field] = {
    "check": Field("choice", "which check", CHECKS, needed=True),
    "profile": Field("choice", "whose figures apply", PROFILES, needed=True),
    "units": Field("choice", "what bare numbers mean; without it each number carries its unit", tuple(SYSTEMS)),
}
