"""Two photos of one part over time: blink, wipe or fade between them, and what has grown, in words."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from inspect_core.domain.errors import BartackError
from inspect_core.domain.geometry import Shape
from inspect_core.domain.life import SeenPhoto
from inspect_core.domain.marks import Mark
from inspect_core.domain.photos import Photo
from inspect_core.screens import state
from inspect_core.screens.frame import plain
from inspect_core.screens.measuring import blink
from inspect_core.screens.measuring.aids import aid_of, outline_of
from inspect_core.screens.parts import pictures
from inspect_core.screens.speaking import st
from inspect_core.screens.work.body import marks_of
from inspect_core.screens.work.session import Work
from inspect_core.usecases.compare import Overlay, both, faded, grown, overlay, wiped
from inspect_core.usecases.intake import photo_by_id
from inspect_core.usecases.services import Services

_BLINK, _WIPE, _FADE = "Blink", "Wipe", "Fade"


@st.cache_data(max_entries=8, show_spinner="Laying the photos over each other")
def _laid(
    _services: Services, place: str, earlier_id: str, today_id: str, part: str
) -> tuple[Overlay | None, str, str]:
    """The overlay, or None with the problem and what to do; a failure is kept too, since it takes as long. `part`: the
    part's outline on today's photo as JSON text, or empty."""
    shape = json.loads(part) if part else None
    try:
        outline = Shape.of(shape["type"], shape["points"]) if shape else None
        return overlay(earlier_id, today_id, _services, today_part=outline), "", ""
    except BartackError as error:
        return None, error.problem, error.remedy


def laid(
    services: Services, earlier: Photo | SeenPhoto, today: Photo | SeenPhoto, outline: Mapping[str, Any] | None = None
) -> tuple[Overlay | None, str, str]:
    """The earlier photo laid over today's, or None with the problem and what to do. `outline`: of the part on today's
    photo, which keeps a bench in the background from being aligned instead of the gear."""
    part = json.dumps(outline, sort_keys=True) if outline else ""
    return _laid(services, services.place, earlier.id, today.id, part)


@st.fragment
def box(
    services: Services,
    earlier: Photo | SeenPhoto,
    then: Sequence[Mark],
    today: Photo | SeenPhoto,
    now: Sequence[Mark],
    key: str,
    *,
    outline: Mapping[str, Any] | None = None,
    beside: bool = True,
) -> None:
    """Growth in words, and the two photos over each other once that is wished for. Marks of one part each time.

    `beside`: show the photos side by side where they cannot be laid over each other; off where they stand so already.
    """
    if earlier.id == today.id:
        st.caption("Both are the same photo.")
        return
    wanted = st.toggle("Lay the two photos over each other", key=state.widget("overlay", key))
    over: Overlay | None = None
    if wanted:
        over, problem, remedy = laid(services, earlier, today, outline)
        if over is None:
            apart(services, earlier, then, today, now, problem, remedy, beside=beside)
        else:
            _shown(over, key)
    alignment = over.alignment if over else None
    for one in grown(then, now, alignment, max(today.width, today.height)):
        st.markdown(f"- {plain(one.sentence[0].upper() + one.sentence[1:])}")


def apart(
    services: Services,
    earlier: Photo | SeenPhoto,
    then: Sequence[Mark],
    today: Photo | SeenPhoto,
    now: Sequence[Mark],
    problem: str,
    remedy: str,
    *,
    beside: bool = True,
) -> None:
    """Why two photos cannot be laid over each other, and both side by side."""
    st.warning(f"**{plain(problem)}**  \n{plain(remedy)}", icon=":material/layers_clear:")
    if beside:
        left, right = st.columns(2)
        for place, words, photo, marks in ((left, "Then", earlier, then), (right, "Later", today, now)):
            with place:
                st.markdown(f"**{words}**")
                pictures.with_marks(services, photo, marks)


def _shown(over: Overlay, key: str) -> None:
    way = st.segmented_control(
        "How", [_BLINK, _WIPE, _FADE], default=_BLINK, required=True, key=state.widget("overlay", key, "way")
    )
    if way == _BLINK:
        then, now = both(over)
        blink.show(
            key=state.widget("overlay", key, "blink"), then=then, today=now, then_words="Then", today_words="Later"
        )
        st.caption(plain(over.alignment.note))
        return
    share = st.slider(
        "From today (0) to then (100)", 0, 100, 50, key=state.widget("overlay", key, "share"), format="%d %%"
    )
    picture = (wiped if way == _WIPE else faded)(over, share / 100)
    words = (
        "Then left of the white line, today right of it" if way == _WIPE else f"Then {share} %, today {100 - share} %"
    )
    st.image(picture, width="stretch", caption=words, alt=f"Both photos over each other. {words}")
    st.caption(plain(over.alignment.note))


def work_box(work: Work, name: str, earlier: Photo, then: Sequence[Mark]) -> None:
    """In an inspection at hand: the earlier photo of that part against the photo that is being marked."""
    photos = work.body["photos"]
    if not photos:
        return
    chosen = work.body["photo"] if work.body["photo"] in photos else photos[-1]
    try:
        today = photo_by_id(chosen, work.frame.services)
        now = [m for m in marks_of(work.body, work.person.id) if m.photo_id == chosen and m.component.value == name]
    except (BartackError, KeyError, ValueError):
        return  # told where the photo is marked
    before = [mark for mark in then if mark.component.value == name and mark.photo_id == earlier.id]
    box(
        work.frame.services,
        earlier,
        before,
        today,
        now,
        f"{work.id} {earlier.id} {chosen} {name}",
        outline=outline_of(aid_of(work.body, chosen), name),
        beside=False,  # the page shows them so already
    )
