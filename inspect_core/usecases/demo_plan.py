"""What happens on the demo site: an invented site's gear and what wears it out, from a seed. Writes nothing.

Every figure here is made up to give a lively picture; none is a rate that anybody measured. One cause is planted: gear
kept in the store beside the battery charger gets chemical damage far more often than the same gear elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

import numpy as np

from inspect_core.domain.gear import LINE_OF, PARTS, Component, Fibre, Kind
from inspect_core.domain.marks import Category

SITES = ("North Quay", "Mill Street", "Canal Bridge")
#: The planted cause: what is kept here is harmed by fumes.
CHARGER_STORE = "Kept in store 2, beside the battery charger."
_OTHER_STORES = ("Kept in store 1.", "Kept in the site container.", "Kept in the tool crib.")

_K, _P, _C = Kind, Component, Category
#: How many of each kind the site starts with, and the three-letter start of their tags.
FLEET: Mapping[Kind, tuple[int, str]] = {
    _K.HARNESS: (13, "HAR"),
    _K.WEBBING_LANYARD: (14, "LAN"),
    _K.SYNTHETIC_ROPE_LANYARD: (5, "RLN"),
    _K.WIRE_ROPE_LANYARD: (4, "WLN"),
    _K.ROPE_GRAB: (6, "GRB"),
    _K.VERTICAL_LIFELINE: (7, "VLL"),
    _K.HORIZONTAL_LIFELINE: (2, "HLL"),
    _K.SELF_RETRACTING_LIFELINE: (5, "SRL"),
    _K.CONNECTOR: (7, "CON"),
    _K.ANCHOR_SLING: (5, "SLG"),
}

#: Chance per year that a part of a kind is harmed so. Invented.
_HARM: Mapping[Kind, tuple[tuple[Component, Category, float], ...]] = {
    _K.HARNESS: (
        (_P.WEBBING, _C.CUT, 0.05),
        (_P.WEBBING, _C.BURN, 0.05),
        (_P.STITCHING, _C.BROKEN_STITCH, 0.05),
        (_P.WEBBING, _C.ABRASION, 0.06),
        (_P.LABEL, _C.LABEL, 0.04),
        (_P.BUCKLE, _C.RUST, 0.03),
    ),
    _K.WEBBING_LANYARD: (
        (_P.WEBBING, _C.CUT, 0.10),
        (_P.WEBBING, _C.FRAY, 0.06),
        (_P.WEBBING, _C.BURN, 0.06),
        (_P.ENERGY_ABSORBER, _C.DEPLOYED_ABSORBER, 0.05),
        (_P.SNAP_HOOK, _C.RUST, 0.05),
        (_P.STITCHING, _C.BROKEN_STITCH, 0.05),
    ),
    _K.SYNTHETIC_ROPE_LANYARD: ((_P.ROPE, _C.ABRASION, 0.08), (_P.ROPE, _C.CUT, 0.07), (_P.ROPE, _C.BURN, 0.06)),
    _K.WIRE_ROPE_LANYARD: ((_P.WIRE_ROPE, _C.BROKEN_WIRE, 0.10), (_P.SNAP_HOOK, _C.RUST, 0.07)),
    _K.ROPE_GRAB: ((_P.CAM, _C.RUST, 0.08), (_P.CAM, _C.WEAR, 0.06), (_P.HOUSING, _C.CRACK, 0.03)),
    _K.VERTICAL_LIFELINE: ((_P.ROPE, _C.CUT, 0.08), (_P.ROPE, _C.BURN, 0.09), (_P.ROPE, _C.DISCOLOURATION, 0.06)),
    _K.HORIZONTAL_LIFELINE: ((_P.TERMINATION, _C.RUST, 0.08),),
    _K.SELF_RETRACTING_LIFELINE: ((_P.BRAKE, _C.MOVING_PART, 0.06), (_P.INDICATOR, _C.DEPLOYED_ABSORBER, 0.05)),
    _K.CONNECTOR: ((_P.GATE, _C.MOVING_PART, 0.06), (_P.BODY, _C.WEAR, 0.05)),
    _K.ANCHOR_SLING: ((_P.WEBBING, _C.ABRASION, 0.09), (_P.WEBBING, _C.CUT, 0.08)),
}
_CHARGER_HARM = 0.55
#: Shares of items that nobody has looked at for long, and that were damaged just now. Invented.
_FORGOTTEN, _FRESH = 0.07, 0.13
#: Standard marks as such gear carries them; numbers from memory.
_STANDARD_MARKS: Mapping[Kind, str] = {
    _K.HARNESS: "EN 361",
    _K.WEBBING_LANYARD: "EN 354, EN 355",
    _K.SYNTHETIC_ROPE_LANYARD: "EN 354",
    _K.WIRE_ROPE_LANYARD: "EN 354",
    _K.ROPE_GRAB: "EN 353-2",
    _K.VERTICAL_LIFELINE: "EN 353-2",
    _K.HORIZONTAL_LIFELINE: "EN 795",
    _K.SELF_RETRACTING_LIFELINE: "EN 360",
    _K.CONNECTOR: "EN 362",
    _K.ANCHOR_SLING: "EN 795",
}
_CLOTH = (_K.HARNESS, _K.WEBBING_LANYARD, _K.ANCHOR_SLING)


@dataclass(frozen=True, slots=True)
class Harm:
    """A part of an item is damaged on a day, and shows at the next look."""

    on: date
    component: Component
    category: Category


@dataclass(frozen=True, slots=True)
class PlannedItem:
    """An item's registered fields, the parts it has, and its days of inspection with what harms it."""

    fields: Mapping[str, Any]
    absent: frozenset[Component]
    starts: date
    periodic: tuple[date, ...]
    checks: tuple[date, ...]
    harms: tuple[Harm, ...] = field(default=())
    wears_yearly: float = 0.0  # share of a connector's section worn away in a year, measured at each inspection

    @property
    def kind(self) -> Kind:
        return Kind(self.fields["kind"])


def plan_site(seed: int, until: date, years: int = 3) -> tuple[PlannedItem, ...]:
    """The items of the site over the years before `until`. The same arguments give the same plan."""
    rng = np.random.default_rng([seed, 1])
    start = until - timedelta(days=365 * years)
    items = []
    for kind, (count, letters) in FLEET.items():
        for number in range(1, count + 1):
            late = number > count * 0.7
            begins = start + timedelta(days=int(rng.integers(200, 700) if late else rng.integers(0, 40)))
            items.append(plan_item(kind, f"{letters}-{number:03d}", begins, until, rng))
    return tuple(items)


def plan_item(kind: Kind, tag: str, begins: date, until: date, rng: np.random.Generator) -> PlannedItem:
    """One item from its first day on site until `until`."""
    cloth = kind in _CLOTH
    charger = cloth and rng.random() < 0.22
    fields = _fields(kind, tag, begins, charger, rng)
    periodic = tuple(_spaced(begins, until, 168, 9, rng))
    checks = tuple(day for day in _spaced(begins, until, 62, 14, rng) if day not in periodic)
    if rng.random() < _FORGOTTEN:  # left in a box: nobody has looked for half a year, so it is overdue now
        last = until - timedelta(days=int(rng.integers(185, 240)))
        periodic, checks = (tuple(day for day in days if day < last) for days in (periodic, checks))
    harms = [
        Harm(begins + timedelta(days=day), component, category)
        for component, category, yearly in _harm_of(kind, charger)
        if (day := int(rng.exponential(365 / yearly))) < (until - begins).days - 2
    ]
    if rng.random() < _FRESH and checks:  # found yesterday, and not settled yet
        component, category, _ = _HARM[kind][int(rng.integers(len(_HARM[kind])))]
        harms.append(Harm(until - timedelta(days=2), component, category))
        checks = (*checks, until - timedelta(days=1))
    wears = float(rng.uniform(0.012, 0.024)) if kind is _K.CONNECTOR and rng.random() < 0.6 else 0.0
    ordered = tuple(sorted(harms, key=lambda h: h.on))
    return PlannedItem(fields, _absent(kind, rng), begins, periodic, checks, ordered, wears)


def _harm_of(kind: Kind, charger: bool) -> tuple[tuple[Component, Category, float], ...]:
    return _HARM[kind] + (((_P.WEBBING, _C.CHEMICAL, _CHARGER_HARM),) if charger else ())


def _fields(kind: Kind, tag: str, begins: date, charger: bool, rng: np.random.Generator) -> dict[str, Any]:
    maker = str(rng.choice(["Maker A", "Maker B", "Maker C"]))
    fields: dict[str, Any] = {
        "tag": tag,
        "kind": kind.value,
        "site": "Mill Street" if charger else str(rng.choice(SITES)),
        "maker": maker,
        "model": f"{maker[-1]}{int(rng.integers(1, 4))}0",
        "serial": f"{begins:%y%m}-{int(rng.integers(10000, 99999))}",
        "made_on": begins - timedelta(days=int(rng.integers(40, 400))),
        "first_used_on": begins,
        "profile": "uk europe",
        "maker_max_age_years": 10.0,
        "price": float(rng.integers(6, 60) * 5),
        "note": CHARGER_STORE if charger else str(rng.choice(_OTHER_STORES)),
    }
    if kind in _CLOTH:
        fields |= {"fibre": Fibre.POLYESTER.value, "webbing_width_mm": 45.0}
    if kind in (_K.WEBBING_LANYARD, _K.SYNTHETIC_ROPE_LANYARD, _K.WIRE_ROPE_LANYARD):
        fields["packed_length_mm"] = 210.0
    if kind in (_K.SYNTHETIC_ROPE_LANYARD, _K.VERTICAL_LIFELINE):
        fields |= {"fibre": Fibre.POLYESTER.value, "rope_diameter_mm": 16.0}
    if kind is _K.WIRE_ROPE_LANYARD:
        fields["rope_diameter_mm"] = 6.0
    if kind is _K.ROPE_GRAB:
        fields["rope_range_mm"] = (15.0, 17.0)
    fields["standards"] = _STANDARD_MARKS[kind]
    return fields


def _absent(kind: Kind, rng: np.random.Generator) -> frozenset[Component]:
    """Optional parts that this item was made without; one load-bearing line is always there."""
    lines = LINE_OF.get(kind, ())
    kept = lines[int(rng.integers(len(lines)))] if lines else None
    goes_with = {_P.WEBBING: {_P.STITCHING}, _P.WIRE_ROPE: {_P.TERMINATION, _P.THIMBLE}, _P.ROPE: {_P.TERMINATION}}
    wanted = {kept} | goes_with.get(kept, set()) if kept else set()
    if kind is _K.WEBBING_LANYARD or (kind.value.endswith("lanyard") and rng.random() < 0.5):
        wanted.add(_P.ENERGY_ABSORBER)
    if kind is _K.ANCHOR_SLING:
        wanted = {_P.WEBBING, _P.STITCHING, _P.D_RING}
    return frozenset(p.component for p in PARTS[kind] if p.may_be_absent and p.component not in wanted)


def _spaced(begins: date, until: date, days: int, jitter: int, rng: np.random.Generator) -> Iterator[date]:
    day = begins
    while True:
        day += timedelta(days=days + int(rng.integers(-jitter, jitter + 1)))
        if day >= until:
            return
        yield day
