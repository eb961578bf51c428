"""Replacing a person's name by a code, everywhere, without breaking the ledger."""

from __future__ import annotations

from dataclasses import dataclass, replace

from inspect_core.domain.access import Action
from inspect_core.domain.errors import BadInput, Conflict
from inspect_core.domain.people import Person
from inspect_core.usecases import account
from inspect_core.usecases.acting import acting
from inspect_core.usecases.plain import person_entry
from inspect_core.usecases.services import Services

#: What no code can reach, said to the person who asks for it.
UNTOUCHED = (
    "Notes, reasons and other free text are not searched for the name: look for it there and correct by a new record. "
    "Papers printed, files exported and spare copies made before today still carry the name."
)


@dataclass(frozen=True, slots=True)
class Coded:
    """The person under the code. `in_clear`: numbers of ledger entries, written by an older version of the program,
    that hold the name itself and cannot be changed without breaking the chain. `witnessed`: how many old records of a
    destruction name a witness in free text that equals the name."""

    person: Person
    in_clear: tuple[int, ...]
    witnessed: int


def code_name(person_id: str, code: str, by: str, services: Services) -> Coded:
    """Take the name out of the store and put the code in its place: in lists, search, papers and exports alike.

    The ledger never held the name, only a commitment to it; the salt that could prove it goes with the name, so the
    entries stay as they are and verify. Raises NotAllowed unless `by` is an administrator, BadInput for a code that
    contains the name, Conflict for one in use.
    """
    code = " ".join(code.split())
    with services.unit_of_work(write=True) as uow:
        acting(uow, services, by, Action.CODE_NAME)
        person = uow.people.get(person_id)
        if person.coded:
            raise BadInput(f"{person.name} is a code already.", "There is no name left to replace.")
        if not 1 <= len(code) <= 80:
            raise BadInput("A code has 1 to 80 characters.", "Give one such as P-17.")
        if _tells(code, person.name):
            raise BadInput("This code tells the name.", "Choose letters and digits that say nothing of the person.")
        namesake = uow.people.find_name(code)
        if namesake is not None:
            raise Conflict("Somebody here carries this code already.", "Choose another one.")
        coded = replace(person, name=code, name_salt="", coded=True)
        uow.people.add(coded)
        uow.people.forget_old_names()
        entries = uow.ledger.of_subject("person", person_id)
        in_clear = tuple(entry.number for entry in entries if person.name in _texts(entry.body))
        account.enter(uow, services.clock.now(), "person", person_id, {"person": person_entry(coded), "by": by})
        witnessed = uow.custody.witnessed_by(person.name)
        uow.commit()
    services.scrub()
    return Coded(coded, in_clear, witnessed)


def _tells(code: str, name: str) -> bool:
    words = [word for word in name.casefold().split() if len(word) > 2]
    return code.casefold() == name.casefold() or any(word in code.casefold() for word in words)


def _texts(body: object) -> set[str]:
    if isinstance(body, dict):
        return {text for value in body.values() for text in _texts(value)}
    return {body} if isinstance(body, str) else set()
