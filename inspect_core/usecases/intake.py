"""Taking photographs into the store, and giving copies of them back."""

from __future__ import annotations

import hashlib

from inspect_core.domain.errors import NotFound
from inspect_core.domain.photos import Photo
from inspect_core.usecases.acting import somebody
from inspect_core.usecases.services import Services


def take_photo(data: bytes, services: Services, *, claimed_name: str = "") -> Photo:
    """Check a photo, store its original unchanged with its copies, and return what is known of it.

    The same bytes a second time store nothing new. Raises BadPhoto with nothing stored, StoreFault, or NotAllowed
    where the site has sign-in and nobody is signed in.
    """
    from inspect_core.imaging import files  # OpenCV, loaded only where a photo comes in

    taken = files.take_in(data, claimed_name=claimed_name)
    with services.unit_of_work() as uow:
        somebody(uow, services)
        known = uow.photos.find(taken.sha256)
    if known is not None and services.photos.has(known.id):
        return known
    copies = {"preview": taken.preview_jpeg, "thumb": taken.thumb_jpeg}
    photo = Photo(
        id=taken.sha256,
        media_type=taken.media_type,
        width=taken.width,
        height=taken.height,
        size=taken.bytes_size,
        captured_at=taken.captured_at,
        phash=taken.phash,
        sharpness=taken.quality.sharpness,
        exposure=taken.quality.exposure,
        glare_share=taken.quality.glare,
        advice=taken.quality.advice,
        received_at=services.clock.now(),
        copies={name: hashlib.sha256(copy).hexdigest() for name, copy in copies.items()},
    )
    # The file first: a row without its photo would be a lie, a photo without its row is only unused space.
    services.photos.put(photo.id, data, copies)
    with services.unit_of_work(write=True) as uow:
        uow.photos.add(photo)
        uow.commit()
    return photo


def photo_copy(photo_id: str, name: str, services: Services) -> bytes:
    """A copy without metadata: "thumb" (256 px), "preview" (1600 px) or "full", which is made when asked for."""
    try:
        return services.photos.copy(photo_id, name)
    except NotFound:
        if name != "full":
            raise
        from inspect_core.imaging import files

        return files.full_copy(services.photos.original(photo_id))


def photo_by_id(photo_id: str, services: Services) -> Photo:
    """What is known of a stored photo. Raises NotFound."""
    with services.unit_of_work() as uow:
        return uow.photos.get(photo_id)
