"""The truth beside each drawn picture, checked against its pixels and against geometry worked out separately."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import cv2
import numpy as np
import pytest

from inspect_core.domain.gear import Component, Kind, components_of
from inspect_core.domain.geometry import Shape
from inspect_core.domain.marks import Category
from sample_images import Camera, Damage, SceneSpec, categories_of, demo_spec, place_flat, render
from sample_images.camera import homography, project
from sample_images.spec import Array

_MAGENTA = np.array([255, 0, 255])


def _scene(
    component: Component, view: str, damage: Damage, camera: Camera, kind: Kind = Kind.WEBBING_LANYARD
) -> SceneSpec:
    return SceneSpec(kind, component, view, (damage,), camera, paint_defects=True, caption=False, colour="grey")


def _painted(image: Array) -> Array:
    """How much of each pixel is the flat defect colour, 0 to 1, from its green deficit against red and blue."""
    light = (np.asarray(image, float) / 255) ** 2.2
    deficit = np.clip(np.minimum(light[..., 0], light[..., 2]) - light[..., 1], 0, 1)
    return np.asarray(deficit / deficit.max())


@pytest.mark.parametrize("tilt", [0.0, 30.0])
def test_a_burn_covers_as_many_pixels_as_its_truth_says(tilt: float) -> None:
    camera = Camera(width=800, height=600, px_per_mm=8, tilt_deg=tilt, tilt_axis_deg=35, roll_deg=11)
    spec = _scene(Component.WEBBING, "webbing section", Damage(Category.BURN, area_mm2=180.0), camera)
    picture = render(spec, 5)
    (defect,) = picture.truth["defects"]
    assert defect["truth"]["area_mm2"] == pytest.approx(180.0, rel=0.02)
    hard = np.abs(picture.image.astype(int) - _MAGENTA).sum(axis=2) < 120
    back = np.linalg.inv(np.array(picture.truth["plane_homography"]))
    rows, columns = np.nonzero(hard)
    area = 0.0  # mm² of each painted pixel: its four corners carried back to the plane, shoelace by hand
    x, y = columns.astype(float), rows.astype(float)
    corners = [project(back, np.stack([x + dx, y + dy], axis=1)) for dx, dy in ((0, 0), (1, 0), (1, 1), (0, 1))]
    for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
        area += 0.5 * float(np.sum(a[:, 0] * b[:, 1] - b[:, 0] * a[:, 1]))
    assert abs(area) == pytest.approx(180.0, rel=0.04)


def test_the_marked_outline_of_a_burn_meets_the_painted_pixels() -> None:
    camera = Camera(width=800, height=600, px_per_mm=8, tilt_deg=25, tilt_axis_deg=100)
    picture = render(_scene(Component.WEBBING, "webbing section", Damage(Category.BURN), camera), 9)
    hard = np.abs(picture.image.astype(int) - _MAGENTA).sum(axis=2) < 160
    filled = np.zeros(hard.shape, np.uint8)
    points = np.array(picture.truth["defects"][0]["shape"]["points"]) - 0.5
    cv2.fillPoly(filled, [np.round(points * 16).astype(np.int32)], 1, cv2.LINE_8, 4)
    overlap = np.count_nonzero(hard & (filled > 0)) / np.count_nonzero(hard | (filled > 0))
    assert overlap > 0.95


@pytest.mark.parametrize("depth", [1.0, 3.0])
def test_a_cut_is_as_deep_in_the_pixels_as_in_its_truth(depth: float) -> None:
    camera = Camera(width=900, height=700, px_per_mm=14)
    picture = render(_scene(Component.WEBBING, "webbing section", Damage(Category.CUT, depth_mm=depth), camera), 3)
    (defect,) = picture.truth["defects"]
    assert defect["truth"]["depth_mm"] == depth
    mouth, tip = np.array(defect["shape"]["points"])
    assert math.dist(mouth, tip) / 14 == pytest.approx(defect["truth"]["length_mm"], rel=1e-3)
    rows, columns = np.nonzero(np.abs(picture.image.astype(int) - _MAGENTA).sum(axis=2) < 200)
    (a, b) = np.array(picture.truth["known_lengths"][0]["points"])
    across = (b - a) / math.dist(a, b)  # from one edge of the strap to the other
    reach = (np.stack([columns, rows], axis=1) + 0.5) @ across
    assert (reach.max() - reach.min() + 1) / 14 == pytest.approx(depth, abs=0.25)


def test_rust_share_is_the_share_of_painted_metal() -> None:
    camera = Camera(width=900, height=700, px_per_mm=4.4)
    spec = _scene(Component.SNAP_HOOK, "snap hook", Damage(Category.RUST, share=0.2), camera)
    picture = render(spec, 4)
    (defect,) = picture.truth["defects"]
    assert defect["truth"]["share"] == pytest.approx(0.2, abs=0.01)
    painted = float(_painted(picture.image).sum()) / 4.4**2
    assert painted == pytest.approx(defect["truth"]["area_mm2"], rel=0.05)


def test_the_homography_is_that_of_a_turned_plane_seen_through_a_pinhole() -> None:
    camera = Camera(width=1000, height=800, px_per_mm=5, tilt_deg=33, tilt_axis_deg=0, view_deg=50, centre_mm=(3, -2))
    point = np.array([[13.0, 28.0]])
    # By hand: turning about x lifts y out of the plane; distance = focal / px_per_mm.
    focal = 500 / math.tan(math.radians(25))
    dx, dy, distance = 10.0, 30.0, focal / 5
    tilt = math.radians(33)
    depth = distance + dy * math.sin(tilt)
    expected = (500 + focal * dx / depth, 400 + focal * dy * math.cos(tilt) / depth)
    assert project(homography(camera), point)[0] == pytest.approx(expected, abs=1e-9)


def test_a_flat_item_lies_where_the_truth_says() -> None:
    card = np.full((300, 400, 3), 255, np.uint8)
    card[:, :4] = card[:, -4:] = 0
    card[:4] = card[-4:] = 0
    cv2.circle(card, (100, 75), 18, (0, 0, 0), -1)  # centre (100.5, 75.5) in continuous pixels: 25.125 and 18.875 mm
    camera = Camera(width=1000, height=800, px_per_mm=6, tilt_deg=28, tilt_axis_deg=60, noise=0, blur_px=0)
    flat = place_flat(card, (100.0, 75.0), (-8.0, 6.0), turn_deg=17.0)
    spec = SceneSpec(Kind.HARNESS, Component.WEBBING, "webbing section", camera=camera, flats=(flat,), caption=False)
    picture = render(spec, 2)
    turn = math.radians(17)
    x, y = 25.125 - 50, 18.875 - 37.5
    plane = (x * math.cos(turn) - y * math.sin(turn) - 8, x * math.sin(turn) + y * math.cos(turn) + 6)
    expected = project(np.array(picture.truth["plane_homography"]), np.array([plane]))[0]
    left, top = (int(v) - 30 for v in expected)
    dark = 255.0 - picture.image[top : top + 60, left : left + 60].mean(axis=2)
    dark[dark < 120] = 0
    rows, columns = np.mgrid[0:60, 0:60]
    found = ((columns * dark).sum() / dark.sum() + left + 0.5, (rows * dark).sum() / dark.sum() + top + 0.5)
    assert found == pytest.approx(tuple(expected), abs=0.35)
    corners = picture.truth["flats"][0]["corners"]
    assert len(corners) == 4


def test_every_known_length_is_as_long_in_the_plane_as_it_says() -> None:
    checked = 0
    for view, component, kind in (
        ("webbing section", Component.WEBBING, Kind.HARNESS),
        ("D-ring", Component.D_RING, Kind.HARNESS),
        ("connector", Component.BODY, Kind.CONNECTOR),
        ("snap hook", Component.SNAP_HOOK, Kind.WEBBING_LANYARD),
        ("rope laid", Component.ROPE, Kind.VERTICAL_LIFELINE),
        ("absorber packed", Component.ENERGY_ABSORBER, Kind.WEBBING_LANYARD),
        ("retractor", Component.HOUSING, Kind.SELF_RETRACTING_LIFELINE),
        ("tensioner", Component.TENSIONER, Kind.HORIZONTAL_LIFELINE),
    ):
        camera = Camera(width=400, height=300, px_per_mm=1.0, tilt_deg=20, tilt_axis_deg=70)
        picture = render(SceneSpec(kind, component, view, camera=camera, steel_rule=True), 1)
        back = np.linalg.inv(np.array(picture.truth["plane_homography"]))
        for known in picture.truth["known_lengths"]:
            a, b = project(back, np.array(known["points"]))
            assert math.dist(a, b) == pytest.approx(known["length_mm"], abs=0.01), (view, known["name"])
            checked += 1
    assert checked >= 14


def test_the_strap_is_as_wide_in_the_pixels_as_its_known_length() -> None:
    camera = Camera(width=900, height=700, px_per_mm=10, noise=0, blur_px=0, light_gradient=0, vignette=0)
    spec = SceneSpec(Kind.HARNESS, Component.WEBBING, "webbing section", camera=camera, colour="black", caption=False)
    plain = render(spec, 8)
    other = render(replace(spec, colour="white"), 8)
    a, b = np.array(plain.truth["known_lengths"][0]["points"])
    differs = np.abs(plain.image.astype(int) - other.image.astype(int)).sum(axis=2)
    steps = np.linspace(-0.1, 1.1, 1200)
    along = (b - a)[::-1] * (1, -1) / math.dist(a, b)  # the strap's own direction
    clear = 0.5 * np.median(differs[int(a[1] + b[1]) // 2, :])
    widths = []
    for shift in range(-60, 61, 6):  # many places, because single fibres stand out of the edges
        line = a + shift * along + steps[:, None] * (b - a)
        inside = steps[differs[line[:, 1].astype(int) % 700, line[:, 0].astype(int) % 900] > clear]
        widths.append((inside.max() - inside.min()) * 45.0)
    assert np.quantile(widths, 0.2) == pytest.approx(45.0, abs=0.3)


def test_broken_stitches_are_counted_and_their_gap_is_their_spacing_times_their_number() -> None:
    spec = demo_spec(Kind.HARNESS, Component.STITCHING, Category.BROKEN_STITCH, np.random.default_rng(0))
    spec = replace(spec, damage=(Damage(Category.BROKEN_STITCH, count=4),))
    truth = render(spec, 6).truth
    (defect,) = truth["defects"]
    assert defect["truth"]["count"] == 4
    assert defect["truth"]["gap_mm"] == pytest.approx(4 * defect["truth"]["spacing_mm"], abs=1e-3)
    (row,) = [r for r in truth["stitch_rows"] if r["missing"]]
    assert len(row["missing"]) == 4
    start, end = project(np.linalg.inv(np.array(truth["plane_homography"])), np.array(row["points"]))
    assert math.dist(start, end) == pytest.approx((row["count"] + 4) * row["spacing_mm"], abs=0.02)


_EVERYTHING = [(k, c, h) for k in Kind for c in components_of(k) for h in (None, *categories_of(c))]


def _draw_small(kind: Kind, component: Component, category: Category | None, seed: int) -> str:
    """Draw one at a sixth of its size, check its truth, and name its view."""
    spec = demo_spec(kind, component, category, np.random.default_rng(seed))
    full = spec.camera
    camera = replace(full, width=full.width // 6, height=full.height // 6, px_per_mm=full.px_per_mm / 6)
    picture = render(replace(spec, camera=camera), seed)
    assert picture.image.dtype == np.uint8
    assert picture.image.shape == (camera.height, camera.width, 3)
    assert {d["category"] for d in picture.truth["defects"]} == ({category.value} if category else set())
    for defect in picture.truth["defects"]:
        shape = Shape.of(defect["shape"]["type"], defect["shape"]["points"])
        assert shape.within(camera.width, camera.height, slack=2.0), (kind, component, category)
        assert defect["component"] == component.value, (kind, component, category)
    assert picture.truth["drawn"] is True
    json.dumps(picture.truth)
    return spec.view


@pytest.mark.parametrize("kind", list(Kind))
def test_every_component_of_a_kind_is_drawn_with_some_damage(kind: Kind) -> None:
    views = set()
    for index, component in enumerate(components_of(kind)):
        harm = categories_of(component)
        views.add(_draw_small(kind, component, harm[(index + len(kind)) % len(harm)], index))
    assert len(views) >= 2


def test_every_damage_of_every_component_is_drawn_with_its_truth() -> None:
    pairs = {(component, category): kind for kind, component, category in _EVERYTHING}
    for seed, ((component, category), kind) in enumerate(pairs.items()):
        _draw_small(kind, component, category, seed)
    assert len(pairs) > 80


@pytest.mark.slow
def test_every_damage_of_every_component_of_every_kind_is_drawn() -> None:
    for seed, (kind, component, category) in enumerate(_EVERYTHING):
        _draw_small(kind, component, category, seed)
