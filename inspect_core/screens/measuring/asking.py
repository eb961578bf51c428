"""Asking the use cases to measure, each question once: a redraw of the page measures nothing again."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from inspect_core.domain.gear import Item
from inspect_core.screens.speaking import st
from inspect_core.screens.work.session import Work
from inspect_core.usecases.measure import measure_photo
from inspect_core.usecases.measured import Sides, measure_task, sides_of_seam
from inspect_core.usecases.services import Services

Plain = Mapping[str, Any]
_SIZES = ("webbing_width_mm", "rope_diameter_mm", "packed_length_mm", "throat_mm")


@st.cache_data(max_entries=200, show_spinner="Measuring the marks")
def _marks(_services: Services, place: str, photo_id: str, sizes: str, asked: str, _item: Item) -> dict[str, Any]:
    """`asked` is scale and marks as JSON text: the cache's key and the question at once."""
    question = json.loads(asked)
    return measure_photo(photo_id, question["scale"], question["marks"], _item, _services)


@st.cache_data(max_entries=100, show_spinner="Measuring")
def _task(_services: Services, place: str, photo_id: str, sizes: str, asked: str, _item: Item) -> dict[str, Any]:
    question = json.loads(asked)
    return measure_task(photo_id, question["wish"], question["scale"], _item, _services)


@st.cache_data(max_entries=50, show_spinner="Comparing both sides")
def _sides(_services: Services, place: str, photo_id: str, sizes: str, asked: str, _item: Item) -> Sides:
    question = json.loads(asked)
    return sides_of_seam(photo_id, question["wish"], question["scale"], _item, _services)


def marks(work: Work, photo_id: str, scale: Plain, wishes: Sequence[Plain]) -> dict[str, Any]:
    """Every reading of these marks. Raises BadInput, NotFound."""
    return _marks(*_question(work, photo_id, {"scale": scale, "marks": wishes}))


def task(work: Work, photo_id: str, scale: Plain, wish: Plain) -> dict[str, Any]:
    """The readings of one task. Raises BadInput, NotFound."""
    return _task(*_question(work, photo_id, {"scale": scale, "wish": wish}))


def sides(work: Work, photo_id: str, scale: Plain, wish: Plain) -> Sides:
    """Where the sides of a seam differ. Raises BadInput, NotFound."""
    return _sides(*_question(work, photo_id, {"scale": scale, "wish": wish}))


def _question(work: Work, photo_id: str, asked: Plain) -> tuple[Services, str, str, str, str, Item]:
    services, item = work.frame.services, work.item
    sizes = f"{item.id} {[getattr(item, name) for name in _SIZES]}"
    return services, services.place, photo_id, sizes, json.dumps(asked, sort_keys=True), item
