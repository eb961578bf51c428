"""Today's photo of a part beside an earlier one: laid over each other, and whether what was measured has grown."""

from __future__ import annotations

import hashlib
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import cv2
import numpy as np
from PIL import Image

from inspect_core.domain.errors import BadInput
from inspect_core.domain.geometry import Shape
from inspect_core.domain.marks import Mark
from inspect_core.domain.photos import Photo
from inspect_core.imaging.align import Alignment, align, laid_over, transfer
from inspect_core.imaging.files import Pixels, upright_rgb
from inspect_core.imaging.growth import Change, Growth, growth
from inspect_core.usecases.services import Services

#: Longer side of the pictures that are shown over each other, pixels.
LONGEST = 1000
#: Marks that lie further apart than this share of the photo's longer side, once laid over each other, are two marks.
FURTHEST = 0.1
_LINE_PX = 3
_NOT_THERE = "nothing was marked at that place then."
_NO_PLACE = "; place not compared; lay the photos over each other."


@dataclass(frozen=True, slots=True, eq=False)
class Overlay:
    """Both photos as today's camera saw them, of one size (rows, columns, 3), and how well they fit."""

    today: Pixels
    earlier: Pixels
    alignment: Alignment


def overlay(
    earlier_id: str,
    today_id: str,
    services: Services,
    *,
    earlier_part: Shape | None = None,
    today_part: Shape | None = None,
    longest: int = LONGEST,
) -> Overlay:
    """Lay an earlier photo over today's. Raises BadInput, with what to do, where they do not fit; NotFound.

    `earlier_part`, `today_part`: outline of the part in each photo's full-resolution pixels, to keep the
    surroundings out.
    """
    first, second = _photo(earlier_id, services), _photo(today_id, services)
    before, now = (upright_rgb(services.photos.copy(photo.id, "preview")) for photo in (first, second))
    found = align(
        before,
        now,
        earlier_size=(first.width, first.height),
        today_size=(second.width, second.height),
        earlier_part=earlier_part,
        today_part=today_part,
    )
    shrink = min(1.0, longest / max(now.shape[:2]))
    size = (round(now.shape[1] * shrink), round(now.shape[0] * shrink))
    shown = np.asarray(cv2.resize(now, size, interpolation=cv2.INTER_AREA), np.uint8)
    scales = (before.shape[1] / first.width, size[0] / second.width)
    return Overlay(shown, laid_over(before, found, scales=scales, size=size), found)


def wiped(over: Overlay, share: float) -> bytes:
    """JPEG with the earlier photo left of the line at that share of the width, 0 to 1, and today's right of it."""
    at = round(min(1.0, max(0.0, share)) * over.today.shape[1])
    picture = over.today.copy()
    picture[:, :at] = over.earlier[:, :at]
    if 0 < at < picture.shape[1]:
        picture[:, max(0, at - _LINE_PX) : at] = 255
    return _jpeg(picture)


def faded(over: Overlay, share: float) -> bytes:
    """JPEG of both photos blended: 0 is today's alone, 1 the earlier one alone."""
    weight = min(1.0, max(0.0, share))
    blended = cv2.addWeighted(over.earlier, weight, over.today, 1 - weight, 0)
    return _jpeg(np.asarray(blended, np.uint8))


def both(over: Overlay) -> tuple[bytes, bytes]:
    """JPEG of the earlier photo as today's camera would have seen it, and of today's; both of one size."""
    return _jpeg(over.earlier), _jpeg(over.today)


def transferred(marks: Sequence[Mark], alignment: Alignment, today: Photo, words: str) -> tuple[dict[str, Any], ...]:
    """Earlier marks where they lie on today's photo, as suggestions for the marking component; never marks by
    themselves.

    `words`: where they come from. What lies outside today's photo is left out; a mark that reaches past its edge ends
    there.
    """
    found = []
    for mark in marks:
        try:
            shape = transfer(mark.shape, alignment)
        except BadInput:
            continue
        left, top, right, bottom = shape.bounds()
        if right <= 0 or bottom <= 0 or left >= today.width or top >= today.height:
            continue
        points = [[min(max(p.x, 0.0), today.width), min(max(p.y, 0.0), today.height)] for p in shape.points]
        if all(math.dist(points[0], point) < 1 for point in points):
            continue
        name = hashlib.sha256(f"{mark.photo_id} {mark.id}".encode()).hexdigest()[:16]
        found.append(
            {
                "id": f"then-{name}",
                "kind": "earlier",
                "category": mark.category.value,
                "component": mark.component.value,
                "shape": {"type": shape.type.value, "points": points},
                "by": words,
            }
        )
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Grown:
    """One reading then and now. `growth` None: the two could not be compared, and `sentence` says why."""

    mark: Mark
    growth: Growth | None
    sentence: str


def grown(
    earlier: Sequence[Mark], later: Sequence[Mark], alignment: Alignment | None = None, longest_px: float = math.inf
) -> tuple[Grown, ...]:
    """How each later mark has grown since the earlier inspection, in words.

    Marks of one component and category are taken for the same damage where the alignment lays them on one place of
    the photo whose longer side is `longest_px`; without an alignment where there is one of each, and the sentence says
    that their places were not compared. An earlier mark is one later mark at most. Nothing is guessed.
    """
    found: list[Grown] = []
    pairs = None if alignment is None else _pairs(earlier, later, alignment, longest_px)
    for mark in later:
        before = [m for m in earlier if (m.component, m.category) == (mark.component, mark.category)]
        beside = [m for m in later if (m.component, m.category) == (mark.component, mark.category)]
        name = f"{mark.category.value} on the {mark.component.value}"
        if not before:
            found.append(Grown(mark, None, f"{name}: not marked then."))
            continue
        if pairs is not None:
            match = pairs.get(mark.id)
            found += _compared(match, mark, name) if match else [Grown(mark, None, f"{name}: {_NOT_THERE}")]
        elif len(before) == len(beside) == 1:
            alike = _compared(before[0], mark, name)
            found += [replace(one, sentence=one.sentence[:-1] + _NO_PLACE) for one in alike]
        else:
            found.append(Grown(mark, None, f"{name}: several such marks, and which was which cannot be told."))
    return tuple(found)


def _compared(match: Mark, mark: Mark, name: str) -> list[Grown]:
    then = {reading.measure: reading for reading in match.readings}
    both = [reading for reading in mark.readings if reading.measure in then]
    if not both:
        return [Grown(mark, None, f"{name}: no measure was taken both times.")]
    results = []
    for reading in both:
        change = growth(then[reading.measure], reading)
        results.append(Grown(mark, change, f"{name}, {reading.measure}: {change.sentence}."))
    order = {Change.MORE: 0, Change.LESS: 1, Change.CANNOT_TELL: 2}
    return sorted(results, key=lambda one: order[one.growth.change] if one.growth else 3)


def _pairs(earlier: Sequence[Mark], later: Sequence[Mark], alignment: Alignment, longest_px: float) -> dict[str, Mark]:
    """The earlier mark of each later one's id, the nearest pairs first; a mark stands in one pair at most."""
    near = []
    for then, one in enumerate(earlier):
        try:
            place = _middle(transfer(one.shape, alignment))
        except BadInput:
            continue
        for now, mark in enumerate(later):
            apart = math.dist(place, _middle(mark.shape))
            alike = (one.component, one.category) == (mark.component, mark.category)
            if alike and apart <= FURTHEST * longest_px:
                near.append((apart, then, now))
    found: dict[int, int] = {}
    for _, then, now in sorted(near):
        if now not in found and then not in found.values():
            found[now] = then
    return {later[now].id: earlier[then] for now, then in found.items()}


def _middle(shape: Shape) -> tuple[float, float]:
    left, top, right, bottom = shape.bounds()
    return (left + right) / 2, (top + bottom) / 2


def _photo(photo_id: str, services: Services) -> Photo:
    with services.unit_of_work() as uow:
        return uow.photos.get(photo_id)


def _jpeg(pixels: Pixels) -> bytes:
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "JPEG", quality=85)
    return out.getvalue()
