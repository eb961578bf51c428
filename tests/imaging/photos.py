"""Photographs made up in memory for the tests of intake."""

from __future__ import annotations

import io
import struct
import zlib

import numpy as np
from numpy.typing import NDArray
from PIL import Image

#: Colours of the four quarters of `quarters()`: upper left, upper right, lower left, lower right.
RED, GREEN, BLUE, YELLOW = (200, 40, 40), (40, 160, 60), (40, 70, 190), (220, 200, 60)


def quarters(width: int = 640, height: int = 480) -> NDArray[np.uint8]:
    """An upright picture whose every turn and mirror image can be told apart."""
    picture = np.zeros((height, width, 3), np.uint8)
    picture[: height // 2, : width // 2], picture[: height // 2, width // 2 :] = RED, GREEN
    picture[height // 2 :, : width // 2], picture[height // 2 :, width // 2 :] = BLUE, YELLOW
    return picture


def woven(width: int, height: int, seed: int = 0) -> NDArray[np.uint8]:
    """Detail at every scale, like cloth in focus."""
    chance = np.random.default_rng(seed)
    cloth = np.full((height, width), 120.0, np.float32)
    for grain in (1, 2, 4, 8, 16):
        coarse = chance.normal(0, 10, (-(-height // grain), -(-width // grain))).astype(np.float32)
        cloth += np.kron(coarse, np.ones((grain, grain), np.float32))[:height, :width]
    return np.repeat(np.clip(cloth, 0, 255).astype(np.uint8)[..., None], 3, axis=2)


def exif(
    *, orientation: int = 1, taken: str | None = "2026:03:04 05:06:07", offset: str | None = None, located: bool = True
) -> Image.Exif:
    """Camera metadata with capture time and, unless told otherwise, a place."""
    data = Image.Exif()
    data[0x0112] = orientation
    data[0x010F] = "A camera"
    details = data.get_ifd(0x8769)
    if taken is not None:
        details[0x9003] = taken
    if offset is not None:
        details[0x9011] = offset
    if located:
        place = data.get_ifd(0x8825)
        place[1], place[2], place[3], place[4] = "N", (43.0, 39.0, 0.0), "W", (79.0, 23.0, 0.0)
    return data


def encoded(pixels: NDArray[np.uint8] | Image.Image, format: str = "JPEG", **options: object) -> bytes:
    """The bytes of a picture file."""
    image = pixels if isinstance(pixels, Image.Image) else Image.fromarray(pixels)
    buffer = io.BytesIO()
    image.save(buffer, format=format, **options)
    return buffer.getvalue()


def stored_turned(upright: NDArray[np.uint8], orientation: int) -> NDArray[np.uint8]:
    """How a camera held in that orientation stores the upright picture (the inverse of what a viewer applies)."""
    undo = {
        1: lambda a: a,
        2: np.fliplr,
        3: lambda a: np.rot90(a, 2),
        4: np.flipud,
        5: lambda a: a.transpose(1, 0, 2),
        6: lambda a: np.rot90(a, 1),
        7: lambda a: np.rot90(a, 2).transpose(1, 0, 2),
        8: lambda a: np.rot90(a, -1),
    }
    return np.ascontiguousarray(undo[orientation](upright))


def bomb_png(side: int = 20_000) -> bytes:
    """A PNG of a few hundred kilobytes that claims and holds side × side grey pixels."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    packer = zlib.compressobj(9)
    row = bytes(side + 1)
    body = b"".join(packer.compress(row) for _ in range(side)) + packer.flush()
    header = struct.pack(">IIBBBBB", side, side, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


def claiming(png: bytes, width: int, height: int) -> bytes:
    """The PNG with another size in its header (checksum mended), its pixels left as they are."""
    header = struct.pack(">II", width, height) + png[24:29]
    return png[:16] + header + struct.pack(">I", zlib.crc32(b"IHDR" + header)) + png[33:]
