"""Comparison over time: photos that fit are laid over each other, others refused; growth told without guessing."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np
import pytest
from PIL import Image

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import Shape
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.imaging.align import Alignment, transfer
from inspect_core.imaging.growth import Change
from inspect_core.usecases.compare import faded, grown, overlay, transferred, wiped
from inspect_core.usecases.intake import photo_by_id, take_photo
from tests.usecases.site import Site

SIZE = (1200, 900)
MOVE = np.array([[0.97, -0.05, 40.0], [0.05, 0.97, -12.0], [1e-5, 0.0, 1.0]])


def scene(seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    pixels = rng.integers(0, 255, (SIZE[1] // 12, SIZE[0] // 12, 3), dtype=np.uint8)
    return np.asarray(Image.fromarray(pixels).resize(SIZE, Image.Resampling.BICUBIC))


def stored(site: Site, pixels: np.ndarray) -> str:
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "JPEG", quality=92)
    return take_photo(out.getvalue(), site.services).id


def mark(id: str, points: Sequence[Sequence[float]], length: float, uncertainty: float = 0.4) -> Mark:
    reading = Reading("length", length, "mm", uncertainty, "photo, scale card")
    return Mark(id, "p", Component.WEBBING, Category.CUT, Shape.of("line", points), (reading,))


def pixels_of(jpeg: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(jpeg)).convert("RGB")).astype(float)


@pytest.fixture
def moved(site: Site) -> tuple[str, str]:
    before = scene(1)
    return stored(site, before), stored(site, cv2.warpPerspective(before, MOVE, SIZE))


def test_a_moved_camera_is_found_again_within_two_pixels(site: Site, moved: tuple[str, str]) -> None:
    over = overlay(*moved, site.services)
    point = Shape.of("line", [[300.0, 300.0], [900.0, 600.0]])
    there = cv2.perspectiveTransform(np.array([[[300.0, 300.0], [900.0, 600.0]]]), MOVE)[0]
    found = transfer(point, over.alignment).points
    for place, wanted in zip(found, there, strict=True):
        assert np.hypot(place.x - wanted[0], place.y - wanted[1]) < 2.0
    assert over.today.shape == over.earlier.shape


def test_photos_of_different_things_are_refused_with_what_to_do(site: Site) -> None:
    with pytest.raises(BadInput) as refused:
        overlay(stored(site, scene(1)), stored(site, scene(2)), site.services)
    assert "cannot be laid over each other" in refused.value.problem and refused.value.remedy


def test_the_wipe_shows_then_on_the_left_and_today_on_the_right(site: Site, moved: tuple[str, str]) -> None:
    over = overlay(*moved, site.services)
    half = over.today.shape[1] // 2
    picture = pixels_of(wiped(over, 0.5))
    assert np.abs(picture[:, half + 8 :] - over.today[:, half + 8 :]).mean() < 6
    assert np.abs(picture[:, : half - 8] - over.earlier[:, : half - 8]).mean() < 6
    assert np.abs(pixels_of(wiped(over, 0.0)) - over.today).mean() < 6


def test_the_fade_ends_at_either_photo(site: Site, moved: tuple[str, str]) -> None:
    over = overlay(*moved, site.services)
    assert np.abs(pixels_of(faded(over, 0.0)) - over.today).mean() < 6
    assert np.abs(pixels_of(faded(over, 1.0)) - over.earlier).mean() < 6


def test_growth_beyond_its_uncertainty_is_real_and_below_it_cannot_be_told() -> None:
    then = [mark("a", [[10, 10], [50, 10]], 4.0)]
    (real,) = grown(then, [mark("b", [[10, 10], [90, 10]], 6.1)])
    (unsure,) = grown(then, [mark("b", [[10, 10], [55, 10]], 4.3)])
    assert real.growth is not None and real.growth.change is Change.MORE
    assert "2.1 ± 0.6 mm more: real" in real.sentence
    assert unsure.growth is not None and unsure.growth.change is Change.CANNOT_TELL
    assert "cannot tell" in unsure.sentence


def test_which_of_several_marks_was_which_is_not_guessed_without_an_alignment() -> None:
    then = [mark("a", [[10, 10], [50, 10]], 4.0), mark("c", [[800, 700], [900, 700]], 9.0)]
    (one,) = grown(then, [mark("b", [[10, 10], [50, 10]], 4.0)])
    assert one.growth is None and "cannot be told" in one.sentence


def test_an_alignment_pairs_marks_by_their_place(site: Site, moved: tuple[str, str]) -> None:
    over = overlay(*moved, site.services)
    then = [mark("a", [[200, 200], [260, 200]], 4.0), mark("c", [[800, 600], [900, 600]], 9.0)]
    now = transfer(then[1].shape, over.alignment)
    later = [mark("b", [[p.x, p.y] for p in now.points], 9.1)]
    (one,) = grown(then, later, over.alignment, 1200)
    assert one.growth is not None and one.growth.change is Change.CANNOT_TELL


SAME_VIEW = Alignment(np.eye(3), 50, 60, 1.0, 0.9, 1.0, "by hand")


def test_marks_that_an_alignment_lays_apart_are_never_paired() -> None:
    then, later = [mark("a", [[100, 100], [150, 100]], 10.0)], [mark("b", [[3000, 100], [3050, 100]], 4.0)]
    (one,) = grown(then, later, SAME_VIEW, 4000)
    assert one.growth is None
    assert one.sentence == "cut on the webbing: nothing was marked at that place then."


def test_without_an_alignment_the_sentence_says_that_places_were_not_compared() -> None:
    then, later = [mark("a", [[100, 100], [150, 100]], 4.0)], [mark("b", [[3000, 100], [3050, 100]], 6.1)]
    (one,) = grown(then, later)
    assert one.sentence.endswith("2.1 ± 0.6 mm more: real; place not compared; lay the photos over each other.")
    (laid,) = grown(then, [mark("b", [[110, 100], [160, 100]], 6.1)], SAME_VIEW, 4000)
    assert laid.sentence.endswith("2.1 ± 0.6 mm more: real.")


@pytest.mark.parametrize("swapped", [False, True])
def test_an_earlier_mark_is_one_later_mark_at_most_and_the_nearest(swapped: bool) -> None:
    then = [mark("a", [[100, 100], [150, 100]], 10.0)]
    near, new = mark("b", [[110, 100], [160, 100]], 10.2), mark("c", [[300, 100], [350, 100]], 3.0)
    found = {one.mark.id: one for one in grown(then, [new, near] if swapped else [near, new], SAME_VIEW, 4000)}
    assert found["b"].growth is not None and found["b"].growth.change is Change.CANNOT_TELL
    assert found["c"].growth is None and "nothing was marked at that place then" in found["c"].sentence


def test_what_was_not_there_then_or_not_measured_both_times_is_said() -> None:
    later = [mark("b", [[10, 10], [50, 10]], 4.0)]
    (new,) = grown([], later)
    bare = Mark("a", "p", Component.WEBBING, Category.CUT, Shape.of("line", [[1, 1], [2, 2]]))
    (unmeasured,) = grown([bare], later)
    assert new.sentence == "cut on the webbing: not marked then."
    assert unmeasured.sentence == (
        "cut on the webbing: no measure was taken both times; place not compared; lay the photos over each other."
    )


def test_earlier_marks_are_carried_to_todays_photo_and_end_at_its_edge(site: Site) -> None:
    shift = Alignment(np.array([[1, 0, 50], [0, 1, 0], [0, 0, 1.0]]), 100, 120, 0.5, 0.9, 1.0, "by hand")
    today = replace(photo_by_id(site.photo(), site.services), width=200, height=100)

    def at(name: str, *points: tuple[float, float]) -> Mark:
        shape = Shape.of("line", points)
        return Mark(name, "q" * 64, Component.WEBBING, Category.CUT, shape)

    marks = (at("in", (10, 10), (40, 20)), at("past", (100, 10), (190, 10)), at("out", (160, 10), (190, 10)))
    found = transferred(marks, shift, today, "marked on 2026-01-05")
    assert [one["shape"]["points"] for one in found] == [[[60, 10], [90, 20]], [[150, 10], [200, 10]]]
    assert {one["kind"] for one in found} == {"earlier"}
    assert len({one["id"] for one in found}) == 2
