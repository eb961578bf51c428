"""Whether a photo is what it passes for: used before, older than the inspection, of another item.

Nothing here accuses anybody or decides anything. Each doubt is a sentence for the inspector and goes on record.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import clean_tag

#: Perceptual hashes of 64 bits that differ in no more bits than this show nearly the same picture. Re-saved and
#: shrunk copies stay within 4 in our tests; different photos of one part lie around 20 to 32.
NEAR_BITS = 6
#: Clocks of phones differ, and a photo may be taken shortly before the form is opened.
SLACK = timedelta(hours=2)


class DoubtKind(StrEnum):
    """What is doubtful about a photo."""

    SAME_PHOTO = "same photo"
    NEARLY_SAME_PHOTO = "nearly the same photo"
    OLDER = "older than the inspection"
    FROM_THE_FUTURE = "later than now"
    NO_TIME = "no capture time"
    OTHER_TAG = "another item's tag"


@dataclass(frozen=True, slots=True)
class Doubt:
    """One doubt: its kind, the sentence for the inspector, and what it is about (a photo id or a tag)."""

    kind: DoubtKind
    sentence: str
    about: str = ""


class HashIndex:
    """Perceptual hashes of the whole store, for finding near ones. A million take about 10 ms a search."""

    def __init__(self, hashes: Mapping[str, str]) -> None:
        self._ids = tuple(hashes)
        try:
            self._bits = np.array([int(value, 16) for value in hashes.values()], np.uint64)
        except (ValueError, OverflowError):
            raise BadInput(
                "A stored perceptual hash is not 16 hexadecimal digits.", "Take that photo in again."
            ) from None

    def near(self, phash: str, most_bits: int = NEAR_BITS) -> tuple[tuple[str, int], ...]:
        """(photo id, bits that differ) of every photo within `most_bits`, nearest first."""
        apart = np.bitwise_count(self._bits ^ np.uint64(int(phash, 16)))
        hits = np.flatnonzero(apart <= most_bits)
        found = [(self._ids[i], int(apart[i])) for i in hits]
        return tuple(sorted(found, key=lambda pair: (pair[1], pair[0])))


def used_before(photo_id: str, phash: str, stored: HashIndex, *, known_ids: Iterable[str] = ()) -> tuple[Doubt, ...]:
    """Doubts about a photo that the store holds already, byte for byte or nearly.

    `photo_id` is its SHA-256; `known_ids` are the identifiers of stored photos (a photo's own inspection left out).
    """
    doubts = []
    if photo_id in set(known_ids):
        doubts.append(Doubt(DoubtKind.SAME_PHOTO, "This very file was used in an earlier inspection.", photo_id))
    for other, bits in stored.near(phash):
        if other == photo_id:
            continue
        doubts.append(
            Doubt(
                DoubtKind.NEARLY_SAME_PHOTO,
                f"A stored photo looks nearly the same ({bits} of 64 bits differ). Plain close-ups can look alike: "
                "compare the two.",
                other,
            )
        )
    return tuple(doubts)


def capture_time(
    captured_at: datetime | None, started_at: datetime, now: datetime, *, slack: timedelta = SLACK
) -> tuple[Doubt, ...]:
    """Doubts from a photo's capture time against the inspection's start and the present.

    `started_at` and `now` carry their zone. A capture time without zone is read in the zone of `started_at`,
    and the slack grows to a day, because the camera may have stood anywhere.
    """
    if captured_at is None:
        return (Doubt(DoubtKind.NO_TIME, "The photo does not say when it was taken."),)
    if captured_at.tzinfo is None:
        captured_at, slack = captured_at.replace(tzinfo=started_at.tzinfo), max(slack, timedelta(days=1))
    if captured_at < started_at - slack:
        days = (started_at - captured_at).days
        age = f"{days} days" if days >= 2 else f"{(started_at - captured_at).total_seconds() / 3600:.0f} hours"
        return (Doubt(DoubtKind.OLDER, f"The photo says it was taken {age} before this inspection began."),)
    if captured_at > now + slack:
        return (Doubt(DoubtKind.FROM_THE_FUTURE, "The photo says it was taken later than now: a clock is wrong."),)
    return ()


def codes_in(rgb: NDArray[np.uint8]) -> tuple[str, ...]:
    """Texts of every bar code or QR code in a photo, once each, in order of finding."""
    import cv2  # these two take longer to load than most pages to show
    import zxingcpp

    found: dict[str, None] = {}
    longest = max(rgb.shape[:2])
    # Small labels need full resolution, large ones are read better when shrunk.
    for side in (longest, 1600, 800):
        if side > longest:
            continue
        scale = side / longest
        picture = rgb if scale == 1 else cv2.resize(rgb, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
        for code in zxingcpp.read_barcodes(np.ascontiguousarray(picture)):
            if code.valid and code.text:
                found.setdefault(code.text.strip())
        if found:
            break
    return tuple(found)


def other_tags(codes: Iterable[str], tag: str, known_tags: Iterable[str]) -> tuple[Doubt, ...]:
    """Doubts where a photo shows the code of another registered item.

    Codes that are no registered tag (a maker's article number, a parcel label) say nothing.
    """
    own, others = clean_tag(tag), {clean_tag(other) for other in known_tags}
    seen: set[str] = set()
    for code in codes:
        try:
            seen.add(clean_tag(code))
        except BadInput:
            continue
    wrong = sorted((seen & others) - {own})
    beside = " The item's own tag is in the picture as well." if own in seen else ""
    return tuple(
        Doubt(DoubtKind.OTHER_TAG, f"The photo shows the tag {other}, not {own}.{beside}", other) for other in wrong
    )
