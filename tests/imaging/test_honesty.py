"""Doubts about photos: used before, too old, another item's tag."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import cv2
import numpy as np
import pytest
import segno

from inspect_core.domain.errors import BadInput
from inspect_core.imaging.files import take_in
from inspect_core.imaging.honesty import (
    DoubtKind,
    HashIndex,
    capture_time,
    codes_in,
    other_tags,
    used_before,
)
from tests.imaging.photos import encoded, woven

START = datetime(2026, 5, 4, 9, 0, tzinfo=timezone(timedelta(hours=-4)))
NOW = START + timedelta(minutes=30)


def _picture(seed: int) -> np.ndarray:
    coarse = np.random.default_rng(seed).integers(40, 220, (6, 8, 3), dtype=np.uint8)
    return cv2.resize(coarse, (1200, 900), interpolation=cv2.INTER_CUBIC)


def test_the_same_and_nearly_the_same_photo_are_found_in_the_whole_store() -> None:
    stored = {f"photo {i}": take_in(encoded(_picture(i))) for i in range(30)}
    index = HashIndex({name: intake.phash for name, intake in stored.items()})
    again = take_in(encoded(cv2.resize(_picture(7), (800, 600)), quality=55))
    doubts = used_before("new", again.phash, index)
    assert [(d.kind, d.about) for d in doubts] == [(DoubtKind.NEARLY_SAME_PHOTO, "photo 7")]
    same = used_before("photo 7", stored["photo 7"].phash, index, known_ids=stored)
    assert [d.kind for d in same] == [DoubtKind.SAME_PHOTO]
    fresh = take_in(encoded(_picture(99)))
    assert used_before("fresh", fresh.phash, index, known_ids=stored) == ()


def test_near_photos_come_nearest_first() -> None:
    index = HashIndex({"a": "000000000000000f", "b": "0000000000000001", "c": "ffffffffffffffff"})
    assert index.near("0000000000000000") == (("b", 1), ("a", 4))
    with pytest.raises(BadInput):
        HashIndex({"a": "not hex"})


@pytest.mark.parametrize(
    ("captured", "kinds"),
    [
        (None, [DoubtKind.NO_TIME]),
        (START + timedelta(minutes=5), []),
        (START - timedelta(hours=1), []),
        (START - timedelta(hours=3), [DoubtKind.OLDER]),
        (START - timedelta(days=40), [DoubtKind.OLDER]),
        (NOW + timedelta(hours=3), [DoubtKind.FROM_THE_FUTURE]),
        # Without a zone the camera may have stood anywhere: a day of slack.
        ((START - timedelta(hours=20)).replace(tzinfo=None), []),
        ((START - timedelta(days=3)).replace(tzinfo=None), [DoubtKind.OLDER]),
        ((START - timedelta(hours=1)).astimezone(UTC), []),
    ],
)
def test_capture_time_is_held_against_the_inspection(captured: datetime | None, kinds: list[DoubtKind]) -> None:
    assert [doubt.kind for doubt in capture_time(captured, START, NOW)] == kinds


def test_the_age_is_told_in_days() -> None:
    assert "40 days before" in capture_time(START - timedelta(days=40), START, NOW)[0].sentence


def _with_codes(*texts: str) -> np.ndarray:
    picture = np.ascontiguousarray(woven(1600, 1200))
    for number, text in enumerate(texts):
        modules = np.array([list(row) for row in segno.make(text, error="m").matrix], np.uint8)
        code = np.kron(1 - np.pad(modules, 4), np.ones((9, 9), np.uint8)) * 255
        top, left = 100 + 500 * number, 200 + 300 * number
        picture[top : top + code.shape[0], left : left + code.shape[1]] = code[..., None]
    return picture


def test_codes_in_the_picture_are_read_and_another_items_tag_is_told() -> None:
    codes = codes_in(_with_codes("LAN-0012", "HAR-0003"))
    assert set(codes) == {"LAN-0012", "HAR-0003"}
    doubts = other_tags(codes, "lan-0012", ["LAN-0012", "HAR-0003", "ROP-0001"])
    assert [(d.kind, d.about) for d in doubts] == [(DoubtKind.OTHER_TAG, "HAR-0003")]
    assert "own tag is in the picture as well" in doubts[0].sentence


def test_codes_that_are_no_registered_tag_say_nothing() -> None:
    assert other_tags(["https://parcel.example/77", "4006381333931"], "LAN-0012", ["LAN-0012"]) == ()
    assert codes_in(woven(400, 300)) == ()
