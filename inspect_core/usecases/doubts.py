"""Doubts about photos: used before, older than the inspection, of another item. Told and recorded, never a verdict."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from functools import lru_cache

from inspect_core.domain.errors import BartackError, NotFound
from inspect_core.domain.photos import Photo
from inspect_core.imaging.honesty import Doubt, DoubtKind, HashIndex, capture_time, codes_in, other_tags, used_before
from inspect_core.imaging.qr import sorted_codes
from inspect_core.ports import PhotoStore, UnitOfWork
from inspect_core.usecases.services import Services

#: The heading in an inspection's note under which its photos' doubts are recorded.
HEADING = "Doubts about photos:"
#: An inspection is not thought to stay open longer than this; an older photo of it is told as old.
LONGEST_OPEN = timedelta(days=1)
#: More near photos than this are told as a number: the point is made.
MOST_NEAR = 3


def about(
    photo_ids: Sequence[str],
    item_id: str,
    services: Services,
    *,
    at: datetime,
    inspection_id: str,
    corrects: str | None = None,
    entered_late: bool = False,
) -> Mapping[str, tuple[Doubt, ...]]:
    """Every doubt about the photos of one inspection, by photo; photos without any are left out.

    Parameters
    ----------
    at: when the inspection is made, with its zone.
    inspection_id, corrects: the inspection itself and the one it corrects, whose photos are no second use.
    entered_late: the inspection carries a time of its own, so its photos are older by nature; only whether they
        were used before is asked.
    """
    if not photo_ids:
        return {}
    own = {inspection_id, corrects}
    with services.unit_of_work() as uow:
        tag = uow.items.get(item_id).tag
        photos = [photo for photo_id in photo_ids if (photo := uow.photos.find(photo_id)) is not None]
        stored = HashIndex({name: phash for name, phash in uow.photos.hashes() if name not in photo_ids})
        found = {photo.id: _used(photo, stored, own, uow) for photo in photos}
    if not entered_late:
        for photo in photos:
            found[photo.id] += _old(photo, at, services) + _tags(photo, tag, services)
    return {photo_id: doubts for photo_id, doubts in found.items() if doubts}


def noted(note: str, photo_ids: Sequence[str], doubts: Mapping[str, Sequence[Doubt]]) -> str:
    """The note with the doubts under their heading, one line each. A missing capture time is told but not recorded:
    many ways of sending a photo drop it."""
    lines = [
        f"Photo {number}: {doubt.sentence}"
        for number, photo_id in enumerate(photo_ids, 1)
        for doubt in doubts.get(photo_id, ())
        if doubt.kind is not DoubtKind.NO_TIME
    ]
    if not lines:
        return note
    return "\n".join([*([note, ""] if note else []), HEADING, *lines])


def _used(photo: Photo, stored: HashIndex, own: set[str | None], uow: UnitOfWork) -> tuple[Doubt, ...]:
    told = []
    elsewhere = _where(photo.id, own, uow)
    near = used_before(photo.id, photo.phash, stored, known_ids=(photo.id,) if elsewhere else ())
    for doubt in near:
        place = _where(doubt.about, own, uow)
        if place:
            told.append(replace(doubt, sentence=f"{doubt.sentence} {place}"))
    same = [d for d in told if d.kind is DoubtKind.SAME_PHOTO]
    alike = [d for d in told if d.kind is DoubtKind.NEARLY_SAME_PHOTO]
    more = len(alike) - MOST_NEAR
    if more > 0:
        rest = Doubt(DoubtKind.NEARLY_SAME_PHOTO, f"{more} more stored photos look nearly the same.")
        alike = [*alike[:MOST_NEAR], rest]
    return (*same, *alike)


def _where(photo_id: str, own: set[str | None], uow: UnitOfWork) -> str:
    """Where else a photo was used, in words; empty where nowhere else."""
    for item_id, inspection_id in uow.photos.uses(photo_id):
        if inspection_id in own:
            continue
        try:
            day = f"{uow.inspections.get(inspection_id).at:%Y-%m-%d}"
            return f"It belongs to {uow.items.get(item_id).tag}, inspection of {day}."
        except NotFound:
            continue
    return ""


def _old(photo: Photo, at: datetime, services: Services) -> tuple[Doubt, ...]:
    started = at if photo.received_at > at else max(photo.received_at, at - LONGEST_OPEN)
    return capture_time(photo.captured_at, started, max(services.clock.now(), at))


def _tags(photo: Photo, tag: str, services: Services) -> tuple[Doubt, ...]:
    """Tags of other registered items in the picture."""
    try:
        codes = _codes(photo.id, services.photos)  # type: ignore[arg-type]  # protocols count as unhashable; stores are not
    except BartackError:
        return ()  # a photo that the store cannot give is told where it is shown
    known = []
    with services.unit_of_work() as uow:
        for code in codes:
            try:
                item = uow.items.find_tag(code)
            except BartackError:
                continue
            known += [item.tag] if item is not None else []
    return other_tags(codes, tag, known)


@lru_cache(maxsize=256)
def _codes(photo_id: str, photos: PhotoStore) -> tuple[str, ...]:
    """What the labels in a photo say, our own without their prefix. The 1600 px copy first: most are read in it.

    A photo never changes under its name, and it is asked both when it is taken in and when it is recorded; looking at
    its pixels takes long enough to do it once.
    """
    from inspect_core.imaging.files import upright_rgb

    texts = codes_in(upright_rgb(photos.copy(photo_id, "preview"))) or codes_in(upright_rgb(photos.original(photo_id)))
    labels = sorted_codes(texts)
    return (*labels.tags, *labels.others)
