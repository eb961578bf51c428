"""Looking at gear in the pixels: rope edges, stitch rhythm, rust, and the hints built on them."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.domain.geometry import Shape
from inspect_core.domain.marks import Category
from inspect_core.imaging import hints, metal, stitching
from inspect_core.imaging.hint_rates import RATES, Rate
from inspect_core.imaging.known_length import known_length
from inspect_core.imaging.rope import rope_diameter
from inspect_core.imaging.scale import Scale
from inspect_core.imaging.strap import straightened
from tests.imaging.drawn import finished, rope, seam, strap
from tests.imaging.photos import woven


def _scale(size: tuple[int, int]) -> Scale:
    """Ten pixels to the millimetre, known to be seen squarely."""
    ends = np.array([[100.0, 350], [600, 350]])
    return known_length(ends, 50.0, size, length_sd_mm=0.1, point_sd_px=0.3, widest_tilt_deg=2.0, height_sd_mm=0.2)


@pytest.mark.parametrize("laid", [False, True])
@pytest.mark.parametrize("slope", [0.0, 0.2])
@pytest.mark.parametrize("diameter", [80.0, 121.5])
def test_a_ropes_diameter_is_found_over_its_crowns(laid: bool, slope: float, diameter: float) -> None:
    photo, axis = rope(diameter_px=diameter, slope=slope, laid=laid)
    chance = np.random.default_rng(3)
    found = rope_diameter(photo, axis + chance.normal(0, 1.5, (2, 2)), _scale((1000, 700)), 1.03 * diameter / 10)
    assert abs(found.value - diameter / 10) <= found.expanded
    assert found.value == pytest.approx(diameter / 10, rel=0.035)
    assert found.expanded < 0.12 * diameter / 10


def test_a_rope_that_cannot_be_measured_is_refused() -> None:
    photo, axis = rope()
    empty = np.full((700, 1000, 3), 150, np.uint8)
    scale = _scale((1000, 700))
    for picture, line, about, words in (
        (empty, axis, 12.0, "edges of the rope do not show"),
        (photo, axis, 0.2, "between 1 and 100"),
        (photo, [*axis[:1], axis[0] + 40], 12.0, "shorter than the rope is thick"),
        (photo, axis, 1.2, "pixels thick"),
    ):
        with pytest.raises(BadInput, match=words):
            rope_diameter(picture, np.asarray(line, float), scale, about)


@pytest.mark.parametrize("spacing", [14.0, 24.3, 40.0])
@pytest.mark.parametrize("scaled", [False, True])
def test_a_whole_row_has_its_count_its_spacing_and_no_gap(spacing: float, scaled: bool) -> None:
    photo, line = seam(spacing=spacing)
    scale = _scale((photo.shape[1], photo.shape[0])) if scaled else None
    row = stitching.find_row(photo, line + np.array([[0, 1.5], [0, -1.0]]), scale)
    assert abs(len(row.present) - 20) <= 1 and row.missing == 0 and row.gaps == ()
    assert row.spacing_px == pytest.approx(spacing, rel=0.03)
    if scale is not None:
        found = stitching.spacing(row, scale)
        assert abs(found.value - spacing / 10) <= found.expanded


@pytest.mark.parametrize("gone", [(9,), (6, 7, 8), (4, 12, 13)])
def test_missing_stitches_are_counted_and_placed_although_their_holes_remain(gone: tuple[int, ...]) -> None:
    photo, line = seam(gone=gone)
    row = stitching.find_row(photo, line)
    assert row.missing == len(gone)
    assert sum(gap.missing for gap in row.gaps) == len(gone)
    first = row.gaps[0]
    assert first.start[0] < 60 + (gone[0] + 0.5) * 24 < first.end[0]
    assert stitching.missing(row).expanded >= 1


def test_two_sides_that_look_alike_are_said_to_and_a_gap_on_one_is_placed() -> None:
    whole, broken = (stitching.find_row(*seam(gone=gone, seed=seed)) for gone, seed in (((), 1), ((8, 9, 10), 2)))
    again = stitching.find_row(*seam(seed=3))
    assert stitching.compare(whole, again).alike and "look alike" in stitching.compare(whole, again).sentence
    found = stitching.compare(whole, broken)
    assert not found.alike and found.difference == pytest.approx(3, abs=1)
    assert "second side misses 3" in found.sentence


def test_no_rhythm_is_claimed_where_there_are_no_stitches() -> None:
    photo, outline = strap()
    del outline
    for line in ([[300, 350], [700, 352]], [[300, 350], [310, 350]], [[10, 100], [900, 130]]):
        with pytest.raises(BadInput):
            stitching.find_row(photo, np.array(line, float))


def test_plain_woven_cloth_has_no_stitches_along_any_line() -> None:
    """Weave has a rhythm of its own; without a line of thread it is no seam."""
    cloth = woven(1200, 900)
    for line in (
        [[100, 450], [1100, 450]],
        [[600, 50], [600, 850]],
        [[100, 100], [1100, 800]],
        [[300, 200], [900, 260]],
    ):
        for scale in (None, _scale((1200, 900))):
            with pytest.raises(BadInput):
                stitching.find_row(cloth, np.array(line, float), scale)


def test_a_seam_seen_aslant_is_counted_although_its_stitches_shrink_along_it() -> None:
    photo, line = seam(count=20, spacing=24.0)
    height, width = photo.shape[:2]
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    aslant = np.array([[0, 0], [width * 0.8, 25], [width * 0.8, height - 25], [0, height]], np.float32)
    matrix = cv2.getPerspectiveTransform(corners, aslant)
    tilted = cv2.warpPerspective(photo, matrix, (width, height), borderMode=cv2.BORDER_REPLICATE)
    row = stitching.find_row(tilted, cv2.perspectiveTransform(line[None], matrix)[0])
    assert len(row.present) == pytest.approx(20, abs=1) and row.missing == 0


def _metal(rust: bool, base: tuple[int, int, int] = (150, 152, 155)) -> np.ndarray:
    picture = np.full((500, 600, 3), base, np.float32)
    if rust:
        picture[200:300, 200:350] = (112, 62, 34)
    return finished(picture, 5)


REGION = Shape.of("box", [[100, 100], [500, 400]])


def test_the_rusted_share_of_a_metal_region_is_found() -> None:
    share, mask, corner = metal.rust_share(_metal(True), REGION)
    truth = 100 * 150 / (400 * 300)
    assert abs(share.value - truth) <= share.expanded and share.value == pytest.approx(truth, rel=0.08)
    assert corner == (100, 100) and mask[150, 150] == 1 and mask[10, 10] == 0
    assert metal.rust_share(_metal(False), REGION)[0].value < 0.001


def test_a_region_that_is_rust_coloured_all_over_is_left_to_the_inspector() -> None:
    with pytest.raises(BadInput, match="rust's colour"):
        metal.rust_share(_metal(False, base=(112, 62, 34)), REGION)


def test_a_region_that_is_a_line_or_a_speck_is_refused() -> None:
    for shape in (Shape.of("line", [[0, 0], [9, 9]]), Shape.of("box", [[5, 5], [12, 12]])):
        with pytest.raises(BadInput):
            metal.rust_share(_metal(True), shape)


def test_a_strap_is_straightened_along_its_long_side() -> None:
    photo, outline = strap(width_px=300)
    found = straightened(photo, Shape.of("polygon", outline))
    assert found.width == pytest.approx(300, abs=1)
    assert found.pixels.shape[0] == pytest.approx(1000, abs=2)
    back = found.to_photo(np.array([[500.0, found.low], [500.0, found.high]]))
    assert sorted(back[:, 1].round()) == pytest.approx([200, 500], abs=1.5)


def _found(kind: str, **damage: object) -> tuple[hints.Hint, ...]:
    photo, outline = strap(**damage)  # type: ignore[arg-type]
    part = Shape.of("polygon", outline)
    found: tuple[hints.Hint, ...] = getattr(hints, kind)(photo, part)
    return found


@pytest.mark.parametrize(
    ("kind", "damage", "category"),
    [
        ("dark_spots", {"dark": True}, Category.BURN),
        ("cut_edges", {"notch": 24}, Category.CUT),
        ("frayed_edges", {"fibres": True}, Category.FRAY),
    ],
)
def test_a_hint_points_at_the_damage_and_a_sound_strap_gives_none(
    kind: str, damage: dict[str, object], category: Category
) -> None:
    assert _found(kind) == ()
    found = _found(kind, **damage)
    assert found and found[0].category is category
    left, _, right, _ = found[0].shape.bounds()
    assert left - 40 <= 500 <= right + 40


def test_rust_is_hinted_at_on_metal() -> None:
    found = hints.rust(_metal(True), REGION)
    assert len(found) == 1 and found[0].category is Category.RUST
    assert found[0].shape.area() == pytest.approx(15_000, rel=0.1)
    assert hints.rust(_metal(False), REGION) == ()


def test_stitch_gaps_are_hinted_at_and_no_rhythm_gives_no_hint() -> None:
    found = hints.stitch_gaps(*seam(gone=(7, 8)))
    assert len(found) == 1 and found[0].category is Category.BROKEN_STITCH and "2 stitches" in found[0].note
    photo, _ = strap()
    assert hints.stitch_gaps(photo, np.array([[300.0, 350], [700, 352]])) == ()


def test_a_plain_red_field_is_a_torn_indicator_and_red_webbing_is_not() -> None:
    chance = np.random.default_rng(2)
    weave = chance.choice([0.75, 1.15], (175, 250)).repeat(4, axis=0).repeat(4, axis=1)
    red = np.clip(np.array([190, 34, 40]) * weave[..., None], 0, 255).astype(np.uint8)
    part = Shape.of("box", [[300, 230], [700, 470]])
    assert hints.torn_indicator(red, part) == ()
    red[270:430, 380:620] = (225, 40, 30)
    found = hints.torn_indicator(red, part)
    assert found and found[0].category is Category.DEPLOYED_ABSORBER


def test_every_hint_names_its_method_and_says_how_often_it_errs() -> None:
    methods = {name for key, name in vars(hints).items() if key.endswith("_METHOD")}
    assert methods == set(RATES) and all("version" in name for name in methods)
    for hint in (*_found("dark_spots", dark=True), *hints.rust(_metal(True), REGION)):
        assert hint.method in RATES and 0 <= hint.score <= 1
        assert RATES[hint.method].sentence() in hint.note
    assert "not been measured" in Rate(0, 0, 0, 0).sentence()
    assert "30 of 40" in Rate(30, 40, 20, 25).sentence() and "20 of 25" in Rate(30, 40, 20, 25).sentence()
