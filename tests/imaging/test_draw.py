"""Marks drawn on copies of photos."""

from __future__ import annotations

import io

import cv2
import numpy as np
import pytest
from PIL import Image

from inspect_core.domain.errors import BadInput, BadPhoto
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import Shape
from inspect_core.domain.marks import Category, Mark
from inspect_core.domain.palette import STROKES
from inspect_core.imaging.draw import crop_around, dashes, draw_marks, open_copy

SIZE = (4000, 3000)


def mark(category: Category = Category.CUT, type: str = "line", points: object = None, id: str = "m1") -> Mark:
    where = points or [[1000, 1500], [3000, 1500]]
    return Mark(id, "p1", Component.WEBBING, category, Shape.of(type, where))  # type: ignore[arg-type]


def plain(level: int = 128, width: int = 1600, height: int = 1200) -> np.ndarray:
    return np.full((height, width, 3), level, np.uint8)


def opened(jpeg: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(jpeg)).convert("RGB"))


def changed(jpeg: bytes, level: int = 128) -> np.ndarray:
    """Where the copy differs clearly from its plain ground."""
    return (abs(opened(jpeg).astype(int) - level).max(axis=2)) > 40


def test_a_mark_lies_where_its_full_resolution_points_say() -> None:
    drawn = changed(draw_marks(plain(), [mark()], size=SIZE, show_labels=False))
    rows, columns = np.nonzero(drawn)
    # 1000…3000 of 4000 px across and 1500 of 3000 px down, on a copy of 1600 × 1200; the ends are dots of 7 px.
    assert columns.min() == pytest.approx(400, abs=8)
    assert columns.max() == pytest.approx(1200, abs=8)
    assert rows.min() == pytest.approx(600, abs=8)
    assert rows.max() == pytest.approx(600, abs=8)


def test_the_line_has_the_category_s_colour() -> None:
    picture = opened(draw_marks(plain(), [mark()], size=SIZE, show_labels=False))
    want = [int(STROKES[Category.CUT].colour[i : i + 2], 16) for i in (1, 3, 5)]
    assert abs(picture[600, 800].astype(int) - want).max() < 40  # JPEG blurs a line of four pixels


@pytest.mark.parametrize("level", [0, 60, 128, 190, 255])
@pytest.mark.parametrize("category", list(Category), ids=lambda c: c.value)
def test_every_line_can_be_seen_in_greyscale_on_any_ground(category: Category, level: int) -> None:
    jpeg = draw_marks(plain(level), [mark(category)], size=SIZE, show_labels=False)
    grey = cv2.cvtColor(opened(jpeg), cv2.COLOR_RGB2GRAY).astype(float)
    band = grey[596:605, 420:1180]
    # Half of the grey range is well over the 3 : 1 that WCAG 2.2 (1.4.11) asks of graphics on a mid-grey.
    assert abs(band - level).max(axis=0).mean() > 90


@pytest.mark.parametrize("category", [c for c in Category if STROKES[c].dash], ids=lambda c: c.value)
def test_a_broken_line_shows_its_gaps_in_greyscale(category: Category) -> None:
    jpeg = draw_marks(plain(), [mark(category)], size=SIZE, show_labels=False)
    grey = cv2.cvtColor(opened(jpeg), cv2.COLOR_RGB2GRAY).astype(float)
    along = grey[600, 430:1170]
    crossings = np.count_nonzero(np.diff((along > along.mean()).astype(int)))
    assert crossings > 20
    assert np.ptp(along) > 60


def test_dashes_cover_the_drawn_lengths_and_leave_the_blank_ones() -> None:
    path = np.array([[0.0, 0.0], [100.0, 0.0]])
    pieces = dashes(path, (10, 5), width=2)
    # 10 drawn and 5 blank: starts at 0, 15, 30 … 90; each piece two short of ten for its round ends.
    assert [float(piece[0, 0]) for piece in pieces] == [0, 15, 30, 45, 60, 75, 90]
    assert all(float(piece[-1, 0] - piece[0, 0]) == 8 for piece in pieces)


def test_dashes_follow_a_corner() -> None:
    pieces = dashes(np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 10.0]]), (8, 4), width=0)
    assert pieces[0].tolist() == [[0, 0], [4, 0], [4, 4]]


def test_a_label_stays_inside_the_picture_at_every_corner() -> None:
    for x, y in ((0, 0), (3999, 0), (0, 2999), (3999, 2999)):
        edge = mark(Category.DEPLOYED_ABSORBER, "box", [[x, y], [abs(x - 60), abs(y - 60)]])
        bare = changed(draw_marks(plain(), [edge], size=SIZE, show_labels=False)).sum()
        labelled = changed(draw_marks(plain(), [edge], size=SIZE)).sum()
        # The plate of "1 deployed absorber" is some 300 × 40 pixels; less would mean that it was cut off.
        assert labelled - bare > 9000


def test_labels_of_marks_in_one_place_do_not_cover_each_other() -> None:
    several = [mark(id=f"m{n}") for n in range(6)]
    one = changed(draw_marks(plain(), several[:1], size=SIZE)).sum()
    bare = changed(draw_marks(plain(), several[:1], size=SIZE, show_labels=False)).sum()
    six = changed(draw_marks(plain(), several, size=SIZE)).sum()
    assert six - bare > 5.5 * (one - bare)


def test_numbers_come_from_the_caller_where_given() -> None:
    assert draw_marks(plain(), [mark()], size=SIZE, numbers={"m1": 1}) == draw_marks(plain(), [mark()], size=SIZE)
    assert draw_marks(plain(), [mark()], size=SIZE, numbers={"m1": 7}) != draw_marks(plain(), [mark()], size=SIZE)


def test_neither_the_array_nor_the_bytes_given_are_changed() -> None:
    picture = plain()
    draw_marks(picture, [mark()], size=SIZE)
    assert (picture == 128).all()


def test_bytes_and_array_give_the_same_copy_and_so_does_a_repetition() -> None:
    done, jpeg = cv2.imencode(".png", plain())
    assert done
    once = draw_marks(bytes(jpeg), [mark()], size=SIZE)
    assert once == draw_marks(bytes(jpeg), [mark()], size=SIZE) == draw_marks(plain(), [mark()], size=SIZE)


def test_the_copy_is_shrunk_and_never_enlarged() -> None:
    assert opened(draw_marks(plain(), [], size=SIZE, longest=800)).shape == (600, 800, 3)
    assert opened(draw_marks(plain(), [], size=SIZE, longest=3000)).shape == (1200, 1600, 3)


def test_the_copy_carries_no_metadata() -> None:
    picture = Image.open(io.BytesIO(draw_marks(plain(), [mark()], size=SIZE)))
    assert picture.format == "JPEG"
    assert dict(picture.getexif()) == {}


def test_marks_that_stray_or_have_no_extent_still_draw() -> None:
    far = mark(points=[[-500, -500], [9000, 9000]])
    dot = mark(points=[[2000, 1500], [2000, 1500]])
    flat = mark(Category.RUST, "polygon", [[10, 10], [10, 10], [10, 10]])
    for one in (far, dot, flat):
        assert changed(draw_marks(plain(), [one], size=SIZE)).any()
        assert opened(crop_around(one, plain(), size=SIZE)).size > 0


@pytest.mark.parametrize("size", [(3000, 4000), (4000, 2000), (4000, 3200), (0, 0)])
def test_a_picture_of_other_proportions_is_refused(size: tuple[int, int]) -> None:
    with pytest.raises(BadInput):
        draw_marks(plain(), [mark()], size=size)


def test_a_copy_whose_sides_were_rounded_is_accepted() -> None:
    assert open_copy(plain(0, 1600, 899), (4001, 2249)).shape == (899, 1600, 3)
    assert open_copy(plain(0, 256, 3), (8000, 100)).shape == (3, 256, 3)


@pytest.mark.parametrize("data", [b"", b"no picture", b"\xff\xd8\xff\xe0"])
def test_bytes_that_are_no_picture_are_refused(data: bytes) -> None:
    with pytest.raises(BadPhoto):
        draw_marks(data, [mark()], size=SIZE)


@pytest.mark.parametrize("array", [np.zeros((10, 10), np.uint8), np.zeros((10, 10, 3)), np.zeros((0, 10, 3), np.uint8)])
def test_an_array_that_is_no_rgb_picture_is_refused(array: np.ndarray) -> None:
    with pytest.raises(BadInput):
        draw_marks(array, [], size=(10, 10))


def test_a_close_up_shows_the_place_of_the_mark() -> None:
    picture = plain()
    picture[560:640, 760:840] = (10, 200, 10)
    box = mark(Category.CUT, "box", [[1900, 1400], [2100, 1600]])
    patch = opened(crop_around(box, picture, size=SIZE, show_mark=False))
    green = (patch[..., 1] > 150) & (patch[..., 0] < 80)
    # The box is 80 px on the copy and has 40 px of margin on each side: the green square fills a quarter.
    assert green.mean() == pytest.approx(0.25, abs=0.02)
    centre = [axis.mean() / length for axis, length in zip(np.nonzero(green), green.shape, strict=True)]
    assert centre == pytest.approx([0.5, 0.5], abs=0.02)


def test_a_close_up_draws_the_mark_unless_it_is_to_stay_bare() -> None:
    box = mark(Category.CUT, "box", [[1900, 1400], [2100, 1600]])
    assert not changed(crop_around(box, plain(), size=SIZE, show_mark=False)).any()
    drawn = changed(crop_around(box, plain(), size=SIZE, show_label=False))
    rows, columns = np.nonzero(drawn)
    assert columns.min() / drawn.shape[1] == pytest.approx(0.25, abs=0.02)
    assert columns.max() / drawn.shape[1] == pytest.approx(0.75, abs=0.02)
    assert rows.max() / drawn.shape[0] == pytest.approx(0.75, abs=0.02)
    assert changed(crop_around(box, plain(), size=SIZE, number=3)).sum() > drawn.sum()


def test_a_close_up_is_enlarged_at_most_fourfold() -> None:
    small = mark(points=[[2000, 1500], [2010, 1500]])
    # The least margin is a fiftieth of the longer side: 32 px on each side of 4 px, so 68 px across.
    assert max(opened(crop_around(small, plain(), size=SIZE)).shape) == pytest.approx(68 * 4, abs=8)
