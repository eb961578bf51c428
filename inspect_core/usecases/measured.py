"""Readings taken by drawing for them: joined to the mark they belong to, or standing by themselves.

A part may be measured with nothing wrong to be seen on it. Such a reading is kept in the inspection's note where it
clears every limit; where it reaches a limit, or cannot rule it out, it becomes a mark of the inspection, so that the
rules weigh it like any other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from inspect_core.deciding import decide
from inspect_core.domain.decision import Answer, Case, CaseMark, FactValue, Finding, FindingOutcome
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component, Item, components_of
from inspect_core.domain.geometry import Shape
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.domain.wording import shown_reading
from inspect_core.imaging.case import read_case
from inspect_core.imaging.files import upright_rgb
from inspect_core.imaging.measure_case import seam_sides
from inspect_core.imaging.stitching import METHOD as STITCHES
from inspect_core.usecases.casefile import facts_of_item
from inspect_core.usecases.inspect import RecordInspection
from inspect_core.usecases.measure import measure_photo
from inspect_core.usecases.measure_tasks import ALONE, TASKS, Task, case_mark
from inspect_core.usecases.services import Services

#: The heading in an inspection's note under which stands what was measured without a mark.
HEADING = "Measured, nothing marked:"
_ACROSS = "line drawn across the rope"


@dataclass(frozen=True, slots=True)
class Sides:
    """Both sides of a seam in words, and its gaps as suggestions for the marking component."""

    sentence: str
    suggestions: tuple[dict[str, Any], ...]


@dataclass(frozen=True, slots=True)
class Alone:
    """A part that was measured with no damage marked: what was drawn and what was read."""

    id: str
    photo_id: str
    task: Task
    component: Component
    shape: Shape
    readings: tuple[Reading, ...]


def measure_task(
    photo_id: str, wish: Mapping[str, Any], scale: Mapping[str, Any], item: Item, services: Services
) -> dict[str, Any]:
    """As `measure_photo` for one wish of `case_mark`.

    A line too short to lie along a rope is refused: taken as drawn across it, its length would pass for the
    diameter.
    """
    measured = measure_photo(photo_id, scale, [wish], item, services)
    across = [r for r in measured["readings"] if _ACROSS in r["method"] or r["measure"] == "diameter loss"]
    if not any(_ACROSS in r["method"] for r in across):
        return measured
    missed = [
        {
            "mark": r["mark"],
            "measure": r["measure"],
            "problem": "The line is too short to lie along the rope.",
            "remedy": "Draw it along the middle of the rope, several diameters long.",
        }
        for r in across
    ]
    kept = [r for r in measured["readings"] if r not in across]
    return {**measured, "readings": kept, "not_measured": [*measured["not_measured"], *missed]}


def sides_of_seam(
    photo_id: str, wish: Mapping[str, Any], scale: Mapping[str, Any], item: Item, services: Services
) -> Sides:
    """Where the two sides of a seam differ. Raises BadInput where no rhythm shows on one of them, NotFound."""
    case = read_case({"photo": photo_id, "scale": dict(scale), "marks": [dict(wish)]})
    with services.unit_of_work() as uow:
        photo = uow.photos.get(photo_id)
    size = (photo.width, photo.height)
    found, gaps = seam_sides(case, wish["id"], size, lambda: upright_rgb(services.photos.original(photo_id)))
    suggestions = tuple(
        {
            "id": f"gap-{place}-{round(gap.start[0])}-{round(gap.start[1])}",
            "category": "broken stitch",
            "component": Component.STITCHING.value,
            "shape": {"type": "line", "points": [list(gap.start), list(gap.end)]},
            "by": f"{gap.missing} missing, {STITCHES}",
        }
        for place, gap in enumerate(gaps, 1)
    )
    return Sides(found.sentence, suggestions)


def joined_wishes(
    kept: Mapping[str, Mapping[str, Any]], marks: Sequence[Mapping[str, Any]], item: Item, scale: Mapping[str, Any]
) -> dict[str, dict[str, Any]]:
    """Wishes of the tasks that belong to marks, by the name under which they are measured.

    `kept`: tasks of one photo as kept in an unfinished inspection. What is not drawn whole is left out; the screen
    that draws it says so.
    """
    wishes: dict[str, dict[str, Any]] = {}
    for name, entry in kept.items():
        task, component = task_of(name)
        mark = next((one for one in marks if one["id"] == entry["mark"]), None)
        if mark is None:
            continue
        try:
            id_ = f"{mark['id']}~{task.name}"
            shapes = [drawn["shape"] for drawn in entry["drawn"]]
            wishes[id_] = case_mark(task, shapes, component, item, scale, id=id_, mark=mark)
        except BadInput:
            continue
    return wishes


def joined(measured: Mapping[str, Any]) -> dict[str, Any]:
    """A measured photo with the readings of joined wishes at their marks. What was drawn for a measure wins over what
    the mark alone gave for it."""

    def at_mark(entry: Mapping[str, Any]) -> dict[str, Any]:
        return {**entry, "mark": entry["mark"].partition("~")[0]}

    drawn = {(one["mark"].partition("~")[0], one["measure"]) for one in measured["readings"] if "~" in one["mark"]}
    readings = [
        at_mark(one) for one in measured["readings"] if "~" in one["mark"] or (one["mark"], one["measure"]) not in drawn
    ]
    missed = {
        (one["mark"], one["measure"]): one
        for one in map(at_mark, measured["not_measured"])
        if (one["mark"], one["measure"]) not in drawn
    }
    return {**measured, "readings": readings, "not_measured": list(missed.values())}


def task_of(name: str) -> tuple[Task, Component]:
    """Task and part of a name "task|part". Raises BadInput."""
    task, _, part = name.partition("|")
    if task not in TASKS or part not in {component.value for component in Component}:
        raise BadInput("A measurement of this unfinished work cannot be read.", "Take it away and draw it again.")
    return TASKS[task], Component(part)


def name_of(task: Task, component: Component) -> str:
    """The name of a task on a part, as `task_of` reads it."""
    return f"{task.name}|{component.value}"


def not_cleared(
    component: Component,
    readings: Sequence[Reading],
    item: Item,
    services: Services,
    facts: Mapping[str, FactValue] | None = None,
) -> tuple[Finding, ...]:
    """What rules or the maker's limits hold against readings that stand by themselves, the worst first.

    Empty where every limit is cleared or none is known: then nothing makes a mark of them. `facts`: what the
    inspection states beside what the register knows.
    """
    return _weighed(component, readings, item, services, facts)[1]


def _weighed(
    component: Component,
    readings: Sequence[Reading],
    item: Item,
    services: Services,
    facts: Mapping[str, FactValue] | None,
) -> tuple[Category, tuple[Finding, ...]]:
    """The findings with the category under which they are worst. Nobody has said what the reading is a sign of, so it
    is weighed as every sort of damage for which some rule reads that measure."""
    measures = {reading.measure for reading in readings}
    sorts = {category for rule in services.rules.rules if rule.measure in measures for category in rule.categories}
    worst: tuple[Category, tuple[Finding, ...]] = (ALONE, ())
    for category in (ALONE, *sorted(sorts - {ALONE})):
        found = _findings(category, component, readings, item, services, facts)
        if found and (not worst[1] or found[0].outcome.severity > worst[1][0].outcome.severity):
            worst = (category, found)
    return worst


def _findings(
    category: Category,
    component: Component,
    readings: Sequence[Reading],
    item: Item,
    services: Services,
    facts: Mapping[str, FactValue] | None,
) -> tuple[Finding, ...]:
    sound = dict.fromkeys(components_of(item.kind), Answer.SOUND)
    known = facts_of_item(item, services.today(), last_periodic=None, extra=facts or {})
    mark = CaseMark("measured", component, category, tuple(readings))
    decision = decide(Case(item.kind, item.profile, known, sound, (mark,)), services.rules, services.today())
    measures = {reading.measure for reading in readings}
    # A rule that reads one of these measures and could not be settled counts as well: what it lacks is a fact.
    found = [
        finding
        for finding in decision.findings
        if finding.mark == mark.id and finding.measure in measures and finding.outcome is not FindingOutcome.CLEARED
    ]
    return tuple(sorted(found, key=lambda finding: -finding.outcome.severity))


def taken_in(command: RecordInspection, alone: Sequence[Alone], item: Item, services: Services) -> RecordInspection:
    """The inspection with what was measured by itself: as a mark where a limit is not cleared, else in its note."""
    marks, lines = [], []
    for one in alone:
        if not one.readings or one.photo_id not in command.photo_ids:
            continue
        category, findings = _weighed(one.component, one.readings, item, services, command.facts)
        if findings:
            note = f"Measured, with no damage marked: {one.task.title[0].lower()}{one.task.title[1:]}."
            marks.append(
                Mark(one.id, one.photo_id, one.component, category, one.shape, one.readings, note, made_by=command.by)
            )
        else:
            lines += [f"{one.component.value}, {_words(reading)}" for reading in one.readings]
    note = "\n".join(filter(None, (command.note, *([HEADING, *lines] if lines else ()))))
    return replace(command, marks=(*command.marks, *marks), note=note)


def _words(reading: Reading) -> str:
    return f"{reading.measure} {shown_reading(reading.value, reading.uncertainty, reading.unit)} ({reading.method})"
