"""Commands about the record as a whole: verify, heads, archive, restore, relocate, reopen, export."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import click

from inspect_core.terminal.common import Session, json_option, print_json, read_bytes, read_json
from inspect_core.terminal.looking import Day
from inspect_core.terminal.spoken import say

_by = click.option("--by", required=True, metavar="NAME", help="Who does it: a manager or an administrator.")


@click.command()
@click.option(
    "--head",
    "head_files",
    multiple=True,
    metavar="FILE|-",
    help="A signed head that was kept elsewhere (from “bartack heads”). It shows an end that was cut off.",
)
@click.option(
    "--certificate",
    metavar="FILE.pdf|-",
    help="Check the file of a certificate by itself; no records are needed.",
)
@json_option
@click.pass_obj
def verify(session: Session, head_files: tuple[str, ...], certificate: str | None, as_json: bool) -> None:
    """Look through everything: every entry, record, photo and signed head. Names what was changed, removed or added."""
    if certificate is not None:
        _check_certificate(certificate, as_json)
        return
    from inspect_core.usecases.heads import head_from_plain
    from inspect_core.usecases.verify import verify as look_through

    heads = [head_from_plain(read_json(path)) for path in head_files]
    with _progress() as progress:
        account = look_through(session.services, heads=heads, progress=progress)
    if as_json:
        print_json(account.plain())
    else:
        say(f"{account.entries} entries and {account.photos} photos checked; head {account.head or 'none yet'}")
        for fault in account.faults:
            say(f"  {fault.words}")
        if account.more:
            say(f"  … and {account.more} more.")
        for notice in account.notices:
            say(f"Note: {notice}")
        many = len(account.faults) + account.more
        say("No fault found." if not many else f"{many} fault{'s' if many > 1 else ''} found.")
    if account.faults:
        raise click.exceptions.Exit(1)


@contextmanager
def _progress() -> Iterator[Callable[[int, int, str], None]]:
    """A bar on the terminal for work that takes longer than a second; nothing where the output goes elsewhere."""
    from tqdm import tqdm

    with tqdm(total=0, unit=" steps", leave=False, disable=None, delay=1) as bar:

        def progress(done: int, total: int, words: str) -> None:
            bar.total = total
            bar.set_description(words, refresh=False)
            bar.update(done - bar.n)

        yield progress


def _check_certificate(path: str, as_json: bool) -> None:
    from inspect_core.usecases.proof import PROVES, PROVES_NOT, check_certificate

    check = check_certificate(read_bytes(path))
    if as_json:
        print_json(check.plain())
    else:
        when = f"{check.head.at:%Y-%m-%d %H:%M}"
        say("What was signed:")
        for name, words in check.facts.items():
            say(f"  {name}: {words}")
        say(f"Signed by the key {check.key}, {when} UTC, over {check.head.size} entries.")
        for fault in check.faults:
            say(f"  {fault}")
        say("Do not rely on this file." if check.faults else f"The file is whole. It proves: {PROVES}")
        say(f"It does not prove: {PROVES_NOT}")
    if check.faults:
        raise click.exceptions.Exit(1)


@click.command()
@click.option("--all", "every", is_flag=True, help="Every head that the store keeps, one JSON object a line.")
@click.pass_obj
def heads(session: Session, every: bool) -> None:
    """Print the newest signed head as JSON. Keep it outside the store; “verify --head FILE” compares it later."""
    import json

    from inspect_core.usecases.heads import all_heads, head_plain, newest_head

    if every:
        for head in all_heads(session.services):
            click.echo(json.dumps(head_plain(head), ensure_ascii=False))
        return
    print_json(head_plain(newest_head(session.services)))


@click.command()
@click.argument("place", metavar="FOLDER|FILE.zip")
@_by
@json_option
@click.pass_obj
def archive(session: Session, place: str, by: str, as_json: bool) -> None:
    """Write everything into an archive (BagIt, RFC 8493): a new folder, or a zip file."""
    from inspect_core.domain.people import Role
    from inspect_core.usecases.archive import archive as write

    person = session.person(by, Role.MANAGER)
    with _progress() as progress:
        made = write(Path(place), person.id, session.services, progress)
    if as_json:
        print_json(made.plain())
        return
    say(f"{made.path}: {made.entries} entries and {made.photos} photos; head {made.head or 'none yet'}")
    say("The photos in it are the originals, with the place where they were taken if the camera noted it.")


@click.command()
@click.argument("bag", metavar="ARCHIVE")
@json_option
@click.pass_obj
def restore(session: Session, bag: str, as_json: bool) -> None:
    """Restore an archive into the store named by --store: a folder that is empty or not there yet, or the address of a
    server with an empty database."""
    from inspect_core import bootstrap
    from inspect_core.usecases.restore import restore as build

    target = session.store or str(bootstrap.default_store())
    with _progress() as progress:
        account = build(Path(bag), target, bootstrap.open_services, progress)
    shown = bootstrap.shown_address(target)
    if as_json:
        print_json({"store": shown, **account.plain()})
        return
    say(f"{shown}: {account.entries} entries and {account.photos} photos restored; head {account.head}")
    for notice in account.notices:
        say(f"Note: {notice}")
    say("PINs and the signing key are not in an archive: set PINs anew; the next record starts a new key.")


@click.command()
@click.argument("target", metavar="FOLDER|ADDRESS")
@click.option("--new-key", is_flag=True, help="Leave the signing key behind; the next record there starts a new one.")
@_by
@json_option
@click.pass_obj
def relocate(session: Session, target: str, new_key: bool, by: str, as_json: bool) -> None:
    """Move all records, photos and PINs from the store named by --store to another place: an empty folder, or a server
    with an empty database. Checked record by record and photo by photo; then the old place takes no more records."""
    from dataclasses import replace

    from inspect_core import bootstrap
    from inspect_core.domain.people import Role
    from inspect_core.usecases.relocate import relocate as move

    person = session.person(by, Role.MANAGER)
    opened = bootstrap.open_services(session.store, closed=True)
    try:
        source = replace(opened, actor=session.services.actor)
        with _progress() as progress:
            moved = move(source, target, person.id, bootstrap.open_services, new_key=new_key, progress=progress)
    finally:
        opened.close()
    # The place that was given up writes nothing more, not even that this sign-in is over.
    session.services = replace(session.services, actor=None)
    if as_json:
        print_json(moved.plain())
        return
    say(f"{moved.place}: {moved.entries} entries and {moved.photos} photos, looked through without a fault.")
    say(f"It ends at the same head as the old place: {moved.head}")
    say(
        "The signing key was taken along and lies in both places: remove the old one when the old place goes."
        if moved.key_taken
        else "The signing key was not taken along: see docs/records.md on what the next record does."
    )
    if moved.calendar:
        say(f"The calendar file {moved.calendar} is rewritten no longer: choose it anew in the new place.")
    say("Everybody signs in anew. The old place can be read, and takes no more records.")


@click.command()
@_by
@json_option
@click.pass_obj
def reopen(session: Session, by: str, as_json: bool) -> None:
    """Let a store that was moved away take records again, as it was then. Only where the new place is lost: what was
    recorded there since is not here, and two places that both go on are two histories."""
    from inspect_core import bootstrap
    from inspect_core.domain.people import Role
    from inspect_core.usecases.relocate import reopen as open_again

    session.services = bootstrap.open_services(session.store, closed=True)
    person = session.person(by, Role.MANAGER)
    open_again(session.services, person.id)
    if as_json:
        print_json({"place": session.services.place, "reopened": True})
        return
    say(f"{session.services.place} takes records again. Nobody may go on in the place it was moved to.")


@click.command()
@click.option("--to", "place", required=True, metavar="FOLDER|FILE.zip", help="A new folder, or a zip file.")
@click.option(
    "--format",
    "format_",
    default="csv",
    show_default=True,
    type=click.Choice(["csv", "xlsx", "json", "annotations", "parquet"]),
)
@click.option("--since", type=Day(), help="Only what happened on this day or later.")
@click.option("--no-photos", is_flag=True, help="Leave the copies of the photos out.")
@click.option("--originals", is_flag=True, help="The photo files as they came too, without the place they were taken.")
@click.option("--with-location", is_flag=True, help="Leave the place in the originals.")
@_by
@json_option
@click.pass_obj
def export(
    session: Session,
    place: str,
    format_: str,
    since: date | None,
    no_photos: bool,
    originals: bool,
    with_location: bool,
    by: str,
    as_json: bool,
) -> None:
    """Write everything recorded as CSV, XLSX, JSON lines or W3C Web Annotations; or as Parquet, with people as codes,
    for “bartack fleet”."""
    from inspect_core.domain.people import Role
    from inspect_core.usecases.export import Export
    from inspect_core.usecases.export import export as write

    wanted = Export(format_, since, not no_photos, originals, with_location)
    person = session.person(by, Role.MANAGER)
    with _progress() as progress:
        made = write(Path(place), wanted, person.id, session.services, progress)
    if as_json:
        print_json(made.plain())
    else:
        counts = ", ".join(f"{many} {name.replace('_', ' ')}" for name, many in sorted(made.counts.items()))
        say(f"{made.path}: {counts or 'nothing recorded'}; {made.photos} photo files")
        for missing in made.missing:
            say(f"  not taken along: {missing}")
    if made.missing:
        raise click.exceptions.Exit(1)


COMMANDS = (verify, heads, export, archive, restore, relocate, reopen)
