"""Hints: only inside what a person outlined, with method, version and error rate, and never a mark."""

from __future__ import annotations

from typing import Any

import pytest

from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import Shape
from inspect_core.domain.marks import Category
from inspect_core.domain.photos import Photo
from inspect_core.screens.marking.payload import validate_payload
from inspect_core.usecases.hints import Suggested, hinted, suggest
from inspect_core.usecases.intake import take_photo
from tests.browser.job_hands import drawn
from tests.usecases.site import Site, picture


def frayed(site: Site) -> tuple[Photo, Shape, dict[str, Any]]:
    data, truth = drawn("webbing lanyard", "webbing", "fray")
    photo = take_photo(data, site.services)
    strap = next(r for r in truth["regions"] if r["component"] == "webbing")["shape"]
    points = [[min(max(x, 0), photo.width), min(max(y, 0), photo.height)] for x, y in strap["points"]]
    return photo, Shape.of("polygon", points), truth


def test_a_drawn_fray_is_pointed_at_with_method_and_error_rate(site: Site) -> None:
    photo, strap, _ = frayed(site)
    found = suggest(photo, ((Component.WEBBING, strap),), site.services)
    frays = [s for s in found.suggestions if s["category"] == Category.FRAY.value]
    assert frays and all("version" in s["by"] for s in found.suggestions)
    assert any("test pictures" in note and "version" in note for note in found.notes)


def test_every_hint_passes_the_checks_of_the_marking_component(site: Site) -> None:
    photo, strap, _ = frayed(site)
    found = suggest(photo, ((Component.WEBBING, strap),), site.services)
    marks = [{"note": "", **{k: v for k, v in s.items() if k != "by"}} for s in found.suggestions]
    checked = validate_payload(
        {"photo_id": photo.id, "rev": 0, "marks": marks},
        photo_id=photo.id,
        width=photo.width,
        height=photo.height,
        components=tuple(Component),
        categories=tuple(Category),
    )
    assert len(checked) == len(found.suggestions) > 0


def test_a_hint_keeps_its_name_from_one_look_to_the_next(site: Site) -> None:
    photo, strap, _ = frayed(site)
    first, second = (suggest(photo, ((Component.WEBBING, strap),), site.services) for _ in range(2))
    assert [s["id"] for s in first.suggestions] == [s["id"] for s in second.suggestions]


def test_nothing_outlined_gives_no_hint(site: Site) -> None:
    photo, _, _ = frayed(site)
    assert suggest(photo, (), site.services) == Suggested((), (), ())


def test_rust_is_looked_for_only_in_what_is_said_to_be_metal(site: Site) -> None:
    photo = take_photo(picture(), site.services)
    box = Shape.of("box", [[10, 10], [600, 400]])
    found = suggest(photo, ((Component.ROPE, box), (Component.LABEL, box)), site.services)
    assert found == Suggested((), (), ())
    assert hinted(Component.SNAP_HOOK) and not hinted(Component.ROPE)


@pytest.mark.parametrize(
    ("component", "shape"),
    [
        (Component.SNAP_HOOK, Shape.of("box", [[10, 10], [12, 12]])),
        (Component.STITCHING, Shape.of("box", [[10, 10], [300, 300]])),
    ],
)
def test_an_outline_that_does_not_serve_is_refused_with_what_to_do(
    site: Site, component: Component, shape: Shape
) -> None:
    found = suggest(take_photo(picture(), site.services), ((component, shape),), site.services)
    assert found.suggestions == () and len(found.problems) == 1
