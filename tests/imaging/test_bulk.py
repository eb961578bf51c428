"""Photo files that are small in pixels and bytes and endless in work."""

import io
import struct
import threading
import time
import zlib
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from PIL import Image

import sample_images
from inspect_core.domain.errors import BadPhoto
from inspect_core.imaging import bulk
from inspect_core.imaging.files import take_in


def _encoded(kind: str, size: tuple[int, int] = (300, 240), **options: object) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, (10, 120, 30)).save(out, kind, **options)
    return out.getvalue()


def _with_scans(many: int, size: tuple[int, int] = (300, 240)) -> bytes:
    """A progressive JPEG whose last scan stands in it so many times more."""
    whole = _encoded("JPEG", size, progressive=True)
    scan = whole[whole.rfind(b"\xff\xda") : -2]
    return whole[:-2] + scan * many + b"\xff\xd9"


def _chunk(kind: bytes, body: bytes = b"") -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


_JPEG = _encoded("JPEG")
_PNG = _encoded("PNG")
_AFTER_IHDR = 8 + 25


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (_JPEG[:2] + b"\xff\xfe\x00\x02" * 1_000_000 + _JPEG[2:], "parts"),
        (_JPEG[:2] + b"\xff" * 5_000_000 + _JPEG[2:], "fill bytes"),
        (_JPEG[:20] + b"\x00" * 5_000_000 + _JPEG[20:], "stray bytes"),
        (_with_scans(100), "scans"),
        (_with_scans(30, (7000, 6000)), "scans"),
        (_PNG[:_AFTER_IHDR] + _chunk(b"prVt") * 500_000 + _PNG[_AFTER_IHDR:], "parts"),
    ],
    ids=["segments", "fill", "stray", "scans", "scans of many pixels", "chunks"],
)
def test_a_file_that_would_keep_the_decoder_busy_for_minutes_is_refused(data: bytes, what: str) -> None:
    with pytest.raises(BadPhoto, match=f"more {what} than any camera writes"):
        take_in(data)


def test_photos_as_encoders_write_them_pass() -> None:
    for data in (_encoded("JPEG", progressive=True), _encoded("JPEG", (7000, 6000), progressive=True), _with_scans(15)):
        bulk.check_jpeg(data)
        assert take_in(data).width >= 300
    bulk.check_png(_encoded("PNG", (3000, 2000)))
    for path in (Path(sample_images.__file__).parent / "pictures").glob("*.jpg"):
        bulk.check_jpeg(path.read_bytes())


def test_what_follows_the_end_of_the_picture_is_not_counted() -> None:
    """Phones append a film or a second picture."""
    bulk.check_jpeg(_encoded("JPEG", progressive=True) + b"\xff\xda\x00\x02" * 500)


@pytest.mark.parametrize("keep", [2, 3, 4, 5, 20, 100, 159, 160, 300, 600])
def test_a_file_cut_anywhere_is_no_fault_of_the_count(keep: int) -> None:
    bulk.check_jpeg(_encoded("JPEG", progressive=True)[:keep])
    bulk.check_png(_PNG[: keep + 8])


@pytest.mark.parametrize(("pixels", "together"), [(50_000_000, 1), (25_000_000, 2), (12_000_000, 5), (90_000_000, 1)])
def test_large_pictures_wait_for_each_other_so_that_memory_has_an_end(pixels: int, together: int) -> None:
    room, inside, most, lock = bulk._Room(), [0], [0], threading.Lock()

    def decode(_number: int) -> None:
        with room.of(pixels):
            with lock:
                inside[0] += 1
                most[0] = max(most[0], inside[0])
            time.sleep(0.02)
            with lock:
                inside[0] -= 1

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(decode, range(16)))
    assert 1 <= most[0] <= together
    assert room._taken == 0


def test_a_picture_that_fails_gives_its_room_back() -> None:
    damaged = _encoded("PNG", (6000, 6000))[:-200]
    for _ in range(3):
        with pytest.raises(BadPhoto):
            take_in(damaged)
    assert take_in(_JPEG).width == 300
