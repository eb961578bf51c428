"""What can be measured on a photo by drawing for it: what to draw, and the measuring case that the drawing makes."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component, Item, components_of
from inspect_core.domain.geometry import ShapeType
from inspect_core.domain.marks import Category

Plain = Mapping[str, Any]

_C = Component
_CLOTH = (_C.WEBBING, _C.STITCHING, _C.ENERGY_ABSORBER)
_FITTINGS = (_C.SNAP_HOOK, _C.D_RING, _C.BUCKLE, _C.GATE, _C.CAM, _C.HOUSING, _C.BODY, _C.TENSIONER, _C.THIMBLE)
_METAL = (*_FITTINGS, _C.TERMINATION, _C.WIRE_ROPE)
_ROPES = (_C.ROPE, _C.WIRE_ROPE)
_HOOKS = (_C.SNAP_HOOK, _C.BODY)
_LINE = (ShapeType.LINE,)
_LINES = (ShapeType.LINE, ShapeType.POLYLINE)
_PATCHES = (ShapeType.BOX, ShapeType.POLYGON, ShapeType.FREEHAND)
_OUTLINES = (ShapeType.POLYGON, ShapeType.FREEHAND, ShapeType.BOX)


@dataclass(frozen=True, slots=True)
class Task:
    """One thing to measure by drawing.

    Parameters
    ----------
    name: identifier in an unfinished inspection. title: the choice in plain words. sentence: what to draw.
    shapes: the word on each shape, in the order in which they are drawn. tools: how they may be drawn.
    components: the parts that it is for. measures: what is read.
    of_mark: it measures a mark that is drawn already; otherwise it may stand by itself.
    nominal: registered size that some of its measures need, with those measures.
    caution: what the reading does not say.
    """

    name: str
    title: str
    sentence: str
    shapes: tuple[str, ...]
    tools: tuple[ShapeType, ...]
    components: tuple[Component, ...]
    measures: tuple[str, ...]
    of_mark: bool = False
    nominal: tuple[str, tuple[str, ...]] | None = None
    caution: str = ""


TASKS: Mapping[str, Task] = MappingProxyType(
    {
        task.name: task
        for task in (
            Task(
                "cut depth",
                "How deep a cut or fray goes, by the webbing's edges",
                "Draw a line along the edge that is cut, as it ran before, then one along the other edge.",
                ("edge that is cut", "other edge"),
                _LINE,
                _CLOTH,
                ("depth from edge", "depth share"),
                of_mark=True,
            ),
            Task(
                "webbing width",
                "Width of the webbing",
                "Draw a line along each edge of the webbing, side by side.",
                ("one edge", "other edge"),
                _LINE,
                (_C.WEBBING,),
                ("webbing width",),
            ),
            Task(
                "seam sides",
                "Stitches on both sides of a seam",
                "Draw a line along the stitches on one side of the seam, then one along the other side, as long.",
                ("first side", "second side"),
                _LINES,
                (_C.STITCHING,),
                ("stitch count", "stitch spacing", "missing stitches", "stitch side difference"),
                caution="A count from a photo is never sure to one stitch. Count by hand where a seam matters.",
            ),
            Task(
                "colour",
                "Colour against a sound place",
                "Draw a box on a sound place of the same material in the same light, then one on the suspect place.",
                ("sound place", "suspect place"),
                _PATCHES,
                (*_CLOTH, *_ROPES, _C.LABEL),
                ("colour difference", "grey-scale grade"),
                of_mark=True,
                caution="Colour does not show strength: fading can be harmless, and harm can be colourless.",
            ),
            Task(
                "rust",
                "Rust on metal",
                "Outline the metal, all of it that shows, and nothing else.",
                ("metal",),
                _OUTLINES,
                _METAL,
                ("rust area share", "rust grade"),
                of_mark=True,
                caution="Paint, brass and reflections of rust's colour count as rust. Any rust is looked at closely.",
            ),
            Task(
                "rope diameter",
                "Diameter of the rope, over many sections",
                "Draw one straight line along the middle of the rope, several diameters long.",
                ("along the rope",),
                _LINE,
                _ROPES,
                ("rope diameter", "diameter loss"),
                nominal=("rope_diameter_mm", ("rope diameter", "diameter loss")),
                caution="The photo shows one view: turn a flattened rope and measure again.",
            ),
            Task(
                "lay length",
                "Length of one lay of a wire rope",
                "Draw a line along the rope from a strand's crown to where the same strand comes up again.",
                ("one lay",),
                _LINE,
                (_C.WIRE_ROPE,),
                ("lay length",),
            ),
            Task(
                "pack",
                "Length of the absorber's pack",
                "Draw a line along the pack from end to end, without its loops.",
                ("pack",),
                _LINE,
                (_C.ENERGY_ABSORBER,),
                ("pack length", "pack length increase"),
                nominal=("packed_length_mm", ("pack length increase",)),
                caution="A pack of the right length can still have been loaded: look for pulled stitches.",
            ),
            Task(
                "throat",
                "Opening of a hook's throat",
                "Draw a line over the throat, the narrowest way from the tip to the shank.",
                ("throat",),
                _LINE,
                _HOOKS,
                ("throat", "throat increase"),
                nominal=("throat_mm", ("throat increase",)),
            ),
            Task(
                "twist",
                "Twist of a hook, seen on edge",
                "Look at the hook on edge. Draw a line along its tip, then one along its shank.",
                ("tip", "shank"),
                _LINE,
                _HOOKS,
                ("twist",),
            ),
            Task(
                "area share",
                "Share of the part that a damage covers",
                "Outline the whole part as far as it shows.",
                ("whole part",),
                _OUTLINES,
                tuple(Component),
                ("area share",),
                of_mark=True,
            ),
        )
    }
)

#: As what a reading is weighed that stands by itself, with no damage marked on the part.
ALONE = Category.OTHER
_NOMINAL_WORDS = {
    "rope_diameter_mm": "the rope's nominal diameter",
    "packed_length_mm": "the absorber's packed length",
    "throat_mm": "the hook's nominal throat opening",
}


def parts_for(task: Task, item: Item) -> tuple[Component, ...]:
    """The item's components that the task is for, in the item's order."""
    return tuple(component for component in components_of(item.kind) if component in task.components)


def tasks_for(item: Item) -> tuple[Task, ...]:
    """What can be measured on photos of an item, in the order in which it is offered."""
    return tuple(task for task in TASKS.values() if parts_for(task, item))


def measures_of(task: Task, item: Item) -> tuple[str, ...]:
    """What the task reads of this item: a growth needs the registered size that it grows from."""
    if task.nominal is None or getattr(item, task.nominal[0]) is not None:
        return task.measures
    return tuple(measure for measure in task.measures if measure not in task.nominal[1])


def lacking(task: Task, item: Item) -> str:
    """What the register does not know and the task would need, with what to do; empty where nothing lacks."""
    if task.nominal is None or getattr(item, task.nominal[0]) is not None:
        return ""
    without = " and no ".join(task.nominal[1])
    return (
        f"Not registered: {_NOMINAL_WORDS[task.nominal[0]]}. Without it there is no {without}; enter it with the item "
        "from its label or the maker's instructions."
    )


def case_mark(
    task: Task,
    drawn: Sequence[Plain],
    component: Component,
    item: Item,
    scale: Plain,
    *,
    id: str,
    mark: Plain | None = None,
) -> dict[str, Any]:
    """The task as one mark of a measuring case.

    `drawn`: shapes {"type", "points"} in the order of `task.shapes`. `mark`: the mark that is measured, as in a case,
    for a task that measures one. Raises BadInput, with what to do, where the drawing does not serve.
    """
    if len(drawn) != len(task.shapes):
        lacks = task.shapes[len(drawn)] if len(drawn) < len(task.shapes) else ""
        raise BadInput(
            f"Not drawn yet: {lacks}." if lacks else "More is drawn than was asked for.",
            task.sentence if lacks else "Take away what is too many.",
        )
    if task.of_mark and mark is None:
        raise BadInput("There is no mark to measure.", "Draw the damage as a mark first, then choose it here.")
    measures = measures_of(task, item)
    if not measures:
        problem, _, remedy = lacking(task, item).partition(". ")
        raise BadInput(f"{problem}.", remedy)
    if scale.get("method") == "known_length" and scale.get("of") == task.name:
        raise BadInput(
            f"The {task.name} cannot be measured by itself.", "Take the scale from the card or from a steel rule."
        )
    of = mark or {"component": component.value, "category": ALONE.value}
    wish: dict[str, Any] = {"id": id, "component": of["component"], "category": of["category"], "measure": [*measures]}
    return wish | _shapes(task, drawn, mark)


def _shapes(task: Task, drawn: Sequence[Plain], mark: Plain | None) -> dict[str, Any]:
    first = dict(drawn[0])
    if task.name == "cut depth" and mark is not None:
        return {"shape": mark["shape"], "edge": first["points"], "other_edge": drawn[1]["points"]}
    if task.name == "area share" and mark is not None:
        return {"shape": mark["shape"], "region": first}
    if task.name == "webbing width":
        return {"shape": _between(drawn[0]["points"], drawn[1]["points"])}
    if task.name == "colour":
        return {"shape": dict(drawn[1]), "reference": first}
    if task.name == "rust":
        return {"shape": first, "region": first}
    return {"shape": first} | ({"second": dict(drawn[1])} if len(drawn) > 1 else {})


def _between(one: Sequence[Sequence[float]], other: Sequence[Sequence[float]]) -> dict[str, Any]:
    """The line from the middle of one drawn edge square over to the other edge, in photo pixels.

    Square to the mean direction of both edges. Raises BadInput where the edges cross or lie far from parallel.
    """
    (ax, ay), (bx, by) = one
    (cx, cy), (dx, dy) = other
    u, v = (bx - ax, by - ay), (dx - cx, dy - cy)
    if u[0] * v[0] + u[1] * v[1] < 0:
        v = (-v[0], -v[1])
    lengths = math.hypot(*u) * math.hypot(*v)
    # Perspective brings the edges of even webbing a little together; 15 degrees are no webbing's edges.
    if lengths == 0 or abs(u[0] * v[1] - u[1] * v[0]) > math.sin(math.radians(15)) * lengths:
        raise BadInput(
            "The two lines are not the edges of one webbing.", "Draw one line along each edge, side by side."
        )
    along = tuple(u[k] / math.hypot(*u) + v[k] / math.hypot(*v) for k in (0, 1))
    across = (-along[1], along[0])
    middle = ((ax + bx) / 2, (ay + by) / 2)
    turn = across[0] * v[1] - across[1] * v[0]
    reach = ((cx - middle[0]) * v[1] - (cy - middle[1]) * v[0]) / turn
    end = [middle[0] + reach * across[0], middle[1] + reach * across[1]]
    if math.dist(middle, end) < 2:
        raise BadInput("Both lines lie on one edge.", "Draw one line along each edge of the webbing.")
    return {"type": "line", "points": [list(middle), end]}
