"""A second drawing surface on a photo, for what is no mark: the known length, and the outline of a part."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import streamlit as st
from streamlit.errors import StreamlitAPIException

from inspect_core.domain.gear import Component
from inspect_core.domain.marks import Category
from inspect_core.domain.photos import Photo
from inspect_core.screens import state
from inspect_core.screens.marking import mark_photo, media_url
from inspect_core.screens.measuring.aids import aid_of, set_aid
from inspect_core.screens.parts import pictures
from inspect_core.screens.work.session import Work


def draw(work: Work, photo: Photo, purpose: str, components: Sequence[Component]) -> list[dict[str, Any]]:
    """What is drawn for that purpose ("line" or "outline"), kept with the unfinished inspection at every change.

    The photo goes by another name here, so that these drawings never mix with its marks in the browser's own copy.
    """
    aid = aid_of(work.body, photo.id)
    services = work.frame.services
    current = mark_photo(
        key=work.key("aid", purpose, photo.id),
        photo_id=f"{photo.id}-{purpose}",
        width=photo.width,
        height=photo.height,
        preview_url=media_url(
            pictures.preview(services, services.place, photo.id), "image/jpeg", f"preview {photo.id}"
        ),
        full_url=media_url(pictures.full(services, services.place, photo.id), "image/jpeg", f"full {photo.id}"),
        categories=(Category.OTHER,),
        components=components,
        default_component=components[0],
        default_category=Category.OTHER,
        initial=aid[purpose],
        initial_rev=aid[f"{purpose}_rev"],
        draft=f"{work.id} {purpose}",
    )
    if current.fault is not None:
        state.tell(current.fault.problem, current.fault.remedy)
    if current.changed and current.rev != aid[f"{purpose}_rev"]:
        work.keep(set_aid(photo.id, **{purpose: current.plain(), f"{purpose}_rev": current.rev}))
        again()
    drawn: list[dict[str, Any]] = aid_of(work.body, photo.id)[purpose]
    return drawn


def again() -> None:
    """Draw the part of the page at hand anew, so that what stands above takes the change in."""
    try:
        st.rerun(scope="fragment")
    except StreamlitAPIException:
        st.rerun()
