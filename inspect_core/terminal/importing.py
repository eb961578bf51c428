"""The command that brings in a register from a spreadsheet: import."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inspect_core.domain.people import Role
from inspect_core.terminal.common import Session, json_option, print_json, read_bytes, table, write_file
from inspect_core.terminal.spoken import say

if TYPE_CHECKING:
    from inspect_core.usecases.import_register import Preview

#: Bad rows that are printed; all of them go into the file of --bad-rows.
_SHOWN = 20


@click.command("import")
@click.argument("file", metavar="FILE.csv|FILE.xlsx|-")
@click.option(
    "--map",
    "pairs",
    multiple=True,
    metavar="COLUMN=FIELD",
    help="What a column holds, where the guess is wrong; nothing behind the sign leaves it out. Repeat it.",
)
@click.option(
    "--default",
    "defaults",
    multiple=True,
    metavar="FIELD=VALUE",
    help="For rows that say nothing, such as site=Depot. Repeat it.",
)
@click.option(
    "--dates",
    type=click.Choice(["ymd", "dmy", "mdy"]),
    default="ymd",
    show_default=True,
    help="How days are written that do not begin with the year.",
)
@click.option("--without-numbers", is_flag=True, help="Take rows that lack the number which their kind's rules need.")
@click.option("--dry-run", is_flag=True, help="Say what would happen and write nothing.")
@click.option("--skip-bad-rows", is_flag=True, help="Import the good rows and leave the bad ones out.")
@click.option("--bad-rows", metavar="FILE.csv|-", help="Where to write the bad rows with what is wrong.")
@click.option("--by", metavar="NAME", help="Who does this, as entered on the site; needed unless --dry-run.")
@click.option(
    "--role",
    type=click.Choice([r.value for r in Role]),
    default=Role.COMPETENT_PERSON.value,
    show_default=True,
    help="Role, used only when the name is new to the site.",
)
@json_option
@click.pass_obj
def import_(
    session: Session,
    file: str,
    pairs: tuple[str, ...],
    defaults: tuple[str, ...],
    dates: str,
    without_numbers: bool,
    dry_run: bool,
    skip_bad_rows: bool,
    bad_rows: str | None,
    by: str | None,
    role: str,
    as_json: bool,
) -> None:
    """Bring in a register from a CSV or XLSX file.

    Either all rows that are good are entered at once or none. Bad rows stop it, unless --skip-bad-rows.
    """
    from inspect_core.usecases import import_register as importing
    from inspect_core.usecases.import_columns import matched
    from inspect_core.usecases.import_table import read_table
    from inspect_core.usecases.import_values import DayOrder

    if not dry_run and not by:
        raise click.UsageError("Say who does this: --by NAME, or try it with --dry-run.")
    order = {"ymd": DayOrder.ASK, "dmy": DayOrder.DAY_FIRST, "mdy": DayOrder.MONTH_FIRST}[dates]
    read = read_table(read_bytes(file), Path(file).name)
    columns = matched(read.header, _pairs("--map", pairs))
    looked = importing.preview(
        read,
        columns,
        session.services,
        order=order,
        numbers_needed=not without_numbers,
        defaults=_pairs("--default", defaults),
    )
    if bad_rows:
        write_file(bad_rows, importing.bad_rows_csv(looked))
    if not as_json and bad_rows != "-":
        _show(looked)
    count = 0
    if not dry_run:
        person = session.person(str(by), Role(role))
        count = len(importing.import_rows(looked, person.id, session.services, skip_bad=skip_bad_rows).items)
    if as_json:
        print_json(_plain(looked, count))
    elif bad_rows != "-":
        say("Nothing was written." if dry_run else f"{count} items imported, {len(looked.bad)} rows left out.")


def _pairs(option: str, given: tuple[str, ...]) -> dict[str, str]:
    parted = [one.rpartition("=") if option == "--map" else one.partition("=") for one in given]
    if any(not sign for _, sign, _ in parted):
        raise click.UsageError(f"Give {option} as two words with = between them.")
    return {left.strip(): right.strip() for left, _, right in parted}


def _show(looked: Preview) -> None:
    for note in looked.table.notes:
        say(note)
    rows = [(c.heading, c.field or "left out", c.unit) for c in looked.columns]
    say(table(rows, ("column", "field", "unit")))
    say(f"\n{len(looked.table.rows)} rows: {len(looked.good)} good, {len(looked.bad)} bad.")
    for one in looked.bad[:_SHOWN]:
        for fault in one.faults:
            say(f"  row {one.row.number}, {fault} {fault.remedy}".rstrip())
    if len(looked.bad) > _SHOWN:
        say(f"  and {len(looked.bad) - _SHOWN} more bad rows; write them all with --bad-rows FILE.csv")


def _plain(looked: Preview, count: int) -> dict[str, Any]:
    return {
        "columns": [{"column": c.heading, "field": c.field, "unit": c.unit or None} for c in looked.columns],
        "notes": list(looked.table.notes),
        "rows": len(looked.table.rows),
        "good": len(looked.good),
        "bad": [
            {
                "row": one.row.number,
                "faults": [{"column": f.column or None, "problem": f.problem, "remedy": f.remedy} for f in one.faults],
            }
            for one in looked.bad
        ],
        "imported": count,
    }


COMMANDS = (import_,)
