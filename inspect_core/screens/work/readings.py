"""Numbers measured by hand, mark by mark. Every one with its unit and its uncertainty."""

from __future__ import annotations

from typing import Any

from inspect_core.domain.errors import BartackError
from inspect_core.domain.gear import Component
from inspect_core.domain.marks import Category, Reading
from inspect_core.domain.measures import MEASURES, Measure
from inspect_core.reports import wording
from inspect_core.screens import state
from inspect_core.screens.frame import plain
from inspect_core.screens.measuring.aids import from_photo
from inspect_core.screens.parts.errors import tell_error
from inspect_core.screens.speaking import inside, st
from inspect_core.screens.work.body import Body, reading_of
from inspect_core.screens.work.session import Work
from inspect_core.usecases.plain import reading_plain
from inspect_core.usecases.questions import measures_for

METHODS = ("steel rule", "calliper", "tape", "gauge", "counted", "goniometer")


def texts(work: Work, photo_id: str) -> dict[str, str]:
    """What stands beside each mark in the list under the photo."""
    return {
        mark["id"]: "; ".join(_short(reading_of(r)) for r in work.body["readings"][mark["id"]])
        for mark in work.body["marks"].get(photo_id, [])
        if work.body["readings"].get(mark["id"])
    }


def show(work: Work, photo_id: str) -> None:
    """A place to enter readings for each mark of a photo."""
    for number, mark in enumerate(work.body["marks"].get(photo_id, []), 1):
        taken = work.body["readings"].get(mark["id"], [])
        own = sum(not from_photo(reading) for reading in taken)
        note = f", {wording.count(own, 'reading')}" if own else ""
        with st.expander(
            f"Measured mark {number} by hand? ({mark['category']} on the {mark['component']}{note})",
            icon=":material/straighten:",
        ):
            _taken(work, mark["id"], taken)
            _entry(work, mark)


def _taken(work: Work, mark_id: str, taken: list[dict[str, Any]]) -> None:
    for place, reading in enumerate(taken):
        if from_photo(reading):
            continue  # stands with the scale, where it can be left out
        st.markdown(f"- {plain(wording.reading(reading_of(reading)))}")
        st.button(
            f"Take back this reading of {reading['measure']}",
            key=work.key("unread", mark_id, str(place), reading["measure"]),
            on_click=work.kept(lambda body, i=place: body["readings"][mark_id].pop(i)),  # type: ignore[misc]
            type="tertiary",
        )


def _entry(work: Work, mark: dict[str, Any]) -> None:
    fitting = measures_for(work.item, Component(mark["component"]), Category(mark["category"]), work.frame.services)
    if fitting:
        st.caption("A rule weighs: " + ", ".join(measure.name for measure in fitting) + ".")
    choices = list(dict.fromkeys([*fitting, *MEASURES.values()]))
    name = st.selectbox(
        "What was measured",
        [measure.name for measure in choices],
        index=0 if fitting else None,
        key=work.key("measure", mark["id"], mark["category"]),
        placeholder="Pick one",
    )
    if name is None:
        return
    measure = MEASURES[name]
    st.caption(plain(measure.description))
    unit = wording.unit_word(measure.unit.value)
    keys = {part: work.key(part, mark["id"], name) for part in ("value", "uncertainty", "method")}
    value, uncertainty = st.columns(2)
    inside(value).number_input(f"Reading ({unit})", value=None, key=keys["value"], format="%.6g")
    inside(uncertainty).number_input(
        f"± uncertainty ({unit})",
        value=None,
        min_value=0.0,
        key=keys["uncertainty"],
        format="%.6g",
        help="Expanded uncertainty, k = 2: the reading lies within this of the true value about 19 times in 20.",
    )
    st.selectbox("How", METHODS, index=None, key=keys["method"], placeholder="Pick the tool")
    st.button(
        "Add this reading",
        key=work.key("read", mark["id"], name),
        on_click=_add,
        args=(work, mark["id"], measure, keys),
        width="stretch",
    )


def _add(work: Work, mark_id: str, measure: Measure, keys: dict[str, str]) -> None:
    given = {part: st.session_state.get(key) for part, key in keys.items()}
    words = {"value": "the reading", "uncertainty": "its uncertainty", "method": "how"}
    missing = [words[part] for part, value in given.items() if value is None]
    if missing:
        state.tell(f"Missing: {', '.join(missing)}.", "A reading without its uncertainty cannot be weighed.")
        return
    try:
        reading = Reading(
            measure.name,
            float(str(given["value"])),
            measure.unit.value,
            float(str(given["uncertainty"])),
            f"by hand, {given['method']}",
        )
    except BartackError as error:
        tell_error(error)
        return

    def change(body: Body) -> None:
        kept = [r for r in body["readings"].get(mark_id, []) if r["measure"] != measure.name]
        body["readings"][mark_id] = [
            *kept,
            reading_plain(reading),
        ]

    work.keep(change)


def _short(reading: Reading) -> str:
    return f"{reading.measure} {wording.measured(reading.value, reading.uncertainty, reading.unit)}"
