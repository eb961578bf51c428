"""The tag in a photo of an item's QR label."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import clean_tag

#: What our own labels carry before the tag.
PREFIX: Final = "bartack:item:"
#: Longest side at which a code is looked for, pixels; a label fills a good part of the picture.
_SIDE: Final = 2000


@dataclass(frozen=True, slots=True)
class Labels:
    """What the codes in one photo say: tags on our own labels, and the texts of all others, in order of finding."""

    tags: tuple[str, ...]
    others: tuple[str, ...]


def sorted_codes(texts: Iterable[str]) -> Labels:
    """Codes' texts parted into tags on our own labels and everything else, each once."""
    tags: dict[str, None] = {}
    others: dict[str, None] = {}
    for text in texts:
        tag = _own_tag(text.strip())
        if tag:
            tags.setdefault(tag)
        else:
            others.setdefault(text.strip())
    return Labels(tuple(tags), tuple(others))


def read_tag(data: bytes) -> str | None:
    """The tag on the label in a photo, or None where the photo shows no code that could be one.

    The code holds `bartack:item:TAG` or a bare tag. Where the photo shows codes of several tags the answer is None,
    because picking one would be a guess. Raises BadPhoto where the bytes are no photo.
    """
    import zxingcpp  # loaded only where a photo is read: this and OpenCV take a third of a second

    from inspect_core.imaging.files import upright_rgb
    from inspect_core.imaging.header import read_header

    header = read_header(data)
    longest = max(header.width, header.height)
    reduce = max(r for r in (1, 2, 4, 8) if r == 1 or longest / r >= _SIDE)
    codes = zxingcpp.read_barcodes(upright_rgb(data, reduce))
    own = {tag for code in codes if (tag := _own_tag(code.text))}
    tags = own or {tag for code in codes if (tag := _bare_tag(code.text))}
    return tags.pop() if len(tags) == 1 else None


def _own_tag(text: str) -> str | None:
    return _bare_tag(text[len(PREFIX) :]) if text.startswith(PREFIX) else None


def _bare_tag(text: str) -> str | None:
    try:
        return clean_tag(text)
    except BadInput:
        return None
