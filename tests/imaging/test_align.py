"""Two photos of one part laid over each other, marks carried over, and failures said."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.domain.geometry import Shape, ShapeType
from inspect_core.imaging.align import align, laid_over, transfer
from inspect_core.imaging.plane import Array, through

SIZE = (1200, 900)


def _part(seed: int = 0) -> np.ndarray:
    """Something with corners and edges everywhere, no place like another."""
    chance = np.random.default_rng(seed)
    picture = np.full((SIZE[1], SIZE[0], 3), 128, np.uint8)
    for _ in range(260):
        x, y, w, h = chance.integers(0, 1200), chance.integers(0, 900), chance.integers(8, 90), chance.integers(8, 90)
        colour = tuple(int(c) for c in chance.integers(20, 235, 3))
        cv2.rectangle(picture, (int(x), int(y)), (int(x + w), int(y + h)), colour, -1)
    return picture


def _later(picture: np.ndarray, seed: int = 1) -> tuple[np.ndarray, Array]:
    """Another day: other place, turn, tilt, light, blur and noise."""
    chance = np.random.default_rng(seed)
    corners = np.array([[0, 0], [1200, 0], [1200, 900], [0, 900]], np.float32)
    moved = corners + chance.uniform(-90, 90, (4, 2)).astype(np.float32)
    matrix = cv2.getPerspectiveTransform(corners, moved).astype(float)
    half = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1.0]])
    seen = cv2.warpPerspective(picture, half @ matrix @ np.linalg.inv(half), SIZE, borderValue=(60, 60, 60))
    lit = cv2.GaussianBlur(seen, (0, 0), 1.0) * np.linspace(0.7, 1.1, 1200)[None, :, None]
    return np.clip(lit + chance.normal(0, 4, lit.shape), 0, 255).astype(np.uint8), matrix


GRID = np.array([[x, y] for x in (250.0, 600, 950) for y in (200.0, 450, 700)])


def test_a_photo_of_another_day_is_laid_over_within_two_pixels() -> None:
    today, matrix = _later(_part())
    found = align(_part(), today, earlier_size=SIZE, today_size=SIZE)
    assert np.abs(through(found.matrix, GRID) - through(matrix, GRID)).max() < 2.0
    assert found.inliers > 100 and found.likeness > 0.6 and "features agree" in found.note


def test_full_resolution_frames_are_used_whatever_the_copies_sizes() -> None:
    today, matrix = _later(_part())
    shrunk = cv2.resize(today, (900, 675), interpolation=cv2.INTER_AREA)
    found = align(_part(), shrunk, earlier_size=(3600, 2700), today_size=(4800, 3600))
    expected = through(np.diag([4.0, 4, 1]) @ matrix @ np.diag([1 / 3, 1 / 3, 1.0]), GRID * 3)
    assert np.abs(through(found.matrix, GRID * 3) - expected).max() < 8.0


def test_old_marks_are_carried_over_and_the_old_photo_lies_on_todays() -> None:
    today, matrix = _later(_part())
    found = align(_part(), today, earlier_size=SIZE, today_size=SIZE)
    box = transfer(Shape.of("box", [[300, 300], [400, 380]]), found)
    assert box.type is ShapeType.POLYGON and len(box.points) == 4
    corner = through(matrix, np.array([[300.0, 300.0]]))[0]
    assert np.hypot(box.points[0].x - corner[0], box.points[0].y - corner[1]) < 2
    line = transfer(Shape.of("line", [[300, 300], [400, 380]]), found)
    assert line.type is ShapeType.LINE
    over = laid_over(_part(), found, scales=(1.0, 0.5), size=(600, 450))
    small = cv2.resize(today, (600, 450), interpolation=cv2.INTER_AREA)
    seen = over.any(axis=2)
    assert np.corrcoef(over[seen].astype(float).ravel(), small[seen].astype(float).ravel())[0, 1] > 0.85


def test_another_part_and_an_empty_wall_are_refused() -> None:
    wall = np.full((900, 1200, 3), 130, np.uint8)
    for other in (_part(77), wall):
        with pytest.raises(BadInput, match="cannot be laid over") as refusal:
            align(_part(), other, earlier_size=SIZE, today_size=SIZE)
        assert "by eye" in refusal.value.remedy


def test_the_drawn_part_keeps_the_background_from_being_aligned() -> None:
    # The part moves over a bench that stays where it is: only the part's outline tells which is meant.
    bench, part = _part(5), _part(6)[:300, :400]
    before, after = bench.copy(), bench.copy()
    before[300:600, 200:600], after[360:660, 500:900] = part, part
    outlines = [Shape.of("box", [[x, y], [x + 400, y + 300]]) for x, y in ((200, 300), (500, 360))]
    free = align(before, after, earlier_size=SIZE, today_size=SIZE)
    meant = align(before, after, earlier_size=SIZE, today_size=SIZE, earlier_part=outlines[0], today_part=outlines[1])
    place = np.array([[400.0, 450.0]])
    assert np.abs(through(free.matrix, place) - place).max() < 2
    assert np.abs(through(meant.matrix, place) - (place + np.array([300, 60]))).max() < 2
