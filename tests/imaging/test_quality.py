"""Photo quality: plain advice where the photo will not do, none where it will."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from inspect_core.imaging.quality import judge
from tests.imaging.photos import woven


def _advice(pixels: np.ndarray, megapixels: float = 12.0) -> str:
    return " ".join(judge(pixels, megapixels).advice)


def test_a_sharp_well_lit_photo_gets_no_advice() -> None:
    assert judge(woven(1600, 1200), 12.0).advice == ()


def test_more_blur_is_never_called_sharper() -> None:
    cloth = woven(1600, 1200)
    found = [judge(cv2.GaussianBlur(cloth, (0, 0), s) if s else cloth, 12.0).sharpness for s in (0, 1, 2, 4, 8)]
    assert found == sorted(found, reverse=True)
    assert found[0] > 0.45 > 0.35 > found[3]


def test_motion_in_one_direction_is_found() -> None:
    moved = cv2.blur(woven(1600, 1200), (25, 1))
    assert "Too blurred to judge stitching: move closer, hold still." in judge(moved, 12.0).advice


def test_a_soft_background_behind_a_sharp_subject_does_no_harm() -> None:
    picture = cv2.GaussianBlur(woven(1600, 1200), (0, 0), 8)
    picture[200:1000, 300:1300] = woven(1000, 800, seed=2)
    assert "blurred" not in _advice(picture)


@pytest.mark.parametrize(
    ("pixels", "words"),
    [
        (woven(800, 600) // 5, "Too dark"),
        (np.clip(woven(800, 600).astype(int) + 140, 0, 255).astype(np.uint8), "Too bright"),
    ],
)
def test_light_is_judged(pixels: np.ndarray, words: str) -> None:
    assert words in _advice(pixels)


def test_burnt_out_spots_are_glare_but_white_paper_is_not() -> None:
    spots, paper = woven(1600, 1200), woven(1600, 1200)
    for x in range(200, 1500, 250):
        cv2.circle(spots, (x, 600), 60, (255, 255, 255), -1)
    paper[:, 1100:] = 255
    assert "Glare" in _advice(spots) and judge(spots, 12).glare == pytest.approx(6 * np.pi * 60**2 / 1.92e6, rel=0.1)
    assert "Glare" not in _advice(paper) and judge(paper, 12).clipped_light > 0.3


def test_too_few_pixels_are_told() -> None:
    assert "Only 0.5 megapixels" in _advice(woven(800, 600), 0.48)
