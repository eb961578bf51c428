"""The place goes out of a photo file, in every format that the program takes; the picture stays as it is."""

from __future__ import annotations

import io
import struct

import numpy as np
import pytest
from PIL import Image

from inspect_core.domain.errors import BadPhoto
from inspect_core.imaging.location import without_location

#: Degrees, minutes and seconds that are easy to find again: 59° 17′ 41.13″.
LATITUDE = (59.0, 17.0, 41.13)
TIFF_OF_LATITUDE = {order: struct.pack(f"{order}II", 4113, 100) for order in "<>"}
XMP = b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf exif:GPSLatitude="59,17.6855N"/></x:xmpmeta>'


def exif(order: str = ">") -> Image.Exif:
    made = Image.Exif()
    made.endian = order
    made[0x010F] = "Camera maker"
    made[0x0132] = "2026:03:02 08:00:00"
    made.get_ifd(0x8769)[0x9003] = "2026:03:02 08:00:00"
    made.get_ifd(0x8769)[0x927C] = b"secret notes of the maker " + TIFF_OF_LATITUDE[order]
    made.get_ifd(0x8825).update({1: "N", 2: LATITUDE, 3: "E", 4: (17.0, 41.0, 59.13), 29: "2026:03:02"})
    return made


def picture() -> Image.Image:
    pixels = np.random.default_rng(5).integers(0, 255, (48, 64, 3), dtype=np.uint8)
    return Image.fromarray(pixels)


def jpeg(**more: object) -> bytes:
    out = io.BytesIO()
    picture().save(out, "JPEG", exif=exif(), xmp=XMP, comment=b"taken at the north quay", **more)
    return out.getvalue()


def png() -> bytes:
    from PIL.PngImagePlugin import PngInfo

    info = PngInfo()
    info.add_itxt("XML:com.adobe.xmp", XMP.decode())
    info.add_text("Comment", "taken at the north quay", zip=True)
    out = io.BytesIO()
    picture().save(out, "PNG", exif=exif(), pnginfo=info)
    return out.getvalue()


def webp() -> bytes:
    out = io.BytesIO()
    picture().save(out, "WEBP", lossless=True, exif=exif().tobytes(), xmp=XMP)
    return out.getvalue()


FILES = {"jpeg": jpeg, "progressive jpeg": lambda: jpeg(progressive=True), "png": png, "webp": webp}


@pytest.mark.parametrize("kind", FILES)
def test_no_place_is_left_and_the_picture_is_the_same(kind: str):
    before = FILES[kind]()
    after = without_location(before)
    assert b"GPSLatitude" in before or kind == "png"
    opened = Image.open(io.BytesIO(after))
    assert np.array_equal(np.asarray(opened), np.asarray(Image.open(io.BytesIO(before))))
    found = opened.getexif()
    assert dict(found.get_ifd(0x8825)) == {}
    assert found[0x010F] == "Camera maker" and found.get_ifd(0x8769)[0x9003] == "2026:03:02 08:00:00"
    for trace in (*TIFF_OF_LATITUDE.values(), b"GPSLatitude", b"north quay", b"secret notes"):
        assert trace not in after


@pytest.mark.parametrize("order", ["<", ">"])
def test_both_orders_of_bytes(order: str):
    out = io.BytesIO()
    picture().save(out, "JPEG", exif=exif(order))
    assert TIFF_OF_LATITUDE[order] in out.getvalue()
    assert TIFF_OF_LATITUDE[order] not in without_location(out.getvalue())


def test_what_follows_the_picture_is_cut_off():
    before = jpeg()
    assert without_location(before + b"a short film with its place") == without_location(before)


def test_a_photo_without_a_place_keeps_its_bytes():
    out = io.BytesIO()
    picture().save(out, "JPEG")
    assert without_location(out.getvalue()) == out.getvalue()


def heic_like() -> bytes:
    """A container of the HEIC kind with an Exif block and XMP inside; its picture is not looked at."""
    block = exif().tobytes()
    return struct.pack(">I", 24) + b"ftypheic" + bytes(12) + b"mdat" + block + XMP + b"picture"


def test_heic_is_blanked_in_place():
    before = heic_like()
    after = without_location(before)
    assert len(after) == len(before)
    assert after.endswith(b"picture")
    for trace in (TIFF_OF_LATITUDE[">"], b"GPSLatitude", b"secret notes"):
        assert trace in before and trace not in after
    assert b"Camera maker" in after


@pytest.mark.parametrize("data", [b"", b"\xff\xd8\xff", b"\xff\xd8\xff\xe1\xff\xff" + b"x" * 20, b"GIF89a", b"%PDF"])
def test_other_files_are_refused(data: bytes):
    with pytest.raises(BadPhoto):
        without_location(data)


@pytest.mark.parametrize("kind", FILES)
def test_damaged_files_end_in_a_refusal_or_in_a_file_without_the_place(kind: str):
    rng = np.random.default_rng(11)
    whole = FILES[kind]()
    for _ in range(150):
        data = bytearray(whole)
        for place in rng.integers(8, len(data), 6):
            data[place] = rng.integers(0, 256)
        cut = int(rng.integers(1, len(data)))
        for harmed in (bytes(data), whole[:cut]):
            try:
                without_location(harmed)
            except BadPhoto:
                continue
