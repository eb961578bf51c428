"""How each category looks on a photo: a colour, a line pattern, and always its name in words.

The colours are those of Okabe and Ito, "Color Universal Design", 2008 (https://jfly.uni-koeln.de/color/), without
black, which is the halo. Every category has a line pattern of its own, so that none depends on colour.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from inspect_core.domain.marks import Category

ORANGE = "#E69F00"
SKY_BLUE = "#56B4E9"
BLUISH_GREEN = "#009E73"
YELLOW = "#F0E442"
BLUE = "#0072B2"
VERMILLION = "#D55E00"
REDDISH_PURPLE = "#CC79A7"


@dataclass(frozen=True, slots=True)
class LineLook:
    """Colour as #RRGGBB; dashes as drawn, gap, drawn, … in screen pixels, empty for a solid line."""

    colour: str
    dashes: tuple[int, ...] = ()


LOOKS: Mapping[Category, LineLook] = MappingProxyType(
    {
        Category.CUT: LineLook(VERMILLION),
        Category.BURN: LineLook(ORANGE, (12, 4)),
        Category.FRAY: LineLook(SKY_BLUE, (4, 4)),
        Category.RUST: LineLook(YELLOW, (12, 4, 3, 4)),
        Category.DEPLOYED_ABSORBER: LineLook(REDDISH_PURPLE, (20, 5)),
        Category.ABRASION: LineLook(BLUISH_GREEN, (8, 4)),
        Category.BROKEN_STITCH: LineLook(BLUE, (3, 4)),
        Category.DISCOLOURATION: LineLook(YELLOW, (8, 3, 3, 3, 3, 3)),
        Category.CHEMICAL: LineLook(BLUISH_GREEN, (16, 4, 3, 4)),
        Category.DEFORMATION: LineLook(REDDISH_PURPLE, (12, 3, 6, 3)),
        Category.CRACK: LineLook(VERMILLION, (6, 6)),
        Category.WEAR: LineLook(SKY_BLUE, (16, 8)),
        Category.MOVING_PART: LineLook(ORANGE, (10, 3, 3, 3, 10, 6)),
        Category.KNOT_OR_SPLICE: LineLook(BLUISH_GREEN, (3, 8)),
        Category.BROKEN_WIRE: LineLook(BLUE, (20, 4, 6, 4)),
        Category.LABEL: LineLook(SKY_BLUE, (24, 3, 3, 3)),
        Category.OTHER: LineLook(REDDISH_PURPLE, (6, 3)),
    }
)
