"""A second drawing surface on a photo, for what is no mark: the known length, and the outline of a part."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from streamlit.errors import StreamlitAPIException

from inspect_core.domain.gear import Component
from inspect_core.domain.marks import Category
from inspect_core.domain.photos import Photo
from inspect_core.screens import state
from inspect_core.screens.marking import Purpose, mark_photo, media_url
from inspect_core.screens.parts import pictures
from inspect_core.screens.speaking import st
from inspect_core.screens.work.session import Work

Keep = Callable[[list[dict[str, Any]], int], None]


def draw(
    work: Work,
    photo: Photo,
    name: str,
    component: Component,
    drawn: Sequence[Mapping[str, Any]],
    rev: int,
    keep: Keep,
    purpose: Purpose,
) -> None:
    """A surface for what is no mark; `keep` is told what is drawn, with the count of changes, after each one.

    `name` tells one surface of a photo from another: the photo goes by a name of its own on each, so that these
    drawings never mix with its marks in the browser's own copy. One part and one category leave nothing to choose.
    """
    services = work.frame.services
    current = mark_photo(
        key=work.key("aid", name, photo.id),
        photo_id=f"{photo.id} {name}",
        width=photo.width,
        height=photo.height,
        preview_url=media_url(
            pictures.preview(services, services.place, photo.id), "image/jpeg", f"preview {photo.id}"
        ),
        full_url=media_url(pictures.full(services, services.place, photo.id), "image/jpeg", f"full {photo.id}"),
        categories=(Category.OTHER,),
        components=(component,),
        default_component=component,
        default_category=Category.OTHER,
        initial=drawn,
        initial_rev=rev,
        draft=f"{work.id} {name}",
        purpose=purpose,
    )
    if current.fault is not None:
        state.tell(current.fault.problem, current.fault.remedy)
    if current.changed and current.rev != rev:
        keep(current.plain(), current.rev)
        again()


def again() -> None:
    """Draw the part of the page at hand anew, so that what stands above takes the change in."""
    try:
        st.rerun(scope="fragment")
    except StreamlitAPIException:
        st.rerun()
