"""A digest of due work by mail, one a site, and never the same one twice a day."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from email.message import EmailMessage
from email.utils import format_datetime

from inspect_core.domain.access import Action
from inspect_core.domain.errors import BadInput, BartackError
from inspect_core.domain.record import ItemRow
from inspect_core.usecases.acting import acting
from inspect_core.usecases.ages import Aged
from inspect_core.usecases.due import DueWork, SiteDue, due_work, sheet_of
from inspect_core.usecases.mail import MailSettings
from inspect_core.usecases.services import Services

#: Items of each list that are written out; the sheet holds all of them.
MOST_LINES = 40
_SETTING = "digests sent"
_CAUTIONS = (
    "Gear that is overdue, on hold or past its age is not used until a competent person has inspected it.",
    "The maker's instructions, local codes and a competent person come first.",
)


@dataclass(frozen=True, slots=True)
class Sent:
    """What became of one site's digest: who got it, or why nobody did."""

    site: str
    to: tuple[str, ...] = ()
    skipped: str = ""


def send_digests(by: str, services: Services, *, within_days: int = 30, site: str | None = None) -> tuple[Sent, ...]:
    """Send each site's digest to its recipients.

    A site with nothing to do, without recipients, or whose very digest went out today already is skipped and told.
    Raises BadInput where no mail server is set, NotAllowed, and StoreFault where the server fails: what was sent until
    then counts as sent, the rest does not.
    """
    mailer = services.mailer
    if mailer is None:
        raise BadInput("No mail server is set.", "Name one in the store's settings file; docs/due.md shows how.")
    with services.unit_of_work() as uow:
        acting(uow, services, by, Action.SEND_MAIL)
    work = due_work(services, within_days=within_days, site=site)
    return tuple(_send(one, work, mailer.settings, services) for one in work.sites)


def _send(site: SiteDue, work: DueWork, settings: MailSettings, services: Services) -> Sent:
    to = settings.recipients(site.site)
    if not to:
        return Sent(site.name, skipped="nobody is named for this site")
    text = digest_text(site, work)
    mark = hashlib.sha256("\n".join([*to, text]).encode()).hexdigest()
    if not _claim(site.site, mark, services):
        return Sent(site.name, skipped="the same digest went out today already")
    try:
        message = digest(site, work, settings, to, services.clock.now())
        message.add_attachment(
            sheet_of(site, work, services),
            maintype="application",
            subtype="pdf",
            filename=f"due-work-{work.on.isoformat()}.pdf",
        )
        assert services.mailer is not None  # noqa: S101 - looked at by the caller
        services.mailer.send(message)
    except BartackError:
        _unclaim(site.site, mark, services)
        raise
    return Sent(site.name, to)


def _claim(site: str, mark: str, services: Services) -> bool:
    """Takes the digest for this run, before it is sent, so that two runs at once do not both send it."""
    today = services.today().isoformat()
    with services.unit_of_work(write=True) as uow:
        sent = uow.settings.get(_SETTING) or {}
        of_today = {name: marks for name, (day, marks) in sent.items() if day == today}
        if mark in of_today.get(site, []):
            return False
        of_today.setdefault(site, []).append(mark)
        uow.settings.put(_SETTING, {name: [today, marks] for name, marks in of_today.items()})
        uow.commit()
    return True


def _unclaim(site: str, mark: str, services: Services) -> None:
    with services.unit_of_work(write=True) as uow:
        sent = uow.settings.get(_SETTING) or {}
        day, marks = sent.get(site, ["", []])
        uow.settings.put(_SETTING, sent | {site: [day, [one for one in marks if one != mark]]})
        uow.commit()


def digest(site: SiteDue, work: DueWork, settings: MailSettings, to: Sequence[str], now: datetime) -> EmailMessage:
    """The message without its sheet."""
    message = EmailMessage()
    counts = f"{len(site.overdue)} overdue, {len(site.soon)} due soon, {len(site.on_hold)} on hold"
    if site.past_age:
        counts = f"{len(site.past_age)} past its age, {counts}"
    message["Subject"] = f"Fall-protection gear, {_line(site.name)}: {counts}"
    message["From"] = settings.sender
    message["To"] = ", ".join(to)
    message["Date"] = format_datetime(now)
    message["Auto-Submitted"] = "auto-generated"  # RFC 3834: no out-of-office replies to it
    message.set_content(digest_text(site, work))
    return message


def digest_text(site: SiteDue, work: DueWork) -> str:
    """The digest as plain text."""
    parts = [f"Due work at {_line(site.name)}, {work.on.isoformat()}"]
    parts.append(_list("Overdue for inspection in detail: do not use", site.overdue))
    parts.append(_list(f"Due within {work.within_days} days", site.soon))
    if site.past_age:
        parts.append(_aged(site.past_age))
    parts.append(_list("On hold: do not use", site.on_hold))
    parts.append("\n".join(_CAUTIONS))
    return "\n\n".join(parts) + "\n"


def _aged(found: Sequence[Aged]) -> str:
    lines = [f"Past its age: do not use ({len(found)})"]
    lines += [f"  {one.row.item.tag}  {one.row.item.kind.value}: {one.why}" for one in found[:MOST_LINES]]
    if len(found) > MOST_LINES:
        lines.append(f"  and {len(found) - MOST_LINES} more on the sheet")
    return "\n".join(lines)


def _list(title: str, rows: Sequence[ItemRow]) -> str:
    lines = [f"{title} ({len(rows)})"]
    for row in rows[:MOST_LINES]:
        due = row.standing.next_due.isoformat() if row.standing.next_due else "not known"
        lines.append(f"  {row.item.tag}  {row.item.kind.value}  due {due}")
    if len(rows) > MOST_LINES:
        lines.append(f"  and {len(rows) - MOST_LINES} more on the sheet")
    if not rows:
        lines.append("  none")
    return "\n".join(lines)


def _line(text: str) -> str:
    """Text of one line: a header that holds a line break is another header."""
    return " ".join(text.split())
