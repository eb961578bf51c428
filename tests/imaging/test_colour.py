"""Colour: the published formula, the card's correction, patches of photos, and grades."""

from __future__ import annotations

import numpy as np
import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.domain.geometry import Shape
from inspect_core.imaging import colour, grades
from inspect_core.imaging.card_layout import PATCHES
from tests.reference import ciede2000
from tests.reference import grades as published


@pytest.mark.parametrize("pair", ciede2000.PAIRS)
def test_ciede2000_agrees_with_the_published_pairs_to_four_decimals(pair: tuple[float, ...]) -> None:
    first, second = np.array(pair[:3]), np.array(pair[3:6])
    assert round(float(colour.ciede2000(first, second)), 4) == pair[6]
    assert round(float(colour.ciede2000(second, first)), 4) == pair[6]


def test_there_are_all_34_published_pairs() -> None:
    assert len(ciede2000.PAIRS) == 34


@pytest.mark.parametrize(("above", "to", "grade"), published.D610)
def test_rust_grades_follow_the_published_table_at_both_ends(above: float, to: float, grade: int) -> None:
    assert grades.rust_grade(to / 100) == grade
    assert grades.rust_grade((above + 1e-6) / 100) == grade


def test_rust_grades_cover_everything_and_no_more() -> None:
    assert grades.rust_grade(0.0) == 10 and grades.rust_grade(1.0) == 0
    for share in (-0.01, 1.01, float("nan")):
        with pytest.raises(BadInput):
            grades.rust_grade(share)


@pytest.mark.parametrize(("grade", "difference", "tolerance"), published.GREY_SCALE)
def test_each_pair_of_the_grey_scale_has_its_own_grade(grade: float, difference: float, tolerance: float) -> None:
    assert grades.grey_scale_by_eye(difference) == grade
    # Half of each tolerance stays nearest to its own step; full tolerances of neighbours overlap in the standard.
    for shift in (-tolerance / 2, tolerance / 2):
        assert grades.grey_scale_by_eye(max(0.0, difference + shift)) == grade


@pytest.mark.parametrize(("difference", "grade"), published.A05_WHOLE)
def test_the_instrument_formula_gives_whole_grades_where_the_grey_scale_has_its_pairs(
    difference: float, grade: float
) -> None:
    assert grades.grey_scale_value(difference) == pytest.approx(grade, abs=1e-9)
    assert grades.grey_scale_by_instrument(difference) == grade


def test_the_instrument_formula_falls_without_a_jump() -> None:
    steps = np.linspace(0, 20, 2001)
    values = [grades.grey_scale_value(float(step)) for step in steps]
    assert all(a >= b - 1e-12 for a, b in zip(values, values[1:], strict=False))
    assert max(abs(a - b) for a, b in zip(values, values[1:], strict=False)) < 0.01


def test_the_fastness_difference_is_lightness_alone_for_greys_and_symmetric_in_hue_direction() -> None:
    assert grades.difference_f(np.array([60.0, 0, 0]), np.array([56.6, 0, 0])) == pytest.approx(3.4)
    base = np.array([50.0, 30.0, 10.0])
    assert grades.difference_f(base, base) == 0
    # Chroma counts less the stronger the colour is: (1 + (20 · 40 / 1000)²) = 1.64 at a mean chroma of 40.
    found = grades.difference_f(np.array([50.0, 42.0, 0.0]), np.array([50.0, 38.0, 0.0]))
    assert 4 / 1.64 * 0.9 < found < 4 / 1.64 * 1.1


def _lit(gains: tuple[float, float, float], exposure: float) -> np.ndarray:
    nominal = colour.linear(np.array([c for _, c in PATCHES]) / 255)
    return np.asarray(nominal * np.array(gains) * exposure)


def test_the_cards_patches_take_out_white_balance_and_exposure() -> None:
    means = _lit((1.25, 1.0, 0.75), 0.7)
    corrected = colour.correction(means)
    assert corrected.residual < 0.05
    nominal = colour.linear(np.array([c for _, c in PATCHES]) / 255)
    before = colour.ciede2000(colour.lab(means), colour.lab(nominal))
    after = colour.ciede2000(colour.lab(corrected.apply(means)), colour.lab(nominal))
    assert before.mean() > 8 and after.max() < 0.2


def test_noise_on_the_patches_is_left_over_and_told() -> None:
    chance = np.random.default_rng(4)
    corrected = colour.correction(_lit((1, 1, 1), 0.8) * chance.normal(1, 0.04, (12, 3)))
    assert 0.3 < corrected.residual < 6


def test_a_burnt_out_or_shaded_card_is_refused() -> None:
    with pytest.raises(BadInput, match="burnt out"):
        colour.correction(np.clip(_lit((1, 1, 1), 1.6), 0, 1))
    shaded = _lit((1, 1, 1), 0.8)
    shaded[1] *= 0.3
    with pytest.raises(BadInput, match="do not step down"):
        colour.correction(shaded)


def _patched(first: tuple[int, int, int], second: tuple[int, int, int], noise: float = 0.0) -> np.ndarray:
    picture = np.zeros((120, 240, 3), float)
    picture[:, :120], picture[:, 120:] = first, second
    picture += np.random.default_rng(7).normal(0, noise, picture.shape) if noise else 0
    return np.clip(picture.round(), 0, 255).astype(np.uint8)


LEFT, RIGHT = Shape.of("box", [[10, 10], [110, 110]]), Shape.of("box", [[130, 10], [230, 110]])


def _difference(picture: np.ndarray) -> tuple[float, float]:
    pair = [colour.pixels_in(picture, shape) for shape in (LEFT, RIGHT)]
    found = colour.difference(pair[0], pair[1], None, np.random.default_rng(1))
    return found.value, found.expanded


def test_the_difference_of_two_patches_is_that_of_their_colours() -> None:
    first, second = (170, 60, 50), (150, 70, 60)
    nominal = [colour.lab(colour.linear(np.array(c) / 255)) for c in (first, second)]
    value, expanded = _difference(_patched(first, second))
    assert value == pytest.approx(float(colour.ciede2000(*nominal)), abs=0.05)
    assert 0.2 < expanded < value


def test_equal_patches_differ_by_nothing_and_the_uncertainty_is_not_zero() -> None:
    value, expanded = _difference(_patched((120, 90, 60), (120, 90, 60), noise=6))
    assert value < 1.0 and expanded > value / 2 and expanded > 0.3


def test_lines_specks_and_patches_outside_are_refused() -> None:
    picture = _patched((9, 9, 9), (9, 9, 9))
    for shape, words in (
        (Shape.of("line", [[0, 0], [50, 50]]), "not a line"),
        (Shape.of("box", [[10, 10], [14, 14]]), "too small"),
        (Shape.of("box", [[900, 900], [950, 950]]), "outside the photo"),
    ):
        with pytest.raises(BadInput, match=words):
            colour.pixels_in(picture, shape)
