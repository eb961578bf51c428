"""Photos on a screen: small ones for lists, and larger ones with their marks drawn. Made once, then cached."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence

import streamlit as st

from inspect_core.domain.errors import BartackError
from inspect_core.domain.life import SeenPhoto
from inspect_core.domain.marks import Mark
from inspect_core.domain.photos import Photo
from inspect_core.imaging.draw import crop_around, draw_marks
from inspect_core.screens.parts.errors import show_error
from inspect_core.usecases.intake import photo_copy
from inspect_core.usecases.plain import mark_plain
from inspect_core.usecases.services import Services

#: Longer side of a photo in a history, pixels: sharp on a phone held upright, light enough for twenty on a page.
IN_HISTORY = 720
#: Longer side of a close-up, pixels, and the width at which it is shown.
CLOSE_UP, CLOSE_UP_SHOWN = 420, 140


@st.cache_data(max_entries=500, show_spinner=False)
def _thumb(_services: Services, place: str, photo_id: str) -> bytes:
    return photo_copy(photo_id, "thumb", _services)


@st.cache_data(max_entries=300, show_spinner=False)
def _drawn(
    _services: Services,
    place: str,
    photo_id: str,
    size: tuple[int, int],
    shown: str,
    longest: int,
    _marks: tuple[Mark, ...],
    _numbers: Mapping[str, int] | None,
) -> bytes:
    """`shown` is marks and numbers as text; it stands for them as the cache's key."""
    preview = photo_copy(photo_id, "preview", _services)
    return draw_marks(preview, _marks, size=size, longest=longest, numbers=_numbers)


@st.cache_data(max_entries=300, show_spinner=False)
def _close_up(_services: Services, place: str, photo_id: str, size: tuple[int, int], shown: str, _mark: Mark) -> bytes:
    """Bare, because a line drawn along a cut hides the cut. `shown` is the mark's shape as text, the cache's key."""
    preview = photo_copy(photo_id, "preview", _services)
    return crop_around(_mark, preview, size=size, longest=CLOSE_UP, show_mark=False)


@st.cache_data(max_entries=24, show_spinner=False)
def full(_services: Services, place: str, photo_id: str) -> bytes:
    """The whole photo without metadata, for zooming while marking."""
    return photo_copy(photo_id, "full", _services)


@st.cache_data(max_entries=60, show_spinner=False)
def preview(_services: Services, place: str, photo_id: str) -> bytes:
    """The 1600 px copy without metadata."""
    return photo_copy(photo_id, "preview", _services)


def thumb(services: Services, photo_id: str, alt: str, *, width: int = 64, caption: str | None = None) -> None:
    """A small photo; nothing where the store cannot give it, because a list must not fail for one picture."""
    try:
        data = _thumb(services, services.place, photo_id)
    except BartackError:
        return
    st.image(data, width=width, alt=alt, caption=caption)


def with_marks(
    services: Services,
    photo: Photo | SeenPhoto,
    marks: Sequence[Mark],
    *,
    longest: int = IN_HISTORY,
    numbers: Mapping[str, int] | None = None,
) -> None:
    """A photo with its marks drawn. `numbers`: as in `draw_marks`; those of the certificate where one is printed."""
    own = tuple(mark for mark in marks if mark.photo_id == photo.id)
    shown = json.dumps([[mark_plain(mark) for mark in own], dict(numbers or {})], sort_keys=True)
    try:
        size = (photo.width, photo.height)
        data = _drawn(services, services.place, photo.id, size, shown, longest, own, numbers)
    except BartackError as error:
        show_error(error)
        return
    st.image(data, width="stretch", alt=describe(own, numbers))


def close_ups(services: Services, photo: Photo | SeenPhoto, marks: Sequence[Mark], numbers: Mapping[str, int]) -> None:
    """Each mark of a photo from near, without its line, side by side as far as there is room."""
    own = [mark for mark in marks if mark.photo_id == photo.id]
    if not own:
        return
    with st.container(horizontal=True, gap="small"):
        for mark in own:
            shown = json.dumps(mark_plain(mark)["shape"])
            try:
                data = _close_up(services, services.place, photo.id, (photo.width, photo.height), shown, mark)
            except BartackError:
                continue  # the photo above it has said so already
            words = f"{numbers[mark.id]} from near"
            st.image(data, width=CLOSE_UP_SHOWN, caption=words, alt=f"{words}: {mark.category.value}")


def describe(marks: Sequence[Mark], numbers: Mapping[str, int] | None = None) -> str:
    """What a marked photo shows, for those who cannot see it."""
    if not marks:
        return "Photo without marks"
    told = numbers or {mark.id: place for place, mark in enumerate(marks, 1)}
    shown = "; ".join(f"{told[m.id]}: {m.category.value} on the {m.component.value}" for m in marks)
    return f"Photo with {len(marks)} mark{'s' if len(marks) > 1 else ''}. {shown}"
