"""Photo intake: what is refused and why, and what comes out of what is taken."""

from __future__ import annotations

import io
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms, ImageFile

from inspect_core.domain.errors import BadPhoto
from inspect_core.imaging.files import full_copy, take_in, upright_rgb
from inspect_core.imaging.header import MOST_BYTES
from tests.imaging import photos
from tests.imaging.photos import encoded, exif, quarters, woven

#: Drawn quarters, stored lying, turned upright by the container; EXIF time with offset, and a place.
#: Written once with an encoder that the project itself does not need.
HEIC = Path(__file__).with_name("data") / "drawn.heic"

#: What a camera without a time zone wrote.
NAIVE = datetime.fromisoformat("2026-03-04T05:06:07")

GOOD = encoded(quarters(), quality=90)
GOOD_PNG = encoded(quarters(), "PNG")

BAD = {
    "zero bytes": (b"", "", "empty"),
    "plain text": (b"Webbing cut near the hook.\n" * 90, "", "a text file"),
    "SVG": (b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"/>', "", "an SVG drawing"),
    "web page": (b"<!DOCTYPE html><html></html>", "", "a web page"),
    "PDF": (b"%PDF-1.7\n", "", "a PDF document"),
    "GIF": (encoded(quarters(), "GIF"), "", "a GIF picture"),
    "BMP": (encoded(quarters(), "BMP"), "", "a BMP picture"),
    "TIFF": (encoded(quarters(), "TIFF"), "", "a TIFF or raw camera file"),
    "random bytes": (np.random.default_rng(3).bytes(4000), "", "an unknown kind of file"),
    "video": (b"\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00mp42isom" + bytes(200), "", "a video"),
    "JPEG cut at 60 %": (GOOD[: len(GOOD) * 6 // 10], "", "damaged or cut short"),
    "JPEG cut in its header": (GOOD[:120], "", "damaged or cut short"),
    "PNG cut": (GOOD_PNG[: len(GOOD_PNG) // 2], "", "damaged or cut short"),
    "PNG with a broken checksum": (GOOD_PNG[:200] + b"\xff\x00\xff" + GOOD_PNG[203:], "", "damaged or cut short"),
    "WebP cut": (encoded(woven(400, 300), "WEBP")[:400], "", "damaged or cut short"),
    "JPEG named .png": (GOOD, "hook.png", "named .png but holds a JPEG"),
    "PNG named .jpg": (GOOD_PNG, "hook.JPG", "named .jpg but holds a PNG"),
    "JPEG named .pdf": (GOOD, "report.pdf", "named .pdf but holds a JPEG"),
    "HEIC named .jpg": (HEIC.read_bytes(), "IMG_1.jpg", "named .jpg but holds a HEIC"),
    "too many bytes": (GOOD + bytes(MOST_BYTES), "", "the most is 30"),
    "animated PNG": (
        encoded(
            Image.fromarray(quarters()), "PNG", save_all=True, append_images=[Image.fromarray(quarters()[::-1].copy())]
        ),
        "",
        "animation",
    ),
    "animated WebP": (
        encoded(
            Image.fromarray(quarters()), "WEBP", save_all=True, append_images=[Image.fromarray(quarters()[::-1].copy())]
        ),
        "",
        "animation",
    ),
    "64 megapixels": (photos.claiming(GOOD_PNG, 8000, 8000), "", "the most is 50"),
    "WebP of 260 megapixels": (
        b"RIFF\xff\x00\x00\x00WEBPVP8X\x0a\x00\x00\x00\x00\x00\x00\x00\xfe\x3f\x00\xfe\x3f\x00" + bytes(300),
        "",
        "the most is 50",
    ),
    "bomb of 400 megapixels": (photos.bomb_png(), "", "megapixels"),
    "tiny": (encoded(quarters(190, 400)), "", "at least 200"),
    "corrupt HEIC": (HEIC.read_bytes()[:300] + bytes(900), "", "HEIC file is damaged"),
    "HEIC cut": (HEIC.read_bytes()[:-40], "", "HEIC file is damaged"),
    "AVIF": (b"\x00\x00\x00\x1cftypavif\x00\x00\x00\x00mif1miaf" + bytes(100), "", "AVIF"),
}


@pytest.mark.parametrize(("data", "name", "words"), BAD.values(), ids=BAD.keys())
def test_a_bad_file_is_refused_with_a_sentence_and_a_remedy(data: bytes, name: str, words: str) -> None:
    with pytest.raises(BadPhoto) as refusal:
        take_in(data, claimed_name=name)
    assert words in refusal.value.problem
    assert refusal.value.problem.endswith(".") and refusal.value.remedy.endswith(".")


def test_a_bomb_is_refused_before_any_decoder_sees_it(monkeypatch: pytest.MonkeyPatch) -> None:
    def boom(*_: object, **__: object) -> None:
        raise AssertionError("decoded")

    monkeypatch.setattr("inspect_core.imaging.files.cv2.imdecode", boom)
    monkeypatch.setattr(ImageFile.ImageFile, "load", boom)
    with pytest.raises(BadPhoto):
        take_in(photos.claiming(GOOD_PNG, 60_000, 60_000))


def _corner_colours(pixels: np.ndarray) -> list[tuple[int, ...]]:
    rows, columns = pixels.shape[:2]
    return [
        tuple(int(c) for c in pixels[int(rows * y), int(columns * x)])
        for y, x in ((0.25, 0.25), (0.25, 0.75), (0.75, 0.25), (0.75, 0.75))
    ]


def _assert_upright(pixels: np.ndarray, tolerance: int = 14) -> None:
    wanted = [photos.RED, photos.GREEN, photos.BLUE, photos.YELLOW]
    assert np.abs(np.array(_corner_colours(pixels)) - np.array(wanted)).max() <= tolerance


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("format", ["JPEG", "PNG", "WEBP"])
def test_every_exif_orientation_is_applied_exactly_once(orientation: int, format: str) -> None:
    stored = photos.stored_turned(quarters(640, 480), orientation)
    data = encoded(stored, format, exif=exif(orientation=orientation))
    intake = take_in(data)
    assert (intake.width, intake.height) == (640, 480)
    assert intake.orientation == orientation
    for copy in (intake.preview_jpeg, intake.thumb_jpeg, full_copy(data)):
        _assert_upright(np.asarray(Image.open(io.BytesIO(copy))))
    for reduce in (1, 2):
        pixels = upright_rgb(data, reduce)
        assert pixels.shape == (480 // reduce, 640 // reduce, 3)
        _assert_upright(pixels)


def test_heic_is_upright_once_and_keeps_its_capture_time() -> None:
    intake = take_in(HEIC.read_bytes(), claimed_name="IMG_0001.HEIC")
    assert (intake.media_type, intake.width, intake.height) == ("image/heic", 240, 320)
    assert intake.captured_at == datetime(2026, 3, 4, 10, 6, 7, tzinfo=UTC)
    # Stored red, green / blue, yellow; turned a quarter clockwise the blue comes to the upper left.
    pixels = upright_rgb(HEIC.read_bytes())
    wanted = [photos.BLUE, photos.RED, photos.YELLOW, photos.GREEN]
    assert np.abs(np.array(_corner_colours(pixels)) - np.array(wanted)).max() <= 16


def test_copies_carry_no_metadata_and_no_place() -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    data = encoded(quarters(), exif=exif(), icc_profile=profile, comment=b"gate 4, north face")
    assert Image.open(io.BytesIO(data)).getexif().get_ifd(0x8825)
    intake = take_in(data)
    for copy in (intake.preview_jpeg, intake.thumb_jpeg, full_copy(data)):
        image = Image.open(io.BytesIO(copy))
        assert not image.getexif() and not {"exif", "icc_profile", "comment", "xmp"} & set(image.info)
        assert b"Exif" not in copy and b"camera" not in copy and b"north" not in copy


@pytest.mark.parametrize(
    ("taken", "offset", "expected", "note"),
    [
        ("2026:03:04 05:06:07", None, NAIVE, "no time zone"),
        ("2026:03:04 05:06:07", "+05:30", datetime(2026, 3, 3, 23, 36, 7, tzinfo=UTC), "with its time zone"),
        ("2026:03:04 05:06:07", "rubbish", NAIVE, "no time zone"),
        ("0000:00:00 00:00:00", None, None, "does not say"),
        (None, None, None, "does not say"),
    ],
)
def test_capture_time_is_read_and_its_zone_said(
    taken: str | None, offset: str | None, expected: datetime | None, note: str
) -> None:
    intake = take_in(encoded(quarters(), exif=exif(taken=taken, offset=offset)))
    assert intake.captured_at == expected
    assert (intake.captured_at is None) or (intake.captured_at.utcoffset() is None) == (expected.tzinfo is None)
    assert note in intake.captured_note


def test_same_bytes_have_the_same_name_and_other_bytes_another() -> None:
    assert take_in(GOOD) == take_in(bytes(GOOD))
    assert take_in(GOOD).sha256 != take_in(GOOD_PNG).sha256
    assert len(take_in(GOOD).sha256) == 64 and take_in(GOOD).bytes_size == len(GOOD)


def test_copies_are_fitted_and_never_enlarged() -> None:
    large = take_in(encoded(woven(3000, 2000)))
    assert Image.open(io.BytesIO(large.preview_jpeg)).size == (1600, 1067)
    assert Image.open(io.BytesIO(large.thumb_jpeg)).size == (256, 171)
    small = take_in(encoded(woven(300, 240)))
    assert Image.open(io.BytesIO(small.preview_jpeg)).size == (300, 240)


def test_perceptual_hash_stays_near_for_the_same_picture_and_far_for_another() -> None:
    def bits(a: str, b: str) -> int:
        return (int(a, 16) ^ int(b, 16)).bit_count()

    picture = Image.fromarray(quarters(1200, 900)).rotate(17, fillcolor=(90, 90, 90))
    first = take_in(encoded(picture, quality=95)).phash
    resaved = take_in(encoded(picture.resize((800, 600)), quality=60)).phash
    other = take_in(encoded(woven(1200, 900))).phash
    assert len(first) == 16 and bits(first, resaved) <= 4 < 12 <= bits(first, other)


@pytest.mark.parametrize(
    ("image", "format", "expected"),
    [
        (Image.new("L", (300, 300), 90), "JPEG", (90, 90, 90)),
        (Image.new("L", (300, 300), 90), "PNG", (90, 90, 90)),
        (Image.new("LA", (300, 300), (90, 255)), "PNG", (90, 90, 90)),
        (Image.new("RGBA", (300, 300), (200, 0, 0, 0)), "PNG", (255, 255, 255)),
        (Image.new("RGBA", (300, 300), (200, 0, 0, 255)), "WEBP", (200, 0, 0)),
        (Image.new("P", (300, 300), 1), "PNG", None),
        (Image.new("1", (300, 300), 1), "PNG", (255, 255, 255)),
        (Image.new("I;16", (300, 300), 90 * 256), "PNG", (90, 90, 90)),
        (Image.new("CMYK", (300, 300), (0, 255, 255, 0)), "JPEG", (255, 0, 0)),
    ],
    ids=["grey JPEG", "grey PNG", "grey alpha", "clear", "opaque WebP", "palette", "1 bit", "16 bit", "CMYK"],
)
def test_grey_alpha_palette_16_bit_and_cmyk_become_plain_colour(
    image: Image.Image, format: str, expected: tuple[int, int, int] | None
) -> None:
    pixels = upright_rgb(encoded(image, format))
    assert pixels.shape == (300, 300, 3) and pixels.dtype == np.uint8
    if expected is not None:
        assert np.abs(pixels[150, 150].astype(int) - expected).max() <= 4


def test_a_wide_gamut_profile_is_turned_into_srgb() -> None:
    # A profile whose red and blue are exchanged is the plainest proof that the profile is honoured.
    swapped = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    red, blue = swapped.index(b"rXYZ"), swapped.index(b"bXYZ")
    body = bytearray(swapped)
    body[red : red + 4], body[blue : blue + 4] = b"bXYZ", b"rXYZ"
    description = body.index("sRGB".encode("utf-16-be"))
    body[description : description + 8] = "swap".encode("utf-16-be")
    picture = Image.new("RGB", (300, 300), (250, 20, 20))
    pixels = upright_rgb(encoded(picture, "PNG", icc_profile=bytes(body)))
    assert pixels[9, 9, 2] > 200 > 60 > pixels[9, 9, 0]


def test_the_colour_order_is_red_green_blue() -> None:
    data = encoded(Image.new("RGB", (300, 300), (220, 120, 20)))
    assert np.abs(upright_rgb(data)[5, 5].astype(int) - (220, 120, 20)).max() <= 4
    assert np.abs(np.asarray(Image.open(io.BytesIO(take_in(data).thumb_jpeg)))[5, 5] - (220.0, 120, 20)).max() <= 5


def test_a_reduction_that_does_not_exist_is_a_fault_of_the_caller() -> None:
    with pytest.raises(ValueError, match="1, 2, 4 or 8"):
        upright_rgb(GOOD, 3)


def test_a_capture_time_zone_keeps_its_offset() -> None:
    taken = take_in(encoded(quarters(), exif=exif(offset="-05:00"))).captured_at
    assert taken is not None and taken.utcoffset() == timedelta(hours=-5)
