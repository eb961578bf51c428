"""The command that sorts a folder of photos to items: roll."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inspect_core.domain.errors import BadInput, BartackError
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.people import Role
from inspect_core.terminal.common import Session, json_option, print_json, read_bytes
from inspect_core.terminal.spoken import say

if TYPE_CHECKING:
    from inspect_core.domain.roll import RollPhoto
    from inspect_core.usecases.roll_plan import Placed, RollPlan

_ENDINGS = (".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif")
_TYPES = [t.value for t in InspectionType]


@click.command()
@click.argument("folder", metavar="FOLDER")
@click.option("--start-drafts", is_flag=True, help="Take the photos in and begin an inspection for each item.")
@click.option("--type", "type_", type=click.Choice(_TYPES), default=_TYPES[0], show_default=True)
@click.option("--by", metavar="NAME", help="Who does this, as entered on the site; needed for --start-drafts.")
@click.option(
    "--role",
    type=click.Choice([r.value for r in Role]),
    default=Role.WORKER.value,
    show_default=True,
    help="Role, used only when the name is new to the site.",
)
@json_option
@click.pass_obj
def roll(
    session: Session, folder: str, start_drafts: bool, type_: str, by: str | None, role: str, as_json: bool
) -> None:
    """Sort the photos of FOLDER to their items: each item's QR label was photographed first, then its parts.

    Alone it prints the plan and stores nothing. Photos whose item is not certain are named and not placed.
    """
    from inspect_core.usecases import roll as rolls

    if start_drafts and not by:
        raise click.UsageError("Say who does this: --by NAME.")
    if not start_drafts:
        looked: list[RollPhoto] = []
        refused = _each(folder, lambda data, name: looked.append(rolls.look_at(data, name)))
        _show(rolls.sort_photos(looked, session.services), refused, (), as_json)
        return
    person = session.person(str(by), Role(role))
    begun = rolls.begin_roll(person.id, session.services)
    refused = _each(folder, lambda data, name: rolls.read_photo(begun.id, data, name, session.services))
    plan = rolls.sort_roll(begun.id, session.services)
    started, kept_back = rolls.start_drafts(
        begun.id, list(plan.groups), InspectionType(type_), person.id, session.services
    )
    told = [f"{one.tag}: {one.photos} photos in unfinished inspection {one.draft_id}" for one in started]
    told += [f"{one.tag}: none begun. {one.reason}" for one in kept_back]
    _show(plan, refused, told, as_json)


def _each(folder: str, take: Callable[[bytes, str], object]) -> list[str]:
    """Hands every photo of a folder to `take`, one at a time; gives back what was refused and why."""
    from tqdm import tqdm

    refused = []
    for path in tqdm(list(_files(folder)), desc="Photos", leave=False, disable=None):
        try:
            take(read_bytes(str(path)), path.name)
        except BartackError as error:
            refused.append(f"{path.name}: {error.problem}")
    return refused


def _files(folder: str) -> Iterator[Path]:
    place = Path(folder)
    if not place.is_dir():
        raise BadInput(f"“{folder}” is no folder.", "Give the folder that holds the photos.")
    found = sorted(path for path in place.iterdir() if path.suffix.lower() in _ENDINGS and path.is_file())
    if not found:
        raise BadInput(f"“{folder}” holds no photos.", f"Photos end in {', '.join(_ENDINGS)}.")
    yield from found


def _show(plan: RollPlan, refused: list[str], told: list[str] | tuple[()], as_json: bool) -> None:
    from inspect_core.usecases.roll import plan_plain

    if as_json:
        print_json({**plan_plain(plan), "refused": refused, "drafts": list(told)})
        return
    say(f"{len(plan.photos)} photos, sorted {plan.order}; {plan.doubtful} doubtful.")
    if plan.phones > 1:
        say(f"They were taken with {plan.phones} phones. What lies between two phones' labels is not placed.")
    for tag, group in plan.groups.items():
        say(f"\n{tag}: {len(group)} photos")
        _lines(group)
    for title, rest in (("Not placed", plan.open), ("Left out", plan.out)):
        if rest:
            say(f"\n{title}: {len(rest)} photos")
            _lines(rest)
    for title, lines in (("Refused", refused), ("Unfinished inspections", list(told))):
        if lines:
            say(f"\n{title}:\n" + "\n".join(f"  {line}" for line in lines))


def _lines(photos: tuple[Placed, ...]) -> None:
    for one in photos:
        label = "  (label)" if one.is_label else ""
        say(f"  {one.number:>3}  {one.photo.name}{label}")
        for doubt in one.doubts:
            say(f"       doubtful: {doubt.sentence}")


COMMANDS = (roll,)
