"""Blind second readings of the demo site's photos, so that the trends page has agreement to show. Invented answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, timedelta

import numpy as np

from inspect_core.domain.marks import Category
from inspect_core.domain.people import Person, Role
from inspect_core.domain.second_reading import CANNOT_TELL, SOUND
from inspect_core.usecases.register import add_person
from inspect_core.usecases.second_reading import RecordReading, photos_to_read, record_second_reading
from inspect_core.usecases.services import Services

#: Reads photos and inspects nothing.
READER = "Competent person C"
#: How many photos each reader judges, and how sure they are. Invented.
_EACH, _SAME, _UNSURE = 36, 0.86, 0.03
#: What a photo is most easily taken for instead. Invented.
_TAKEN_FOR: Mapping[str, tuple[str, ...]] = {
    SOUND: (Category.ABRASION, Category.DISCOLOURATION),
    Category.CUT: (Category.FRAY, Category.ABRASION),
    Category.FRAY: (Category.ABRASION, Category.CUT),
    Category.ABRASION: (SOUND, Category.FRAY),
    Category.BURN: (Category.CHEMICAL, Category.DISCOLOURATION),
    Category.CHEMICAL: (Category.DISCOLOURATION, Category.BURN),
    Category.DISCOLOURATION: (SOUND, Category.CHEMICAL),
    Category.RUST: (Category.WEAR, SOUND),
    Category.WEAR: (SOUND, Category.RUST),
}


def read_again(
    services: Services, readers: Mapping[str, str], seed: int, until: date, pass_time: Callable[[timedelta], None]
) -> int:
    """Let everybody in `readers` (name to id), and one more competent person, read photos blind. Returns how many
    answers were recorded. `until`: the last day of the story; `pass_time` moves the story's clock on."""
    rng = np.random.default_rng([seed, 3])
    qualified = until + timedelta(days=400)
    third = add_person(Person(services.new_id(), READER, Role.COMPETENT_PERSON, qualified), services)
    recorded = 0
    for by in (third.id, *readers.values()):
        for photo in photos_to_read(by, services, most=_EACH).photos:
            with services.unit_of_work() as uow:
                marks = uow.inspections.get(photo.inspection_id).marks
            shown = [mark.category.value for mark in marks if mark.photo_id == photo.photo_id]
            answer = _answer(shown[0] if shown else SOUND, rng)
            pass_time(timedelta(seconds=20))
            command = RecordReading(services.new_id(), photo.photo_id, photo.inspection_id, by, answer)
            record_second_reading(command, services)
            recorded += 1
    return recorded


def _answer(first: str, rng: np.random.Generator) -> str:
    chance = rng.random()
    if chance < _UNSURE:
        return CANNOT_TELL
    if chance < _UNSURE + _SAME:
        return first
    others = _TAKEN_FOR.get(first, (Category.OTHER, Category.WEAR))
    return str(others[int(rng.integers(len(others)))])
