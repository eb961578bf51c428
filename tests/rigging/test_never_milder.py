"""Longer rope, nearer edge, heavier user, lower clearance, larger uncertainty: never a milder answer."""

from __future__ import annotations

from dataclasses import fields, replace

from hypothesis import given, settings
from hypothesis import strategies as st

from inspect_core.domain.geometry import Point
from inspect_core.rigging.anchors import AnchorCase, AnchorUse, RatedBy, check_anchor_strength
from inspect_core.rigging.arrest import AbsorberClass
from inspect_core.rigging.clearance import ClearanceCase, Datum, check_clearance
from inspect_core.rigging.direction import DirectionCase, PullTest, check_direction
from inspect_core.rigging.figures import PROFILES
from inspect_core.rigging.guardrail import GuardrailCase, RailMaterial, check_guardrail
from inspect_core.rigging.kit_fit import check_kit
from inspect_core.rigging.restraint import Tether, check_restraint
from inspect_core.rigging.result import HABIT, SEVERITY, Answer, Result, within
from inspect_core.rigging.roof import Roof
from inspect_core.rigging.swing import SwingCase, check_swing
from inspect_core.rigging.units import Quantity
from tests.rigging.test_kit_fit import ARREST, RESTRAINT, ROPE, swap

PROPERTY = settings(max_examples=60, deadline=None)


def lengths(low: float, high: float) -> st.SearchStrategy[float]:
    # Millimetres: people measure no finer, and limits are hit exactly often enough to matter.
    return st.integers(round(low * 1000), round(high * 1000)).map(lambda mm: mm / 1000)


MORE = lengths(0, 2)
DOUBT = st.sampled_from([0.0, 0.0, 0.005, 0.02, 0.1])
PROFILE = st.sampled_from(PROFILES)


def quantity(low: float, high: float) -> st.SearchStrategy[Quantity]:
    return st.builds(Quantity, lengths(low, high), DOUBT)


def not_milder(before: Result | Answer, after: Result | Answer) -> None:
    first = before if isinstance(before, Answer) else before.answer
    second = after if isinstance(after, Answer) else after.answer
    assert SEVERITY[second] >= SEVERITY[first]


def larger(value: Quantity, by: float) -> Quantity:
    return Quantity(value.value + by, value.uncertainty)


def vaguer(value: Quantity, by: float) -> Quantity:
    return Quantity(value.value, value.uncertainty + by)


@given(quantity(0, 10), lengths(0, 5), lengths(5, 10), MORE)
@PROPERTY
def test_guarded_acceptance_only_hardens_with_uncertainty(
    reading: Quantity, low: float, high: float, by: float
) -> None:
    def judged(one: Quantity) -> Answer:
        return within("x", one, "m", HABIT, "", low=low, high=high).answer

    not_milder(judged(reading), judged(vaguer(reading, by)))


def square(half: float, **more: float) -> Roof:
    return Roof(((-half, -half), (half, -half), (half, half), (-half, half)), **more)  # type: ignore[arg-type]


TETHER = st.builds(
    Tether,
    quantity(0, 6),
    st.none() | quantity(0, 1),
    st.none() | lengths(0, 0.3),
    quantity(0, 0.5),
    st.none() | quantity(0, 1.5),
)


@given(TETHER, lengths(0.5, 8), MORE, st.sampled_from(["rope", "lanyard", "harness_shift", "body_reach"]))
@PROPERTY
def test_a_longer_or_vaguer_part_of_the_tether_is_never_milder(
    tether: Tether, half: float, by: float, part: str
) -> None:
    roof, value = square(half), getattr(tether, part)
    if value is None:
        return
    before = check_restraint(roof, (0.0, 0.0), tether, "common")
    for changed in (larger(value, by), vaguer(value, by)):
        not_milder(before, check_restraint(roof, (0.0, 0.0), replace(tether, **{part: changed}), "common"))


@given(TETHER, lengths(0.5, 8), lengths(0, 1))
@PROPERTY
def test_more_stretch_is_never_milder(tether: Tether, half: float, by: float) -> None:
    if tether.stretch_share is None:
        return
    softer = replace(tether, stretch_share=min(1.0, tether.stretch_share + by))
    roof = square(half)
    not_milder(check_restraint(roof, (0.0, 0.0), tether, "common"), check_restraint(roof, (0.0, 0.0), softer, "common"))


@given(TETHER, lengths(0.5, 8), lengths(0.01, 0.99), DOUBT, DOUBT)
@PROPERTY
def test_a_nearer_edge_or_a_vaguer_plan_is_never_milder(
    tether: Tether, half: float, share: float, point: float, scale: float
) -> None:
    before = check_restraint(square(half), (0.0, 0.0), tether, "common")
    not_milder(before, check_restraint(square(half * share), (0.0, 0.0), tether, "common"))
    vague = square(half, point_uncertainty=point, scale_share=scale)
    not_milder(before, check_restraint(vague, (0.0, 0.0), tether, "common"))
    longest, nearer = (
        check_restraint(roof, (0.0, 0.0), tether, "common").numbers["longest_safe_rope_m"]
        for roof in (square(half), square(half * share))
    )
    assert (longest is None) == (nearer is None)
    assert longest is None or nearer is None or nearer <= longest


@given(TETHER, lengths(2, 8), lengths(-0.9, 0.9), lengths(-0.9, 0.9))
@PROPERTY
def test_cutting_an_opening_or_opening_a_closed_edge_is_never_milder(
    tether: Tether, half: float, x: float, y: float
) -> None:
    whole = square(half)
    walled = Roof(whole.outer, closed_edges=frozenset({(0, 0), (0, 2)}))
    before = check_restraint(whole, (0.0, 0.0), tether, "common")
    not_milder(check_restraint(walled, (0.0, 0.0), tether, "common"), before)
    cut = Roof(whole.outer, (((x + 0.01, y + 0.01), (x + 1, y + 0.01), (x + 1, y + 1), (x + 0.01, y + 1)),))
    if 0.01 + max(x, y) <= 0 <= 1 + min(x, y):
        return  # the anchor would stand in the opening, which is refused
    not_milder(before, check_restraint(cut, (0.0, 0.0), tether, "common"))


ANY = st.none() | quantity(0, 3)
FALL = st.builds(
    ClearanceCase,
    PROFILE,
    st.sampled_from(Datum),
    st.none() | quantity(0, 12),
    user_mass=st.none() | st.builds(Quantity, lengths(100, 160), DOUBT),
    lanyard=ANY,
    attachment_above_ring=st.none() | quantity(-1, 2),
    free_fall=ANY,
    locking=ANY,
    arrest_distance=ANY,
    absorber=st.none() | st.sampled_from(AbsorberClass),
    deceleration=ANY,
    harness_stretch=ANY,
    rope_stretch=ANY,
    ring_height=ANY,
    max_free_fall=ANY,
    arrest_force=st.none() | quantity(2, 10),
    mass_range=st.none() | st.just((59.0, 140.0)),
    margin=st.none() | quantity(0.5, 1),
)
GROWS = (
    "lanyard",
    "free_fall",
    "locking",
    "arrest_distance",
    "deceleration",
    "harness_stretch",
    "rope_stretch",
    "ring_height",
)


@given(FALL, MORE, st.sampled_from([*GROWS, "arrest_force", "user_mass"]))
@PROPERTY
def test_a_longer_fall_a_harder_stop_or_a_heavier_user_is_never_milder(
    case: ClearanceCase, by: float, name: str
) -> None:
    value = getattr(case, name)
    if value is not None:
        changed = larger(value, by * 30 if name == "user_mass" else by)
        not_milder(check_clearance(case), check_clearance(replace(case, **{name: changed})))


@given(FALL, MORE)
@PROPERTY
def test_less_room_or_a_lower_attachment_is_never_milder(case: ClearanceCase, by: float) -> None:
    for name in ("available", "attachment_above_ring"):
        value = getattr(case, name)
        if value is not None and (name != "available" or value.value >= by):
            not_milder(check_clearance(case), check_clearance(replace(case, **{name: larger(value, -by)})))


@given(FALL, MORE, st.data())
@PROPERTY
def test_a_vaguer_or_forgotten_length_is_never_milder(case: ClearanceCase, by: float, data: st.DataObject) -> None:
    known = [f.name for f in fields(case) if isinstance(getattr(case, f.name), Quantity)]
    if known:
        name = data.draw(st.sampled_from(known))
        before = check_clearance(case)
        not_milder(before, check_clearance(replace(case, **{name: vaguer(getattr(case, name), by)})))


@given(FALL, quantity(0, 5), quantity(-1, 6), MORE)
@PROPERTY
def test_a_wider_or_vaguer_swing_is_never_milder(
    case: ClearanceCase, offset: Quantity, height: Quantity, by: float
) -> None:
    before = check_clearance(replace(case, swing_height=height, swing_offset=offset))
    for changed in ((height, larger(offset, by)), (height, vaguer(offset, by)), (vaguer(height, by), offset)):
        not_milder(before, check_clearance(replace(case, swing_height=changed[0], swing_offset=changed[1])))
    not_milder(check_clearance(case), before)


@given(quantity(-1, 6), quantity(0, 5), st.none() | quantity(0, 8), st.none() | quantity(0, 5), MORE)
@PROPERTY
def test_swing_hardens_with_offset_nearness_and_doubt(
    height: Quantity, offset: Quantity, clear: Quantity | None, maker: Quantity | None, by: float
) -> None:
    case = SwingCase("common", height, offset, clear, maker)
    before = check_swing(case)
    changes = [
        {"offset": larger(offset, by)},
        {"offset": vaguer(offset, by)},
        {"height": vaguer(height, by)},
        {"height": larger(height, -by)},
    ]
    if clear is not None and clear.value >= by:
        changes += [{"clear": larger(clear, -by)}, {"clear": vaguer(clear, by)}]
    for change in changes:
        not_milder(before, check_swing(replace(case, **change)))  # type: ignore[arg-type]


@given(PROFILE, st.sampled_from(AnchorUse), quantity(0, 40), st.integers(1, 5), lengths(0, 20))
@PROPERTY
def test_a_weaker_or_vaguer_anchor_or_one_more_person_is_never_milder(
    profile: str, use: AnchorUse, rating: Quantity, persons: int, by: float
) -> None:
    case = AnchorCase(profile, use, rating, RatedBy.MAKER, persons, True)
    before = check_anchor_strength(case)
    not_milder(before, check_anchor_strength(replace(case, rating=vaguer(rating, by))))
    not_milder(before, check_anchor_strength(replace(case, persons=persons + 1)))
    if rating.value >= by:
        not_milder(before, check_anchor_strength(replace(case, rating=larger(rating, -by))))


RAIL = st.builds(
    GuardrailCase,
    PROFILE,
    st.lists(quantity(0.8, 1.2), max_size=2).map(tuple),
    mid_rail=st.none() | quantity(0.1, 0.7),
    toe_board=st.none() | quantity(0, 0.2),
    toe_gap=st.none() | quantity(0, 0.01),
    edge_distance=st.none() | quantity(0, 0.5),
    post_spacing=st.none() | quantity(1, 12),
    material=st.none() | st.sampled_from(RailMaterial),
    timber=st.none() | st.tuples(quantity(0.03, 0.05), quantity(0.08, 0.1)),
    rope_diameter=st.none() | quantity(0.005, 0.015),
    separators=st.none() | quantity(1, 3),
    top_load=st.none() | quantity(0, 2),
    mid_load=st.none() | quantity(0, 1),
    toe_load=st.none() | quantity(0, 1),
    strength_accepted=st.none() | st.booleans(),
)


@given(RAIL, DOUBT, st.data())
@PROPERTY
def test_a_vaguer_reading_of_a_guardrail_is_never_milder(case: GuardrailCase, by: float, data: st.DataObject) -> None:
    known = [f.name for f in fields(case) if isinstance(getattr(case, f.name), Quantity)]
    before = check_guardrail(case)
    if known:
        name = data.draw(st.sampled_from(known))
        not_milder(before, check_guardrail(replace(case, **{name: vaguer(getattr(case, name), by)})))
    not_milder(before, check_guardrail(replace(case, top_rail=tuple(vaguer(q, by) for q in case.top_rail))))


@given(RAIL, lengths(0, 1), st.sampled_from(["edge_distance", "post_spacing", "toe_gap", "separators"]))
@PROPERTY
def test_wider_gaps_and_spacings_are_never_milder(case: GuardrailCase, by: float, name: str) -> None:
    value = getattr(case, name)
    if value is not None:
        not_milder(check_guardrail(case), check_guardrail(replace(case, **{name: larger(value, by)})))


@given(st.builds(Quantity, lengths(60, 160), DOUBT), lengths(0, 60), st.sampled_from(PROFILES))
@PROPERTY
def test_a_heavier_user_is_never_milder_for_a_kit(mass: Quantity, by: float, profile: str) -> None:
    # From the least mass that every part allows upward: below it, a heavier user may well be the right one.
    kit = replace(ARREST, user_mass=mass, profile=profile)
    not_milder(check_kit(kit), check_kit(replace(kit, user_mass=larger(mass, by))))
    not_milder(check_kit(kit), check_kit(replace(kit, user_mass=vaguer(mass, by))))


@given(lengths(0.01, 0.02), DOUBT, DOUBT)
@PROPERTY
def test_a_vaguer_rope_diameter_is_never_milder(diameter: float, doubt: float, by: float) -> None:
    def fitted(spread: float) -> Result:
        return check_kit(swap(RESTRAINT, ROPE, replace(ROPE, rope_diameter=Quantity(diameter, spread))))

    not_milder(fitted(doubt), fitted(doubt + by))


@given(st.integers(-100, 100), st.integers(-100, 100), lengths(0.1, 5), lengths(0, 50))
@PROPERTY
def test_a_vaguer_mark_of_the_arrow_is_never_milder(x: int, y: int, sd: float, by: float) -> None:
    if x == 0 and y == 0:
        return
    case = DirectionCase(
        "common", Point(0, 0), Point(x, y), Point(0, 0), Point(0, -200), sd, PullTest.LOCKED, True, True, True
    )
    not_milder(check_direction(case), check_direction(replace(case, point_sd_px=sd + by)))
