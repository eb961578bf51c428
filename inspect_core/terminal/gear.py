"""Commands that write: demo, register, check, custody."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import click

from inspect_core.domain.custody import Move, State
from inspect_core.domain.gear import Kind
from inspect_core.domain.people import Role
from inspect_core.terminal.common import (
    CAUTION,
    Session,
    finding_lines,
    json_option,
    photo_reader,
    print_json,
    read_json,
)
from inspect_core.terminal.item_options import by_option, item_options, lasting_from, role_option
from inspect_core.terminal.spoken import say, tongue


@click.command()
@click.option("--seed", default=7, show_default=True, help="Another number makes another site.")
@json_option
@click.pass_obj
def demo(session: Session, seed: int, as_json: bool) -> None:
    """Fill an empty store with an invented site: drawn pictures, three years of inspections."""
    from tqdm import tqdm

    from inspect_core.usecases.demo import fill_demo

    with tqdm(total=1, unit="step", desc="Demo site", leave=False, disable=None, mininterval=0.5) as bar:

        def progress(done: int, total: int, words: str) -> None:
            bar.total = total
            bar.set_description(words)
            bar.update(done - bar.n)

        made = fill_demo(session.services, seed=seed, progress=progress)
    if as_json:
        print_json(made.plain())
        return
    say(
        f"{made.items} items, {made.inspections} inspections and {made.photos} drawn pictures "
        f"in {session.services.place}"
    )
    say("Everything in it is invented. Open the screens, or try: bartack due, bartack search rust, bartack trends")


@click.command()
@click.argument("file", required=False, metavar="[ITEM.json|-]")
@click.option("--kind", type=click.Choice([k.value for k in Kind]))
@item_options
@by_option
@role_option
@json_option
@click.pass_obj
def register(session: Session, /, file: str | None, by: str, role: str, as_json: bool, **fields: Any) -> None:
    """Register a piece of gear from options, or from a JSON file with the same field names."""
    from inspect_core.domain.errors import BadInput
    from inspect_core.usecases.ages import aged
    from inspect_core.usecases.plain import item_plain, standing_plain
    from inspect_core.usecases.register import RegisterItem, parse_item
    from inspect_core.usecases.register import register as enter
    from inspect_core.usecases.review import item_by_tag

    given = read_json(file) if file else {}
    if not isinstance(given, dict):
        raise BadInput("The file must hold one item as an object.", "Write its fields in braces.")
    item_id = str(given.pop("id", "") or session.services.new_id())
    item = parse_item(given | {k: v for k, v in lasting_from(fields).items() if v is not None}, item_id)
    stored = enter(RegisterItem(item, session.person(by, Role(role)).id), session.services)
    row = item_by_tag(stored.tag, session.services)
    if as_json:
        old = aged(row.item, row.standing, session.services)
        standing = standing_plain(row.standing, session.services.today(), old)
        print_json({"item": item_plain(row.item), "standing": standing})
        return
    say(
        f"{stored.tag} ({stored.kind.value}) is registered, {row.standing.state.value}, "
        f"inspection due {row.standing.next_due}."
    )
    if row.standing.state is State.ON_HOLD:
        say(f"On hold because of its age: {row.standing.reason}")


@click.command()
@click.argument("tag")
@click.argument("file", required=False, metavar="[CHECK.json|-]")
@click.option("--by", metavar="NAME", help='Who looked at the gear; may stand in the file as "by".')
@role_option
@click.option(
    "--answer", "answers", multiple=True, metavar="COMPONENT=ANSWER", help="sound, defect, unseen or absent. Repeat it."
)
@click.option(
    "--type", "kind", type=click.Choice(["before use", "periodic", "after event"]), help="Default: before use."
)
@click.option("--note")
@click.option("--dry-run", is_flag=True, help="Say what the rules say and record nothing.")
@json_option
@click.pass_obj
def check(
    session: Session,
    tag: str,
    file: str | None,
    by: str | None,
    role: str,
    answers: tuple[str, ...],
    kind: str | None,
    note: str | None,
    dry_run: bool,
    as_json: bool,
) -> None:
    """Check the item TAG: answers, photos and marks in, decision out, recorded.

    The file holds {"by", "type", "answers": {component: answer}, "facts", "note",
    "photos": [{"path", "marks": [{"component", "category", "shape": {"type", "points"}, "readings"}]}]}.
    """
    from inspect_core.domain.errors import BadInput
    from inspect_core.usecases import falls
    from inspect_core.usecases.ages import aged
    from inspect_core.usecases.checkfile import inspection_from
    from inspect_core.usecases.inspect import ask, record
    from inspect_core.usecases.plain import decision_plain, inspection_plain, standing_plain
    from inspect_core.usecases.review import item_by_tag

    data = read_json(file) if file else {}
    if not isinstance(data, dict):
        raise BadInput("The check must be an object.", "Write its keys in braces, as the help shows.")
    pairs = [answer.partition("=") for answer in answers]
    if any(not sign for _, sign, _ in pairs):
        raise click.UsageError("Give --answer as COMPONENT=ANSWER.")
    data.setdefault("answers", {})
    if pairs and isinstance(data["answers"], dict):
        data["answers"] |= {component.strip(): value.strip() for component, _, value in pairs}
    data |= {key: value for key, value in (("type", kind), ("note", note), ("by", by)) if value is not None}
    name = data.get("by")
    if not isinstance(name, str) or not name.strip():
        raise click.UsageError("Say who looked at the gear: --by NAME.")
    row = item_by_tag(tag, session.services)
    person = session.person(name, Role(role))
    command = inspection_from(data, row.item, person.id, session.services, photo_reader(file or "-"))
    if dry_run:
        decision = decision_plain(ask(command, session.services))
        result: dict[str, Any] = {"recorded": False, "decision": decision}
    else:
        recorded = record(replace(command, pin=session.pin), session.services)
        decision = decision_plain(recorded.inspection.decision)
        result = {
            "recorded": True,
            "inspection": inspection_plain(recorded.inspection),
            "standing": standing_plain(
                recorded.standing, session.services.today(), aged(row.item, recorded.standing, session.services)
            ),
            "held": list(recorded.held),
        }
    if as_json:
        print_json(result)
        return
    if not dry_run:
        say(f"{row.item.tag} is now {recorded.standing.state.value.upper()}. Inspection {recorded.inspection.id}")
        if recorded.held:
            say(f"Worn with it, so on hold as well: {', '.join(recorded.held)}")
        if unasked := falls.worn_unasked(recorded.inspection, session.services):
            say(
                f"Worn with it: {', '.join(unasked)}. Did it arrest a fall? Then report it: bartack fall {row.item.tag}"
            )
    say(f"The rules say: {decision['outcome']} (damage used {decision['damage_used']:.2f}; 1 is at the limit)")
    for finding in decision["findings"]:
        say(finding_lines(finding))
    say(CAUTION)


@click.command()
@click.argument("tag")
@click.argument("move", type=click.Choice([m.value for m in Move if m is not Move.REGISTER]))
@by_option
@role_option
@click.option("--reason", required=True)
@click.option("--inspection", help="The inspection in detail that a release rests on.")
@click.option("--photo", help="Photo of the destroyed item.")
@click.option("--witness", metavar="NAME", help="Another person of the site, who saw the destruction.")
@json_option
@click.pass_obj
def custody(
    session: Session,
    tag: str,
    move: str,
    by: str,
    role: str,
    reason: str,
    inspection: str | None,
    photo: str | None,
    witness: str | None,
    as_json: bool,
) -> None:
    """Move an item by hand: put on hold, withdraw, release, destroy."""
    from inspect_core.domain.errors import NotFound
    from inspect_core.terminal.common import read_bytes
    from inspect_core.usecases.ages import aged
    from inspect_core.usecases.custody import MakeMove, make_move
    from inspect_core.usecases.intake import take_photo
    from inspect_core.usecases.plain import standing_plain
    from inspect_core.usecases.review import inspection_by_id, item_by_tag, person_by_name

    row = item_by_tag(tag, session.services)
    person = session.person(by, Role(role))
    services = session.services
    seen_by = person_by_name(witness, services) if witness else None
    if witness and seen_by is None:
        raise NotFound(f"Nobody here is called {witness[:80]}.", "Name a person of this site: bartack people.")
    standing = make_move(
        MakeMove(
            id=services.new_id(),
            item_id=row.item.id,
            move=Move(move),
            by=person.id,
            reason=reason,
            inspection_id=inspection_by_id(inspection, services).id if inspection else None,
            photo_id=take_photo(read_bytes(photo), services, claimed_name=photo).id if photo else None,
            witness_id=seen_by.id if seen_by else None,
            pin=session.pin,
        ),
        services,
    )
    if as_json:
        told = standing_plain(standing, services.today(), aged(row.item, standing, services))
        print_json({"tag": row.item.tag, "standing": told})
        return
    say(f"{row.item.tag} is now {standing.state.value.upper()}: {tongue().mixed(standing.reason)}")


COMMANDS = (demo, register, check, custody)
