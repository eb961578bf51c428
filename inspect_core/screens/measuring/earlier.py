"""What was marked on an earlier photo of the same parts, shown dashed on today's; taken over only by a person."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from inspect_core.domain.errors import BartackError
from inspect_core.domain.marks import Mark
from inspect_core.domain.photos import Photo
from inspect_core.reports import wording
from inspect_core.screens.frame import plain
from inspect_core.screens.measuring import over_time
from inspect_core.screens.measuring.aids import aid_of, outline_of, set_aid
from inspect_core.screens.speaking import st
from inspect_core.screens.work.session import Work
from inspect_core.usecases import review
from inspect_core.usecases.compare import Overlay, transferred

#: Inspections that are looked through for earlier marks, the newest first.
LOOKED_THROUGH = 30


class Former(NamedTuple):
    """An earlier photo with marks: when it was taken and what was marked on it."""

    photo: Photo
    marks: tuple[Mark, ...]
    words: str
    day: str


class Found(NamedTuple):
    """What the switch shows: the photo chosen, its marks on today's photo, or why there are none."""

    former: Former | None
    suggestions: tuple[dict[str, Any], ...]
    problem: str
    remedy: str
    note: str


_NONE = Found(None, (), "", "", "")


def _formers(work: Work, photo: Photo) -> dict[str, Former]:
    """Earlier marked photos by their id, the newest first. A corrected inspection's marks are not proposed again."""
    past = review.history(work.item.id, work.frame.services, limit=LOOKED_THROUGH)
    found: dict[str, Former] = {}
    corrected = {inspection.corrects for inspection in past.inspections}
    for inspection in past.inspections:
        if inspection.id in corrected:
            continue
        for photo_id in inspection.photo_ids:
            marks = tuple(mark for mark in inspection.marks if mark.photo_id == photo_id)
            if not marks or photo_id == photo.id or photo_id in found or photo_id not in past.photos:
                continue
            parts = ", ".join(dict.fromkeys(mark.component.value for mark in marks))
            day = f"{inspection.at:%Y-%m-%d}"
            words = f"{day}: {wording.count(len(marks), 'mark')} on the {parts} ({photo_id[:4]})"
            found[photo_id] = Former(past.photos[photo_id], marks, words, day)
    return found


def _on(work: Work, photo: Photo) -> bool:
    return bool(aid_of(work.body, photo.id)["earlier"])


def suggested(work: Work, photo: Photo) -> Found:
    """The earlier marks where they lie on this photo; nothing while the switch is off."""
    if not _on(work, photo):
        return _NONE
    formers = _formers(work, photo)
    former = formers.get(aid_of(work.body, photo.id)["earlier"])
    if former is None:
        return _NONE
    over, problem, remedy = _laid(work, photo, former)
    if over is None:
        return Found(former, (), problem, remedy, "")
    marks = transferred(former.marks, over.alignment, photo, f"marked on {former.day}")
    return Found(former, marks, "", "", over.alignment.note)


def _laid(work: Work, photo: Photo, former: Former) -> tuple[Overlay | None, str, str]:
    aid: Mapping[str, Any] = aid_of(work.body, photo.id)
    outlines = (outline_of(aid, part) for part in dict.fromkeys(m.component.value for m in former.marks))
    return over_time.laid(work.frame.services, former.photo, photo, next((o for o in outlines if o), None))


def switch(work: Work, photo: Photo, found: Found) -> None:
    """The switch, which earlier photo, and how well it fits; where it does not fit, both side by side."""
    if work.row.standing.last_inspection_id is None:
        return
    key = work.key("earlier", photo.id)
    if key not in st.session_state:
        st.session_state[key] = _on(work, photo)

    def set_earlier() -> None:
        wanted = ""
        if st.session_state[key]:
            try:
                wanted = next(iter(_formers(work, photo)), "")
            except BartackError:
                wanted = ""
            st.session_state[work.key("no earlier", photo.id)] = not wanted
        work.keep(set_aid(photo.id, earlier=wanted))

    st.toggle(
        "Earlier marks: show me where they lie on this photo",
        key=key,
        on_change=set_earlier,
        help="An earlier marked photo is laid over this one. Its marks are drawn dashed, and you may take them over.",
    )
    if not st.session_state[key]:
        return
    if not _on(work, photo):
        st.caption("No earlier photo of this item carries a mark that nobody corrected since.")
        return
    _pick(work, photo)
    if found.former is None:
        return
    if found.problem:
        over_time.apart(
            work.frame.services, found.former.photo, found.former.marks, photo, (), found.problem, found.remedy
        )
        return
    count = wording.count(len(found.suggestions), "earlier mark")
    left_out = len(found.former.marks) - len(found.suggestions)
    st.markdown(
        f"**{count} on the photo above, dashed.** An earlier mark is no mark of today until you take it over there."
        + (f" {left_out} more would lie outside this photo." if left_out else "")
    )
    st.caption(plain(found.note))


def _pick(work: Work, photo: Photo) -> None:
    words = {one.photo.id: one.words for one in _formers(work, photo).values()}
    if len(words) < 2:
        return
    key = work.key("earlier photo", photo.id)
    if key not in st.session_state:
        st.session_state[key] = words.get(aid_of(work.body, photo.id)["earlier"])
    ids = {text: id_ for id_, text in words.items()}

    def set_photo() -> None:
        work.keep(set_aid(photo.id, earlier=ids.get(st.session_state[key] or "", "")))

    st.selectbox("Which earlier photo", list(ids), key=key, on_change=set_photo)
