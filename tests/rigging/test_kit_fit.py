from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Fibre, Item, Kind
from inspect_core.rigging.arrest import AbsorberClass
from inspect_core.rigging.kit import Gate, JoinedTo, Joint, Kit, KitPart, KitUse, Role
from inspect_core.rigging.kit_fit import check_kit
from inspect_core.rigging.result import Answer, Line
from inspect_core.rigging.units import Quantity

DAY = date(2026, 5, 4)


def part(role: Role, kind: Kind, tag: str, **more: object) -> KitPart:
    item = Item(id=tag, tag=tag, kind=kind)
    return KitPart(role, item, "in service", date(2026, 6, 1), mass_range_kg=(59.0, 140.0), **more)  # type: ignore[arg-type]


HARNESS = part(Role.HARNESS, Kind.HARNESS, "H-1")
GRAB = replace(
    part(Role.ROPE_GRAB, Kind.ROPE_GRAB, "G-1", accepted_rope_types=("kernmantle", "three-strand"), absorber=False),
    item=Item(id="G-1", tag="G-1", kind=Kind.ROPE_GRAB, rope_range_mm=(15.0, 17.0)),
)
ROPE = part(
    Role.LIFELINE,
    Kind.VERTICAL_LIFELINE,
    "L-1",
    rope_type="Three-Strand",
    rope_diameter=Quantity(0.016, 0.0003),
    absorber=False,
)
ANCHOR = part(Role.ANCHOR, Kind.ANCHOR_SLING, "A-1")
LANYARD = part(Role.LANYARD, Kind.WEBBING_LANYARD, "Y-1", absorber=True)
JOINT = Joint(
    "Y-1 hook",
    "H-1 back ring",
    JoinedTo.RING,
    Gate.SELF_LOCKING,
    Quantity(0.019),
    Quantity(0.012),
    alone_in_ring=True,
)
RESTRAINT = Kit("common", KitUse.RESTRAINT, DAY, (HARNESS, GRAB, ROPE, ANCHOR), (JOINT,), Quantity(95))
ARREST = Kit("common", KitUse.ARREST, DAY, (HARNESS, LANYARD, ANCHOR), (JOINT,), Quantity(95))


def swap(kit: Kit, old: KitPart, new: KitPart | None) -> Kit:
    parts = tuple(new if one is old else one for one in kit.parts)
    return replace(kit, parts=tuple(one for one in parts if one is not None))


def with_item(one: KitPart, **more: object) -> KitPart:
    return replace(one, item=replace(one.item, **more))  # type: ignore[arg-type]


def lines(kit: Kit, topic: str) -> list[Line]:
    return [line for line in check_kit(kit).lines if topic in line.topic]


@pytest.mark.parametrize("kit", [RESTRAINT, ARREST], ids=["restraint", "arrest"])
def test_a_kit_in_order_is_a_go(kit: Kit) -> None:
    result = check_kit(kit)
    assert result.answer is Answer.GO, [line for line in result.lines if line.answer is not Answer.GO]


Change = Callable[[], Kit]
CASES: list[tuple[str, Change, str, Answer]] = [
    ("on hold", lambda: swap(RESTRAINT, ROPE, replace(ROPE, status="hold")), "L-1: status", Answer.NO),
    ("on hold, long word", lambda: swap(RESTRAINT, ROPE, replace(ROPE, status="on hold")), "L-1: status", Answer.NO),
    ("withdrawn", lambda: swap(RESTRAINT, ROPE, replace(ROPE, status="withdrawn")), "L-1: status", Answer.NO),
    ("destroyed", lambda: swap(RESTRAINT, ROPE, replace(ROPE, status="destroyed")), "L-1: status", Answer.NO),
    ("status unknown", lambda: swap(RESTRAINT, ROPE, replace(ROPE, status="")), "L-1: status", Answer.ASK),
    ("due today", lambda: swap(RESTRAINT, ROPE, replace(ROPE, due_on=DAY)), "L-1: in date", Answer.GO),
    ("overdue", lambda: swap(RESTRAINT, ROPE, replace(ROPE, due_on=date(2026, 5, 3))), "L-1: in date", Answer.NO),
    ("due day unknown", lambda: swap(RESTRAINT, ROPE, replace(ROPE, due_on=None)), "L-1: in date", Answer.ASK),
    (
        "too old",
        lambda: swap(RESTRAINT, ROPE, with_item(ROPE, maker_max_age_years=5.0, made_on=date(2021, 5, 1))),
        "L-1: age",
        Answer.NO,
    ),
    ("age unknown", lambda: swap(RESTRAINT, ROPE, with_item(ROPE, maker_max_age_years=5.0)), "L-1: age", Answer.ASK),
    (
        "rope too thin",
        lambda: swap(RESTRAINT, ROPE, replace(ROPE, rope_diameter=Quantity(0.0149))),
        "diameter",
        Answer.NO,
    ),
    (
        "rope too thick",
        lambda: swap(RESTRAINT, ROPE, replace(ROPE, rope_diameter=Quantity(0.0171))),
        "diameter",
        Answer.NO,
    ),
    (
        "rope at the limit, uncertain",
        lambda: swap(RESTRAINT, ROPE, replace(ROPE, rope_diameter=Quantity(0.0152, 0.0003))),
        "diameter",
        Answer.ASK,
    ),
    ("rope size unknown", lambda: swap(RESTRAINT, ROPE, replace(ROPE, rope_diameter=None)), "diameter", Answer.ASK),
    ("grab range unknown", lambda: swap(RESTRAINT, GRAB, with_item(GRAB, rope_range_mm=None)), "diameter", Answer.ASK),
    ("wrong rope", lambda: swap(RESTRAINT, ROPE, replace(ROPE, rope_type="wire")), "rope type", Answer.NO),
    ("rope type unknown", lambda: swap(RESTRAINT, ROPE, replace(ROPE, rope_type="")), "rope type", Answer.ASK),
    (
        "grab's rope unknown",
        lambda: swap(RESTRAINT, GRAB, replace(GRAB, accepted_rope_types=())),
        "rope type",
        Answer.ASK,
    ),
    ("no harness", lambda: swap(RESTRAINT, HARNESS, None), "parts", Answer.NO),
    (
        "two harnesses",
        lambda: replace(RESTRAINT, parts=(*RESTRAINT.parts, part(Role.HARNESS, Kind.HARNESS, "H-2"))),
        "parts",
        Answer.NO,
    ),
    ("no link", lambda: swap(ARREST, LANYARD, None), "parts", Answer.NO),
    ("grab without lifeline", lambda: swap(RESTRAINT, ROPE, None), "parts", Answer.NO),
    ("lifeline without grab", lambda: swap(RESTRAINT, GRAB, LANYARD), "parts", Answer.ASK),
    (
        "two lifelines",
        lambda: replace(RESTRAINT, parts=(*RESTRAINT.parts, with_item(ROPE, id="L-2", tag="L-2"))),
        "parts",
        Answer.ASK,
    ),
    ("no anchor", lambda: swap(ARREST, ANCHOR, None), "parts", Answer.ASK),
    ("no absorber in arrest", lambda: swap(ARREST, LANYARD, replace(LANYARD, absorber=False)), "absorber", Answer.NO),
    ("absorber unknown", lambda: swap(ARREST, LANYARD, replace(LANYARD, absorber=None)), "absorber", Answer.ASK),
    (
        "two absorbers",
        lambda: replace(ARREST, parts=(*ARREST.parts, with_item(LANYARD, id="Y-2", tag="Y-2"))),
        "absorber",
        Answer.NO,
    ),
    (
        "absorber after a self-retracting line",
        lambda: replace(
            ARREST, parts=(*ARREST.parts, part(Role.SELF_RETRACTING, Kind.SELF_RETRACTING_LIFELINE, "S-1"))
        ),
        "absorber",
        Answer.NO,
    ),
    ("user too heavy", lambda: replace(ARREST, user_mass=Quantity(140.1)), "user mass", Answer.NO),
    ("user too light", lambda: replace(ARREST, user_mass=Quantity(58.9)), "user mass", Answer.NO),
    ("user near the limit", lambda: replace(ARREST, user_mass=Quantity(139, 2)), "user mass", Answer.ASK),
    ("user not weighed", lambda: replace(ARREST, user_mass=None), "user mass", Answer.ASK),
    (
        "mass range unknown",
        lambda: swap(ARREST, HARNESS, replace(HARNESS, mass_range_kg=None)),
        "H-1: user mass",
        Answer.ASK,
    ),
    (
        "user outside the absorber's class",
        lambda: swap(
            replace(ARREST, user_mass=Quantity(116)), LANYARD, replace(LANYARD, absorber_class=AbsorberClass.E4)
        ),
        "class E4",
        Answer.NO,
    ),
    ("no joints described", lambda: replace(ARREST, joints=()), "hooks and gates", Answer.ASK),
    (
        "gate unknown",
        lambda: replace(ARREST, joints=(replace(JOINT, gate=None),)),
        "gate",
        Answer.ASK,
    ),
    ("gate only closes", lambda: replace(ARREST, joints=(replace(JOINT, gate=Gate.SELF_CLOSING),)), "gate", Answer.NO),
    ("open hook", lambda: replace(ARREST, joints=(replace(JOINT, gate=Gate.OPEN),)), "gate", Answer.NO),
    ("screw gate", lambda: replace(ARREST, joints=(replace(JOINT, gate=Gate.SCREW),)), "gate", Answer.ASK),
    (
        "hook in hook",
        lambda: replace(ARREST, joints=(replace(JOINT, joined_to=JoinedTo.HOOK),)),
        "joined to",
        Answer.NO,
    ),
    (
        "hook on webbing",
        lambda: replace(ARREST, joints=(replace(JOINT, joined_to=JoinedTo.WEBBING),)),
        "joined to",
        Answer.NO,
    ),
    (
        "hook on bare rope",
        lambda: replace(ARREST, joints=(replace(JOINT, joined_to=JoinedTo.ROPE),)),
        "joined to",
        Answer.NO,
    ),
    (
        "joint unknown",
        lambda: replace(ARREST, joints=(replace(JOINT, joined_to=None),)),
        "joined to",
        Answer.ASK,
    ),
    (
        "two hooks in a ring",
        lambda: replace(ARREST, joints=(replace(JOINT, alone_in_ring=False),)),
        "alone",
        Answer.NO,
    ),
    (
        "other hooks unknown",
        lambda: replace(ARREST, joints=(replace(JOINT, alone_in_ring=None),)),
        "alone",
        Answer.ASK,
    ),
    (
        "bar wider than the gate",
        lambda: replace(ARREST, joints=(replace(JOINT, bar=Quantity(0.0191)),)),
        "size",
        Answer.NO,
    ),
    (
        "bar as wide as the gate, uncertain",
        lambda: replace(ARREST, joints=(replace(JOINT, bar=Quantity(0.0189, 0.0002)),)),
        "size",
        Answer.ASK,
    ),
    ("bar unknown", lambda: replace(ARREST, joints=(replace(JOINT, bar=None),)), "size", Answer.ASK),
    ("gate opening unknown", lambda: replace(ARREST, joints=(replace(JOINT, throat=None),)), "size", Answer.ASK),
]


@pytest.mark.parametrize(("change", "topic", "expected"), [case[1:] for case in CASES], ids=[case[0] for case in CASES])
def test_each_mismatch_of_a_kit_is_told_with_its_remedy(change: Change, topic: str, expected: Answer) -> None:
    kit = change()
    order = [Answer.GO, Answer.ASK, Answer.NO]
    worst = max(lines(kit, topic), key=lambda line: order.index(line.answer))
    assert worst.answer is expected
    assert order.index(check_kit(kit).answer) >= order.index(expected)
    if expected is not Answer.GO:
        assert worst.remedy


def test_a_measured_diameter_stands_before_the_label_for_the_rope_grab() -> None:
    worn = swap(RESTRAINT, ROPE, replace(with_item(ROPE, rope_diameter_mm=16.0), rope_diameter=Quantity(0.0145)))
    assert lines(worn, "diameter")[0].answer is Answer.NO
    label = swap(RESTRAINT, ROPE, replace(with_item(ROPE, rope_diameter_mm=16.0), rope_diameter=None))
    assert lines(label, "diameter")[0].answer is Answer.GO
    assert "label" in lines(label, "diameter")[0].reason


@pytest.mark.parametrize(
    ("fibre", "millimetres", "expected"),
    [
        (Fibre.POLYPROPYLENE, 16.0, Answer.GO),
        (Fibre.POLYPROPYLENE, 15.9, Answer.NO),
        (Fibre.POLYESTER, 15.9, Answer.ASK),
        (Fibre.UNKNOWN, 16.0, Answer.GO),
    ],
)
def test_ontario_wants_16_mm_of_polypropylene_or_equal_strength(
    fibre: Fibre, millimetres: float, expected: Answer
) -> None:
    # Row B84, from memory.
    rope = with_item(ROPE, fibre=fibre, rope_diameter_mm=millimetres)
    (line,) = lines(swap(replace(RESTRAINT, profile="canada ontario"), ROPE, rope), "least diameter")
    assert (line.answer, line.cite.basis) == (expected, "from memory")


@pytest.mark.parametrize(
    ("kilonewtons", "expected"), [(22.2, Answer.NO), (22.3, Answer.GO), (None, Answer.ASK)], ids=str
)
def test_federal_construction_wants_5000_lbf_of_a_lanyard(kilonewtons: float | None, expected: Answer) -> None:
    kit = swap(replace(ARREST, profile="us construction"), LANYARD, replace(LANYARD, strength_kn=kilonewtons))
    (line,) = lines(kit, "Y-1: strength")
    assert (line.answer, line.cite.row) == (expected, "C26")


@pytest.mark.parametrize(
    ("profile", "kit", "row"),
    [
        ("canada ontario", RESTRAINT, "A06"),
        ("canada ontario", ARREST, "A07"),
        ("us construction", ARREST, "A03"),
        ("us construction", RESTRAINT, ""),
        ("us general industry", RESTRAINT, "A01"),
        ("common", ARREST, ""),
    ],
)
def test_gear_on_hold_is_cited_by_the_text_for_that_use(profile: str, kit: Kit, row: str) -> None:
    assert {line.cite.row for line in lines(replace(kit, profile=profile), ": status")} == {row}
    assert {line.cite.row for line in lines(replace(kit, profile=profile), ": in date")} == {""}


def test_every_line_is_cited_or_called_common_practice() -> None:
    for line in check_kit(RESTRAINT).lines:
        assert line.cite.basis in ("published", "maker", "common practice", "from memory", "geometry")
        assert line.cite.basis != "published" or line.cite.section


def test_kits_and_parts_that_make_no_sense_are_refused() -> None:
    with pytest.raises(BadInput, match="no parts"):
        replace(ARREST, parts=())
    with pytest.raises(BadInput, match="in the kit twice"):
        replace(ARREST, parts=(HARNESS, HARNESS))
    with pytest.raises(BadInput, match="cannot be the harness"):
        KitPart(Role.HARNESS, GRAB.item)
    with pytest.raises(BadInput, match="upside down"):
        replace(HARNESS, mass_range_kg=(140.0, 59.0))
    with pytest.raises(BadInput, match="strength"):
        replace(HARNESS, strength_kn=0.0)
    with pytest.raises(BadInput, match="rope diameter"):
        replace(ROPE, rope_diameter=Quantity(0.0))
    with pytest.raises(BadInput, match="too many parts"):
        replace(ARREST, joints=(JOINT,) * 101)
