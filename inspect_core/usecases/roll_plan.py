"""Which photo of a camera roll belongs to which item: values in, plan out.

The label of an item is photographed first, then its parts; so a photo belongs to the item of the last label before
it. Where that is not certain the photo is not placed, or is placed and marked as doubtful: nothing is guessed.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from enum import StrEnum

from inspect_core.domain.roll import RollPhoto
from inspect_core.imaging.honesty import NEAR_BITS
from inspect_core.usecases.roll_phones import phones

#: Longer than this between a label and a photo, and somebody has to look (common practice, no source).
LONG_GAP = timedelta(minutes=20)


class Why(StrEnum):
    """Why a photo is doubtful."""

    BEFORE_LABEL = "before any label"
    UNKNOWN_TAG = "unknown tag"
    TWO_LABELS = "two labels in one photo"
    NO_TIME = "no capture time"
    TWICE = "twice in this roll"
    USED_BEFORE = "used before"
    NEAR = "nearly the same as another"
    LONG_GAP = "long after its label"
    STRANGE_CODE = "a code that is no tag"
    TWO_PHONES = "two phones in this roll"


class Place(StrEnum):
    """Where a photo of a roll ends."""

    GROUP = "with its item"
    OPEN = "not placed"
    OUT = "left out"


@dataclass(frozen=True, slots=True)
class RollDoubt:
    """One doubt: what it is, and the sentence for the person who looks."""

    why: Why
    sentence: str


@dataclass(frozen=True, slots=True)
class Placed:
    """A photo with its number in the roll (1 is the first taken) and where it goes.

    `tag` names the item where `place` is GROUP, else None. `by_hand`: a person moved it or took it out. `own_phone`:
    the item that its own phone's labels give, where those of the other phone give another and nobody has said yet.
    """

    number: int
    photo: RollPhoto
    place: Place
    tag: str | None = None
    is_label: bool = False
    by_hand: bool = False
    doubts: tuple[RollDoubt, ...] = ()
    own_phone: str | None = None


@dataclass(frozen=True, slots=True)
class RollPlan:
    """Every photo of a roll once, in the order of capture. `order` says in words how that order was found; `phones`:
    how many phones took the photos, as far as can be told."""

    photos: tuple[Placed, ...]
    order: str
    groups: Mapping[str, tuple[Placed, ...]] = field(default_factory=dict)
    phones: int = 1

    @property
    def open(self) -> tuple[Placed, ...]:
        return tuple(one for one in self.photos if one.place is Place.OPEN)

    @property
    def out(self) -> tuple[Placed, ...]:
        return tuple(one for one in self.photos if one.place is Place.OUT)

    @property
    def doubtful(self) -> int:
        return sum(bool(one.doubts) for one in self.photos)


def plan_roll(
    photos: Sequence[RollPhoto],
    known: Mapping[str, str],
    *,
    used: Mapping[str, str] | None = None,
    near: Callable[[RollPhoto], str] = lambda _: "",
    gap: timedelta = LONG_GAP,
) -> RollPlan:
    """Sort a roll.

    Parameters
    ----------
    photos: as they came, in any order; one given twice is left out the second time.
    known: tag → item id of every registered item that a label in the roll names, or that a photo was moved to; an
        item's present tag after those that it carried before. Photos are grouped under the present tag.
    used: photo id → where the very same file was used before, as a sentence.
    near: gives a sentence where the store holds nearly the same picture, else nothing.
    gap: longer than this between a label and a photo of its parts makes the photo doubtful.
    """
    ordered, order, untimed = _in_order(photos)
    tag_of = {item_id: tag for tag, item_id in known.items()}
    seen: dict[str, int] = {}
    state = _BEFORE
    phone_of = phones([photo for photo in ordered if photo.photo_id not in untimed])
    own: dict[int, _Label] = {}
    placed: list[Placed] = []
    for number, photo in enumerate(ordered, 1):
        doubts: list[RollDoubt] = []
        if photo.photo_id in seen:
            twice = RollDoubt(Why.TWICE, f"The same file as photo {seen[photo.photo_id]}.")
            placed.append(Placed(number, photo, Place.OUT, doubts=(twice,)))
            continue
        seen[photo.photo_id] = number
        tags = _tags(photo, known)
        without_time = photo.photo_id in untimed
        if tags and not without_time:
            moved = tag_of.get(photo.item_id) if photo.item_id else None
            # A person who says whose label it is says it for the photos that follow as well.
            state = _Label(moved, photo.captured_at) if moved else _label(tags, photo, known)
            own[phone_of.get(photo.photo_id, 0)] = state
        elif without_time:
            doubts.append(RollDoubt(Why.NO_TIME, "The photo does not say when it was taken; the others do."))
        doubts += _about(photo, tags, known, _NOWHERE if without_time else state, gap, used or {}, near)
        doubts += _twins(photo, tags, placed, known)
        mine = own.get(phone_of[photo.photo_id], _BEFORE) if photo.photo_id in phone_of else state
        if mine.tag == state.tag:
            placed.append(_placed(number, photo, tags, state, tag_of, doubts, without_time))
            continue
        doubts.append(_between(mine, state))
        one = _placed(number, photo, tags, _NOWHERE, tag_of, doubts, without_time)
        placed.append(replace(one, own_phone=mine.tag) if one.place is Place.OPEN else one)
    many = len(set(phone_of.values())) or 1
    return RollPlan(tuple(placed), order, _groups(placed), many)


@dataclass(frozen=True, slots=True)
class _Label:
    """The last label: the tag it gives (None: none can be relied on), when it was taken, and the doubt if there is
    one."""

    tag: str | None
    at: datetime | None
    doubt: RollDoubt | None = None


_NOWHERE = _Label(None, None)
_BEFORE = _Label(None, None, RollDoubt(Why.BEFORE_LABEL, "No label was photographed before it."))


def _between(mine: _Label, last: _Label) -> RollDoubt:
    """Photos of two phones run into each other here: the clock alone says something else than the phone's own order."""
    by_phone = f"its own phone took the label {mine.tag} last" if mine.tag else "its own phone took no label before it"
    by_clock = f"the other took {last.tag} last" if last.tag else "the other's last label cannot be relied on"
    return RollDoubt(Why.TWO_PHONES, f"Photos of two phones lie in this roll: {by_phone}, and {by_clock}.")


def _tags(photo: RollPhoto, known: Mapping[str, str]) -> tuple[str, ...]:
    """Tags that the photo's labels name: ours by their prefix, bare codes only where an item carries that tag."""
    bare = [code.strip().upper() for code in photo.codes]
    present = {item_id: tag for tag, item_id in known.items()}
    named = [*photo.tags, *(code for code in bare if code in known)]
    return tuple(dict.fromkeys(present[known[tag]] if tag in known else tag for tag in named))


def _label(tags: Sequence[str], photo: RollPhoto, known: Mapping[str, str]) -> _Label:
    if len(tags) > 1:
        words = f"It follows photo “{photo.name}”, which shows the labels of {' and '.join(tags)}."
        return _Label(None, photo.captured_at, RollDoubt(Why.TWO_LABELS, words))
    if tags[0] not in known:
        words = f"It follows the label {tags[0]}, which no registered item carries."
        return _Label(None, photo.captured_at, RollDoubt(Why.UNKNOWN_TAG, words))
    return _Label(tags[0], photo.captured_at)


def _about(
    photo: RollPhoto,
    tags: Sequence[str],
    known: Mapping[str, str],
    state: _Label,
    gap: timedelta,
    used: Mapping[str, str],
    near: Callable[[RollPhoto], str],
) -> list[RollDoubt]:
    """Doubts about one photo by itself, and against the label before it."""
    doubts = []
    if photo.photo_id in used:
        doubts.append(RollDoubt(Why.USED_BEFORE, used[photo.photo_id]))
    elif words := near(photo):
        doubts.append(RollDoubt(Why.NEAR, words))
    if len(tags) > 1:
        doubts.append(RollDoubt(Why.TWO_LABELS, f"It shows the labels of {' and '.join(tags)}."))
    elif tags and tags[0] not in known:
        doubts.append(RollDoubt(Why.UNKNOWN_TAG, f"No registered item carries the tag {tags[0]}."))
    elif not tags and state.tag is not None and (late := _apart(state.at, photo.captured_at)) > gap:
        minutes = round(late.total_seconds() / 60)
        doubts.append(RollDoubt(Why.LONG_GAP, f"Taken {minutes} minutes after the label {state.tag}."))
    strange = [code for code in photo.codes if code.strip().upper() not in known]
    if strange and not tags:
        words = f"It shows the code “{strange[0][:40]}”, which is no registered tag. Check whose photos follow."
        doubts.append(RollDoubt(Why.STRANGE_CODE, words))
    return doubts


def _twins(
    photo: RollPhoto, tags: Sequence[str], before: Sequence[Placed], known: Mapping[str, str]
) -> list[RollDoubt]:
    """Doubts about a photo that looks nearly like an earlier one; labels of different items do look alike."""
    bits = int(photo.phash, 16)
    for other in before:
        if other.place is Place.OUT and not other.by_hand:
            continue
        if (bits ^ int(other.photo.phash, 16)).bit_count() > NEAR_BITS:
            continue
        theirs = _tags(other.photo, known)
        if tags and theirs and set(tags) != set(theirs):
            continue
        return [RollDoubt(Why.NEAR, f"It looks nearly the same as photo {other.number}.")]
    return []


def _placed(
    number: int,
    photo: RollPhoto,
    tags: Sequence[str],
    state: _Label,
    tag_of: Mapping[str, str],
    doubts: list[RollDoubt],
    without_time: bool,
) -> Placed:
    """Where the photo goes: a person's word first, then what was read."""
    is_label = len(tags) == 1
    moved = tag_of.get(photo.item_id) if photo.item_id else None
    if photo.left_out:
        return Placed(number, photo, Place.OUT, None, is_label, True, tuple(doubts))
    if moved is not None:
        return Placed(number, photo, Place.GROUP, moved, is_label, True, tuple(doubts))
    if photo.left_out is None and any(d.why is Why.USED_BEFORE for d in doubts):
        return Placed(number, photo, Place.OUT, None, is_label, False, tuple(doubts))
    if state.tag is None or without_time:
        told = any(d.why in (Why.TWO_LABELS, Why.UNKNOWN_TAG, Why.NO_TIME) for d in doubts)
        if state.doubt is not None and not told:
            doubts = [*doubts, state.doubt]
        return Placed(number, photo, Place.OPEN, None, is_label, False, tuple(doubts))
    return Placed(number, photo, Place.GROUP, state.tag, is_label, False, tuple(doubts))


def _groups(placed: Iterable[Placed]) -> dict[str, tuple[Placed, ...]]:
    groups: dict[str, tuple[Placed, ...]] = {}
    for one in placed:
        if one.place is Place.GROUP and one.tag is not None:
            groups[one.tag] = (*groups.get(one.tag, ()), one)
    return groups


def _in_order(photos: Sequence[RollPhoto]) -> tuple[list[RollPhoto], str, frozenset[str]]:
    """Photos in the order of capture, how it was found, and the ids of those that have no place in it."""
    by_name = sorted(photos, key=lambda photo: name_key(photo.name))
    timed, zone_note = _one_clock(by_name)
    untimed = [photo for photo in by_name if photo.photo_id not in timed]
    if not timed:
        return by_name, "by file name, because no photo says when it was taken", frozenset()
    by_time = sorted((p for p in by_name if p.photo_id in timed), key=lambda p: (timed[p.photo_id], name_key(p.name)))
    if not untimed:
        return by_time, f"by the time of capture{zone_note}", frozenset()
    times = [timed[photo.photo_id] for photo in by_name if photo.photo_id in timed]
    if _numbered_alike(by_name) and all(a <= b for a, b in zip(times, times[1:], strict=False)):
        few = f"{len(untimed)} of {len(by_name)} photos do not say when they were taken"
        return by_name, f"by file name, because {few}; the others' times agree with it", frozenset()
    order = f"by the time of capture{zone_note}; {len(untimed)} photos do not say it and have no place"
    return [*by_time, *untimed], order, frozenset(photo.photo_id for photo in untimed)


def _one_clock(photos: Sequence[RollPhoto]) -> tuple[dict[str, datetime], str]:
    """Capture times that may be compared with each other, without zones, and a note where a zone was taken over.

    Times with an offset are compared as moments. A time without one is read in the offset of all the others where
    they share one; where they do not, nobody knows the moment and the time counts as missing.
    """
    taken = {photo.photo_id: photo.captured_at for photo in photos if photo.captured_at is not None}
    offsets = {at.utcoffset() for at in taken.values() if at.tzinfo is not None}
    if not offsets:
        return taken, ""
    times: dict[str, datetime] = {}
    own = next(iter(offsets)) if len(offsets) == 1 else None
    guessed = 0
    for photo_id, at in taken.items():
        shift = at.utcoffset()
        if shift is None:
            if own is None:
                continue
            shift, guessed = own, guessed + 1
        times[photo_id] = at.replace(tzinfo=None) - shift
    return times, f" ({guessed} without a time zone, read in the zone of the others)" if guessed else ""


def _apart(label: datetime | None, photo: datetime | None) -> timedelta:
    """Time from a label to a photo; nil where it cannot be told."""
    if label is None or photo is None:
        return timedelta()
    if (label.tzinfo is None) != (photo.tzinfo is None):
        label, photo = label.replace(tzinfo=None), photo.replace(tzinfo=None)
    return photo - label


def name_key(name: str) -> tuple[tuple[int, int, str], ...]:
    """Sorts file names as people count: IMG_9 before IMG_10.

    >>> sorted(["IMG_10.jpg", "IMG_9.jpg"], key=name_key)
    ['IMG_9.jpg', 'IMG_10.jpg']
    """
    parts = re.findall(r"[0-9]+|[^0-9]+", name.casefold())
    return tuple((0, int(part), "") if part.isascii() and part.isdigit() else (1, 0, part) for part in parts)


def _numbered_alike(photos: Sequence[RollPhoto]) -> bool:
    """Whether all names differ and share one pattern of letters around their numbers, as one camera writes them."""
    patterns = Counter(re.sub(r"[0-9]+", "#", photo.name.casefold()) for photo in photos)
    names = {photo.name.casefold() for photo in photos if re.search(r"[0-9]", photo.name)}
    return len(patterns) == 1 and len(names) == len(photos)
