"""Photos on a screen: small ones for lists, and larger ones with their marks drawn. Made once, then cached."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping, Sequence
from threading import Lock

from inspect_core.domain.errors import BartackError
from inspect_core.domain.life import SeenPhoto
from inspect_core.domain.marks import Mark
from inspect_core.domain.photos import Photo
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.speaking import st
from inspect_core.usecases.intake import photo_copy
from inspect_core.usecases.services import Services

#: Longer side of a photo in a history, pixels: sharp on a phone held upright, light enough for twenty on a page.
IN_HISTORY = 720
#: Longer side of a close-up, pixels, and the width at which it is shown.
CLOSE_UP, CLOSE_UP_SHOWN = 420, 140


class _Recent:
    """The pictures made last. Streamlit's own cache takes a millisecond to find one, and a page shows dozens; what is
    kept here depends on nothing but its key, so that it can never be stale."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._kept: OrderedDict[Hashable, bytes] = OrderedDict()
        self._lock = Lock()

    def get(self, key: Hashable, make: Callable[[], bytes]) -> bytes:
        """The picture of that key, made where it is not kept. What `make` raises is raised, and nothing kept."""
        with self._lock:
            kept = self._kept.get(key)
            if kept is not None:
                self._kept.move_to_end(key)
                return kept
        made = make()
        with self._lock:
            self._kept[key] = made
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return made


_THUMBS, _DRAWN, _CLOSE_UPS = _Recent(1000), _Recent(300), _Recent(300)


def _thumb(services: Services, photo_id: str) -> bytes:
    return _THUMBS.get((services.place, photo_id), lambda: photo_copy(photo_id, "thumb", services))


def _drawn(
    services: Services,
    photo: Photo | SeenPhoto,
    marks: tuple[Mark, ...],
    longest: int,
    numbers: Mapping[str, int] | None,
) -> bytes:
    def make() -> bytes:
        from inspect_core.imaging.draw import draw_marks  # OpenCV, loaded only where something is drawn

        preview = photo_copy(photo.id, "preview", services)
        return draw_marks(preview, marks, size=(photo.width, photo.height), longest=longest, numbers=numbers)

    shown = tuple((numbers or {}).get(mark.id) for mark in marks)
    return _DRAWN.get((services.place, photo.id, photo.width, photo.height, longest, marks, shown), make)


def _close_up(services: Services, photo: Photo | SeenPhoto, mark: Mark) -> bytes:
    """Bare, because a line drawn along a cut hides the cut."""

    def make() -> bytes:
        from inspect_core.imaging.draw import crop_around

        preview = photo_copy(photo.id, "preview", services)
        return crop_around(mark, preview, size=(photo.width, photo.height), longest=CLOSE_UP, show_mark=False)

    return _CLOSE_UPS.get((services.place, photo.id, photo.width, photo.height, mark.shape), make)


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
        data = _thumb(services, photo_id)
    except BartackError:
        return
    # Given a width, Streamlit makes the picture anew at each run, and too coarse for a phone's screen.
    with st.container(width=width):
        st.image(data, width="stretch", alt=alt, caption=caption)


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
    try:
        data = _drawn(services, photo, own, longest, numbers)
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
            try:
                data = _close_up(services, photo, mark)
            except BartackError:
                continue  # the photo above it has said so already
            words = f"{numbers[mark.id]} from near"
            with st.container(width=CLOSE_UP_SHOWN):
                st.image(data, width="stretch", caption=words, alt=f"{words}: {mark.category.value}")


def describe(marks: Sequence[Mark], numbers: Mapping[str, int] | None = None) -> str:
    """What a marked photo shows, for those who cannot see it."""
    if not marks:
        return "Photo without marks"
    told = numbers or {mark.id: place for place, mark in enumerate(marks, 1)}
    shown = "; ".join(f"{told[m.id]}: {m.category.value} on the {m.component.value}" for m in marks)
    return f"Photo with {len(marks)} mark{'s' if len(marks) > 1 else ''}. {shown}"
