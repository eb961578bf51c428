"""Photos used twice: the same picture standing for two inspections."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PhotoUse:
    """One photo, by its SHA-256, in one inspection of one item."""

    photo_id: str
    inspection_id: str
    item_id: str


def photos_used_twice(uses: Iterable[PhotoUse]) -> tuple[tuple[str, tuple[PhotoUse, ...]], ...]:
    """Photos that stand in more than one inspection, with those inspections; photos of several items first.

    Same bytes only: a photo saved anew or cropped has another SHA-256 and is not found.
    """
    by_photo: dict[str, set[PhotoUse]] = {}
    for use in uses:
        by_photo.setdefault(use.photo_id, set()).add(use)
    twice = [
        (photo, tuple(sorted(found, key=lambda use: (use.item_id, use.inspection_id))))
        for photo, found in by_photo.items()
        if len({use.inspection_id for use in found}) > 1
    ]
    return tuple(sorted(twice, key=lambda pair: (-len({use.item_id for use in pair[1]}), pair[0])))
