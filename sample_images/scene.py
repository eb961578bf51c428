"""Every view that can be drawn, with the size of what it shows."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from sample_images import cloth_views
from sample_images.stage import Stage


@dataclass(frozen=True, slots=True)
class View:
    """`paint` draws it; `across_mm` is what a picture's long side shows; `portrait` stands the picture upright."""

    paint: Callable[[Stage], None]
    across_mm: float
    portrait: bool = False


VIEWS: Mapping[str, View] = {
    "webbing section": View(cloth_views.section, 150),
}
