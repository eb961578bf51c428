"""The readings of a photo's marks, taken at once and taken over unless a person leaves them out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inspect_core.domain.errors import BartackError
from inspect_core.domain.gear import Component
from inspect_core.domain.marks import Category, Reading
from inspect_core.domain.photos import Photo
from inspect_core.reports import wording
from inspect_core.screens.frame import plain
from inspect_core.screens.measuring import asking
from inspect_core.screens.measuring.aids import (
    aid_of,
    asked_marks,
    by_hand,
    kept_tasks,
    left_key,
    merged,
    scale_of,
)
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.speaking import st
from inspect_core.screens.work.body import Body
from inspect_core.screens.work.session import Work
from inspect_core.usecases.measure import readings_by_mark
from inspect_core.usecases.measured import joined, joined_wishes
from inspect_core.usecases.questions import measures_for


def show(work: Work, photo: Photo) -> None:
    """Measure the photo's marks with the scale chosen, keep what was measured, and say it in words."""
    marks = work.body["marks"].get(photo.id, [])
    if not marks:
        _keep(work, photo, {})
        return
    aid = aid_of(work.body, photo.id)
    asked: dict[str, Any] = {"scale": scale_of(aid), "marks": asked_marks(marks, aid)}
    try:
        measured = asking.marks(work, photo.id, asked["scale"], asked["marks"])
        measured = _with_tasks(measured, aid, work, photo)
    except BartackError as error:
        # No scale, no millimetres: an old reading must not stand beside a scale that was refused.
        _keep(work, photo, {})
        show_error(error)
        return
    found = readings_by_mark(measured)
    _keep(work, photo, found)
    for note in measured["scale"]["notes"] if measured["scale"]["method"] != "none" else ():
        st.caption(plain(note))
    for number, mark in enumerate(marks, 1):
        _mark(work, number, mark, found.get(mark["id"], ()), measured)


def _with_tasks(measured: dict[str, Any], aid: Mapping[str, Any], work: Work, photo: Photo) -> dict[str, Any]:
    """With what was drawn to measure these marks, each at its mark."""
    scale = scale_of(aid)
    wishes = joined_wishes(kept_tasks(aid), work.body["marks"].get(photo.id, []), work.item, scale)
    for wish in wishes.values():
        more = asking.task(work, photo.id, scale, wish)
        measured = {
            **measured,
            "readings": [*measured["readings"], *more["readings"]],
            "not_measured": [*measured["not_measured"], *more["not_measured"]],
        }
    return joined(measured)


def _keep(work: Work, photo: Photo, found: Mapping[str, tuple[Reading, ...]]) -> None:
    ids = [mark["id"] for mark in work.body["marks"].get(photo.id, [])]
    now = merged(work.body["readings"], found, ids, work.body["left"])
    if now == {i: r for i in ids if (r := work.body["readings"].get(i))}:
        return

    def change(body: Body) -> None:
        body["readings"] = {i: r for i, r in body["readings"].items() if i not in ids} | now

    work.keep(change)


def _mark(
    work: Work, number: int, mark: Mapping[str, Any], readings: tuple[Reading, ...], measured: Mapping[str, Any]
) -> None:
    missed = [m for m in measured["not_measured"] if m["mark"] == mark["id"]]
    weighed = [
        m.name
        for m in measures_for(work.item, Component(mark["component"]), Category(mark["category"]), work.frame.services)
    ]
    kept = work.body["readings"].get(mark["id"], [])
    there = {r["measure"] for r in kept}
    if not readings and not missed and measured["scale"]["method"] == "none":
        return
    with st.container(border=True, gap="small"):
        st.markdown(f"**Mark {number}: {mark['category']} on the {mark['component']}**")
        for reading in readings:
            own = by_hand(kept, reading.measure)
            if own is not None:
                st.markdown(plain(f"By hand, and this counts: {wording.reading(own)}"))
                st.caption(plain(f"The photo gave {wording.reading(reading)}"))
            else:
                _taken_over(work, mark["id"], reading)
        for miss in missed:
            st.markdown(f"Not measured: **{miss['measure']}.** {plain(miss['problem'])} {plain(miss['remedy'])}")
        still = [name for name in weighed if name not in there and name not in {m["measure"] for m in missed}]
        if still and measured["scale"]["method"] != "none":
            st.caption(
                plain(
                    f"A rule also weighs: {', '.join(still)}. This photo did not give it; measure it by hand below, "
                    "or the mark holds the item."
                )
            )


def _taken_over(work: Work, mark_id: str, reading: Reading) -> None:
    name = left_key(mark_id, reading.measure)
    key = work.key("take", name)
    if key not in st.session_state:
        st.session_state[key] = name not in work.body["left"]

    def set_taken() -> None:
        taken = bool(st.session_state[key])

        def change(body: Body) -> None:
            body["left"] = [other for other in body["left"] if other != name] + ([] if taken else [name])

        work.keep(change)

    st.checkbox(
        wording.reading(reading),
        key=key,
        on_change=set_taken,
        help="Ticked: this reading goes into the inspection and the rules weigh it.",
    )
