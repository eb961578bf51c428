"""Scale from one known length drawn on the photo: webbing width, a steel rule, a rope's diameter."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from inspect_core.domain.errors import BadInput
from inspect_core.imaging.plane import Array, PlaneMap
from inspect_core.imaging.scale import BEND_SD, FOCAL_SHARE, HEIGHT_SD_MM, Scale, Spread, height_factor

#: How far from square a photo may have been taken when only a length is known, in degrees.
WIDEST_TILT_DEG = 35.0
#: A reference shorter than this cannot be pointed at well enough.
SHORTEST_REFERENCE_PX = 40.0


def known_length(
    ends: Array,
    length_mm: float,
    size: tuple[int, int],
    *,
    length_sd_mm: float = 0.5,
    point_sd_px: float = 1.5,
    widest_tilt_deg: float = WIDEST_TILT_DEG,
    height_mm: float = 0.0,
    height_sd_mm: float = HEIGHT_SD_MM,
) -> Scale:
    """Scale from one length that is known, drawn on the photo.

    A single length fixes the scale in its own direction and place. How the camera was tilted cannot be known
    from it, so every direction within `widest_tilt_deg` of square counts as equally likely; a reading beside the
    reference and parallel to it stays sharp, one far away or across it becomes wide.

    Parameters
    ----------
    ends: (2, 2) photo pixels of both ends.
    length_mm, length_sd_mm: the true length and its standard uncertainty.
    size: (width, height) of the photo in pixels.
    point_sd_px: standard uncertainty of pointing at each end, per coordinate.
    height_mm, height_sd_mm: how much nearer to the camera the measured surface lies than the reference.
    """
    ends = np.asarray(ends, float)
    if ends.shape != (2, 2) or not np.isfinite(ends).all():
        raise BadInput("The known length needs two points.", "Draw it from one end to the other.")
    if not 0 < length_mm < 10_000:
        raise BadInput("The known length must be above 0 and below 10000 mm.", "Enter the length in millimetres.")
    if not 0 <= length_sd_mm < length_mm / 5:
        raise BadInput(
            "The known length is too uncertain to measure by.", "Measure it with a steel rule and enter it again."
        )
    if not 0 <= point_sd_px <= 50:
        raise BadInput("The pointing uncertainty must lie between 0 and 50 pixels.", "Leave it out when unsure.")
    if not 0 <= widest_tilt_deg <= 60:
        raise BadInput("The widest tilt must lie between 0 and 60 degrees.", "Leave it out when unsure.")
    if height_sd_mm < 0 or not (math.isfinite(height_mm) and math.isfinite(height_sd_mm)):
        raise BadInput("The height over the reference is no usable number.", "Give it in millimetres, or leave it out.")
    length_px = float(np.hypot(*(ends[1] - ends[0])))
    if length_px < SHORTEST_REFERENCE_PX:
        raise BadInput(
            f"The known length is only {length_px:.0f} pixels long in the photo.",
            "Move closer, or draw a longer known length.",
        )
    model = _KnownLength(ends, length_mm, size, height_mm)
    squeeze_sd, lean_sd = tilt_spreads(widest_tilt_deg)
    point_sd = math.hypot(point_sd_px, 1 / math.sqrt(12))
    sds = {
        "length": ("known length", length_sd_mm),
        "x0": ("pointing at the reference", point_sd),
        "y0": ("pointing at the reference", point_sd),
        "x1": ("pointing at the reference", point_sd),
        "y1": ("pointing at the reference", point_sd),
        "squeeze_a": ("unknown tilt", squeeze_sd),
        "squeeze_b": ("unknown tilt", squeeze_sd),
        "lean_x": ("unknown tilt", lean_sd / model.focal),
        "lean_y": ("unknown tilt", lean_sd / model.focal),
        "bend": ("lens", BEND_SD),
        "height": ("height over the reference", height_sd_mm),
    }
    spreads = tuple(
        Spread(cause, model.at(**{name: sd}), model.at(**{name: -sd})) for name, (cause, sd) in sds.items() if sd > 0
    )

    def draw(chance: np.random.Generator, count: int) -> list[PlaneMap]:
        cone = math.cos(math.radians(widest_tilt_deg))
        cosine = chance.uniform(cone, 1, count)
        azimuth = chance.uniform(0, 2 * math.pi, count)
        squeeze, lean = 1 / cosine - 1, np.sqrt(1 / cosine**2 - 1) / model.focal
        moves = {name: chance.normal(0, sd, count) for name, (_, sd) in sds.items()}
        moves["squeeze_a"], moves["squeeze_b"] = squeeze * np.cos(2 * azimuth), squeeze * np.sin(2 * azimuth)
        moves["lean_x"], moves["lean_y"] = lean * np.cos(azimuth), lean * np.sin(azimuth)
        return [model.at(**{name: float(values[i]) for name, values in moves.items()}) for i in range(count)]

    return Scale(
        method="known length",
        map=model.at(),
        spreads=spreads,
        draw=draw,
        reference=ends,
        mm_per_px=length_mm / length_px,
        tilt_deg=None,
        residual_px=None,
        notes=(
            "One length cannot show how the camera was tilted; readings across it or far from it are wide. "
            "A scale card in the picture is sharper.",
            "A photo cannot show whether the mark lies level with the reference.",
        ),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _KnownLength:
    """The plane map as a function of small departures from "seen squarely, pointed at exactly"."""

    ends: Array
    length_mm: float
    size: tuple[int, int]
    height_mm: float

    @property
    def focal(self) -> float:
        return FOCAL_SHARE * max(self.size)

    def at(
        self,
        *,
        length: float = 0.0,
        x0: float = 0.0,
        y0: float = 0.0,
        x1: float = 0.0,
        y1: float = 0.0,
        squeeze_a: float = 0.0,
        squeeze_b: float = 0.0,
        lean_x: float = 0.0,
        lean_y: float = 0.0,
        bend: float = 0.0,
        height: float = 0.0,
    ) -> PlaneMap:
        ends = self.ends + np.array([[x0, y0], [x1, y1]])
        middle = ends.mean(axis=0)
        # The stretch of a tilted plane, second harmonic in the tilt's direction: linear in both parameters.
        stretch = np.eye(2) + 0.5 * np.array([[squeeze_a, squeeze_b], [squeeze_b, -squeeze_a]])
        lean = np.array([lean_x, lean_y])
        matrix = np.zeros((3, 3))
        matrix[:2, :2], matrix[:2, 2] = stretch, -stretch @ middle
        matrix[2, :2], matrix[2, 2] = lean, 1 - lean @ middle
        shape = PlaneMap(matrix, bend, (self.size[0] / 2, self.size[1] / 2), float(np.hypot(*self.size)) / 2)
        seen = shape.to_mm(ends)
        factor = (self.length_mm + length) / float(np.hypot(*(seen[1] - seen[0])))
        nearer = height_factor(self.height_mm + height, self.focal * factor)
        return shape.stretched(factor * nearer, factor * nearer)


def tilt_spreads(widest_deg: float) -> tuple[float, float]:
    """Standard deviations of an unknown tilt, every direction within the cone equally likely.

    Returns (of each component of the stretch 1/cos t − 1, of each component of the lean tan t). With c the cosine
    at the cone's edge: E[(1/cos t − 1)²] = (1/c + 2 ln c − c) / (1 − c), E[tan² t] = 1/c − 1; each is shared by
    two components.
    """
    if widest_deg < 0.1:
        return 0.0, 0.0
    c = math.cos(math.radians(widest_deg))
    squeeze = (1 / c + 2 * math.log(c) - c) / (1 - c)
    return math.sqrt(max(squeeze, 0.0) / 2), math.sqrt((1 / c - 1) / 2)
