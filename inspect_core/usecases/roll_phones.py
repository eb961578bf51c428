"""How many phones took the photos of a roll: told by what the files say of the camera, by their numbers and zones.

The order of a roll is by time alone, so the photos of two phones that worked at once would run into each other: a part
would go to the item whose label the other phone took last.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import TypeVar

from inspect_core.domain.roll import RollPhoto

_V = TypeVar("_V")

#: A camera counts on from the last photo; photos of other things lie between by so many at most (common practice, no
#: source).
_GAP = 30
#: Where a camera's count begins again: after the last number of four digits.
_LAST, _FIRST = 9000, 500


def phones(in_order: Sequence[RollPhoto]) -> Mapping[str, int]:
    """Photo id → the phone that took it, counted from 0, for photos in the order of their time; empty where nothing
    says that there is more than one."""
    found = _numbered([photo.camera for photo in in_order])
    if not any(photo.camera for photo in in_order):
        found = _by_alternation([_pattern(photo.name) for photo in in_order])
    if len(set(found)) == 1:
        found = _by_zone(in_order)
    if len(set(found)) == 1:
        found = _by_numbers(in_order)
    if len(set(found)) == 1:
        return {}
    return {photo.photo_id: phone for photo, phone in zip(in_order, found, strict=True)}


def _numbered(keys: Sequence[str]) -> list[int]:
    places = {key: place for place, key in enumerate(dict.fromkeys(keys))}
    return [places[key] for key in keys]


def _by_zone(photos: Sequence[RollPhoto]) -> list[int]:
    """By the offset from UTC. One phone's may change once, as over a border or a change of hours."""
    offsets = [str(at.utcoffset()) if (at := photo.captured_at) and at.tzinfo else "" for photo in photos]
    return [0] * len(photos) if "" in offsets else _by_alternation(offsets)


def _by_alternation(words: Sequence[str]) -> list[int]:
    """By words that one phone changes once at most, where they change more often."""
    often = _changes(words, lambda one, other: one != other) >= 2
    return _numbered(words) if often else [0] * len(words)


def _by_numbers(photos: Sequence[RollPhoto]) -> list[int]:
    """By the numbers in the files' names, where they run against the clock: each phone counts for itself."""
    numbers = [tuple(int(run) for run in re.findall(r"[0-9]+", photo.name)) for photo in photos]
    if not all(numbers) or not _changes(numbers, _backwards):
        return [0] * len(photos)
    last: list[tuple[int, ...]] = []
    found = []
    for number in numbers:
        near = [
            (_step(before, number), phone) for phone, before in enumerate(last) if 0 <= _step(before, number) <= _GAP
        ]
        phone = min(near)[1] if near else len(last)
        if phone == len(last):
            last.append(number)
        last[phone] = number
        found.append(phone)
    return found


def _changes(values: Sequence[_V], differ: Callable[[_V, _V], bool]) -> int:
    return sum(differ(one, other) for one, other in zip(values, values[1:], strict=False))


def _backwards(before: tuple[int, ...], after: tuple[int, ...]) -> bool:
    """Whether the count runs back, other than by beginning again."""
    again = len(before) == len(after) == 1 and before[0] >= _LAST and after[0] <= _FIRST
    return after < before and not again


def _step(before: tuple[int, ...], after: tuple[int, ...]) -> int:
    """How many photos further; far away where the names do not count alike."""
    if len(before) != len(after) or before[:-1] != after[:-1]:
        return _GAP + 1
    step = after[-1] - before[-1]
    return step + 10_000 if step < 0 and before[-1] >= _LAST and after[-1] <= _FIRST else step


def _pattern(name: str) -> str:
    """The letters around the numbers of a file's name, as one camera writes them."""
    return re.sub(r"[0-9]+", "#", name.casefold())
