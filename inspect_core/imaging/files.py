"""Photo files in, upright pixels and clean copies out.

This is the one border at which formats, EXIF orientation, colour order, alpha, colour profiles and metadata
are dealt with. Behind it every array is upright, sRGB, 8 bit, three channels.
"""

from __future__ import annotations

import hashlib
import io
from dataclasses import dataclass
from datetime import datetime

import cv2
import imagehash
import numpy as np
import pi_heif
from numpy.typing import NDArray
from PIL import Image, ImageCms

from inspect_core.domain.errors import BadPhoto
from inspect_core.imaging.bulk import decoding
from inspect_core.imaging.header import HEIC, JPEG, Header, read_header
from inspect_core.imaging.quality import Quality, judge

Pixels = NDArray[np.uint8]

PREVIEW_SIDE, THUMB_SIDE = 1600, 256
_PREVIEW_QUALITY, _THUMB_QUALITY, _FULL_QUALITY = 85, 80, 92
_REDUCED = {1: cv2.IMREAD_COLOR, 2: cv2.IMREAD_REDUCED_COLOR_2, 4: cv2.IMREAD_REDUCED_COLOR_4}
_REDUCED[8] = cv2.IMREAD_REDUCED_COLOR_8


@dataclass(frozen=True, slots=True)
class Intake:
    """Everything known of a photo once it has been taken in.

    Parameters
    ----------
    sha256: of the original bytes, 64 hexadecimal digits.
    width, height: pixels of the upright picture.
    orientation: the EXIF orientation (1 to 8) that had to be applied to make it so.
    captured_at: DateTimeOriginal; aware where the camera wrote its offset, naive where it did not, None when absent.
    preview_jpeg, thumb_jpeg: longest side 1600 and 256 px at most; no metadata, no location.
    phash: perceptual hash, 64 bits as 16 hexadecimal digits; near-same photos differ in few bits.
    camera: tells cameras apart, "" where the file says nothing of it.
    """

    sha256: str
    media_type: str
    width: int
    height: int
    orientation: int
    captured_at: datetime | None
    bytes_size: int
    preview_jpeg: bytes
    thumb_jpeg: bytes
    phash: str
    quality: Quality
    camera: str = ""

    @property
    def captured_note(self) -> str:
        """What a person must know about the capture time."""
        if self.captured_at is None:
            return "The photo does not say when it was taken."
        if self.captured_at.tzinfo is None:
            return "Camera's local time; the photo names no time zone."
        return "Camera's time with its time zone. A camera's clock can be wrong."


def take_in(data: bytes, *, claimed_name: str = "") -> Intake:
    """Check a photo file, measure it and make its clean copies, all from one decode.

    Raises BadPhoto (nothing decoded where the header already tells) with what is wrong and what to do.
    """
    header = read_header(data, claimed_name=claimed_name)
    preview = _fit(_upright_bgr(data, header, _reduction(header, PREVIEW_SIDE)), PREVIEW_SIDE)
    thumb = _fit(preview, THUMB_SIDE)
    width, height = (header.height, header.width) if header.turned else (header.width, header.height)
    return Intake(
        sha256=hashlib.sha256(data).hexdigest(),
        media_type=header.media_type,
        width=width,
        height=height,
        orientation=header.orientation,
        captured_at=header.captured_at,
        bytes_size=len(data),
        preview_jpeg=_jpeg(preview, _PREVIEW_QUALITY),
        thumb_jpeg=_jpeg(thumb, _THUMB_QUALITY),
        phash=perceptual_hash(thumb[..., ::-1]),
        quality=judge(preview, width * height / 1e6),
        camera=header.camera,
    )


def full_copy(data: bytes) -> bytes:
    """The whole photo, upright, full resolution, as JPEG without metadata or location; for zooming."""
    return _jpeg(_upright_bgr(data, read_header(data), 1), _FULL_QUALITY)


def upright_rgb(data: bytes, reduce: int = 1) -> Pixels:
    """The upright picture as (rows, columns, 3) RGB, 8 bit, sRGB.

    `reduce` 1, 2, 4 or 8 divides both sides (rounded up); large JPEG photos decode faster that way.
    """
    if reduce not in _REDUCED:
        raise ValueError(f"reduce is 1, 2, 4 or 8, not {reduce}")
    return np.ascontiguousarray(_upright_bgr(data, read_header(data), reduce)[..., ::-1])


def perceptual_hash(rgb: Pixels) -> str:
    """64-bit perceptual hash (DCT of a 32 × 32 grey copy, as the ImageHash library defines it), 16 hex digits.

    Give it a small copy (256 px): the result hardly changes and the time does.
    """
    return str(imagehash.phash(Image.fromarray(np.ascontiguousarray(rgb)), hash_size=8))


def _reduction(header: Header, side: int) -> int:
    """Largest of 1, 2, 4, 8 that leaves the longest side at `side` pixels or more."""
    longest = max(header.width, header.height)
    return max(r for r in _REDUCED if r == 1 or longest / r >= side)


def _upright_bgr(data: bytes, header: Header, reduce: int) -> Pixels:
    # A JPEG that is decoded at half its size takes a quarter of the memory.
    with decoding.of(header.width * header.height // (reduce**2 if header.media_type == JPEG else 1)):
        return _decoded(data, header, reduce)


def _decoded(data: bytes, header: Header, reduce: int) -> Pixels:
    # OpenCV decodes plain JPEG fastest and can do it at a reduced size; it knows no colour profiles, no CMYK
    # conversion worth the name, and drops alpha, so everything else goes through Pillow.
    profile = b""
    if header.media_type == JPEG and header.mode in ("RGB", "L"):
        flags = _REDUCED[reduce] | cv2.IMREAD_IGNORE_ORIENTATION
        decoded = cv2.imdecode(np.frombuffer(data, np.uint8), flags)
        if decoded is None:
            raise _damaged("JPEG")
        pixels: Pixels = np.asarray(decoded, np.uint8)
        if data.find(b"ICC_PROFILE", 0, 200_000) >= 0:
            profile = _jpeg_profile(data)
    else:
        image = _heic_image(data) if header.media_type == HEIC else _pillow_image(data)
        profile = image.info.get("icc_profile") or b""
        pixels = np.asarray(_flatten(image), np.uint8)[..., ::-1]
        if reduce > 1:
            pixels = _halved(pixels, reduce)
    if profile:
        pixels = _to_srgb(pixels, profile)
    return np.ascontiguousarray(_turn(pixels, header.orientation))


def _pillow_image(data: bytes) -> Image.Image:
    try:
        image = Image.open(io.BytesIO(data), formats=("JPEG", "PNG", "WEBP"))
        image.load()
    except (OSError, ValueError, SyntaxError, EOFError, MemoryError) as fault:
        raise _damaged("picture") from fault
    return image


def _heic_image(data: bytes) -> Image.Image:
    try:
        heif = pi_heif.open_heif(data, convert_hdr_to_8bit=True)
        picture = heif[heif.primary_index]
        image: Image.Image = picture.to_pillow()
    except (OSError, ValueError, RuntimeError, EOFError, SyntaxError, MemoryError) as fault:
        raise _damaged("HEIC") from fault
    return image


def _damaged(what: str) -> BadPhoto:
    return BadPhoto(
        f"The {what} file is damaged or cut short.", "Send it again from the phone, or take the photo again."
    )


def _flatten(image: Image.Image) -> Image.Image:
    """Any mode to RGB: 16 bits scaled down, alpha laid over white."""
    if image.mode.startswith("I"):
        # 16-bit grey. Pillow's own conversion would cut at 255 instead of scaling.
        grey = np.asarray(image)
        return Image.fromarray(np.clip(grey >> 8, 0, 255).astype(np.uint8)).convert("RGB")
    if "A" in image.getbands() or "transparency" in image.info:
        rgba = image.convert("RGBA")
        return Image.alpha_composite(Image.new("RGBA", rgba.size, "white"), rgba).convert("RGB")
    return image.convert("RGB")


def _jpeg_profile(data: bytes) -> bytes:
    with Image.open(io.BytesIO(data), formats=("JPEG",)) as image:
        return bytes(image.info.get("icc_profile") or b"")


def _to_srgb(bgr: Pixels, profile: bytes) -> Pixels:
    """Wide-gamut pixels to sRGB; colour readings and rust depend on it. A broken profile counts as none."""
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        if "srgb" in (ImageCms.getProfileDescription(source) or "").lower():
            return bgr
        image = Image.fromarray(np.ascontiguousarray(bgr[..., ::-1]))
        converted = ImageCms.profileToProfile(image, source, ImageCms.createProfile("sRGB"), outputMode="RGB")
    except (ImageCms.PyCMSError, OSError, ValueError):
        return bgr
    return bgr if converted is None else np.ascontiguousarray(np.asarray(converted, np.uint8)[..., ::-1])


def _turn(pixels: Pixels, orientation: int) -> Pixels:
    """Apply an EXIF orientation (EXIF 2.32, table "Orientation"): 2 to 4 mirror and turn, 5 to 8 also transpose."""
    if orientation == 1:
        return pixels
    turned = cv2.transpose(pixels) if orientation >= 5 else pixels
    down, across = orientation in (3, 4, 7, 8), orientation in (2, 3, 6, 7)
    if down or across:
        turned = cv2.flip(turned, -1 if down and across else 0 if down else 1)
    return np.asarray(turned, np.uint8)


def _halved(pixels: Pixels, reduce: int) -> Pixels:
    rows, columns = pixels.shape[:2]
    size = (-(-columns // reduce), -(-rows // reduce))
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8)


def _fit(pixels: Pixels, side: int) -> Pixels:
    """Shrink so that the longest side is at most `side`; never enlarge."""
    rows, columns = pixels.shape[:2]
    scale = side / max(rows, columns)
    if scale >= 1:
        return pixels
    size = (max(1, round(columns * scale)), max(1, round(rows * scale)))
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8)


def _jpeg(bgr: Pixels, quality: int) -> bytes:
    done, encoded = cv2.imencode(".jpg", bgr, [cv2.IMWRITE_JPEG_QUALITY, quality])
    if not done:
        raise _damaged("picture")
    return bytes(encoded)
