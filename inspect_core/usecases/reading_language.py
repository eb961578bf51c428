"""In which language a person reads: a habit, no record, kept beside the records and not in the ledger."""

from __future__ import annotations

from inspect_core.languages import language
from inspect_core.usecases.services import Services

_SETTING = "reads in: "


def of(person_id: str, services: Services) -> str | None:
    """The code of the language chosen last; None before any was."""
    with services.unit_of_work() as uow:
        kept = uow.settings.get(f"{_SETTING}{person_id}")
    return kept if isinstance(kept, str) else None


def keep(person_id: str, code: str, services: Services) -> None:
    """Remember the choice; a code that is not on offer counts as English."""
    with services.unit_of_work(write=True) as uow:
        uow.settings.put(f"{_SETTING}{person_id}", language(code).code)
        uow.commit()
