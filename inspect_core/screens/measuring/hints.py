"""Hints on the photo at hand: off until wished for, outlined apart from the marks, taken over only by a person."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from inspect_core.domain.errors import BartackError
from inspect_core.domain.gear import Component, components_of
from inspect_core.domain.geometry import Shape, ShapeType
from inspect_core.domain.photos import Photo
from inspect_core.reports import wording
from inspect_core.screens.frame import plain
from inspect_core.screens.marking import Purpose
from inspect_core.screens.measuring import helper
from inspect_core.screens.measuring.aids import aid_of, set_aid
from inspect_core.screens.speaking import st
from inspect_core.screens.work.body import with_defect
from inspect_core.screens.work.session import Work
from inspect_core.usecases import hints
from inspect_core.usecases.hints import Suggested
from inspect_core.usecases.services import Services

_OUTLINES = (ShapeType.POLYGON, ShapeType.FREEHAND, ShapeType.BOX)


@st.cache_data(max_entries=60, show_spinner="Looking for places worth a look")
def _suggested(_services: Services, place: str, photo_id: str, outlines: str, _photo: Photo) -> Suggested:
    """`outlines` as JSON text is the cache's key and the question at once."""
    drawn = tuple((Component(part), Shape.of(shape["type"], shape["points"])) for part, shape in json.loads(outlines))
    return hints.suggest(_photo, drawn, _services)


def suggested(work: Work, photo: Photo) -> Suggested:
    """The hints for the outlines drawn so far; none while the switch is off."""
    aid = aid_of(work.body, photo.id)
    if not aid["hints"] or not aid["outline"]:
        return Suggested((), (), ())
    services = work.frame.services
    try:
        question = json.dumps([[mark["component"], mark["shape"]] for mark in aid["outline"]])
        return _suggested(services, services.place, photo.id, question, photo)
    except BartackError as error:
        return Suggested((), (), (f"{error.problem} {error.remedy}",))


def switch(work: Work, photo: Photo, found: Suggested) -> None:
    """The switch, the outlines that the hints need, and how often they err."""
    parts = [part for part in components_of(work.item.kind) if hints.hinted(part)]
    if not parts:
        return
    key = work.key("hints", photo.id)
    if key not in st.session_state:
        st.session_state[key] = bool(aid_of(work.body, photo.id)["hints"])

    def set_hints() -> None:
        work.keep(set_aid(photo.id, hints=bool(st.session_state[key])))

    st.toggle(
        "Hints: show me places worth a look",
        key=key,
        on_change=set_hints,
        help="A program points at places inside a part that you outline. It is often wrong, and no hint means nothing.",
    )
    if not st.session_state[key]:
        return
    drawn = aid_of(work.body, photo.id)["outline"]
    if drawn:
        st.markdown(_count(found))
    for note in found.notes:
        st.caption(plain(note))
    for problem in found.problems:
        st.warning(plain(problem), icon=":material/lightbulb:")
    _outline(work, photo, parts)


def _outline(work: Work, photo: Photo, parts: Sequence[Component]) -> None:
    """One part at a time: its outline, once drawn, makes room until it is to be changed."""
    aid = aid_of(work.body, photo.id)
    first = next((place for place, p in enumerate(parts) if p in with_defect(work.body)), 0)
    part = Component(
        st.selectbox("Part to look at", [p.value for p in parts], index=first, key=work.key("hint part", photo.id))
    )
    own = [mark for mark in aid["outline"] if mark["component"] == part.value]
    redraw = work.key("redraw outline", photo.id, part.value)
    if own and not st.session_state.get(redraw):
        st.markdown(f"The {part.value} is outlined. Marks on it also get their share of that area.")
        st.button(
            "Change the outline",
            key=work.key("to redraw outline", photo.id, part.value),
            on_click=lambda: st.session_state.__setitem__(redraw, True),
        )
        return
    if part is Component.STITCHING:
        purpose = Purpose(
            "Draw a line along one row of stitches.", ("row of stitches",), (ShapeType.LINE, ShapeType.POLYLINE)
        )
        st.markdown(f"**{purpose.sentence}**")
    else:
        purpose = Purpose(f"Outline the {part.value}, all of it that shows.", (part.value,), _OUTLINES)
        st.markdown(f"**{purpose.sentence}** Use Area, Outline or Box.")

    def keep(now: list[dict[str, Any]], rev: int) -> None:
        others = [mark for mark in aid["outline"] if mark["component"] != part.value]
        renamed = [{**mark, "id": f"{part.value.replace(' ', '-')}-{n}"} for n, mark in enumerate(now)]
        work.keep(set_aid(photo.id, outline=[*others, *renamed], outline_revs={**aid["outline_revs"], part.value: rev}))

    helper.draw(work, photo, part.value, part, own, int(aid["outline_revs"].get(part.value, 0)), keep, purpose)
    if own:
        st.button(
            "The outline is right",
            key=work.key("outlined", photo.id, part.value),
            on_click=lambda: st.session_state.__setitem__(redraw, False),
        )


def _count(found: Suggested) -> str:
    if not found.suggestions:
        return "No hints. That means nothing: look yourself."
    return (
        f"**{wording.count(len(found.suggestions), 'hint')} on the photo above, outlined apart from the marks.** "
        "A hint is no mark and weighs nothing until you take it over there."
    )
