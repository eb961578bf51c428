"""Commands about people and what they wear: people, settings, kit, fall."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import click

from inspect_core.domain.kits import KitMove
from inspect_core.domain.people import Person, Role
from inspect_core.terminal.common import Session, json_option, print_json, read_bytes, table
from inspect_core.terminal.spoken import say, tongue

_BY_HELP = "Who does this; in a site with sign-in the PIN is asked for, see bartack --help."


@click.command()
@click.argument("name", required=False)
@click.option("--role", type=click.Choice([r.value for r in Role]), help="Role of the person to enter.")
@click.option("--qualified-until", type=click.DateTime(["%Y-%m-%d"]), help="End of a competent person's qualification.")
@click.option("--inactive/--active", default=None, help="Whether the person still works here.")
@click.option("--set-pin", is_flag=True, help="Choose your own PIN; in a site without sign-in this turns it on.")
@click.option("--give-pin", is_flag=True, help="Give the person a first or a new PIN, which also ends a lock.")
@click.option("--new-pin-file", metavar="FILE|-", help="The new PIN; else it is asked for.")
@click.option("--code", metavar="CODE", help="Replace the name by this code everywhere. It cannot be taken back.")
@click.option("--by", metavar="NAME", help=_BY_HELP)
@json_option
@click.pass_obj
def people(
    session: Session,
    name: str | None,
    role: str | None,
    qualified_until: Any,
    inactive: bool | None,
    set_pin: bool,
    give_pin: bool,
    new_pin_file: str | None,
    code: str | None,
    by: str | None,
    as_json: bool,
) -> None:
    """List the people of the site, or enter or change one: bartack people NAME --role "competent person".

    The PIN is never an argument: it is asked for, or read from a file or standard input.
    """
    from inspect_core.usecases.plain import person_plain
    from inspect_core.usecases.sign_in import with_pin

    told = ""
    if name is not None:
        if code is not None:
            told = _code(session, name, code, by)
        elif set_pin or give_pin:
            told = _pin(session, name, by, new_pin_file, give=give_pin)
        else:
            until = qualified_until.date() if qualified_until else None
            _enter(session, name, Role(role) if role else None, until, inactive, by)
    rows = _everybody(session)
    have = with_pin(session.services)
    if as_json:
        print_json([{**person_plain(p), "has_pin": p.id in have} for p in rows])
        return
    if told:
        say(told)
    lines = [
        (
            p.name,
            p.role.value,
            p.qualified_until.isoformat() if p.qualified_until else "no date entered",
            "yes" if p.id in have else "no",
        )
        for p in rows
    ]
    say(table(lines, ("name", "role", "qualified until", "PIN")))


def _everybody(session: Session) -> tuple[Person, ...]:
    from inspect_core.usecases.review import people as everybody

    return everybody(session.services)


def _known(session: Session, name: str) -> Person:
    from inspect_core.domain.errors import NotFound
    from inspect_core.usecases.review import person_by_name

    found = person_by_name(name, session.services)
    if found is None:
        raise NotFound(f"Nobody here is called {name[:80]}.", "Look at the list: bartack people.")
    return found


def _enter(session: Session, name: str, role: Role | None, until: Any, inactive: bool | None, by: str | None) -> None:
    from inspect_core.usecases.register import add_person
    from inspect_core.usecases.review import person_by_name

    known = person_by_name(name, session.services)
    if known is None and role is None:
        raise click.UsageError("A person needs --role.")
    by_id = session.person(by, Role.WORKER).id if by else None
    if known is None:
        person = Person(session.services.new_id(), name, role or Role.WORKER, until)
    else:
        person = replace(known, role=role or known.role, qualified_until=until or known.qualified_until)
    if inactive is not None:
        person = replace(person, active=not inactive)
    add_person(person, session.services, by=by_id)


def _pin(session: Session, name: str, by: str | None, file: str | None, *, give: bool) -> str:
    from inspect_core.usecases import sign_in

    if give:
        if by is None:
            raise click.UsageError("--give-pin needs --by NAME of an administrator.")
        giver = session.person(by, Role.WORKER).id
        person = _known(session, name)
        sign_in.give_pin(person.id, _new_pin(file), giver, session.services)
        return f"{person.name} has a new PIN. They have to choose their own before they can sign."
    if not sign_in.is_locked(session.services):
        sign_in.begin_locked(name, _new_pin(file), session.services)
        return "This site has sign-in from now on: whoever writes has to give a PIN."
    person = session.person(name, Role.WORKER)
    sign_in.choose_pin(person.id, session.pin, _new_pin(file), session.services)
    return "The PIN is changed."


def _new_pin(file: str | None) -> str:
    if file is not None:
        lines = read_bytes(file).decode("utf-8", "replace").splitlines()
        return lines[0] if lines else ""
    return str(
        click.prompt(tongue().tell("New PIN or pass phrase"), hide_input=True, confirmation_prompt=True, err=True)
    )


def _code(session: Session, name: str, code: str, by: str | None) -> str:
    from inspect_core.usecases.privacy import UNTOUCHED, code_name

    if by is None:
        raise click.UsageError("--code needs --by NAME of an administrator.")
    actor = session.person(by, Role.ADMINISTRATOR)
    coded = code_name(_known(session, name).id, code, actor.id, session.services)
    told = [f"The name is replaced by {coded.person.name} everywhere in this store.", UNTOUCHED]
    if coded.in_clear:
        numbers = ", ".join(map(str, coded.in_clear))
        told.append(f"Ledger entries written by an older version hold the name and cannot be changed: {numbers}.")
    if coded.witnessed:
        told.append(f"Old records of a destruction that name this witness in free text: {coded.witnessed}.")
    return "\n".join(told)


@click.command()
@click.option("--two-person-release", type=click.Choice(["on", "off"]), help="A second competent person releases.")
@click.option("--hours", type=int, help="A sign-in lasts so long at the most.")
@click.option("--idle-minutes", type=int, help="It ends after so long without use.")
@click.option("--shared-minutes", type=int, help="The same on a phone that several people use.")
@click.option("--by", metavar="NAME", help=_BY_HELP)
@json_option
@click.pass_obj
def settings(
    session: Session,
    two_person_release: str | None,
    hours: int | None,
    idle_minutes: int | None,
    shared_minutes: int | None,
    by: str | None,
    as_json: bool,
) -> None:
    """Show or change what the site decides for everybody; every change is in the ledger."""
    from inspect_core.usecases import site_settings

    times = {
        k: v
        for k, v in (("hours", hours), ("idle_minutes", idle_minutes), ("shared_minutes", shared_minutes))
        if v is not None
    }
    if two_person_release or times:
        if by is None:
            raise click.UsageError("A change needs --by NAME.")
        person = session.person(by, Role.MANAGER)
        if two_person_release:
            site_settings.set_two_persons(two_person_release == "on", person.id, session.services)
        if times:
            now = site_settings.shown(session.services)[1]
            site_settings.set_lasting(replace(now, **times), person.id, session.services)
    two, lasting = site_settings.shown(session.services)
    if as_json:
        print_json(
            {
                "two_person_release": two,
                "hours": lasting.hours,
                "idle_minutes": lasting.idle_minutes,
                "shared_minutes": lasting.shared_minutes,
            }
        )
        return
    say(f"Two-person release: {'on' if two else 'off'}")
    say(
        f"A sign-in lasts {lasting.hours} hours, {lasting.idle_minutes} minutes without use, "
        f"{lasting.shared_minutes} on a shared phone."
    )


@click.command()
@click.argument("name", required=False)
@click.option("--make", metavar="TAG,TAG", help="Make up a new kit of these items.")
@click.option("--issue", metavar="PERSON", help="Issue it to this person.")
@click.option("--return", "back", is_flag=True, help="Take it back.")
@click.option("--swap", metavar="OLD=NEW", help="Take one item out and put another in.")
@click.option("--put-in", metavar="TAG", help="Put an item in.")
@click.option("--take-out", metavar="TAG", help="Take an item out.")
@click.option("--dissolve", is_flag=True, help="End the kit; its history stays.")
@click.option("--note", default="", help="A few words for the history.")
@click.option("--by", metavar="NAME", help=_BY_HELP)
@json_option
@click.pass_obj
def kit(
    session: Session,
    name: str | None,
    make: str | None,
    issue: str | None,
    back: bool,
    swap: str | None,
    put_in: str | None,
    take_out: str | None,
    dissolve: bool,
    note: str,
    by: str | None,
    as_json: bool,
) -> None:
    """List the kits, show one with who wore it when, or change it: gear that one person wears together."""
    from inspect_core.usecases import kits

    wants = [w for w in (make, issue, back, swap, put_in, take_out, dissolve) if w]
    if len(wants) > 1:
        raise click.UsageError("One change at a time.")
    if wants:
        if name is None or by is None:
            raise click.UsageError("A change needs the kit's NAME and --by NAME.")
        kits.change_kit(_change(session, name, make, issue, back, swap, put_in, take_out, note, by), session.services)
    if name is None:
        _list_kits(session, as_json)
    else:
        _show_kit(session, name, as_json)


def _change(
    session: Session,
    name: str,
    make: str | None,
    issue: str | None,
    back: bool,
    swap: str | None,
    put_in: str | None,
    take_out: str | None,
    note: str,
    by: str,
) -> Any:
    from inspect_core.usecases.kits import ChangeKit, kit_named
    from inspect_core.usecases.review import item_by_tag

    def item(tag: str) -> str:
        return item_by_tag(tag.strip(), session.services).item.id

    actor = session.person(by, Role.WORKER).id
    event = session.services.new_id()
    if make:
        ids = tuple(item(tag) for tag in make.split(","))
        return ChangeKit(event, session.services.new_id(), KitMove.MAKE, actor, name=name, item_ids=ids, note=note)
    kit_id = kit_named(name, session.services).id
    if issue:
        return ChangeKit(event, kit_id, KitMove.ISSUE, actor, holder=_known(session, issue).id, note=note)
    if swap:
        old, sign, new = swap.partition("=")
        if not sign:
            raise click.UsageError("Give --swap as OLD=NEW.")
        return ChangeKit(event, kit_id, KitMove.SWAP, actor, taken_out=item(old), put_in=item(new), note=note)
    if put_in:
        return ChangeKit(event, kit_id, KitMove.PUT_IN, actor, put_in=item(put_in), note=note)
    if take_out:
        return ChangeKit(event, kit_id, KitMove.TAKE_OUT, actor, taken_out=item(take_out), note=note)
    return ChangeKit(event, kit_id, KitMove.RETURN if back else KitMove.DISSOLVE, actor, note=note)


def _list_kits(session: Session, as_json: bool) -> None:
    from inspect_core.usecases.kits import kits_now

    views = kits_now(session.services)
    if as_json:
        print_json([_plain(view) for view in views])
        return
    rows = [
        (
            view.kit.name,
            ", ".join(row.item.tag for row in view.rows),
            view.holder.name if view.holder else "in the store",
            "yes" if view.wearable else view.why,
        )
        for view in views
    ]
    say(table(rows, ("kit", "items", "with", "may be worn")) if rows else "No kits yet.")


def _plain(view: Any) -> dict[str, Any]:
    return {
        "id": view.kit.id,
        "name": view.kit.name,
        "items": [{"tag": row.item.tag, "state": row.standing.state.value} for row in view.rows],
        "holder": view.holder.name if view.holder else None,
        "since": view.kit.since.isoformat(),
        "wearable": view.wearable,
        "why": view.why,
    }


def _show_kit(session: Session, name: str, as_json: bool) -> None:
    from inspect_core.usecases.kits import kit_named, kit_past

    past = kit_past(kit_named(name, session.services).id, session.services)
    view = past.view
    if as_json:
        events = [
            {
                "at": e.at.isoformat(),
                "by": past.names.get(e.by, e.by),
                "move": e.move.value,
                "with": past.names.get(e.holder or ""),
                "items": [past.tags[item] for item in e.item_ids],
                "note": e.note,
            }
            for e in past.events
        ]
        print_json({**_plain(view), "events": events})
        return
    written = tongue().written
    say(f"{written(view.kit.name)}: {written(', '.join(row.item.tag for row in view.rows))}")
    where = f"with {written(view.holder.name)}" if view.holder else "in the store"
    say(f"{where} since {view.kit.since:%Y-%m-%d}. {view.why or 'May be worn.'}")
    rows = [
        (f"{e.at:%Y-%m-%d %H:%M}", e.move.value, past.names.get(e.holder or "", ""), past.names.get(e.by, ""), e.note)
        for e in past.events
    ]
    say(table(rows, ("at", "what", "with", "by", "note")))


@click.command()
@click.argument("tag")
@click.option("--by", required=True, metavar="NAME", help=_BY_HELP)
@click.option("--said", default="", help="What happened, in a few words.")
@click.option(
    "--on",
    type=click.DateTime(["%Y-%m-%d"]),
    help="Day of the fall. Without it, what was worn with the item since it was last found fit in detail is held.",
)
@json_option
@click.pass_obj
def fall(session: Session, tag: str, by: str, said: str, on: Any, as_json: bool) -> None:
    """Report that the item TAG arrested a fall: it and everything worn with it goes on hold at once."""
    from inspect_core.usecases.falls import ReportFall, report_fall
    from inspect_core.usecases.review import item_by_tag

    item = item_by_tag(tag, session.services).item
    person = session.person(by, Role.WORKER)
    day = on.date() if on else None
    held = report_fall(ReportFall(session.services.new_id(), item.id, person.id, said, day), session.services)
    if as_json:
        print_json({"held": list(held)})
        return
    say(f"On hold: {', '.join(held) or 'nothing, it is withdrawn already'}. Take all of it out of use now.")


COMMANDS = (people, settings, kit, fall)
