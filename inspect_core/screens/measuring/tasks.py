"""Measuring by drawing: choose what to measure, draw as told, read the result, or why there is none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from inspect_core.domain.decision import FindingOutcome
from inspect_core.domain.errors import BadInput, BartackError
from inspect_core.domain.gear import Component
from inspect_core.domain.marks import Reading
from inspect_core.domain.photos import Photo
from inspect_core.reports import wording
from inspect_core.screens.frame import plain
from inspect_core.screens.marking import Purpose
from inspect_core.screens.measuring import asking, helper
from inspect_core.screens.measuring.aids import CARD, aid_of, kept_tasks, scale_of, set_task, task_entry
from inspect_core.screens.speaking import st
from inspect_core.screens.work.body import with_defect
from inspect_core.screens.work.session import Work
from inspect_core.usecases.measure import readings_by_mark
from inspect_core.usecases.measure_tasks import Task, case_mark, lacking, parts_for, tasks_for
from inspect_core.usecases.measured import name_of, not_cleared, task_of
from inspect_core.usecases.plain import reading_plain

Plain = dict[str, Any]
_ALONE = "No mark: nothing is damaged there"


def show(work: Work, photo: Photo) -> None:
    """What has been drawn to measure on this photo, and the choice of one thing more."""
    chosen = _choice(work, photo)
    if chosen is not None:
        _open(work, photo, *chosen)
    for name in kept_tasks(aid_of(work.body, photo.id)):
        if chosen is None or name != name_of(*chosen):
            task, component = task_of(name)
            with st.container(border=True, gap="small"):
                _result(work, photo, task, component)
                with st.container(horizontal=True, gap="small"):
                    st.button(
                        "Change the drawing",
                        key=work.key("change task", photo.id, name),
                        on_click=_choose,
                        args=(work, photo, task, component),
                    )
                    _take_away(work, photo, name)


def in_use(work: Work, photo: Photo) -> bool:
    """Whether something is measured on this photo, or about to be."""
    return bool(st.session_state.get(work.key("task", photo.id)) or kept_tasks(aid_of(work.body, photo.id)))


def suggested(work: Work, photo: Photo) -> tuple[Plain, ...]:
    """Gaps found in seams that a person drew here, as suggestions for the photo's own surface."""
    aid = aid_of(work.body, photo.id)
    found: list[Plain] = []
    for name in kept_tasks(aid):
        task, component = task_of(name)
        try:
            wish = _wish(work, photo, task, component)
            if "second" in wish and component is Component.STITCHING:
                found += asking.sides(work, photo.id, scale_of(aid), wish).suggestions
        except BartackError:
            continue  # said where it is drawn
    return tuple({one["id"]: one for one in found}.values())


def _titles(work: Work) -> dict[str, Task]:
    return {task.title: task for task in tasks_for(work.item)}


def _choice(work: Work, photo: Photo) -> tuple[Task, Component] | None:
    titles = _titles(work)
    title = st.selectbox(
        "Measure something on this photo",
        list(titles),
        index=None,
        placeholder="Choose what to measure",
        key=work.key("task", photo.id),
    )
    if title is None:
        return None
    task = titles[title]
    parts = parts_for(task, work.item)
    if len(parts) == 1:
        return task, parts[0]
    defects = [part for part in parts if part in with_defect(work.body)]
    key = work.key("task part", photo.id, task.name)
    if key not in st.session_state:
        st.session_state[key] = defects[0].value if len(defects) == 1 else None
    part = st.selectbox("On which part", [p.value for p in parts], key=key, placeholder="Choose the part")
    return (task, Component(part)) if part else None


def _choose(work: Work, photo: Photo, task: Task, component: Component) -> None:
    """As a callback: open the drawing of a task."""
    st.session_state[work.key("task", photo.id)] = task.title
    st.session_state[work.key("task part", photo.id, task.name)] = component.value


def _open(work: Work, photo: Photo, task: Task, component: Component) -> None:
    """The drawing of one task with its result below it."""
    name = name_of(task, component)
    missing = lacking(task, work.item)
    if missing:
        st.warning(plain(missing), icon=":material/edit_note:")
        if set(task.measures) <= set(task.nominal[1] if task.nominal else ()):
            return
    if task.of_mark and not _marks_on(work, photo, component):
        st.warning(
            f"**This measures a mark.** Draw the damage on the {component.value} as a mark first, on the photo above.",
            icon=":material/edit:",
        )
        return
    with st.container(border=True, gap="small"):
        st.markdown(f"**{task.sentence}**")
        entry = task_entry(aid_of(work.body, photo.id), name)

        def keep(drawn: list[Plain], rev: int) -> None:
            work.keep(set_task(photo.id, name, drawn=drawn, rev=rev, mark=_first_mark(work, photo, component, entry)))

        purpose = Purpose(task.sentence, task.shapes, task.tools)
        helper.draw(work, photo, f"task {name}", component, entry["drawn"], int(entry["rev"]), keep, purpose)
        _result(work, photo, task, component)
        with st.container(horizontal=True, gap="small"):
            st.button(
                "Done with this",
                key=work.key("task done", photo.id, name),
                on_click=lambda: st.session_state.__setitem__(work.key("task", photo.id), None),
                type="primary",
            )
            if entry["drawn"]:
                _take_away(work, photo, name)


def _take_away(work: Work, photo: Photo, name: str) -> None:
    st.button(
        "Take it away",
        key=work.key("task away", photo.id, name),
        on_click=work.kept(set_task(photo.id, name)),
        type="tertiary",
    )


def _marks_on(work: Work, photo: Photo, component: Component) -> list[Plain]:
    return [mark for mark in work.body["marks"].get(photo.id, []) if mark["component"] == component.value]


def _first_mark(work: Work, photo: Photo, component: Component, entry: Plain) -> str:
    """The mark that a drawing belongs to until the person says otherwise: the only one on that part."""
    marks = _marks_on(work, photo, component)
    known = [mark["id"] for mark in marks if mark["id"] == entry["mark"]]
    if known or entry["drawn"]:
        return known[0] if known else ""
    return str(marks[0]["id"]) if len(marks) == 1 else ""


def _wish(work: Work, photo: Photo, task: Task, component: Component) -> Plain:
    """The measuring case of a task as drawn. Raises BadInput where it is not drawn whole."""
    aid = aid_of(work.body, photo.id)
    entry = task_entry(aid, name_of(task, component))
    marks = _marks_on(work, photo, component)
    mark = next((one for one in marks if one["id"] == entry["mark"]), None)
    shapes = [one["shape"] for one in entry["drawn"]]
    # Whatever mark it belongs to, the question stays one and the same, so that it is asked once.
    name = f"{mark['id']}~{task.name}" if mark else f"alone~{task.name}"
    return case_mark(task, shapes, component, work.item, scale_of(aid), id=name, mark=mark)


def _result(work: Work, photo: Photo, task: Task, component: Component) -> None:
    aid = aid_of(work.body, photo.id)
    name = name_of(task, component)
    entry = task_entry(aid, name)
    st.markdown(f"**{task.title}** ({component.value})")
    if not entry["drawn"]:
        return
    _belongs(work, photo, task, component, entry)
    scale = scale_of(aid)
    try:
        wish = _wish(work, photo, task, component)
        measured = asking.task(work, photo.id, scale, wish)
    except BadInput as error:
        _keep(work, photo, name, [])
        st.markdown(f"{plain(error.problem)} {plain(error.remedy)}")
        return
    except BartackError as error:
        _keep(work, photo, name, [])
        st.error(f"**{plain(error.problem)}**  \n{plain(error.remedy)}")
        return
    found = readings_by_mark(measured).get(wish["id"], ())
    for reading in found:
        number = wording.measured(reading.value, reading.uncertainty, reading.unit)
        st.markdown(f"- **{reading.measure}: {plain(number)}**, {plain(reading.method)}")
    for miss in measured["not_measured"]:
        st.markdown(f"- Not measured: **{miss['measure']}.** {plain(miss['problem'])} {plain(miss['remedy'])}")
    _sides(work, photo, component, scale, wish)
    if task.name == "colour":
        st.caption(
            "White balance corrected by the card."
            if scale["method"] == CARD
            else "No card is used here, so the camera's own white balance stays in it and widens the uncertainty."
        )
    if task.caution:
        st.caption(plain(task.caution))
    if entry["mark"]:
        _keep(work, photo, name, [])
        st.caption("These readings stand with the mark above, where each can be left out.")
    else:
        _keep(work, photo, name, [reading_plain(reading) for reading in found])
        _weighed(work, component, found)


def _sides(work: Work, photo: Photo, component: Component, scale: Mapping[str, Any], wish: Plain) -> None:
    if "second" not in wish or component is not Component.STITCHING:
        return
    try:
        sides = asking.sides(work, photo.id, scale, wish)
    except BartackError:
        return  # each measure has said so already
    st.markdown(plain(sides.sentence))
    if sides.suggestions:
        st.caption("Each gap is outlined on the photo above as a hint. It is a mark only once you accept it there.")


def _belongs(work: Work, photo: Photo, task: Task, component: Component, entry: Plain) -> None:
    """Which mark the readings go to."""
    marks = work.body["marks"].get(photo.id, [])
    options = {
        f"Mark {number}: {mark['category']} on the {mark['component']}": str(mark["id"])
        for number, mark in enumerate(marks, 1)
        if mark["component"] == component.value
    }
    if not task.of_mark:
        options[_ALONE] = ""
    if len(options) < 2:
        _settle(work, photo, name_of(task, component), entry, next(iter(options.values()), ""))
        return
    key = work.key("task mark", photo.id, name_of(task, component), ",".join(options.values()))
    if key not in st.session_state:
        now = entry["mark"] if entry["mark"] in options.values() else next(iter(options.values()))
        st.session_state[key] = next(words for words, id_ in options.items() if id_ == now)
        _settle(work, photo, name_of(task, component), entry, now)

    def set_mark() -> None:
        work.keep(set_task(photo.id, name_of(task, component), mark=options[st.session_state[key]]))

    st.selectbox("It belongs to", list(options), key=key, on_change=set_mark)


def _settle(work: Work, photo: Photo, name: str, entry: Plain, mark: str) -> None:
    if entry["mark"] != mark:
        entry["mark"] = mark
        work.keep(set_task(photo.id, name, mark=mark))


def _keep(work: Work, photo: Photo, name: str, readings: list[Plain]) -> None:
    if task_entry(aid_of(work.body, photo.id), name)["readings"] != readings:
        work.keep(set_task(photo.id, name, readings=readings))


def _weighed(work: Work, component: Component, readings: Sequence[Reading]) -> None:
    """What becomes of readings that belong to no mark, as the use case has it."""
    if not readings:
        return
    standing = not_cleared(component, readings, work.item, work.frame.services)
    if not standing:
        st.caption("No limit that is known here is reached. It is kept in the inspection's note.")
        return
    lines = "\n".join(f"- {plain(finding.reason)}" for finding in standing[:3])
    head = (
        "This reading takes the item out."
        if any(finding.outcome is FindingOutcome.WITHDRAW for finding in standing)
        else "This reading holds the item."
    )
    st.warning(
        f"**{head}**\n{lines}\n\nIt goes into the inspection as a mark. Draw it again if it was drawn wrongly.",
        icon=":material/front_hand:",
    )
