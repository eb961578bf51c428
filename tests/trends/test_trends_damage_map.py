"""Where on the gear damage happens: counts per component and the outline drawings."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree

import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component, Kind, components_of
from inspect_core.domain.marks import Category
from inspect_core.domain.palette import luminance
from inspect_core.trends.damage_map import (
    STEPS,
    ComponentDamage,
    DamageMark,
    damage_by_component,
    damage_drawing,
    step_of,
)
from inspect_core.trends.outlines import OUTLINES, WIDTH

SVG = "{http://www.w3.org/2000/svg}"


def marks(component: Component, count: int, items: int = 1, category: Category = Category.CUT) -> list[DamageMark]:
    return [DamageMark(f"i{n}", f"item {n % items}", component, category) for n in range(count)]


def seen(kind: Kind, times: int) -> dict[Component, int]:
    return dict.fromkeys(components_of(kind), times)


def test_marks_are_counted_per_100_inspections_that_looked():
    """5 in 50; Garwood for 5: 1.6235 to 11.6683 (row D05)."""
    looked = seen(Kind.HARNESS, 100) | {Component.WEBBING: 50}
    found = {d.component: d for d in damage_by_component(Kind.HARNESS, marks(Component.WEBBING, 5, items=2), looked)}
    webbing = found[Component.WEBBING]
    assert (webbing.marks, webbing.items, webbing.inspections) == (5, 2, 5)
    assert (webbing.per_100, webbing.low, webbing.high) == pytest.approx((10, 3.247, 23.3366), abs=1e-3)
    assert (found[Component.BUCKLE].marks, found[Component.BUCKLE].per_100) == (0, 0)


def test_every_component_is_listed_in_inspection_order():
    for kind in Kind:
        found = damage_by_component(kind, [], {})
        assert tuple(damage.component for damage in found) == components_of(kind)


def test_categories_come_most_frequent_first():
    rows = marks(Component.WEBBING, 2, category=Category.BURN) + marks(Component.WEBBING, 3)
    found = damage_by_component(Kind.HARNESS, rows, seen(Kind.HARNESS, 20))
    webbing = next(d for d in found if d.component is Component.WEBBING)
    assert webbing.categories == ((Category.CUT, 3), (Category.BURN, 2))


def test_a_component_looked_at_too_rarely_has_no_rate():
    found = damage_by_component(Kind.CONNECTOR, marks(Component.GATE, 2), seen(Kind.CONNECTOR, 9))
    gate = next(d for d in found if d.component is Component.GATE)
    assert (gate.marks, gate.per_100, step_of(gate, 10)) == (2, None, None)
    assert gate.in_words == "gate: 2 marks, too few looks (9) for a rate"


def test_counts_that_contradict_each_other_are_refused():
    with pytest.raises(BadInput, match="has no rope"):
        damage_by_component(Kind.CONNECTOR, marks(Component.ROPE, 1), {})
    with pytest.raises(BadInput, match="looked at in 1"):
        damage_by_component(Kind.CONNECTOR, marks(Component.GATE, 2), {Component.GATE: 1})
    with pytest.raises(BadInput, match="not the components"):
        damage_drawing(Kind.HARNESS, damage_by_component(Kind.CONNECTOR, [], {}))


@pytest.mark.parametrize("kind", Kind)
def test_every_kind_has_one_region_per_component_inside_its_drawing(kind: Kind):
    outline = OUTLINES[kind]
    assert sorted(r.component for r in outline.regions) == sorted(components_of(kind))
    assert len({r.number_at for r in outline.regions}) == len(outline.regions)
    for region in outline.regions:
        assert 9 <= region.number_at[0] <= WIDTH - 9 and 9 <= region.number_at[1] <= outline.height - 4
        assert any(not shape.detail for shape in region.shapes)
        for shape in region.shapes:
            for x, y in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", shape.path):
                assert 0 <= float(x) <= WIDTH and 0 <= float(y) <= outline.height


@pytest.mark.parametrize("kind", Kind)
def test_numbers_do_not_cover_each_other(kind: Kind):
    places = [region.number_at for region in OUTLINES[kind].regions]
    for n, (x, y) in enumerate(places):
        assert all((x - a) ** 2 + (y - b) ** 2 >= 17**2 for a, b in places[n + 1 :])


@pytest.mark.parametrize("kind", Kind)
def test_the_drawing_is_sound_svg_that_names_every_component_with_its_counts(kind: Kind):
    component = components_of(kind)[1]
    found = damage_by_component(kind, marks(component, 3), seen(kind, 60))
    root = ElementTree.fromstring(damage_drawing(kind, found))  # noqa: S314 (our own drawing)
    groups = {group.get("data-component"): group for group in root.iter(f"{SVG}g")}
    assert set(groups) == {c.value for c in components_of(kind)}
    told = [text.text for text in root.iter(f"{SVG}text")]
    for number, damage in enumerate(found, 1):
        title = groups[damage.component.value].find(f"{SVG}title")
        assert title is not None and title.text == damage.in_words
        assert f"{number}  {damage.in_words}" in told
    assert root.get("role") == "img" and component.value in str(root.get("aria-label"))


def test_the_most_marked_component_is_the_darkest_and_none_is_white():
    rows = marks(Component.WEBBING, 20) + marks(Component.BUCKLE, 5)
    found = damage_by_component(Kind.HARNESS, rows, seen(Kind.HARNESS, 100))
    drawn = damage_drawing(Kind.HARNESS, found)
    fills = {
        name: re.search(rf'data-component="{name}".*?</g>', drawn).group()  # type: ignore[union-attr]
        for name in ("webbing", "buckle", "D-ring")
    }
    assert STEPS[4] in fills["webbing"] and STEPS[1] in fills["buckle"] and STEPS[1] not in fills["D-ring"]


@pytest.mark.parametrize(("rate", "step"), [(0, 0), (0.1, 1), (2.5, 1), (2.6, 2), (5, 2), (7.5, 3), (7.6, 4), (10, 4)])
def test_shades_are_quarters_of_the_highest_rate(rate: float, step: int):
    damage = ComponentDamage(Component.GATE, 1, 1, 1, 100, rate, 0, 20, ())
    assert step_of(damage, 10) == step


def test_shades_stay_apart_in_greyscale():
    """Lightness L* of CIELAB (CIE 15) falls by at least 10 from step to step."""
    lightness = [116 * luminance(colour) ** (1 / 3) - 16 for colour in STEPS]
    assert all(a - b >= 10 for a, b in zip(lightness, lightness[1:], strict=False))
