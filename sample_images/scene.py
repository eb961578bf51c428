"""Every view that can be drawn, with the size of what it shows."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from sample_images import absorber, cloth_views, device_views, hardware_views, label, rope_views
from sample_images.stage import Stage


@dataclass(frozen=True, slots=True)
class View:
    """`paint` draws it; `across_mm` is what a picture's long side shows; `portrait` stands the picture upright."""

    paint: Callable[[Stage], None]
    across_mm: float
    portrait: bool = False


VIEWS: Mapping[str, View] = {
    "webbing section": View(cloth_views.section, 140),
    "webbing upright": View(cloth_views.section_upright, 150, portrait=True),
    "sewn loop": View(cloth_views.sewn_loop, 135),
    "absorber packed": View(absorber.packed, 235),
    "absorber deployed": View(absorber.deployed, 335),
    "snap hook": View(hardware_views.hook, 205),
    "D-ring": View(hardware_views.ring, 170),
    "buckle": View(hardware_views.buckle_view, 155),
    "connector": View(hardware_views.connector_view, 165),
    "tensioner": View(hardware_views.tensioner_view, 245),
    "rope braided": View(rope_views.rope_section, 120),
    "rope laid": View(rope_views.rope_section, 120),
    "rope knot": View(rope_views.rope_knot, 130),
    "rope end": View(rope_views.rope_end, 190),
    "wire rope": View(rope_views.wire_section, 105),
    "wire rope end": View(rope_views.wire_end, 190),
    "rope grab": View(device_views.grab, 185, portrait=True),
    "retractor": View(device_views.retractor, 270),
    "label": View(label.label_view, 115),
    "impact flag": View(label.flag_view, 150),
}
