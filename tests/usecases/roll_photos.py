"""Small drawn photos of a camera roll: QR labels as the item label prints them, and parts, with EXIF times."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import datetime, timedelta, timezone
from typing import NamedTuple

import numpy as np
import segno
from PIL import Image

from inspect_core.reports.item_labels import item_payload

BEGUN = datetime(2026, 3, 2, 7, 30, tzinfo=timezone(timedelta(hours=1)))
_EXIF, _TAKEN, _OFFSET, _FRACTION, _MODEL = 0x8769, 0x9003, 0x9011, 0x9291, 0x0110


class File(NamedTuple):
    """A photo as a phone gives it: its name and its bytes."""

    name: str
    data: bytes


def jpeg(image: Image.Image, at: datetime | None, quality: int = 88, camera: str = "") -> bytes:
    """The picture as JPEG with the capture time inside, to the fraction of a second and with its offset; and with the
    camera's model where one is named."""
    out = io.BytesIO()
    exif = Image.Exif()
    if camera:
        exif[_MODEL] = camera
    if at is not None:
        details = exif.get_ifd(_EXIF)
        details[_TAKEN] = f"{at:%Y:%m:%d %H:%M:%S}"
        details[_FRACTION] = f"{at:%f}"
        if at.tzinfo is not None:
            offset = f"{at:%z}"
            details[_OFFSET] = f"{offset[:3]}:{offset[3:5]}"
    image.save(out, "JPEG", quality=quality, exif=exif.tobytes())
    return out.getvalue()


def scene(seed: int, size: tuple[int, int] = (640, 480)) -> Image.Image:
    """A part from near: soft blobs, another seed another picture."""
    rng = np.random.default_rng(seed)
    pixels = rng.integers(20, 235, (size[1] // 60, size[0] // 60, 3), dtype=np.uint8)
    return Image.fromarray(pixels).resize(size, Image.Resampling.BICUBIC)


def label_photo(
    tags: Sequence[str], seed: int, at: datetime | None, *, turn: float = 0.0, payload: str = "", camera: str = ""
) -> bytes:
    """One or more QR labels lying on something."""
    image = scene(seed)
    for place, tag in enumerate(tags):
        out = io.BytesIO()
        segno.make(payload or item_payload(tag), error="m").save(out, kind="png", scale=6, border=4)
        code = Image.open(io.BytesIO(out.getvalue())).convert("RGB")
        code = code.rotate(turn, expand=True, fillcolor=(255, 255, 255))
        image.paste(code, (20 + place * 320, 60 + seed % 7 * 12))
    return jpeg(image, at, camera=camera)


def part_photo(seed: int, at: datetime | None, camera: str = "") -> bytes:
    return jpeg(scene(seed), at, camera=camera)


def roll(
    tags: Sequence[str], photos: int, *, step: timedelta = timedelta(seconds=20)
) -> tuple[list[File], dict[str, list[str]]]:
    """A roll of so many photos over these items, each with its label first, and the truth: tag → names in order."""
    files: list[File] = []
    truth: dict[str, list[str]] = {}
    each, more = divmod(photos, len(tags))
    for place, tag in enumerate(tags):
        for n in range(each + (place < more)):
            number = len(files)
            at = BEGUN + number * step
            name = f"IMG_{number + 1:04}.jpg"
            data = (
                label_photo([tag], number, at, turn=(number * 7) % 30 - 15) if n == 0 else part_photo(1000 + number, at)
            )
            files.append(File(name, data))
            truth.setdefault(tag, []).append(name)
    return files, truth
