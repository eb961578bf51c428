"""The scene being painted, with the truth that is written down while painting."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from inspect_core.domain.gear import Component
from inspect_core.domain.marks import Category
from sample_images.canvas import Canvas, Window, linear
from sample_images.spec import Array, Damage, SceneSpec

#: Cloth colours by name, sRGB 0 to 255: ground, contrasting band, thread.
CLOTH: dict[str, tuple[tuple[int, int, int], tuple[int, int, int], tuple[int, int, int]]] = {
    "orange": (((216, 84, 26)), (40, 42, 46), (236, 228, 206)),
    "red": ((168, 28, 34), (38, 36, 38), (240, 214, 80)),
    "navy": ((36, 48, 84), (214, 176, 44), (222, 196, 84)),
    "black": ((44, 44, 47), (206, 66, 36), (226, 206, 90)),
    "blue": ((30, 88, 156), (216, 218, 220), (238, 232, 214)),
    "yellow": ((222, 184, 40), (46, 46, 50), (40, 44, 70)),
    "green": ((40, 110, 66), (212, 208, 190), (236, 226, 196)),
    "grey": ((128, 130, 132), (192, 60, 34), (34, 36, 44)),
    "white": ((214, 210, 200), (40, 92, 150), (52, 60, 90)),
}


@dataclass(slots=True)
class DefectTruth:
    """A defect as painted: its mark in plane mm, the outlines it fills, and its sizes."""

    component: Component
    category: Category
    shape_type: str
    points: Array
    outlines: list[Array]
    truth: dict[str, float]


@dataclass(slots=True)
class Stage:
    """What the painters share. `light_rgb` colours are linear; `band`, `thread` belong to the chosen cloth."""

    canvas: Canvas
    rng: np.random.Generator
    spec: SceneSpec
    defects: list[DefectTruth] = field(default_factory=list)
    known: list[dict[str, Any]] = field(default_factory=list)
    regions: list[tuple[Component, str, Array]] = field(default_factory=list)
    rows: list[dict[str, Any]] = field(default_factory=list)
    masks: list[tuple[Window, Array]] = field(default_factory=list)

    @property
    def cloth(self) -> Array:
        """Linear ground colour of the cloth, (3, 1, 1)."""
        return linear(CLOTH[self.spec.colour][0])

    @property
    def band(self) -> Array:
        """Linear colour of its contrasting band, (3, 1, 1)."""
        return linear(CLOTH[self.spec.colour][1])

    @property
    def thread(self) -> Array:
        """Linear colour of its sewing thread, (3, 1, 1)."""
        return linear(CLOTH[self.spec.colour][2])

    def damage(self, *categories: Category) -> list[Damage]:
        """The damage asked for, of those categories."""
        return [d for d in self.spec.damage if d.category in categories]

    def size(self, value: float | None, low: float, high: float) -> float:
        """A size that was asked for, or one drawn between two bounds."""
        drawn = float(self.rng.uniform(low, high))
        return drawn if value is None else value

    def record(
        self,
        category: Category,
        shape_type: str,
        points: Array,
        outlines: list[Array],
        component: Component | None = None,
        mask: tuple[Window, Array] | None = None,
        **truth: float,
    ) -> None:
        """Write a defect down. `points` and `outlines` in plane mm; `mask` is the coverage that was painted."""
        self.defects.append(
            DefectTruth(
                component or self.spec.component,
                category,
                shape_type,
                np.asarray(points, np.float64),
                [np.asarray(o, np.float64) for o in outlines],
                {name: float(value) for name, value in truth.items()},
            )
        )
        if mask is not None:
            self.masks.append(mask)

    def know(self, name: str, length_mm: float, a: Array, b: Array) -> None:
        """Write a known length down, from plane point a to b."""
        self.known.append({"name": name, "length_mm": float(length_mm), "points": np.array([a, b], np.float64)})

    def region(self, component: Component, material: str, outline: Array) -> None:
        """Write a component's outline down, plane mm; material is "cloth", "metal", "rope", "wire rope" or "print"."""
        self.regions.append((component, material, np.asarray(outline, np.float64)))


def enclosed(outline: Array) -> float:
    """Area inside a closed outline (shoelace formula), in its own unit squared."""
    x, y = np.asarray(outline, np.float64).T
    return 0.5 * abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))))
