"""Photo intake against the sum of its parts."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Callable

import cv2
import imagehash
import numpy as np
from PIL import Image

from inspect_core.imaging.files import take_in
from tests.bench.registry import Job, bench
from tests.imaging.photos import encoded, exif, woven


def _photo(width: int, height: int) -> bytes:
    # Blurred a little so that the file has the size a phone gives a photo of that many pixels (3 to 5 MB).
    pixels = cv2.GaussianBlur(woven(width, height), (0, 0), 0.8)
    return encoded(pixels, quality=88, exif=exif(orientation=6, offset="-05:00"))


def _parts(data: bytes) -> Callable[[], object]:
    """Header check, SHA-256, one reduced decode, both copies, perceptual hash: nothing else."""

    def floor() -> object:
        image = Image.open(io.BytesIO(data))
        image.getexif()
        digest = hashlib.sha256(data).hexdigest()
        flags = cv2.IMREAD_REDUCED_COLOR_2 | cv2.IMREAD_IGNORE_ORIENTATION
        decoded = cv2.imdecode(np.frombuffer(data, np.uint8), flags)
        scale = 1600 / max(decoded.shape)
        preview = cv2.resize(decoded, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
        thumb = cv2.resize(preview, None, fx=0.16, fy=0.16, interpolation=cv2.INTER_AREA)
        copies = [cv2.imencode(".jpg", p, [cv2.IMWRITE_JPEG_QUALITY, 85])[1].tobytes() for p in (preview, thumb)]
        return digest, copies, str(imagehash.phash(Image.fromarray(thumb)))

    return floor


@bench("intake of a 12-megapixel JPEG, turned")
def twelve_megapixels() -> Job:
    """The photo of the phone in the pocket."""
    data = _photo(4000, 3000)
    return Job(lambda: take_in(data), _parts(data), target_ratio=1.5, note=f"{len(data) / 1e6:.1f} MB")


@bench("intake of a 48-megapixel JPEG, turned")
def forty_eight_megapixels() -> Job:
    """The largest photo phones give today; the floor decodes at half size as above, ours at a quarter."""
    data = _photo(8000, 6000)
    return Job(lambda: take_in(data), _parts(data), rounds=5, note=f"{len(data) / 1e6:.1f} MB")
