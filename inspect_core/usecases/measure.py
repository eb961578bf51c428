"""Measuring on photos: a case from a file, or the marks of a stored photo for a screen."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Item
from inspect_core.domain.marks import Reading
from inspect_core.imaging.card_layout import card_pdf, card_png
from inspect_core.imaging.case import read_case
from inspect_core.imaging.files import upright_rgb
from inspect_core.imaging.measure_case import measure_case, measure_marks
from inspect_core.usecases.services import Services

__all__ = ["card_pdf", "card_png", "measure_file", "measure_photo", "readings_by_mark"]

_SIZES = ("webbing_width_mm", "rope_diameter_mm", "packed_length_mm", "throat_mm")


def measure_file(data: object, read_photo: Callable[[str], bytes]) -> dict[str, Any]:
    """Every reading of a case file, as plain JSON data. Raises BadInput, BadPhoto."""
    if not isinstance(data, Mapping):
        raise BadInput("The case must be an object with keys.", "Write it in braces: photo, scale and marks.")
    return measure_case(data, read_photo)


def measure_photo(
    photo_id: str, scale: Mapping[str, Any], marks: Sequence[Mapping[str, Any]], item: Item, services: Services
) -> dict[str, Any]:
    """Every reading of a stored photo's marks: scale, readings, what could not be measured and why.

    `scale` and `marks` are plain data as in a case file; the item's registered sizes are used where they help. Raises
    BadInput for a scale or marks that are faulty as a whole, NotFound.
    """
    sizes = {key: value for key in _SIZES if (value := getattr(item, key)) is not None}
    case = read_case({"photo": photo_id, "scale": dict(scale), "marks": list(marks), "item": sizes})
    with services.unit_of_work() as uow:
        photo = uow.photos.get(photo_id)
    return measure_marks(case, (photo.width, photo.height), lambda: upright_rgb(services.photos.original(photo_id)))


def readings_by_mark(measured: Mapping[str, Any]) -> dict[str, tuple[Reading, ...]]:
    """The readings of `measure_photo` by the mark they belong to."""
    found: dict[str, list[Reading]] = {}
    for entry in measured["readings"]:
        reading = Reading(entry["measure"], entry["value"], entry["unit"], entry["uncertainty"], entry["method"])
        found.setdefault(entry["mark"], []).append(reading)
    return {mark: tuple(readings) for mark, readings in found.items()}
