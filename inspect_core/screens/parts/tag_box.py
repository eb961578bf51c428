"""Picking an item: type its tag, or photograph its QR label."""

from __future__ import annotations

from inspect_core.domain.errors import BartackError
from inspect_core.domain.record import ItemRow
from inspect_core.imaging.qr import read_tag
from inspect_core.screens import state
from inspect_core.screens.frame import Frame
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.speaking import st
from inspect_core.usecases import review

PHOTO_TYPES = ["jpg", "jpeg", "png", "webp", "heic", "heif"]


def pick(frame: Frame, name: str, ways: tuple[str, ...] = ("Open",)) -> tuple[str, str] | None:
    """The tag that was just given with the way that was pressed, or None. `name` tells one box from another; a photo
    of the label takes the first way."""
    with st.form(state.widget("tag", name), border=False):
        typed = st.text_input(
            "Tag on the gear", placeholder="for example WL-0001", max_chars=32, key=state.widget("tag", name, "typed")
        )
        pressed = [
            way
            for place, way in enumerate(ways)
            if st.form_submit_button(
                way,
                type="secondary" if place else "primary",
                width="stretch",
                icon=None if place else ":material/arrow_forward:",
                key=state.widget("tag", name, way),
            )
        ]
    with st.expander("Or photograph its QR label", icon=":material/qr_code_scanner:"):
        upload = st.file_uploader("Photo of the QR label", type=PHOTO_TYPES, key=state.widget("tag", name, "photo"))
        if upload is not None:
            tag = _from_photo(upload.getvalue())
            if tag is not None:
                return tag, ways[0]
    return (typed.strip(), pressed[0]) if pressed and typed else None


def _from_photo(data: bytes) -> str | None:
    try:
        tag = read_tag(data)
    except BartackError as error:
        show_error(error)
        return None
    if tag is None:
        st.error("**No label of ours, or more than one, can be read in this photo.**  \nMove closer, or type the tag.")
    return tag


def item_at_address(frame: Frame) -> ItemRow | None:
    """The item that the page's address names, or None after showing why there is none."""
    tag = state.query("tag")
    if tag is None:
        return None
    try:
        return review.item_by_tag(tag, frame.services)
    except BartackError as error:
        show_error(error)
        return None
