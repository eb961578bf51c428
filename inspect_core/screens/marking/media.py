"""Addresses under which the browser may fetch a derived copy of a photo.

Streamlit has no public call that returns the address of bytes. Its media manager, which also serves `st.image`, is
used here and nowhere else: the address is a hash of the bytes, lives as long as a session shows it, and ends with it.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import PurePosixPath

from streamlit import runtime
from streamlit.runtime.media_file_manager import MediaFileManager

from inspect_core.domain.errors import BadInput
from inspect_core.screens.speaking import st

_IMAGE_TYPES = frozenset({"image/jpeg", "image/png", "image/webp"})


def media_url(content: bytes | Callable[[], bytes], mime: str, key: str) -> str:
    """The address of an image, to be asked for in every run that shows it: a run that does not ask lets it go.

    Parameters
    ----------
    content: a derived copy without metadata, never an original. Given as a function it is called only when the media
        manager no longer holds the image, so that a stroke does not read megabytes from the store again.
    mime: `image/jpeg`, `image/png` or `image/webp`.
    key: names this very image, such as "full copy of photo …"; unique in the app.

    Raises BadInput for no image. Returns an empty text outside a running app.
    """
    if mime not in _IMAGE_TYPES:
        raise BadInput(f"“{mime[:40]}” is no image the browser can show.", "Make a JPEG copy first.")
    manager = runtime.get_instance().media_file_mgr if runtime.exists() else None
    body = (_held(manager, mime, key) or content()) if callable(content) else content
    if not body:
        raise BadInput("The copy of the photo is empty.", "Take the photo in again.")
    if manager is None:
        return ""
    address = manager.add(body, mime, f"bartack {key}")
    st.session_state[_memory(key)] = address
    base = str(st.get_option("server.baseUrlPath") or "").strip("/")
    return f"/{base}{address}" if base else address


def _held(manager: MediaFileManager | None, mime: str, key: str) -> bytes | None:
    """The image as the media manager still holds it, or None."""
    address = st.session_state.get(_memory(key))
    if manager is None or not address or not manager.can_read_files:
        return None
    held = manager.read_file(PurePosixPath(address).stem)
    return held.content if held is not None and held.mimetype == mime else None


def _memory(key: str) -> str:
    return f"media address {key}"
