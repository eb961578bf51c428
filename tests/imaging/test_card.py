"""The scale card: printed at its true size, found in photos, refused when it cannot be trusted."""

from __future__ import annotations

import io

import cv2
import numpy as np
import pytest
from pypdf import PdfReader

from inspect_core.domain.errors import BadInput
from inspect_core.domain.geometry import Shape
from inspect_core.imaging import colour, readings
from inspect_core.imaging.card import FoundCard, card_scale, find_card, rectified, scale_of_card
from inspect_core.imaging.card_layout import (
    HEIGHT_MM,
    MARKERS,
    PATCHES,
    RULE_MM,
    WIDTH_MM,
    card_pdf,
    card_png,
    card_png_pixels,
    marker_corners,
    patch_box,
)
from inspect_core.imaging.measure import monte_carlo, path_length, propagate
from inspect_core.imaging.plane import Array, through
from tests.imaging.cameras import seen, view

SIZE = (1600, 1200)
SHEET = card_png_pixels(10.0)


def _photo(tilt: float, axis: float = 30.0, *, blur: float = 0.8, noise: float = 3.0, shrink: float = 1.0) -> Array:
    """A photo of the card lying in a grey plane, card frame's origin 75 mm left and 33 mm above the middle."""
    to_photo = view(tilt, axis, px_per_mm=8.0, size=SIZE) @ np.array([[1, 0, -75.0], [0, 1, -33.0], [0, 0, 1]])
    half = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1.0]])
    sheet_mm = np.diag([shrink / 10, shrink / 10, 1.0])
    matrix = half @ to_photo @ sheet_mm @ np.linalg.inv(half)
    plane = cv2.warpPerspective(SHEET, matrix, SIZE, borderValue=(120, 118, 115), flags=cv2.INTER_AREA)
    light = colour.linear(plane / 255)
    blurred = colour.encoded(cv2.GaussianBlur(light, (0, 0), blur)) * 255
    noisy = blurred + np.random.default_rng(6).normal(0, noise, blurred.shape)
    return np.clip(noisy, 0, 255).astype(np.uint8)  # type: ignore[return-value]


def _to_photo(tilt: float, axis: float = 30.0) -> Array:
    matrix = view(tilt, axis, px_per_mm=8.0, size=SIZE) @ np.array([[1, 0, -75.0], [0, 1, -33.0], [0, 0, 1]])
    return np.asarray(matrix, float)


@pytest.mark.parametrize("tilt", [0, 20, 35])
def test_the_card_is_found_and_measures_true_at_any_tilt(tilt: float) -> None:
    scale = card_scale(_photo(tilt), rule_mm=RULE_MM)
    assert scale.method == "scale card"
    # Seen from where the markers' middle is, some millimetres beside the middle of the photo.
    assert scale.tilt_deg == pytest.approx(tilt, abs=3.0)
    for line in ([[10, 80], [10, 90]], [[60, -10], [90, -10]], [[20, 70], [80, 75]]):
        truth = float(np.hypot(*np.diff(np.array(line, float), axis=0)[0]))
        drawn = Shape.of("line", seen(_to_photo(tilt), line).tolist())
        found = readings.length(drawn, scale)
        assert abs(found.value - truth) <= found.expanded / 2


def test_a_print_that_shrank_is_allowed_for_by_its_measured_rule() -> None:
    photo = _photo(10, shrink=0.96)
    line = Shape.of("line", seen(_to_photo(10), [[10, 75], [40, 75]]).tolist())
    told = readings.length(line, card_scale(photo, rule_mm=RULE_MM * 0.96))
    untold = readings.length(line, card_scale(photo))
    assert told.value == pytest.approx(30, abs=0.15)
    assert untold.value == pytest.approx(30 / 0.96, abs=0.15)
    assert abs(untold.value - 30) < untold.expanded and untold.expanded > 1.8 * told.expanded


def test_an_unchecked_print_is_said() -> None:
    assert any("ruler" in note for note in card_scale(_photo(0)).notes)
    assert not any("ruler" in note for note in card_scale(_photo(0), rule_mm=140.0).notes)


def test_what_a_photo_cannot_know_is_said() -> None:
    assert any("level with the card" in note for note in card_scale(_photo(0), rule_mm=140.0).notes)


def test_a_mark_known_to_lie_higher_is_corrected_and_one_far_too_high_refused() -> None:
    photo = _photo(0)
    line = Shape.of("line", seen(_to_photo(0), [[10, 75], [40, 75]]).tolist())
    level = readings.length(line, card_scale(photo, rule_mm=140.0))
    raised = readings.length(line, card_scale(photo, rule_mm=140.0, height_mm=6.0))
    # Camera about 8 · 1600 · 0.75 / 64 = 150 mm away by the assumed focal length: 6 mm nearer is 4 % larger.
    assert raised.value == pytest.approx(level.value * (1 - 6 / 150), rel=0.005)
    with pytest.raises(BadInput, match="above a reference"):
        card_scale(photo, rule_mm=140.0, height_mm=60.0)


def _found(tilt: float, numbers: list[int], bow: float = 0.0) -> FoundCard:
    plane = np.array([marker_corners(n) for n in numbers]).reshape(-1, 4, 2)
    photo = seen(_to_photo(tilt), plane) if len(plane) else plane
    if bow and len(plane):
        photo = photo + np.stack([np.zeros(plane.shape[:2]), bow * np.sin(plane[..., 0] / 20)], axis=-1)
    return FoundCard(tuple(numbers), photo, plane)


ALL = list(MARKERS)


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (_found(0, []), "No scale card"),
        (_found(0, ALL[:3]), "Only 3 of the card's 8"),
        (_found(0, ALL[:4]), "too small a part"),
        (_found(58, ALL), "off square"),
        (_found(10, ALL, bow=7.0), "bent or not flat"),
    ],
    ids=["none", "too few", "one row", "too oblique", "bent"],
)
def test_a_card_that_cannot_be_trusted_is_refused(found: FoundCard, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        scale_of_card(found, SIZE, rule_mm=140.0)


@pytest.mark.parametrize(("rule", "sd"), [(30.0, 0.2), (400.0, 0.2), (140.0, 9.0)])
def test_an_absurd_check_of_the_print_is_refused(rule: float, sd: float) -> None:
    with pytest.raises(BadInput):
        scale_of_card(_found(0, ALL), SIZE, rule_mm=rule, rule_sd_mm=sd)


def test_half_the_card_is_enough_and_less_certain_far_away() -> None:
    whole = scale_of_card(_found(15, ALL), SIZE, rule_mm=140.0)
    half = scale_of_card(_found(15, [10, 11, 12, 14, 15]), SIZE, rule_mm=140.0)
    far = seen(_to_photo(15), [[140, 70], [150, 70]])
    assert propagate(path_length, far, half).standard > propagate(path_length, far, whole).standard


def test_propagated_and_drawn_uncertainty_of_the_card_agree_within_five_per_cent() -> None:
    scale = scale_of_card(_found(20, ALL), SIZE, rule_mm=139.2)
    line = seen(_to_photo(20), [[20, 75], [60, 85]])
    first = propagate(path_length, line, scale)
    drawn = monte_carlo(path_length, line, scale, np.random.default_rng(9), draws=6000)
    assert first.standard == pytest.approx(drawn.standard, rel=0.05)


def test_the_patches_of_the_photo_correct_its_colours() -> None:
    photo = np.clip(_photo(15) * np.array([0.95, 0.85, 0.7]), 0, 255).astype(np.uint8)
    scale = card_scale(photo, rule_mm=140.0)
    corrected = colour.correction(colour.patch_means(photo, scale.map))
    assert corrected.residual < 1.5
    balanced = colour.white_balanced(photo, corrected)
    means = colour.patch_means(balanced, scale.map)
    assert np.ptp(means[1:5], axis=1).max() < 0.02


def test_the_rectified_card_looks_like_the_print() -> None:
    photo = _photo(30)
    flat = rectified(photo, card_scale(photo, rule_mm=140.0).map, 10.0)
    assert flat.shape == SHEET.shape
    small = [cv2.resize(p, (300, 132), interpolation=cv2.INTER_AREA).astype(float) for p in (flat, SHEET)]
    assert np.corrcoef(small[0].ravel(), small[1].ravel())[0, 1] > 0.97


def test_markers_are_the_cards_own() -> None:
    found = find_card(cv2.copyMakeBorder(SHEET, 60, 60, 60, 60, cv2.BORDER_CONSTANT, value=(150, 150, 150)))
    assert found.numbers == tuple(sorted(MARKERS))
    for number, corners in zip(found.numbers, found.photo, strict=True):
        assert np.abs((corners - 60) / 10 - marker_corners(number)).max() < 0.03


def test_nothing_on_the_card_overlaps() -> None:
    boxes = [(x, y, x + 14, y + 14) for x, y in MARKERS.values()]
    boxes += [patch_box(i) for i in range(len(PATCHES))]
    for i, (l1, t1, r1, b1) in enumerate(boxes):
        assert l1 >= 0 and t1 >= 0 and r1 <= WIDTH_MM and b1 <= HEIGHT_MM - 6.5
        for l2, t2, r2, b2 in boxes[i + 1 :]:
            assert r1 <= l2 or r2 <= l1 or b1 <= t2 or b2 <= t1


def test_the_printed_pdf_has_its_true_size_and_the_same_bytes_each_time() -> None:
    data = card_pdf()
    assert data == card_pdf()
    page = PdfReader(io.BytesIO(data)).pages[0]
    to_mm = 25.4 / 72
    rectangles = []

    def visit(operator: bytes, operands: list[object], *_: object) -> None:
        if operator == b"re":
            rectangles.append([float(v) * to_mm for v in operands])  # type: ignore[arg-type]

    page.extract_text(visitor_operand_before=visit)
    frames = [r for r in rectangles if abs(r[2] - WIDTH_MM) < 0.01]
    assert frames and all(abs(r[3] - HEIGHT_MM) < 0.01 for r in frames)
    ticks = sorted({round(r[0] + r[2] / 2, 2) for r in rectangles if abs(r[2] - 0.2) < 0.001})
    assert ticks[-1] - ticks[0] == pytest.approx(RULE_MM, abs=0.02)
    squares = [r for r in rectangles if abs(r[2] - 14) < 0.01 and abs(r[3] - 14) < 0.01]
    assert len(squares) == 2 * len(MARKERS)
    assert "140 mm" in page.extract_text()


def test_the_png_is_the_card() -> None:
    picture = cv2.imdecode(np.frombuffer(card_png(6.0), np.uint8), cv2.IMREAD_COLOR)
    assert picture.shape == (round(HEIGHT_MM * 6), round(WIDTH_MM * 6), 3)
    assert np.allclose(through(np.eye(3), np.array([[1.0, 2.0]])), [[1, 2]])
