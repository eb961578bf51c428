"""The command that corrects the register."""

from __future__ import annotations

from typing import Any

import click

from inspect_core.domain.correction import CORRECTABLE
from inspect_core.domain.people import Role
from inspect_core.terminal.common import Session, json_option, print_json
from inspect_core.terminal.item_options import by_option, item_options, lasting_from, role_option
from inspect_core.terminal.spoken import say, tongue

_CLEARED = tuple(name.replace("_", "-") for name in CORRECTABLE if name not in ("tag", "profile"))


@click.command()
@click.argument("item", metavar="TAG")
@item_options
@click.option("--clear", "cleared", multiple=True, type=click.Choice(_CLEARED), help="A field that is not known.")
@by_option
@role_option
@click.option("--reason", required=True, help="How you know, such as: read again on its label.")
@json_option
@click.pass_obj
def correct(
    session: Session,
    /,
    item: str,
    by: str,
    role: str,
    reason: str,
    cleared: tuple[str, ...],
    as_json: bool,
    **fields: Any,
) -> None:
    """Correct what is registered of the item TAG; --tag gives it another tag, and the old one still leads to it.

    What was decided on the old entry is weighed again: the gear goes on hold where it would not have passed, and a
    correction never releases it. The old entry stays on record.
    """
    from inspect_core.usecases.ages import aged
    from inspect_core.usecases.correct import CorrectItem, correct_item, corrections, item_with
    from inspect_core.usecases.item_words import change_lines
    from inspect_core.usecases.plain import item_plain, standing_plain
    from inspect_core.usecases.review import item_by_tag

    services = session.services
    before = item_by_tag(item, services).item
    person = session.person(by, Role(role))
    given = {name: value for name, value in lasting_from(fields).items() if value is not None}
    if "lasting_facts" in given:
        given["lasting_facts"] = {**before.lasting_facts, **given["lasting_facts"]}
    after = item_with(before, given | dict.fromkeys(name.replace("-", "_") for name in cleared))
    done = correct_item(CorrectItem(before, after, person.id, reason, session.pin), services)
    if as_json:
        print_json(
            {
                "item": item_plain(done.item),
                "corrected": list(done.fields),
                "held": done.held,
                "would_be": [
                    {"inspection": one.inspection_id, "on": one.on.isoformat(), "outcome": one.would_be.value}
                    for one in done.reweighed
                ],
                "standing": standing_plain(done.standing, services.today(), aged(done.item, done.standing, services)),
            }
        )
        return
    say(f"{done.item.tag} is corrected, and stands {done.standing.state.value.upper()}.")
    if done.fields:
        for line in change_lines(corrections(done.item.id, services)[0], tongue().written):
            say(line)
    if done.held:
        say(f"It was put on hold. {done.held}")


COMMANDS = (correct,)
