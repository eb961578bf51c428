"""A small app that holds the marking component, for the browser tests.

Query parameters: `draft` names the draft; `keep=no` makes the server forget it, as if the last stroke had not arrived;
`owner` renames the draft for the component alone; `hints=yes` adds machine hints and a mark of an earlier photo;
`part=ask` takes no part for granted; `purpose=yes` asks for two lines; `readonly=yes` lets nobody draw.
"""

from __future__ import annotations

import io
import json
from typing import Any

import streamlit as st
from PIL import Image, ImageDraw

from inspect_core.domain.gear import Component, Kind, components_of
from inspect_core.domain.geometry import ShapeType
from inspect_core.domain.marks import Category
from inspect_core.screens.marking import Purpose, forget_saved_marks, mark_photo, media_url, show_readings

PHOTO = (4000, 3000)
HINTS = (
    {
        "id": "rust1",
        "category": "rust",
        "component": "snap hook",
        "by": "drawn test hint 1",
        "shape": {"type": "polygon", "points": [[2600, 400], [3300, 500], [3200, 1000], [2700, 900]]},
    },
    {
        "id": "then1",
        "kind": "earlier",
        "category": "cut",
        "component": "webbing",
        "by": "marked on 2026-01-05",
        "shape": {"type": "line", "points": [[1900, 1000], [1960, 1500]]},
    },
)
LINES = Purpose("Draw a line along each side.", ("first side", "other side"), (ShapeType.LINE, ShapeType.POLYLINE))


@st.cache_data
def drawn_photo() -> tuple[bytes, bytes]:
    """Full and preview JPEG of a strap-like pattern with a grid every 250 px, so that a picture can be read."""
    picture = Image.new("RGB", PHOTO, "#8a8f96")
    pen = ImageDraw.Draw(picture)
    pen.polygon([(0, 1100), (4000, 900), (4000, 2000), (0, 2200)], fill="#c9a227")
    for x in range(0, 4000, 40):
        pen.line([(x, 1100 - x // 20), (x + 20, 2200 - x // 20)], fill="#a8861c", width=8)
    pen.polygon([(1900, 985), (1960, 1500), (2000, 980)], fill="#2b1d14")
    for at in range(0, 4000, 250):
        pen.line([(at, 0), (at, 3000)], fill="#5c6168", width=2)
        pen.line([(0, at), (4000, at)], fill="#5c6168", width=2)
    return _jpeg(picture), _jpeg(picture.resize((1600, 1200)))


def _jpeg(picture: Image.Image) -> bytes:
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=85)
    return out.getvalue()


@st.cache_resource
def kept_drafts() -> dict[str, dict[str, Any]]:
    """Stands for drafts in a store: outlives a browser session."""
    return {}


def marking_page() -> None:
    st.subheader("Photo 1 of 2")
    asked = st.session_state.setdefault("asked", st.query_params.to_dict())  # a change of page drops the query
    name = asked.get("draft", "none")
    draft = kept_drafts().get(name) or st.session_state.setdefault("draft", {"marks": [], "rev": 0})
    preview = drawn_photo()[1]

    def full() -> bytes:
        st.session_state["full_reads"] = st.session_state.get("full_reads", 0) + 1
        return drawn_photo()[0]

    @st.fragment
    def marking() -> None:
        state = mark_photo(
            key="photo1",
            photo_id=f"photo-{name}",
            width=PHOTO[0],
            height=PHOTO[1],
            preview_url=media_url(preview, "image/jpeg", "preview"),
            full_url=media_url(full, "image/jpeg", "full"),
            categories=tuple(Category),
            components=components_of(Kind.WEBBING_LANYARD),
            default_component=None if asked.get("part") == "ask" else Component.WEBBING,
            initial=draft["marks"],
            initial_rev=draft["rev"],
            draft=asked.get("owner", name),
            suggestions=HINTS if asked.get("hints") == "yes" else (),
            readonly=asked.get("readonly") == "yes",
            purpose=LINES if asked.get("purpose") == "yes" else None,
            default_category=Category.OTHER if asked.get("purpose") == "yes" else None,
        )
        if state.fault:
            st.error(str(state.fault))
        if asked.get("keep") != "no":
            draft.update(marks=state.plain(), rev=state.rev)
            if name != "none":
                kept_drafts()[name] = draft
        lengths = {mark.id: f"{mark.shape.length():.0f} px long" for mark in state.marks}
        show_readings(key="readings1", photo_id=f"photo-{name}", readings=lengths)
        runs = st.session_state["runs"] = st.session_state.get("runs", 0) + 1
        with st.container(key="out"):
            known = {
                "runs": runs,
                "rev": state.rev,
                "full_reads": st.session_state["full_reads"],
                "unplaced": state.unplaced,
            }
            st.text(json.dumps({**known, "marks": state.plain()}))

    marking()
    st.button("Run again")


def other_page() -> None:
    st.subheader("Another page")
    if st.button("Record"):
        forget_saved_marks(key="forget", photo_ids=[f"photo-{st.session_state['asked'].get('draft', 'none')}"])
        st.text("Recorded")


st.set_page_config(page_title="Marking", layout="centered")
page = st.navigation(
    [st.Page(marking_page, title="Mark", url_path="mark", default=True), st.Page(other_page, title="Other")]
)
page.run()
