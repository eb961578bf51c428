"""Hints for a photo: places that a method points at inside a part that a person has outlined. Never a mark."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import Shape
from inspect_core.domain.photos import Photo
from inspect_core.imaging import hints
from inspect_core.imaging.files import Pixels, upright_rgb
from inspect_core.imaging.hints import Hint
from inspect_core.usecases.services import Services

_Method = Callable[[Pixels, Shape], tuple[Hint, ...]]
_C = Component


def _gaps(rgb: Pixels, line: Shape) -> tuple[Hint, ...]:
    if line.closed:
        raise BadInput(
            "Stitching is followed along a line, not within an outline.", "Draw a line along the row of stitches."
        )
    return hints.stitch_gaps(rgb, np.array([[p.x, p.y] for p in line.points]))


_METAL: tuple[_Method, ...] = (hints.rust,)
#: Which methods look at which part. Rust is only looked for where a person says that there is metal: orange rope,
#: brass and warm-coloured cloth pass for rust by their colour.
_METHODS: Mapping[Component, tuple[_Method, ...]] = MappingProxyType(
    {
        _C.WEBBING: (hints.dark_spots, hints.cut_edges, hints.frayed_edges),
        _C.STITCHING: (_gaps,),
        _C.INDICATOR: (hints.torn_indicator,),
    }
    | dict.fromkeys(
        (
            _C.SNAP_HOOK,
            _C.D_RING,
            _C.BUCKLE,
            _C.GATE,
            _C.CAM,
            _C.HOUSING,
            _C.BODY,
            _C.TENSIONER,
            _C.THIMBLE,
            _C.TERMINATION,
        ),
        _METAL,
    )
)


@dataclass(frozen=True, slots=True)
class Suggested:
    """What the methods point at in one photo.

    Parameters
    ----------
    suggestions: plain values for the marking component: id, category, component, shape and `by`, the method.
    notes: how often each method that points somewhere errs, as measured, one sentence each.
    problems: why a method could not look, with what to do.
    """

    suggestions: tuple[dict[str, Any], ...]
    notes: tuple[str, ...]
    problems: tuple[str, ...]


def hinted(component: Component) -> bool:
    """Whether any method looks at that part."""
    return component in _METHODS


def suggest(photo: Photo, outlines: tuple[tuple[Component, Shape], ...], services: Services) -> Suggested:
    """Run every method that fits the outlined parts. Raises StoreFault where the photo cannot be read.

    `outlines`: part and its outline (a line along the stitches for stitching) in full-resolution pixels.
    """
    fitting = [(part, shape) for part, shape in outlines if hinted(part)]
    if not fitting:
        return Suggested((), (), ())
    rgb = upright_rgb(services.photos.original(photo.id))
    suggestions: list[dict[str, Any]] = []
    notes: dict[str, None] = {}
    problems: dict[str, None] = {}
    for component, shape in fitting:
        for method in _METHODS[component]:
            try:
                found = method(rgb, shape)
            except BadInput as error:
                problems.setdefault(f"{error.problem} {error.remedy}")
                continue
            for hint in found:
                suggestions.append(_plain(hint, component, photo))
                notes.setdefault(f"{hint.method}: {hint.note}")
    return Suggested(tuple(suggestions), tuple(notes), tuple(problems))


def _plain(hint: Hint, component: Component, photo: Photo) -> dict[str, Any]:
    """As the marking component takes it; a hint that reaches past the photo's edge ends there. Its id comes from what
    it is, so that a hint taken over is known again however many others come or go."""
    points = [[min(max(p.x, 0.0), photo.width), min(max(p.y, 0.0), photo.height)] for p in hint.shape.points]
    name = hashlib.sha256(f"{hint.method} {component.value} {points}".encode()).hexdigest()[:12]
    return {
        "id": f"{hint.category.value.replace(' ', '-')}-{name}",
        "category": hint.category.value,
        "component": component.value,
        "shape": {"type": hint.shape.type.value, "points": points},
        "by": hint.method,
    }
