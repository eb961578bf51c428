"""The command line `bartack`: as thin as a screen. Each command asks one use case and prints.

Exit codes: 0 done, 1 refused (what is wrong and what to do, on standard error), 2 wrong use of the command line.
"""

from __future__ import annotations

import sys

import click

from inspect_core.domain.errors import BartackError
from inspect_core.terminal import (
    correcting,
    due,
    fleets,
    gear,
    importing,
    looking,
    measuring,
    people,
    records,
    rolls,
    ruling,
    working,
)
from inspect_core.terminal.common import Session
from inspect_core.terminal.harmless import Harmless
from inspect_core.terminal.spoken import VARIABLE, say, speak


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110})
@click.version_option(package_name="bartack", prog_name="bartack")
@click.option(
    "--store", metavar="URL", envvar="BARTACK_STORE", help="Folder of the records. Default: your own data folder."
)
@click.option("--pin-file", metavar="FILE|-", help="File whose first line is the PIN of whoever acts (--by).")
@click.option("--language", metavar="CODE", envvar=VARIABLE, help="Language of the answers and papers: en, fr or es.")
@click.pass_context
def bartack(context: click.Context, store: str | None, pin_file: str | None, language: str | None) -> None:
    """Keep the record that decides whether a piece of fall-protection gear may be clipped on.

    The maker's instructions, local codes and a competent person come first. A photo shows no hidden damage, and no
    reading proves strength.

    In a site with sign-in, commands that write ask for the PIN of --by NAME; else give it with --pin-file or in the
    environment variable BARTACK_PIN, never as an argument.
    """
    speak(language)
    context.obj = session = Session(store, pin_file)
    context.call_on_close(session.leave)


for command in (
    *ruling.COMMANDS,
    *measuring.COMMANDS,
    *gear.COMMANDS,
    *correcting.COMMANDS,
    *people.COMMANDS,
    *looking.COMMANDS,
    *records.COMMANDS,
    *rolls.COMMANDS,
    *importing.COMMANDS,
    *due.COMMANDS,
    *working.COMMANDS,
    *fleets.COMMANDS,
):
    bartack.add_command(command)


def main(arguments: list[str] | None = None) -> None:
    """Run one command and exit with its code."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is not None and stream.isatty():
            setattr(sys, name, Harmless(stream))
    try:
        code = bartack.main(arguments, prog_name="bartack", standalone_mode=False)
    except click.ClickException as wrong:
        wrong.show()
        sys.exit(2)
    except click.Abort:
        say("Stopped; nothing more was written.", err=True)
        sys.exit(1)
    except BartackError as refused:
        say(f"{refused.problem}\n{refused.remedy}", err=True)
        sys.exit(1)
    sys.exit(code if isinstance(code, int) else 0)  # click hands an Exit's code back as the result
