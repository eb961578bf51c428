"""Taking the place out of a photo file and leaving the picture as it is: no pixel is decoded.

The GPS directory of the Exif block (Exif 2.32, 4.6.6) is emptied in place, and so are the maker's notes, which may hold
anything. XMP and IPTC blocks and text chunks, which may name a place in words, are taken out (JPEG, PNG, WebP) or
blanked (HEIC). What follows the end of a JPEG (a second picture, a short film) is cut off.
"""

from __future__ import annotations

import re
import struct
import zlib
from collections.abc import Iterator

from inspect_core.domain.errors import BadPhoto

_GPS, _EXIF, _MAKER_NOTE = 0x8825, 0x8769, 0x927C
_SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8}
_MOST_ENTRIES = 500
_XMP = re.compile(rb"<x:xmpmeta.*?</x:xmpmeta>", re.DOTALL)
_TIFF = re.compile(rb"II\*\x00|MM\x00\*")


def without_location(data: bytes) -> bytes:
    """The same photo file without the place where it was taken. Raises BadPhoto for a file of another kind."""
    if data[:3] == b"\xff\xd8\xff":
        return _jpeg(data)
    if data[:8] == b"\x89PNG\r\n\x1a\n":
        return _png(data)
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return _webp(data)
    if data[4:8] == b"ftyp":
        blanked = bytearray(_emptied(data))
        for found in _XMP.finditer(bytes(blanked)):
            blanked[found.start() : found.end()] = b" " * (found.end() - found.start())
        return bytes(blanked)
    raise BadPhoto("This file is no photo whose place can be taken out.", "Export the copies without originals.")


def _jpeg(data: bytes) -> bytes:
    out, at = bytearray(data[:2]), 2
    while at + 4 <= len(data) and data[at] == 0xFF:
        marker = data[at + 1]
        if marker == 0xFF:  # fill bytes may stand before a marker
            at += 1
            continue
        if marker == 0xDA:
            return bytes(out + data[at : _end_of_scans(data, at)])
        end = at + 2 + int(struct.unpack_from(">H", data, at + 2)[0])
        segment, kind = data[at:end], data[at + 4 : at + 10]
        if marker == 0xE1 and kind == b"Exif\x00\x00":
            segment = _emptied(segment)
        elif marker in (0xE1, 0xED, 0xFE) or (marker == 0xE2 and data[at + 4 : at + 8] == b"MPF\x00"):
            segment = b""
        out += segment
        at = end
    raise BadPhoto("This JPEG file is cut off.", "Export the copies without originals.")


def _end_of_scans(data: bytes, at: int) -> int:
    """Just after the end-of-image marker. Inside a scan 0xFF is followed by 0x00 or RSTn; between the scans of a
    progressive file stand segments."""
    while at >= 0 and at + 4 <= len(data):
        marker = data[at + 1]
        if marker == 0xD9:
            return at + 2
        if marker == 0 or 0xD0 <= marker <= 0xD7:
            at = data.find(b"\xff", at + 2)
        elif marker == 0xFF:
            at += 1
        else:
            at = data.find(b"\xff", at + 2 + int(struct.unpack_from(">H", data, at + 2)[0]))
    return len(data)


def _png(data: bytes) -> bytes:
    out, at = bytearray(data[:8]), 8
    while at + 12 <= len(data):
        (size,) = struct.unpack_from(">I", data, at)
        kind, body = data[at + 4 : at + 8], data[at + 8 : at + 8 + size]
        at += 12 + size
        if kind in (b"tEXt", b"zTXt", b"iTXt"):
            continue
        if kind == b"eXIf":
            body = _emptied(body)
        out += struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        if kind == b"IEND":
            break
    return bytes(out)


def _webp(data: bytes) -> bytes:
    chunks, at = bytearray(), 12
    while at + 8 <= len(data):
        kind, (size,) = data[at : at + 4], struct.unpack_from("<I", data, at + 4)
        body = data[at + 8 : at + 8 + size]
        at += 8 + size + size % 2
        if kind == b"XMP ":
            continue
        if kind == b"EXIF":
            body = _emptied(body)
        if kind == b"VP8X" and body:
            body = bytes([body[0] & ~0x04, *body[1:]])  # the flag that an XMP chunk follows
        chunks += kind + struct.pack("<I", len(body)) + body + b"\x00" * (len(body) % 2)
    return b"RIFF" + struct.pack("<I", len(chunks) + 4) + b"WEBP" + bytes(chunks)


def _emptied(data: bytes) -> bytes:
    """The bytes with the GPS directory and the maker's notes of every Exif block in them overwritten by zeros."""
    out = bytearray(data)
    for found in _TIFF.finditer(data):
        for start, end in _private(data, found.start()):
            out[start:end] = bytes(end - start)
    return bytes(out)


def _private(data: bytes, base: int) -> Iterator[tuple[int, int]]:
    """Where the private parts of the Exif block that begins at `base` lie; nothing where no such block begins there."""
    order = "<" if data[base : base + 1] == b"I" else ">"
    try:
        first = base + struct.unpack_from(f"{order}I", data, base + 4)[0]
        for tag, _, _, value in _entries(data, first, base, order):
            if tag == _GPS:
                yield from _whole(data, base + value, base, order)
            elif tag == _EXIF:
                for inner, kind, many, offset in _entries(data, base + value, base, order):
                    if inner == _MAKER_NOTE and many * _SIZES.get(kind, 1) > 4:
                        yield _range(data, base + offset, many * _SIZES.get(kind, 1))
    except struct.error:
        return


def _entries(data: bytes, at: int, base: int, order: str) -> Iterator[tuple[int, int, int, int]]:
    (many,) = struct.unpack_from(f"{order}H", data, at)
    if many > _MOST_ENTRIES:
        return
    for number in range(many):
        yield struct.unpack_from(f"{order}HHII", data, at + 2 + 12 * number)


def _whole(data: bytes, at: int, base: int, order: str) -> Iterator[tuple[int, int]]:
    """A directory with every value that lies outside it."""
    entries = list(_entries(data, at, base, order))
    for _, kind, many, offset in entries:
        size = many * _SIZES.get(kind, 1)
        if size > 4:
            yield _range(data, base + offset, size)
    yield _range(data, at, 2 + 12 * len(entries))


def _range(data: bytes, start: int, size: int) -> tuple[int, int]:
    return min(start, len(data)), min(start + size, len(data))
