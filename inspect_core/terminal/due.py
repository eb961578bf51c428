"""The command that tells what is due: as a list, a calendar, a sheet, or mail."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inspect_core.domain.gear import Kind
from inspect_core.domain.people import Role
from inspect_core.domain.record import ItemRow
from inspect_core.terminal.common import Session, json_option, print_json, table, write_file
from inspect_core.terminal.spoken import say, tongue

if TYPE_CHECKING:
    from inspect_core.usecases.due import DueWork


@click.command()
@click.option("--days", default=30, show_default=True, help="How far ahead to look.")
@click.option("--site", help="One site only.")
@click.option("--kind", type=click.Choice([k.value for k in Kind]))
@click.option("--calendar", metavar="FILE.ics|-", help="Write the due dates as a calendar (iCalendar, RFC 5545).")
@click.option("--tasks", is_flag=True, help="With --calendar: as to-dos instead of events.")
@click.option("--keep", is_flag=True, help="With --calendar: rewrite the file whenever a due date changes. Needs --by.")
@click.option("--forget", is_flag=True, help="Rewrite the kept calendar file no longer. Needs --by.")
@click.option("--sheet", metavar="FILE.pdf|-", help="Write the list of each site to print and tick off.")
@click.option("--mail", is_flag=True, help="Send each site's digest to the addresses set for it. Needs --by.")
@click.option("--by", metavar="NAME", help="Who does this, as entered on the site; for --keep and --mail.")
@click.option(
    "--role",
    type=click.Choice([r.value for r in Role]),
    default=Role.WORKER.value,
    show_default=True,
    help="Role, used only when the name is new to the site.",
)
@json_option
@click.pass_obj
def due(
    session: Session,
    days: int,
    site: str | None,
    kind: str | None,
    calendar: str | None,
    tasks: bool,
    keep: bool,
    forget: bool,
    sheet: str | None,
    mail: bool,
    by: str | None,
    role: str,
    as_json: bool,
) -> None:
    """Detailed inspections that are overdue or due soon, gear on hold and gear past its age, site by site."""
    from inspect_core.usecases.due import due_work, sheets_of

    if (keep or mail or forget) and not by:
        raise click.UsageError("Say who does this: --by NAME.")
    if (keep or tasks) and not calendar:
        raise click.UsageError("--keep and --tasks belong to --calendar FILE.")
    if forget and calendar:
        raise click.UsageError("--forget ends what --calendar FILE --keep began; give one of them.")
    if keep and calendar == "-":
        raise click.UsageError("A calendar that is kept needs a file.")
    person = session.person(str(by), Role(role)).id if keep or mail or forget else ""
    services = session.services
    if forget:
        from inspect_core.usecases.due_calendar import forget_calendar

        forget_calendar(person, services)
        click.echo("The calendar file is rewritten no longer; it stays as it is.", err=as_json)
        if not (mail or sheet):
            return
    if calendar:
        _calendar(session, calendar, site, tasks, person if keep else None)
    if mail:
        _mail(session, days, site, person, as_json)
    if (calendar or mail) and not sheet:
        return
    work = due_work(services, within_days=days, site=site, kind=Kind(kind) if kind else None)
    if sheet:
        write_file(sheet, sheets_of(work, services, tongue()))
        if sheet != "-":
            say(f"{sheet}: {len(work.sites)} sites", err=as_json)
        return
    _show(work, as_json)


def _calendar(session: Session, file: str, site: str | None, tasks: bool, keeper: str | None) -> None:
    from inspect_core.usecases.due_calendar import due_calendar, keep_calendar

    if keeper is not None:
        place = keep_calendar(Path(file), keeper, session.services, site=site, tasks=tasks)
        say(f"{place}: rewritten from now on whenever a due date changes.")
        return
    write_file(file, due_calendar(session.services, site=site, tasks=tasks))
    if file != "-":
        say(f"{file}: the due dates of the next 400 days and everything overdue.")


def _mail(session: Session, days: int, site: str | None, by: str, as_json: bool) -> None:
    from inspect_core.usecases.due_mail import send_digests

    told = send_digests(by, session.services, within_days=days, site=site)
    if as_json:
        print_json([{"site": one.site, "to": list(one.to), "skipped": one.skipped or None} for one in told])
        return
    for one in told:
        say(f"{one.site}: {'not sent, ' + one.skipped if one.skipped else 'sent to ' + ', '.join(one.to)}")
    if not told:
        say("Nothing is due anywhere; nothing was sent.")


def _show(work: DueWork, as_json: bool) -> None:
    if as_json:
        print_json(
            {
                "on": work.on.isoformat(),
                "overdue": [_plain(r) for r in work.overdue],
                "soon": [_plain(r) for r in work.soon],
                "on_hold": [_plain(r) for r in work.on_hold],
                "past_age": [{**_plain(one.row), "why": one.why} for one in work.past_age],
                "sites": [
                    {
                        "site": s.site,
                        "overdue": len(s.overdue),
                        "soon": len(s.soon),
                        "on_hold": len(s.on_hold),
                        "past_age": len(s.past_age),
                    }
                    for s in work.sites
                ],
            }
        )
        return
    parts = (("Overdue", work.overdue), (f"Due within {work.within_days} days", work.soon), ("On hold", work.on_hold))
    for title, rows in parts:
        say(f"{title}: {len(rows)}")
        if rows:
            lines = [tuple(str(v or "") for v in _plain(r).values()) for r in rows]
            say(table(lines, ("tag", "kind", "site", "state", "due")))
    if work.past_age:
        say(f"Past its age, do not use: {len(work.past_age)}")
        old = [(one.row.item.tag, one.row.item.kind.value, one.row.item.site, one.why) for one in work.past_age]
        say(table(old, ("tag", "kind", "site", "why")))
    if len(work.sites) > 1:
        counts = [(s.name, str(len(s.overdue)), str(len(s.soon)), str(len(s.on_hold))) for s in work.sites]
        say("\n" + table(counts, ("site", "overdue", "soon", "on hold")))


def _plain(row: ItemRow) -> dict[str, Any]:
    return {
        "tag": row.item.tag,
        "kind": row.item.kind.value,
        "site": row.item.site,
        "state": row.standing.state.value,
        "next_due": row.standing.next_due.isoformat() if row.standing.next_due else None,
    }


COMMANDS = (due,)
