"""Set-up checks: answered by the sums of `rigging`, filled from the register, recorded with every item used."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from inspect_core.domain.access import Action
from inspect_core.domain.custody import State
from inspect_core.domain.errors import BadInput, Conflict
from inspect_core.domain.gear import Fibre, Item, clean_tag
from inspect_core.domain.record import ItemRow
from inspect_core.domain.setup import SetupRecord
from inspect_core.languages import ENGLISH, Language
from inspect_core.rigging.kit import KINDS_OF
from inspect_core.rigging.rig_case import describe as vocabulary
from inspect_core.rigging.rig_case import rig_case
from inspect_core.usecases import account
from inspect_core.usecases.acting import acting
from inspect_core.usecases.review import item_by_tag
from inspect_core.usecases.services import Services

__all__ = [
    "RecordSetup",
    "mapping",
    "record_setup",
    "registered_part",
    "rig_case",
    "setup_by_id",
    "setup_pdf",
    "setup_plain",
    "setups_of",
    "usual_profile",
    "vocabulary",
    "with_register",
]

MOST_PLACE = 200
MOST_ITEMS = 20
#: Enough of the gear to tell which profile a site works under.
MOST_ROWS = 200
#: What the register says of an item always counts; a case cannot make it better.
_FROM_REGISTER = ("kind", "status", "due_on", "made_on", "first_used_on")


@dataclass(frozen=True, slots=True)
class RecordSetup:
    """A set-up check to be recorded. `id` is made beforehand, so that a double click records it once. `tags` names
    the items used; tags of a kit's parts are added by themselves."""

    id: str
    case: Mapping[str, Any]
    by: str
    place: str = ""
    tags: tuple[str, ...] = ()
    photo_ids: tuple[str, ...] = ()


def mapping(data: object) -> dict[str, Any]:
    """A case as read from a file. Raises BadInput where it is no object."""
    if not isinstance(data, dict):
        raise BadInput("The case must be an object with keys.", "Write it in braces, as docs/setup_checks.md shows.")
    return data


def registered_part(row: ItemRow) -> dict[str, Any]:
    """An item as a part of a kit, with what the register knows; what it does not know stays out and so asks."""
    item = row.item
    role = next((role.value for role, kinds in KINDS_OF.items() if item.kind in kinds), None)
    if role is None:
        raise BadInput(
            f"A {item.kind.value} is no part of a kit.", "Choose harness, lanyard, rope grab, line or anchor."
        )
    part: dict[str, Any] = {
        "role": role,
        "kind": item.kind.value,
        "tag": item.tag,
        "status": row.standing.state.value,
        "due_on": row.standing.next_due.isoformat() if row.standing.next_due else None,
        "made_on": item.made_on.isoformat() if item.made_on else None,
        "first_used_on": item.first_used_on.isoformat() if item.first_used_on else None,
        "fibre": item.fibre.value if item.fibre is not Fibre.UNKNOWN else None,
        "maker_max_age_years": item.maker_max_age_years,
        **_rope(item),
    }
    return {key: value for key, value in part.items() if value is not None}


def _rope(item: Item) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if item.rope_diameter_mm is not None:
        found["label_rope_diameter"] = f"{item.rope_diameter_mm:g} mm"
    if item.rope_range_mm is not None:
        found["accepted_rope_range"] = [f"{end:g} mm" for end in item.rope_range_mm]
    return found


def with_register(case: Mapping[str, Any], services: Services) -> dict[str, Any]:
    """A kit case whose parts are filled from the register by their tags. A part may add what the label says beyond
    the register; kind, state and dates are always the register's. Other checks come back unchanged.

    Raises NotFound for a tag that nothing carries.
    """
    parts = case.get("parts")
    if case.get("check") != "kit fit" or not isinstance(parts, list):
        return dict(case)
    filled = []
    for part in parts:
        if not isinstance(part, Mapping) or not isinstance(part.get("tag"), str):
            filled.append(part)
            continue
        known = registered_part(item_by_tag(part["tag"], services))
        own = {key: value for key, value in part.items() if key not in _FROM_REGISTER}
        filled.append({**known, **own})
    return {**case, "parts": filled}


def record_setup(command: RecordSetup, services: Services) -> SetupRecord:
    """Answer a set-up case and record it with every item it used. The answer is computed here, never taken over.

    Raises BadInput for a case that is none, NotFound for unknown tags, people or photos, NotAllowed for people
    who are no longer active, Conflict where the id belongs to another record. Nothing is written in any of these cases.
    """
    case = with_register(command.case, services)
    result = rig_case(case)
    now = services.clock.now()
    if len(command.place) > MOST_PLACE:
        raise BadInput(f"The place is longer than {MOST_PLACE} characters.", "Shorten it.")
    items = [item_by_tag(tag, services).item for tag in _tags(command, case)]
    with services.unit_of_work(write=True) as uow:
        known = uow.setups.find(command.id)
        if known is not None:
            if known.by != command.by or known.case != case:
                raise Conflict("Another set-up check carries this identifier.", "Start the check again.")
            return known
        person = acting(uow, services, command.by, Action.SETUP_CHECK)
        for photo_id in command.photo_ids:
            uow.photos.get(photo_id)
        record = SetupRecord(
            id=command.id,
            at=now,
            by=person.id,
            site=next((item.site for item in items if item.site), ""),
            place=command.place.strip(),
            check=str(result["check"]),
            profile=str(result["profile"]),
            answer=str(result["answer"]),
            case=case,
            result=result,
            item_ids=tuple(item.id for item in items),
            photo_ids=command.photo_ids,
        )
        uow.setups.add(record)
        account.enter(uow, now, "set-up check", record.id, setup_plain(record))
        uow.commit()
    return record


def _tags(command: RecordSetup, case: Mapping[str, Any]) -> tuple[str, ...]:
    parts = case["parts"] if case.get("check") == "kit fit" else ()
    tags = tuple(dict.fromkeys(clean_tag(tag) for tag in (*command.tags, *(part["tag"] for part in parts))))
    if len(tags) > MOST_ITEMS:
        raise BadInput(f"More than {MOST_ITEMS} items in one set-up check.", "Name only the items this set-up uses.")
    return tags


def setups_of(item_id: str, services: Services) -> tuple[SetupRecord, ...]:
    """The set-up checks that used an item, newest first."""
    with services.unit_of_work() as uow:
        return uow.setups.of_item(item_id)


def setup_by_id(record_id: str, services: Services) -> SetupRecord:
    """A recorded set-up check. Raises NotFound."""
    with services.unit_of_work() as uow:
        return uow.setups.get(record_id)


def usual_profile(services: Services) -> str:
    """The profile that most of the gear in use is registered under; "common" where there is none."""
    with services.unit_of_work() as uow:
        rows = uow.items.rows(states=(State.IN_SERVICE,), limit=MOST_ROWS)
    counted = Counter(row.item.profile for row in rows)
    return counted.most_common(1)[0][0] if counted else "common"


def setup_pdf(record_id: str, services: Services, language: Language = ENGLISH) -> bytes:
    """The one-page sheet of a recorded check. Raises NotFound."""
    from inspect_core.reports.setup_sheet import SheetHead, setup_sheet  # reportlab, loaded only for a paper

    with services.unit_of_work() as uow:
        record = uow.setups.get(record_id)
        tags = tuple(uow.items.get(item_id).tag for item_id in record.item_ids)
        person = uow.people.get(record.by)
    head = SheetHead(record.site, record.place, person.name, record.at.date(), tags, record.photo_ids)
    return setup_sheet(head, [record.result], language)


def setup_plain(record: SetupRecord) -> dict[str, Any]:
    """A record as plain JSON data, for the ledger and the command line. Drawings go as shapes, not as SVG again."""
    drawings = [{k: v for k, v in drawing.items() if k != "svg"} for drawing in record.result.get("drawings", ())]
    return {
        "id": record.id,
        "at": record.at.isoformat(),
        "by": record.by,
        "site": record.site,
        "place": record.place,
        "check": record.check,
        "profile": record.profile,
        "answer": record.answer,
        "case": dict(record.case),
        "result": {**record.result, "drawings": drawings},
        "items": list(record.item_ids),
        "photos": list(record.photo_ids),
    }
