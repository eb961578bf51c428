"""The scale of one photo: what turns its pixels into millimetres, with everything that makes it uncertain.

A scale is a plane map and a list of `Spread`: for each independent cause, the map one standard deviation up
and one down. Propagation (GUM, JCGM 100) needs no more, whatever the scale came from; `draw` gives random maps
from the full model for the Monte Carlo check (JCGM 101).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from inspect_core.domain.errors import BadInput
from inspect_core.imaging.plane import Array, PlaneMap

#: Focal length over the photo's longest side: the main camera of a phone, seldom shorter (common practice, no
#: source). A short one means a near camera, so every perspective effect is taken at its larger size.
FOCAL_SHARE = 0.75
#: Relative shift at the photo's corner that the phone's own lens correction leaves (common practice, no source).
BEND_SD = 0.005
#: Surfaces that look level with the reference are so within this, in mm (webbing thickness, rope lay).
HEIGHT_SD_MM = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Spread:
    """One cause of uncertainty: the map at plus and minus one standard deviation of it."""

    cause: str
    plus: PlaneMap
    minus: PlaneMap


@dataclass(frozen=True, slots=True, eq=False)
class Scale:
    """What turns pixels of one photo into millimetres.

    Parameters
    ----------
    method: "known length" or "scale card".
    map: the best estimate.
    spreads: independent causes of its uncertainty.
    draw: (generator, count) to that many random maps from the full model.
    reference: (n, 2) photo points that the scale was taken from.
    mm_per_px: at the middle of the reference.
    tilt_deg: how far from square the reference plane was seen; None when that cannot be known.
    residual_px: root mean square misfit; None for a single length.
    notes: what a person must know, in plain words.
    """

    method: str
    map: PlaneMap
    spreads: tuple[Spread, ...]
    draw: Callable[[np.random.Generator, int], list[PlaneMap]]
    reference: Array
    mm_per_px: float
    tilt_deg: float | None
    residual_px: float | None
    notes: tuple[str, ...]


def height_factor(height_mm: float, distance_mm: float) -> float:
    """Factor on lengths of a surface that much nearer to the camera than the reference plane."""
    if height_mm >= distance_mm / 4:
        raise BadInput(
            f"The marked surface would lie {height_mm:.0f} mm above a reference only {distance_mm:.0f} mm away.",
            "Lay the scale level with the mark, or step back.",
        )
    return 1 - height_mm / distance_mm
