from datetime import date

import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import LINE_OF, PARTS, Component, Item, Kind, clean_tag, components_of, may_be_absent


@pytest.mark.parametrize("kind", Kind)
def test_every_kind_lists_its_components_once_and_always_its_label(kind):
    parts = components_of(kind)
    assert len(set(parts)) == len(parts) >= 3
    assert Component.LABEL in parts
    assert not may_be_absent(kind, Component.LABEL)


@pytest.mark.parametrize("kind", LINE_OF)
def test_a_line_that_comes_in_several_materials_may_lack_each_of_them(kind):
    for component in LINE_OF[kind]:
        assert component in components_of(kind)
        assert may_be_absent(kind, component)


def test_every_lanyard_may_come_with_or_without_an_absorber():
    for kind in (Kind.WEBBING_LANYARD, Kind.SYNTHETIC_ROPE_LANYARD, Kind.WIRE_ROPE_LANYARD):
        assert may_be_absent(kind, Component.ENERGY_ABSORBER)


def test_every_component_belongs_to_some_kind():
    assert {part.component for parts in PARTS.values() for part in parts} == set(Component)


@pytest.mark.parametrize(("typed", "tag"), [(" lan-001 ", "LAN-001"), ("7", "7"), ("a/b.c_d-e", "A/B.C_D-E")])
def test_a_tag_is_trimmed_and_upper_case(typed, tag):
    assert clean_tag(typed) == tag


@pytest.mark.parametrize("typed", ["", "  ", "-1", "A B", "Ä1", "A" * 33, "../A", "A\n1", "A<b>"])
def test_a_text_that_is_no_tag_is_refused(typed):
    with pytest.raises(BadInput, match="is no tag"):
        clean_tag(typed)


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"webbing_width_mm": 0}, "webbing width"),
        ({"rope_diameter_mm": -1}, "rope diameter"),
        ({"packed_length_mm": float("nan")}, "packed length"),
        ({"maker_max_age_years": float("inf")}, "maker max age"),
        ({"rope_range_mm": (17, 15)}, "smallest"),
        ({"made_on": date(2024, 5, 2), "first_used_on": date(2024, 5, 1)}, "before the day of making"),
        ({"price": -0.01}, "price"),
    ],
)
def test_an_item_that_contradicts_itself_is_refused(fields, said):
    with pytest.raises(BadInput, match=said):
        Item("i", "T1", Kind.HARNESS, **fields)
