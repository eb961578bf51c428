"""The readings of a photo's marks, taken at once and taken over unless a person leaves them out."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import streamlit as st

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
    runs_along,
    scale_of,
)
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.work.body import Body
from inspect_core.screens.work.session import Work
from inspect_core.usecases.measure import readings_by_mark
from inspect_core.usecases.measured import joined, joined_wishes
from inspect_core.usecases.questions import measures_for

_DEPTHS = ("depth from edge", "depth share")


def show(work: Work, photo: Photo) -> None:
    """Measure the photo's marks with the scale chosen, keep what was measured, and say it in words."""
    marks = work.body["marks"].get(photo.id, [])
    if not marks:
        _keep(work, photo, {})
        return
    aid = aid_of(work.body, photo.id)
    asked: dict[str, Any] = {"scale": scale_of(aid, photo), "marks": asked_marks(marks, aid)}
    try:
        measured = asking.marks(work, photo.id, asked["scale"], asked["marks"])
        measured = _with_nearer_depths(_without_doubtful_depths(measured, asked), asked, work, photo.id)
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


def _without_doubtful_depths(measured: Mapping[str, Any], asked: Mapping[str, Any]) -> dict[str, Any]:
    scale = asked["scale"]
    if scale.get("of") != "webbing width":
        return dict(measured)
    along = {mark["id"] for mark in asked["marks"] if runs_along(mark["shape"], scale["points"])}
    doubtful = [r for r in measured["readings"] if r["mark"] in along and r["measure"] in _DEPTHS]
    missed = [
        {
            "mark": reading["mark"],
            "measure": reading["measure"],
            "problem": "The mark runs along the webbing rather than into it, as the drawn width has it.",
            "remedy": "Draw the width straight across the webbing from edge to edge, or measure the depth by hand.",
        }
        for reading in doubtful
    ]
    kept = [reading for reading in measured["readings"] if reading not in doubtful]
    return {**measured, "readings": kept, "not_measured": [*measured["not_measured"], *missed]}


def _with_nearer_depths(
    measured: dict[str, Any], asked: Mapping[str, Any], work: Work, photo_id: str
) -> dict[str, Any]:
    """Where the drawn width lies far from a cut, the cut's own length bounds its depth better than that width does:
    a line drawn from the edge inwards is at least as long as it is deep."""
    if asked["scale"].get("of") != "webbing width":
        return measured
    spread = {(r["mark"], r["measure"]): r["uncertainty"] for r in measured["readings"]}
    wide = [
        {**mark, "measure": list(_DEPTHS)}
        for mark in asked["marks"]
        if mark["shape"]["type"] == "line"
        and spread.get((mark["id"], _DEPTHS[0]), 0.0) > spread.get((mark["id"], "length"), math.inf)
    ]
    if not wide:
        return measured
    question: dict[str, Any] = {"scale": {**asked["scale"], "of": "other"}, "marks": wide}
    nearer = asking.marks(work, photo_id, question["scale"], question["marks"])
    there = {mark["id"] for mark in wide}
    kept = [r for r in measured["readings"] if r["mark"] not in there or r["measure"] not in _DEPTHS]
    return {
        **measured,
        "readings": [*kept, *nearer["readings"]],
        "not_measured": [*measured["not_measured"], *nearer["not_measured"]],
    }


def _with_tasks(measured: dict[str, Any], aid: Mapping[str, Any], work: Work, photo: Photo) -> dict[str, Any]:
    """With what was drawn to measure these marks, each at its mark."""
    scale = scale_of(aid, photo)
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
