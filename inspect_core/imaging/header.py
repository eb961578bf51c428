"""Look at a photo file's header before anything is decoded.

A decoder believes the width and height it is told and reserves the memory. So the format, the size in pixels
and the number of pictures are read and judged here, from the header alone, and only then may anybody decode.
"""

from __future__ import annotations

import hashlib
import io
import re
import struct
import warnings
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from pathlib import PurePath

import pi_heif
from PIL import Image, UnidentifiedImageError

from inspect_core.domain.errors import BadPhoto
from inspect_core.imaging.bulk import check_jpeg, check_png

#: Largest file accepted, in bytes (30 MiB, the upload limit of the screens).
MOST_BYTES = 30 * 1024 * 1024
#: Most pixels accepted.
MOST_PIXELS = 50_000_000
#: Shortest side accepted, in pixels; below this no mark can be judged.
LEAST_SIDE = 200

JPEG, PNG, WEBP, HEIC = "image/jpeg", "image/png", "image/webp", "image/heic"
_NAMES = {JPEG: "JPEG", PNG: "PNG", WEBP: "WebP", HEIC: "HEIC"}
_SUFFIXES = {
    ".jpg": JPEG,
    ".jpeg": JPEG,
    ".jpe": JPEG,
    ".jfif": JPEG,
    ".png": PNG,
    ".webp": WEBP,
    ".heic": HEIC,
    ".heif": HEIC,
    ".hif": HEIC,
}
#: File name endings that promise something else than a picture we take.
_OTHER_SUFFIXES = {".gif", ".bmp", ".tif", ".tiff", ".svg", ".pdf", ".txt", ".html", ".avif", ".dng", ".zip", ".mp4"}
_PILLOW_FORMATS = {JPEG: ("JPEG",), PNG: ("PNG",), WEBP: ("WEBP",)}
_HEIC_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"mif1"}
_MOVING_BRANDS = {b"hevc", b"hevx", b"msf1"}

_EXIF_IFD, _ORIENTATION, _TAKEN, _TAKEN_OFFSET, _TAKEN_FRACTION = 0x8769, 0x0112, 0x9003, 0x9011, 0x9291
_MAKE, _MODEL, _CAMERA_NUMBER = 0x010F, 0x0110, 0xA431
_SEND_ORIGINAL = "Send the photo as the camera stored it: JPEG, PNG, WebP or HEIC."
_SEND_AGAIN = "Send it again from the phone, or take the photo again."


@dataclass(frozen=True, slots=True)
class Header:
    """What a photo file says of itself.

    Parameters
    ----------
    media_type: by content, never by name.
    width, height: pixels as stored in the file, before `orientation` is applied.
    orientation: EXIF orientation 1 to 8 that is still to be applied; 1 where none is given or where the
        format's decoder applies it (HEIC).
    mode: pixel mode in Pillow's spelling, such as "RGB", "CMYK", "I;16".
    captured_at: DateTimeOriginal to the fraction of a second that the camera wrote, with its offset where it wrote
        one, else naive; None when absent.
    camera: what the camera says of itself (make, model, its own number), as the first 16 hexadecimal digits of a
        SHA-256: enough to tell cameras apart and no more; "" where it says nothing.
    """

    media_type: str
    width: int
    height: int
    orientation: int
    mode: str
    captured_at: datetime | None
    camera: str = ""

    @property
    def turned(self) -> bool:
        """Whether the upright picture swaps width and height."""
        return self.orientation >= 5


def read_header(data: bytes, *, claimed_name: str = "") -> Header:
    """The header of a photo file. Raises BadPhoto with the reason when the file must not be decoded.

    Reads `data` only as far as the header goes; no pixel is decoded.
    """
    if not data:
        raise BadPhoto("The file is empty.", _SEND_AGAIN)
    if len(data) > MOST_BYTES:
        raise BadPhoto(
            f"The file has {len(data) / 2**20:.0f} MB; the most is {MOST_BYTES // 2**20} MB.",
            "Take the photo at a lower resolution, or send the JPEG instead of the raw file.",
        )
    media_type = _sniff(data)
    _check_name(claimed_name, media_type)
    return _heic_header(data) if media_type == HEIC else _pillow_header(data, media_type)


def _check_size(width: int, height: int) -> None:
    if width * height > MOST_PIXELS:
        raise BadPhoto(
            f"The picture has {width} × {height} pixels, {width * height / 1e6:.0f} megapixels; "
            f"the most is {MOST_PIXELS // 1_000_000}.",
            "Set the camera to a lower resolution.",
        )
    if min(width, height) < LEAST_SIDE:
        raise BadPhoto(
            f"The picture has only {width} × {height} pixels; each side needs at least {LEAST_SIDE}.",
            "Send the original photo, not its thumbnail.",
        )


def _sniff(data: bytes) -> str:
    """Media type from the first bytes. Raises BadPhoto naming what the file is instead."""
    if data.startswith(b"\xff\xd8\xff"):
        return JPEG
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return PNG
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return WEBP
    if data[4:8] == b"ftyp":
        brands = {data[8:12]} | {data[i : i + 4] for i in range(16, min(int.from_bytes(data[:4], "big"), 128), 4)}
        if b"avif" in brands or b"avis" in brands:
            raise BadPhoto("This is an AVIF picture, which is not taken in.", _SEND_ORIGINAL)
        if data[8:12] in _MOVING_BRANDS:
            raise BadPhoto("This is a picture sequence, not one photo.", "Send a single still photo.")
        if brands & _HEIC_BRANDS:
            return HEIC
        raise BadPhoto("This is a video, not a photo.", "Send a still photo.")
    raise BadPhoto(f"This is {_what_else(data)}, not a photo that can be taken in.", _SEND_ORIGINAL)


def _what_else(data: bytes) -> str:
    start = data[:1024].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if data[:6] in (b"GIF87a", b"GIF89a"):
        return "a GIF picture"
    if b"<svg" in start:
        return "an SVG drawing"
    if start.startswith((b"<!doctype", b"<html", b"<?xml")):
        return "a web page"
    if start.startswith(b"%pdf"):
        return "a PDF document"
    if data[:4] in (b"II*\x00", b"MM\x00*"):
        return "a TIFF or raw camera file"
    if data[:2] == b"BM":
        return "a BMP picture"
    if data[:2] == b"PK":
        return "a ZIP archive"
    try:
        data[:1024].decode("utf-8")
    except UnicodeDecodeError as fault:
        # A character may be cut at the end of the look; anything earlier is no text.
        return "a text file" if fault.start > 1000 else "an unknown kind of file"
    return "an unknown kind of file" if b"\x00" in data[:1024] else "a text file"


def _check_name(claimed_name: str, media_type: str) -> None:
    suffix = PurePath(claimed_name.replace("\\", "/")).suffix.lower()
    promised = _SUFFIXES.get(suffix)
    if promised == media_type or (promised is None and suffix not in _OTHER_SUFFIXES):
        return
    raise BadPhoto(
        f"The file is named {suffix} but holds a {_NAMES[media_type]} picture.",
        "Send the photo as the camera stored it, under its own name.",
    )


def _pillow_header(data: bytes, media_type: str) -> Header:
    try:
        if media_type == WEBP:
            # Pillow's opener already reserves the whole canvas of a WebP.
            _check_size(*_webp_size(data))
        elif media_type == JPEG:
            check_jpeg(data)
        else:
            check_png(data)
        with warnings.catch_warnings():
            # Pillow's own size warning starts above our limit, which is checked and explained by the caller.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            image = Image.open(io.BytesIO(data), formats=_PILLOW_FORMATS[media_type])
        _check_size(image.width, image.height)
        frames = getattr(image, "n_frames", 1)
        # An MPO is what phones write for a photo with a depth or gain map: its first picture is the photo.
        if frames > 1 and image.format != "MPO":
            raise BadPhoto(f"The file holds {frames} pictures that play as an animation.", "Send a single still photo.")
        # Pillow would decode a whole PNG to look for EXIF behind the pixels.
        exif = _png_exif(data) if media_type == PNG else image.getexif()
        orientation, captured_at, camera = _exif_facts(exif)
        return Header(media_type, image.width, image.height, orientation, image.mode, captured_at, camera)
    except Image.DecompressionBombError:
        raise BadPhoto(
            f"The picture claims far more than {MOST_PIXELS // 1_000_000} megapixels.",
            "Set the camera to a lower resolution.",
        ) from None
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, EOFError, KeyError, struct.error) as fault:
        raise BadPhoto(f"The {_NAMES[media_type]} file is damaged or cut short.", _SEND_AGAIN) from fault


def _webp_size(data: bytes) -> tuple[int, int]:
    """Canvas of a WebP file (RFC 9649: VP8X canvas, VP8L and VP8 frame headers)."""
    kind = data[12:16]
    if kind == b"VP8X":
        return 1 + int.from_bytes(data[24:27], "little"), 1 + int.from_bytes(data[27:30], "little")
    if kind == b"VP8L":
        bits = int.from_bytes(data[21:25], "little")
        return 1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF)
    width, height = struct.unpack_from("<HH", data, 26)
    return width & 0x3FFF, height & 0x3FFF


def _png_exif(data: bytes) -> Image.Exif:
    """The eXIf chunk of a PNG, which may stand before or behind the pixels."""
    exif, place = Image.Exif(), 8
    while place + 8 <= len(data):
        size, kind = struct.unpack_from(">I4s", data, place)
        if kind == b"eXIf":
            exif.load(data[place + 8 : place + 8 + size])
            break
        place += 12 + size
    return exif


def _heic_header(data: bytes) -> Header:
    try:
        heif = pi_heif.open_heif(data)
        primary = heif[heif.primary_index]
        _check_size(*primary.size)
        exif = Image.Exif()
        if primary.info.get("exif"):
            exif.load(primary.info["exif"])
        # The container's own turn has been applied to `size` and will be by the decoder; EXIF only repeats it.
        _, captured_at, camera = _exif_facts(exif)
        return Header(HEIC, primary.size[0], primary.size[1], 1, primary.mode, captured_at, camera)
    except (OSError, ValueError, RuntimeError, EOFError, SyntaxError, IndexError) as fault:
        raise BadPhoto("The HEIC file is damaged or cut short.", _SEND_AGAIN) from fault


def _exif_facts(exif: Image.Exif) -> tuple[int, datetime | None, str]:
    """(orientation 1 to 8, capture time, camera). Nonsense in any counts as absent: EXIF is written by anybody."""
    try:
        orientation = int(exif.get(_ORIENTATION, 1))
    except (TypeError, ValueError):
        orientation = 1
    try:
        details = exif.get_ifd(_EXIF_IFD)
    except (OSError, ValueError, KeyError, SyntaxError):
        details = {}
    taken, offset, fraction = (str(details.get(tag, "")) for tag in (_TAKEN, _TAKEN_OFFSET, _TAKEN_FRACTION))
    captured = _exif_time(taken, offset, fraction)
    says = [str(part).strip("\x00 ") for part in (exif.get(_MAKE, ""), exif.get(_MODEL, ""))]
    says.append(str(details.get(_CAMERA_NUMBER, "")).strip("\x00 "))
    camera = hashlib.sha256("\n".join(says).encode("utf-8", "replace")).hexdigest()[:16] if any(says) else ""
    return (orientation if 1 <= orientation <= 8 else 1), captured, camera


def _exif_time(text: str, offset: str, fraction: str = "") -> datetime | None:
    """EXIF "YYYY:MM:DD HH:MM:SS" with offset "±HH:MM" and decimal digits of the second; None when it is no date
    (cameras write zeros)."""
    try:
        moment = datetime.strptime(text.strip("\x00 "), "%Y:%m:%d %H:%M:%S")  # noqa: DTZ007 (naive on purpose)
    except ValueError:
        return None
    digits = fraction.strip("\x00 ")
    if digits.isascii() and digits.isdigit():
        moment = moment.replace(microsecond=int(digits[:6].ljust(6, "0")))
    found = re.fullmatch(r"([+-])(\d{2}):(\d{2})", offset.strip("\x00 "))
    if not found or int(found[2]) > 14 or int(found[3]) > 59:
        return moment
    shift = timedelta(hours=int(found[2]), minutes=int(found[3]))
    return moment.replace(tzinfo=timezone(shift if found[1] == "+" else -shift))
