"""Do inspectors agree, and photos used twice."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspect_core.domain.errors import BadInput
from inspect_core.trends.agreement import Agreement, SecondReading, cohen, fleiss
from inspect_core.trends.few import TooFew
from inspect_core.trends.photo_use import PhotoUse, photos_used_twice


def read(*answers: str, photos: int = 1, start: int = 0) -> list[SecondReading]:
    """The same answers, one per reader, on so many photos."""
    return [
        SecondReading(f"p{start + photo}", f"r{reader}", answer)
        for photo, (reader, answer) in itertools.product(range(photos), enumerate(answers))
    ]


def agreed(found: Agreement | TooFew) -> Agreement:
    assert isinstance(found, Agreement)
    return found


def test_percent_agreement_has_wilsons_interval():
    """81 of 263: row D03, .2553 to .3662."""
    found = agreed(cohen(["a"] * 263, ["a"] * 81 + ["b"] * 182))
    assert (found.agreed, found.photos) == (81, 263)
    assert (found.same_low, found.same_high) == pytest.approx((0.2553, 0.3662), abs=5e-5)


def test_readers_who_agree_by_chance_alone_have_a_kappa_of_zero():
    """Independent answers, every pair equally often."""
    found = agreed(cohen(["a", "a", "b", "b"] * 5, ["a", "b", "a", "b"] * 5))
    assert found.kappa == pytest.approx(0)
    assert found.kappa_low is not None and found.kappa_high is not None
    assert found.kappa_low < 0 < found.kappa_high


def test_perfect_agreement_claims_no_interval_of_kappa():
    found = agreed(cohen(["a", "b"] * 10, ["a", "b"] * 10))
    assert (found.kappa, found.kappa_low, found.kappa_high) == (pytest.approx(1), None, None)
    assert found.same_low < 1
    assert "so few disagreements give it no interval" in found.in_words
    assert agreed(fleiss(read("a", "a", "a", photos=10) + read("b", "b", "b", photos=10, start=10))).kappa_low is None


def test_one_answer_for_everything_has_no_kappa():
    assert agreed(cohen(["a"] * 12, ["a"] * 12)).kappa is None
    found = agreed(fleiss(read("a", "a", photos=12)))
    assert found.kappa is None and "Only one answer was ever given" in found.in_words


def test_few_photos_are_told():
    assert isinstance(cohen(["a"] * 9, ["b"] * 9), TooFew)
    assert isinstance(fleiss(read("a", "b", photos=9)), TooFew)
    assert isinstance(fleiss(read("a", photos=30)), TooFew)
    assert isinstance(fleiss([]), TooFew) and isinstance(cohen([], [], least_photos=0), TooFew)


def test_photos_with_fewer_readers_are_left_out_and_counted():
    rows = read("a", "a", "b", photos=6) + read("b", "b", "b", photos=6, start=6) + read("a", "b", photos=2, start=12)
    assert (agreed(fleiss(rows)).photos, agreed(fleiss(rows)).left_out, agreed(fleiss(rows)).readers) == (12, 2, 3)


def test_a_photo_read_twice_by_one_reader_is_refused():
    with pytest.raises(BadInput, match="twice"):
        fleiss([*read("a", "b", photos=12), SecondReading("p0", "r0", "b")])
    with pytest.raises(BadInput, match="same photos"):
        cohen(["a"], [])


def test_kappa_and_percent_are_told_together():
    found = agreed(cohen(["y"] * 25 + ["n"] * 25, ["y"] * 20 + ["n"] * 5 + ["y"] * 10 + ["n"] * 15))
    assert found.in_words == (
        "2 readers said the same on 35 of 50 photos, 70% (95 % interval 56% to 81%). "
        "Cohen's kappa 0.40 (95 % interval 0.15 to 0.65)."
    )


def test_the_jackknife_interval_of_fleiss_kappa_covers_the_truth():
    """Simulated: three readers, each right with probability 0.8 on two equally frequent answers, else the other one.
    Agreement of a pair .68, by chance .50, so κ = .36. 300 samples of 60 photos; 95 % within binomial play (3 σ)."""
    generator, covered = np.random.default_rng(5), 0
    for _ in range(300):
        truth = generator.integers(0, 2, 60)
        answers = (truth[:, None] + (generator.random((60, 3)) > 0.8)) % 2
        rows = [SecondReading(f"p{p}", f"r{r}", str(answers[p, r])) for p, r in itertools.product(range(60), range(3))]
        found = agreed(fleiss(rows))
        assert found.kappa_low is not None and found.kappa_high is not None
        covered += found.kappa_low <= 0.36 <= found.kappa_high
    assert 0.912 <= covered / 300 <= 0.988


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(*[st.sampled_from("abc")] * 3), min_size=10, max_size=25), st.integers(0, 9))
def test_intervals_hold_kappa_and_order_does_not_matter(answers: list[tuple[str, str, str]], seed: int):
    rows = [SecondReading(f"p{p}", f"r{r}", a) for p, row in enumerate(answers) for r, a in enumerate(row)]
    mixed = random.Random(seed).sample(rows, len(rows))
    found, again = agreed(fleiss(rows)), agreed(fleiss(mixed))
    assert found == again
    pair = agreed(cohen([a for a, _, _ in answers], [b for _, b, _ in answers]))
    for one in (found, pair):
        assert one.same_low <= one.same <= one.same_high
        if one.kappa is not None and one.kappa_low is not None and one.kappa_high is not None:
            assert -1 <= one.kappa_low <= one.kappa + 1e-12 and one.kappa <= one.kappa_high + 1e-12 <= 1 + 1e-9


def test_photos_in_two_inspections_are_found_those_of_two_items_first():
    uses = [
        PhotoUse("aa", "i1", "item 1"),
        PhotoUse("aa", "i2", "item 1"),
        PhotoUse("bb", "i1", "item 1"),
        PhotoUse("cc", "i1", "item 1"),
        PhotoUse("cc", "i3", "item 2"),
        PhotoUse("bb", "i1", "item 1"),
    ]
    found = photos_used_twice(reversed(uses))
    assert [photo for photo, _ in found] == ["cc", "aa"]
    assert [use.inspection_id for use in found[1][1]] == ["i1", "i2"]
