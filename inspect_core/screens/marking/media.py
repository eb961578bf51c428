"""Addresses under which the browser may fetch a derived copy of a photo.

Streamlit has no public call that returns the address of bytes. Its media manager, which also serves `st.image`, is
used here and nowhere else: the address is the hash of the bytes, lives as long as a session shows it, and ends with it.
"""

from __future__ import annotations

import streamlit as st
from streamlit import runtime

from inspect_core.domain.errors import BadInput

_IMAGE_TYPES = frozenset({"image/jpeg", "image/png", "image/webp"})


def media_url(content: bytes, mime: str, key: str) -> str:
    """The address of an image, to be asked for in every run that shows it: a run that does not ask lets it go.

    Parameters
    ----------
    content: a derived copy without metadata, never an original.
    mime: `image/jpeg`, `image/png` or `image/webp`.
    key: names the place of use, such as "preview of photo …"; a new image under the same key replaces the old one.

    Raises BadInput for no image. Returns an empty text outside a running app.
    """
    if mime not in _IMAGE_TYPES:
        raise BadInput(f"“{mime[:40]}” is no image the browser can show.", "Make a JPEG copy first.")
    if not content:
        raise BadInput("The copy of the photo is empty.", "Take the photo in again.")
    if not runtime.exists():
        return ""
    address = runtime.get_instance().media_file_mgr.add(content, mime, f"bartack {key}")
    base = str(st.get_option("server.baseUrlPath") or "").strip("/")
    return f"/{base}{address}" if base else address
