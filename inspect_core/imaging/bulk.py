"""How much a photo file makes a decoder do, read from its markers and chunks before a decoder sees it.

Size in pixels is not all: a JPEG of a few hundred kilobytes can hold thousands of scans that each go over all its
pixels, and a PNG or a JPEG can hold millions of empty parts, which Pillow walks one by one. Limits are well above what
cameras write (common practice, no source).
"""

from __future__ import annotations

import re
import struct
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Condition

from inspect_core.domain.errors import BadPhoto

#: Segments of a JPEG before its first scan. Profiles, depth maps and other long parts come in pieces of 64 kB.
MOST_SEGMENTS = 1_000
#: Scans of a JPEG; progressive encoders write about ten. More than `FREE_SCANS` only while all of them together go over
#: no more than `MOST_SCANNED` pixels.
MOST_SCANS, FREE_SCANS, MOST_SCANNED = 100, 20, 1_000_000_000
#: Chunks of a PNG; the common library writes one for every 8 kB of pixels.
MOST_CHUNKS = 20_000
#: Pixels that one process decodes at the same moment, or one larger picture alone. A picture of 50 million takes up to
#: a gigabyte for a second or two, and a file of 34 bytes can hold one.
MOST_AT_ONCE = 60_000_000

_FILL = re.compile(rb"\xff*")
#: The next marker inside or between scans: neither a stuffed zero, nor a restart, nor fill.
_MARKER = re.compile(rb"\xff[\x01-\xcf\xd8-\xfe]")
_FRAMES = frozenset({*range(0xC0, 0xD0)} - {0xC4, 0xC8, 0xCC})
_PROGRESSIVE = frozenset({0xC2, 0xC6, 0xCA, 0xCE})
_REMEDY = "Send the photo as the camera stored it, or take it again."


def check_jpeg(data: bytes) -> None:
    """Raises BadPhoto where the parts or the scans of a JPEG are too many. Whether it is one is for the decoder."""
    at, components, progressive = 2, 0, False
    pixels = 0
    for _ in range(MOST_SEGMENTS):
        found = data.find(b"\xff", at)
        if found < 0:
            return
        if found - at > 1_000:  # rubbish that Pillow would look at byte by byte
            raise _too_many("stray bytes")
        end = _FILL.match(data, found)
        at = end.end() if end else found + 1
        if at - found > 1_000:
            raise _too_many("fill bytes")
        if at + 3 > len(data):
            return
        marker = data[at]
        at += 1
        if marker == 0xDA:
            single = not progressive and data[at + 2 : at + 3] == bytes([components])
            if not single:
                _check_scans(data, at, pixels)
            return
        if marker == 0xD9:
            return
        if marker in (0x00, 0x01) or 0xD0 <= marker <= 0xD8:
            continue
        (size,) = struct.unpack_from(">H", data, at)
        if marker in _FRAMES and at + 8 <= len(data):
            height, width, components = struct.unpack_from(">HHB", data, at + 3)
            pixels, progressive = width * height, marker in _PROGRESSIVE
        at += max(size, 2)
    raise _too_many("parts")


def _check_scans(data: bytes, at: int, pixels: int) -> None:
    """Counts the scans from the first one on to the end of the picture; what follows that is another file."""
    scans = 1
    while found := _MARKER.search(data, at):
        marker, at = data[found.start() + 1], found.end()
        if marker == 0xD9:
            return
        if marker == 0xDA:
            scans += 1
            if scans > MOST_SCANS or (scans > FREE_SCANS and scans * pixels > MOST_SCANNED):
                raise _too_many("scans")
        if marker != 0x01 and at + 2 <= len(data):
            at += max(int(struct.unpack_from(">H", data, at)[0]), 2)


def check_png(data: bytes) -> None:
    """Raises BadPhoto where the chunks of a PNG are too many."""
    at = 8
    for _ in range(MOST_CHUNKS):
        if at + 8 > len(data):
            return
        size, kind = struct.unpack_from(">I4s", data, at)
        if kind == b"IEND":
            return
        at += 12 + size
    raise _too_many("parts")


class _Room:
    """Lets in as many pixels as there is room for; the others wait their turn."""

    def __init__(self) -> None:
        self._changed = Condition()
        self._taken = 0

    @contextmanager
    def of(self, pixels: int) -> Iterator[None]:
        with self._changed:
            self._changed.wait_for(lambda: not self._taken or self._taken + pixels <= MOST_AT_ONCE)
            self._taken += pixels
        try:
            yield
        finally:
            with self._changed:
                self._taken -= pixels
                self._changed.notify_all()


decoding = _Room()


def _too_many(what: str) -> BadPhoto:
    return BadPhoto(f"The picture has more {what} than any camera writes.", _REMEDY)
