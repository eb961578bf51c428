"""What a drawn picture is to show: subject, damage, light and camera, as frozen values.

Frames. Plane: millimetres, x right, y down, origin at the middle of the view. Picture: pixels of the final
image, origin at its upper left corner, so the centre of the first pixel is (0.5, 0.5).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.marks import Category

#: Numpy arrays of any number type; shapes are given in each docstring.
Array = NDArray[Any]
Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Camera:
    """A pinhole camera looking at the plane, and what it does to the picture.

    `px_per_mm` holds at the middle of the picture before tilting. `tilt_deg` (0 to 40) turns the plane about
    the axis that lies in it at `tilt_axis_deg` (0 = picture's x); `roll_deg` turns it in itself. `blur_px` is
    the standard deviation of the lens blur, `noise` that of the sensor noise in 8-bit levels at mid grey.
    `white_balance` are gains of red, green and blue. `light_gradient` is the share by which light falls off
    from one side to the other, towards `gradient_deg`.
    """

    width: int = 1200
    height: int = 900
    px_per_mm: float = 7.0
    tilt_deg: float = 0.0
    tilt_axis_deg: float = 0.0
    roll_deg: float = 0.0
    view_deg: float = 50.0
    centre_mm: Place = (0.0, 0.0)
    blur_px: float = 0.6
    noise: float = 2.2
    jpeg_quality: int = 88
    exposure: float = 1.0
    white_balance: tuple[float, float, float] = (1.0, 1.0, 1.0)
    light_gradient: float = 0.2
    gradient_deg: float = 30.0
    vignette: float = 0.14

    def __post_init__(self) -> None:
        if not (64 <= self.width <= 8000 and 64 <= self.height <= 8000):
            raise ValueError("a drawn picture has 64 to 8000 pixels a side")
        if not 0 <= self.tilt_deg <= 40:
            raise ValueError("the tilt lies between 0 and 40 degrees")
        if not (self.px_per_mm > 0 and 10 <= self.view_deg <= 90):
            raise ValueError("px_per_mm must be above zero and the view between 10 and 90 degrees")


@dataclass(frozen=True, slots=True)
class Damage:
    """One defect to draw. Sizes in mm and mm², shares 0 to 1; None lets the seed choose a plausible size."""

    category: Category
    length_mm: float | None = None
    depth_mm: float | None = None
    area_mm2: float | None = None
    share: float | None = None
    count: int | None = None


@dataclass(frozen=True, slots=True, eq=False)
class FlatItem:
    """Something printed that lies flat in the plane. `image` is HxWx3 uint8 RGB or HxW uint8 grey."""

    image: Array
    size_mm: Place
    at_mm: Place
    turn_deg: float = 0.0


def place_flat(image: Array, size_mm: Place, at_mm: Place, turn_deg: float = 0.0) -> FlatItem:
    """Lay a printed sheet in the plane, for `SceneSpec.flats`.

    `image` HxWx3 or HxW uint8; `size_mm` its printed width and height; `at_mm` the plane position of its
    middle; `turn_deg` its turn in the plane, clockwise as seen. Raises ValueError for another kind of array.
    """
    if image.dtype != np.uint8 or image.ndim not in (2, 3) or (image.ndim == 3 and image.shape[2] != 3):
        raise ValueError("a flat item is an HxW or HxWx3 array of uint8")
    if min(size_mm) <= 0:
        raise ValueError("the printed size must be above zero")
    return FlatItem(image, size_mm, at_mm, turn_deg)


@dataclass(frozen=True, slots=True)
class SceneSpec:
    """One picture. `view` is a name from `sample_images.scene.VIEWS`; colours and grounds are names as well.

    `caption` prints "drawn, no photograph" in the corner. `paint_defects` paints each defect in plain magenta
    after shading and switches blur, noise and light off: for checking the truth against the pixels.
    """

    kind: Kind
    component: Component
    view: str
    damage: tuple[Damage, ...] = ()
    camera: Camera = field(default_factory=Camera)
    background: str = "plywood"
    colour: str = "orange"
    webbing_width_mm: float = 45.0
    rope_diameter_mm: float = 12.0
    caption: bool = True
    steel_rule: bool = False
    flats: tuple[FlatItem, ...] = ()
    paint_defects: bool = False
