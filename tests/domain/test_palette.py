"""The one table of colours, line patterns and safety signs."""

from __future__ import annotations

import pytest

from inspect_core.domain import palette
from inspect_core.domain.custody import State
from inspect_core.domain.decision import FindingOutcome, Outcome
from inspect_core.domain.marks import Category
from inspect_core.domain.palette import SignShape, contrast
from inspect_core.screens.marking.component import _look


def test_every_category_has_a_pattern_of_its_own() -> None:
    assert set(palette.STROKES) == set(Category)
    assert len({stroke.dash for stroke in palette.STROKES.values()}) == len(Category)


def test_a_mark_looks_the_same_while_it_is_drawn_and_in_print() -> None:
    for category, stroke in palette.STROKES.items():
        assert _look(category) == {"name": category.value, "colour": stroke.colour, "dashes": list(stroke.dash)}


def test_the_colours_are_the_published_ones() -> None:
    # RGB triplets as printed in "Color Universal Design", figure 16.
    published = {
        palette.ORANGE: (230, 159, 0),
        palette.SKY_BLUE: (86, 180, 233),
        palette.BLUISH_GREEN: (0, 158, 115),
        palette.YELLOW: (240, 228, 66),
        palette.BLUE: (0, 114, 178),
        palette.VERMILLION: (213, 94, 0),
        palette.REDDISH_PURPLE: (204, 121, 167),
    }
    for colour, triplet in published.items():
        assert tuple(int(colour[i : i + 2], 16) for i in (1, 3, 5)) == triplet
    assert {stroke.colour for stroke in palette.STROKES.values()} <= set(published)


def test_the_contrast_ratio_agrees_with_published_examples() -> None:
    # Black on white is 21 : 1 by definition; #767676 on white passes 4.5 : 1 and #777777 does not (WCAG techniques).
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#767676", "#FFFFFF") >= 4.5 > contrast("#777777", "#FFFFFF")


@pytest.mark.parametrize("category", list(Category), ids=lambda c: c.value)
def test_a_line_stands_out_against_its_halo_and_the_halo_against_its_edge(category: Category) -> None:
    stroke = palette.STROKES[category]
    assert contrast(stroke.colour, stroke.halo) >= 4.5
    assert contrast(stroke.halo, stroke.edge) == pytest.approx(21)


def test_patterns_alternate_drawn_and_blank_lengths() -> None:
    for stroke in palette.STROKES.values():
        assert len(stroke.dash) % 2 == 0
        assert all(length > 0 for length in stroke.dash)


def test_signs_follow_the_meanings_of_iso_3864() -> None:
    assert palette.OUTCOME_SIGNS[Outcome.IN_SERVICE].shape is SignShape.SQUARE
    assert palette.OUTCOME_SIGNS[Outcome.HOLD].shape is SignShape.TRIANGLE
    assert palette.OUTCOME_SIGNS[Outcome.WITHDRAW].shape is SignShape.PROHIBITION
    signs = (*palette.OUTCOME_SIGNS.values(), *palette.FINDING_SIGNS.values(), *palette.STATE_SIGNS.values())
    colours = {SignShape.SQUARE: "#237F52", SignShape.TRIANGLE: "#F9A800", SignShape.PROHIBITION: "#9B2423"}
    for sign in signs:
        assert sign.colour == colours[sign.shape]
        assert sign.word and sign.instruction


def test_only_usable_gear_has_a_green_sign() -> None:
    for state in State:
        assert (palette.STATE_SIGNS[state].shape is SignShape.SQUARE) == (state is State.IN_SERVICE)
    for outcome in Outcome:
        assert (palette.OUTCOME_SIGNS[outcome].shape is SignShape.SQUARE) == (outcome is Outcome.IN_SERVICE)
    assert set(palette.FINDING_SIGNS) == set(FindingOutcome)


def test_words_on_safety_colours_can_be_read() -> None:
    for sign in palette.STATE_SIGNS.values():
        assert contrast(sign.colour, sign.contrast) >= 4.5
